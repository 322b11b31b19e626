"""Which piece of a sentence has which role: the likeliest roles of pieces that do not overlap."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fieldvoice.nlu.normalise import BREAK
from fieldvoice.nlu.reader_roles import FREE, SORTS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fieldvoice.nlu.chunker import Span
    from fieldvoice.nlu.reader_net import Guess

#: A word of a free text is likelier that than anything else, in logarithms.
LIKELIEST = -1.1
#: What each piece costs, so that one is preferred to two: "two eleven" is one number.
A_PIECE = 0.7
#: What a word may be that has no value: nothing, or a number that counts for nothing.
NOTHING, NO_NUMBER = "O", "X"

#: Free words that are kept as they were said; of other names the article is no part.
TEXTS = frozenset({"text", "remark"})
_ARTICLES = frozenset({"the", "my", "our", "a", "an"})


@dataclass(frozen=True, slots=True)
class Bound:
    """One piece of the sentence with the role it was given; ``chance`` of it in logarithms."""

    kind: str
    field: str
    value: Any
    start: int
    end: int
    chance: float
    free: bool = False


def bound_roles(
    words: Sequence[str], guess: Guess, pieces: Sequence[Span], likely: Mapping[str, float]
) -> tuple[list[Bound], float]:
    """Return the likeliest roles of pieces that do not overlap, and how sure the least sure is."""
    best: list[tuple[float, Bound | None, int]] = [(0.0, None, 0)]
    starting: dict[int, list[Bound]] = {}
    for bound in _candidates(words, guess, pieces, likely):
        starting.setdefault(bound.end, []).append(bound)
    for end in range(1, len(words) + 1):
        free = _unbound(words[end - 1], guess, end - 1)
        choices: list[tuple[float, Bound | None, int]] = [(best[end - 1][0] + free, None, end - 1)]
        choices += [
            (best[one.start][0] + one.chance - A_PIECE, one, one.start)
            for one in starting.get(end, ())
        ]
        best.append(max(choices, key=lambda choice: choice[0]))
    bounds: list[Bound] = []
    sureness = 0.0
    at = len(words)
    while at > 0:
        _, chosen, before = best[at]
        if chosen is not None:
            bounds.append(chosen)
            sureness = min(sureness, chosen.chance / (chosen.end - chosen.start))
        else:
            sureness = min(sureness, _unbound(words[at - 1], guess, at - 1))
        at = before
    return bounds[::-1], math.exp(sureness)


def _unbound(word: str, guess: Guess, at: int) -> float:
    if word == BREAK:
        return 0.0
    roles = guess.roles[at]
    return max(roles[NOTHING], roles[NO_NUMBER])


def _candidates(
    words: Sequence[str], guess: Guess, pieces: Sequence[Span], likely: Mapping[str, float]
) -> Iterator[Bound]:
    for role in guess.roles[0]:
        kind, _, name = role.partition(".")
        if kind not in likely:
            continue
        for piece in pieces:
            if piece.sort in SORTS.get(name, ()):
                chance = sum(guess.roles[at][role] for at in range(piece.start, piece.end))
                if chance / len(piece) > -4:
                    yield Bound(kind, name, piece.value, piece.start, piece.end, chance)
        if name in FREE:
            yield from _free_words(words, guess, role)


def _free_words(words: Sequence[str], guess: Guess, role: str) -> Iterator[Bound]:
    """Yield runs of words that are likelier in this role than in any other."""
    kind, _, name = role.partition(".")
    if name in TEXTS:
        meant = [at for at, roles in enumerate(guess.roles) if roles[role] > LIKELIEST]
        if meant:
            said = words[meant[0] : meant[-1] + 1]
            chance = sum(guess.roles[at][role] for at in meant)
            text = " ".join(said).replace(f" {BREAK}", BREAK).replace(" 's", "'s")
            yield Bound(kind, name, text, meant[0], meant[-1] + 1, chance, free=True)
        return
    at = 0
    while at < len(words):
        end = at
        while end < len(words) and words[end] != BREAK and guess.roles[end][role] > LIKELIEST:
            end += 1
        if end > at:
            said = [word for word in words[at:end] if word not in _ARTICLES]
            if said:
                chance = sum(guess.roles[one][role] for one in range(at, end))
                yield Bound(kind, name, " ".join(said), at, end, chance, free=True)
        at = max(end, at + 1)
