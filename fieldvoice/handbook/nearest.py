"""Finds the cards that somebody means, by how near the words are to a card's own askings.

Each word, and each pair of words that follow each other, weighs by how few cards are asked with it.
A word counts also as those that it looks like (another ending, typed in a hurry), by their runs of
letters. A card's score joins its nearest askings with all that is asked and said on it, so that
neither one odd asking nor a long card decides alone.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.handbook.card import Card, words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from numpy.typing import NDArray

#: Cards that score this near to the best are named beside it.
MARGIN = 0.03

#: Below this nobody knows what is meant. Scores go from 0 to about 1.
FLOOR = 0.3

#: From this likeness on (0 to 1) two words may be the same one.
_ALIKE = 0.55

#: A likeness that is not the word itself counts so much.
_LOOKS_LIKE = 0.8

#: How much a pair of words counts beside a single word of the same rarity.
_PAIR = 0.6

#: How much the nearest asking, and the next ones, weigh; the rest is the whole card's.
_NEAREST = (0.45, 0.15, 0.1)
_WHOLE = 1 - sum(_NEAREST)

#: How often a word in title and answer counts beside one in an asking.
_TITLE, _SAY = 2, 0.5


@dataclass(frozen=True, slots=True)
class Found:
    """A card and how near it is, from 0 to about 1."""

    card: Card
    score: float


class Finder:
    """Finds among cards that stay the same."""

    def __init__(self, cards: Sequence[Card]) -> None:
        self._cards = tuple(cards)
        asked = [
            (at, Counter(_terms(text))) for at, card in enumerate(cards) for text in card.asked
        ]
        self._of = np.array([at for at, _ in asked], dtype=np.intp)
        self._weights = _weights(asked, len(cards))
        self._askings = _Index((counted for _, counted in asked), self._weights)
        self._whole = _Index(map(_all_said, cards), self._weights)
        self._lookalikes = _Lookalikes(word for word in self._weights if " " not in word)
        # A word that no card knows weighs as much as one that one card in a few knows.
        self._unknown = float(np.median(list(self._weights.values()))) if asked else 1.0

    def find(self, text: str) -> tuple[Found, ...]:
        """Return the cards that share something with ``text``, the nearest first."""
        said = _terms(text)
        meant = self._meant(said)
        if not meant:
            return ()
        length = self._length(said)
        scores = _WHOLE * self._whole.dot(meant)
        near = self._askings.dot(meant)
        for share in _NEAREST:
            top = np.zeros(len(self._cards))
            np.maximum.at(top, self._of, near)
            scores += share * top
            near = np.where(near >= top[self._of], 0.0, near)
        scores /= length
        order = np.argsort(-scores, kind="stable")
        return tuple(
            Found(self._cards[at], round(float(scores[at]), 4)) for at in order if scores[at] > 0
        )

    def named(self, text: str) -> tuple[Found, ...]:
        """Return the card that is meant and those as near; none when all are below the floor."""
        found = self.find(text)
        if not found or found[0].score < FLOOR:
            return ()
        return tuple(one for one in found if one.score >= found[0].score - MARGIN)

    def _meant(self, said: Iterable[str]) -> dict[str, float]:
        """Return the known terms that ``said`` may stand for, with what they weigh."""
        meant: dict[str, float] = {}
        for term in said:
            if term in self._weights:
                meant[term] = self._weights[term]
            if " " in term:
                continue
            for other, likeness in self._lookalikes.of(term):
                weight = _LOOKS_LIKE * likeness * self._weights[other]
                meant[other] = max(meant.get(other, 0.0), weight)
        return meant

    def _length(self, said: Iterable[str]) -> float:
        weights = [
            self._weights.get(term, 0.0 if " " in term else self._unknown) for term in set(said)
        ]
        return max(float(np.linalg.norm(weights)), 1e-9)


class _Index:
    """Texts as weighed terms of length one, by term."""

    def __init__(self, texts: Iterable[Mapping[str, float]], weights: Mapping[str, float]) -> None:
        at: dict[str, list[int]] = defaultdict(list)
        of: dict[str, list[float]] = defaultdict(list)
        self._count = 0
        for counted in texts:
            weighed = {t: n * weights[t] for t, n in counted.items() if t in weights}
            length = sum(weight * weight for weight in weighed.values()) ** 0.5
            for term, weight in weighed.items():
                at[term].append(self._count)
                of[term].append(weight / length)
            self._count += 1
        self._at = {term: np.array(places, dtype=np.intp) for term, places in at.items()}
        self._of = {term: np.array(values) for term, values in of.items()}

    def dot(self, meant: Mapping[str, float]) -> NDArray[np.float64]:
        """Return for each text how far it points in the direction of ``meant``."""
        sums = np.zeros(self._count)
        for term, weight in meant.items():
            if term in self._at:
                sums[self._at[term]] += weight * self._of[term]
        return sums


class _Lookalikes:
    """The known words that a word looks like, by the runs of three letters that both have."""

    def __init__(self, known: Iterable[str]) -> None:
        self._known = tuple(known)
        self._sizes = np.array([len(_runs(word)) for word in self._known])
        at: dict[str, list[int]] = defaultdict(list)
        for place, word in enumerate(self._known):
            for run in _runs(word):
                at[run].append(place)
        self._at = {run: np.array(places, dtype=np.intp) for run, places in at.items()}

    def of(self, word: str) -> Iterator[tuple[str, float]]:
        """Yield other words with their likeness to ``word``, from 0 to 1."""
        if len(word) < 4:
            return
        runs = _runs(word)
        shared = np.zeros(len(self._known))
        for run in runs:
            if run in self._at:
                shared[self._at[run]] += 1
        likeness = 2 * shared / (self._sizes + len(runs))
        for place in np.flatnonzero(likeness >= _ALIKE):
            if self._known[place] != word:
                yield self._known[place], float(likeness[place])


def _terms(text: str) -> list[str]:
    """Return the words of a text, and each two that follow each other."""
    said = words(text)
    return [*said, *(f"{first} {second}" for first, second in pairwise(["^", *said]))]


def _runs(word: str) -> set[str]:
    """Return the runs of three letters of a word, its beginning and end marked."""
    marked = f"^{word}$"
    return {marked[at : at + 3] for at in range(len(marked) - 2)}


def _weights(asked: Sequence[tuple[int, Mapping[str, int]]], cards: int) -> dict[str, float]:
    """Return each term's weight: the fewer cards are asked with it, the more."""
    asked_with = Counter(term for term, _ in {(t, at) for at, counted in asked for t in counted})
    return {
        term: float(np.log(1 + cards / count)) * (_PAIR if " " in term else 1.0)
        for term, count in asked_with.items()
    }


def _all_said(card: Card) -> dict[str, float]:
    """Return the terms of a whole card; what is said often counts, but less each time."""
    counted: Counter[str] = Counter()
    for text in card.asked:
        counted.update(set(_terms(text)))
    sums: dict[str, float] = dict(counted)
    for text, times in ((card.title, _TITLE), (card.say, _SAY)):
        for term in set(_terms(text)):
            sums[term] = sums.get(term, 0.0) + times
    return {term: times**0.5 for term, times in sums.items()}
