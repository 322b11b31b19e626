"""What a free-text recogniser is told beforehand, so that it expects the words of the grammar."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.grammar import Grammar

# Sentences to choose from, the words of the longest one taken, and more of them than have room.
_POOL = 1_000
_LONGEST = 12
_MOST = 100
_SEED = 1
# What a word still counts for each time it has been said once more.
_AGAIN = 0.2


def sentences_to_expect(grammar: Grammar, room: int, size: Callable[[str], int]) -> list[str]:
    """Return sentences that say the grammar's commonest words in little room.

    They are drawn from the grammar and taken one by one, each time the one that says most for its
    length of what has not been said yet; ``size`` tells how much room one takes.
    """
    taken: list[str] = []
    for text in grammar.kept("expected", lambda: _best_first(grammar)):
        room -= size(text)
        if room < 0:
            break
        taken.append(text)
    return taken


def _best_first(grammar: Grammar) -> list[str]:
    pool = [words for words in grammar.sentences(_POOL, _SEED) if len(words) <= _LONGEST]
    worth = {word: float(count) for word, count in Counter(w for s in pool for w in s).items()}
    ordered: list[str] = []
    while pool and len(ordered) < _MOST:
        best = max(pool, key=lambda words: sum(worth[w] for w in set(words)) / (len(words) + 1))
        ordered.append(" ".join(best))
        pool.remove(best)
        for word in best:
            worth[word] *= _AGAIN
    return ordered
