"""Finds the cards that somebody means, by how near the words are to what is asked on each card.

A text is taken as its words, as each two that follow each other, and as the runs of letters inside
the words, so that another ending or a word typed in a hurry still counts. Each of these weighs by
how few cards are asked with it, and what is asked over and over on a card weighs little more than
what is asked once. The score is the cosine between the asking and all askings of a card.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from fieldvoice.handbook.card import Card, words

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

#: Cards that score this near to the best are named beside it.
MARGIN = 0.02

#: Below this nobody knows what is meant. Scores go from 0 to 1; one in twenty of the askings by
#: other mouths that find their card stands below.
FLOOR = 0.14

#: How much two words that follow each other count beside a word.
_PAIR = 0.5

#: Words this long and longer are also taken as their runs of so many letters.
_LONG, _RUNS = 3, (3, 4)

#: How often a word of title, answer and reason counts beside one in an asking.
_TITLE, _SAY, _WHY = 1.0, 0.5, 0.25

#: How much counts what is said often on a card, and what few cards have: powers, 1 for in full.
_OFTEN, _RARE = 0.4, 0.6


@dataclass(frozen=True, slots=True)
class Found:
    """A card and how near it is: 1 for one of its own askings, 0 for nothing in common."""

    card: Card
    score: float


class Finder:
    """Finds among cards that stay the same.

    Making one takes half a second for 300 cards, finding some milliseconds: make it once, and late.
    """

    def __init__(self, cards: Sequence[Card]) -> None:
        self._cards = tuple(cards)
        self._asked = {
            " ".join(words(text)): at for at, card in enumerate(cards) for text in card.asked
        }
        self._weights = _weighed(_all_said(card) for card in cards)

    def find(self, text: str) -> tuple[Found, ...]:
        """Return the cards that have something in common with ``text``, the nearest first."""
        import numpy as np  # where a card is looked for: it takes long to load

        scores = self._weights.scores(_marks(Counter(_terms(text))))
        own = self._asked.get(" ".join(words(text)))
        if own is not None:
            scores[own] = 1.0
        order = np.argsort(-scores, kind="stable")
        return tuple(Found(self._cards[at], float(scores[at])) for at in order if scores[at] > 0)

    def named(self, text: str) -> tuple[Found, ...]:
        """Return the card that is meant and those as near; none when all are below the floor."""
        found = self.find(text)
        if not found or found[0].score < FLOOR:
            return ()
        return tuple(one for one in found if one.score >= found[0].score - MARGIN)


def _terms(text: str) -> list[str]:
    """Return the words of a text, and each two that follow each other."""
    said = words(text)
    return [*said, *(f"{first} {second}" for first, second in pairwise(["^", *said]))]


def _marks(counted: Mapping[str, float]) -> dict[str, float]:
    """Return words, pairs of words and runs of letters with their counts."""
    marks: dict[str, float] = defaultdict(float)
    for term, times in counted.items():
        if " " in term:
            marks[term] += _PAIR * times
            continue
        marks[term] += times
        runs = _runs(term)
        for run in runs:
            marks[run] += times / len(runs) ** 0.5
    return marks


@lru_cache(1 << 11)
def _runs(word: str) -> tuple[str, ...]:
    """Return the runs of letters of a long word, its beginning and its end marked."""
    if len(word) < _LONG:
        return ()
    marked = f"<{word}>"
    return tuple(
        f"{marked[at : at + long]}…" for long in _RUNS for at in range(len(marked) - long + 1)
    )


def _all_said(card: Card) -> dict[str, float]:
    """Return the terms of a whole card with how often they count."""
    counted: dict[str, float] = defaultdict(float)
    parts: Iterable[tuple[str, float]] = (
        *((text, 1.0) for text in card.asked),
        (card.title, _TITLE), (card.say, _SAY), (card.why, _WHY),
    )  # fmt: skip
    for text, times in parts:
        for term in _terms(text) if times == 1.0 else words(text):
            counted[term] += times
    return _marks(counted)


@dataclass(frozen=True, slots=True, eq=False)
class _Weights:
    """What each mark weighs on the cards that have it.

    ``keys`` are the marks' hashes in order (of the marks themselves there are too many to keep),
    ``rare`` has their rarities; the cards of mark ``n``, and what it weighs on them, stand from
    ``starts[n]`` to ``starts[n + 1]`` in ``cards`` and ``weights``.
    """

    count: int
    keys: NDArray[np.int64]
    rare: NDArray[np.float32]
    starts: NDArray[np.int64]
    cards: NDArray[np.int32]
    weights: NDArray[np.float32]

    def scores(self, said: Mapping[str, float]) -> NDArray[np.float32]:
        """Return the cosine between marks with their counts and each card."""
        import numpy as np

        keys = _keys(said)
        places = np.minimum(np.searchsorted(self.keys, keys), len(self.keys) - 1)
        own = np.array(list(said.values())) * self.rare[places] * (self.keys[places] == keys)
        scores = np.zeros(self.count, np.float32)
        for place, weight in zip(places, own, strict=True):
            part = slice(self.starts[place], self.starts[place + 1])
            scores[self.cards[part]] += weight * self.weights[part]
        return scores / max(float(np.linalg.norm(own)), 1e-9)


def _weighed(cards: Iterable[Mapping[str, float]]) -> _Weights:
    """Return what each mark of the cards weighs on each of them."""
    import numpy as np

    keys, pairs, times = [], [], []
    for card in cards:
        keys.append(_keys(card))
        pairs.append(np.fromiter((" " in mark for mark in card), bool, len(card)))
        times.append(np.fromiter(card.values(), np.float32, len(card)) ** _OFTEN)
    count = len(keys)
    owner = np.repeat(np.arange(count, dtype=np.int32), [len(one) for one in keys])
    key, mark, of = np.unique(np.concatenate(keys), return_inverse=True, return_counts=True)
    # A pair of words that stands on one card alone says no more than its words.
    known = (of[mark] > 1) | ~np.concatenate(pairs)
    rare = np.zeros(len(key), np.float32)
    rare[mark[known]] = (np.log(1 + count / of) ** _RARE)[mark[known]]
    mark, owner, weight = mark[known], owner[known], np.concatenate(times)[known]
    weight *= rare[mark]
    weight /= np.sqrt(np.bincount(owner, weight**2, count))[owner].astype(np.float32)
    order = np.argsort(mark, kind="stable")
    starts = np.searchsorted(mark[order], np.arange(len(key) + 1))
    return _Weights(count, key, rare, starts, owner[order], weight[order])


def _keys(marks: Iterable[str]) -> NDArray[np.int64]:
    import numpy as np

    return np.fromiter(map(hash, marks), np.int64)
