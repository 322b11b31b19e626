"""Which card of the handbook a question means: by its words, by its sense, and by what was learnt.

Three measures are joined (``Joining``). The words are the handbook's own (``handbook.nearest``);
the sense is how near the net's vectors of the question and of a card's askings are; what was learnt
is the net's own chance of each card. A new asking counts at once by the first two, after the reader
is taught again by all three.

Whether the first card answers at all is told by how good it is, how far ahead of the second,
whether it is the nearest by words alone too, what the net makes of the sentence and how many cards
it wavers between, and whether its vector lies on the side of askings or of other talk:
``Answering``.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from fieldvoice.handbook.nearest import Finder

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

    from fieldvoice.handbook.card import Card
    from fieldvoice.nlu.asking_vectors import AskingVectors
    from fieldvoice.nlu.reader_net import Guess, ReaderNet

#: So many of a card's askings tell how near it is in sense.
NEAREST = 3

#: What is added before a logarithm is taken of a card's chance, and of how near it is in words.
_LEAST_CHANCE, _LEAST_NEAR = 1e-5, 0.02

#: The kind of what a card answers, whichever it is.
ANY_CARD = "ask=advice"

#: The chance taken for a card that the net was not taught: it speaks neither for it nor against it.
_UNTAUGHT = 0.001

#: A chance is kept this far from 0 and 1 before its odds are taken.
_EDGE = 1e-4

#: So far is a card ahead that is the only one.
_FAR_AHEAD = 5.0


@dataclass(frozen=True, slots=True)
class Joining:
    """How much each measure counts in a card's score.

    The exponentials of the scores are as the chances of the cards: the weights are fitted so
    (``models.reader.answering``).
    """

    learnt: float
    words: float
    sense: float

    def score(self, measures: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the score of each card from its (..., 3) ``measures``."""
        joined: NDArray[np.float64] = measures @ (self.learnt, self.words, self.sense)
        return joined


@dataclass(frozen=True, slots=True)
class Ranking:
    """The cards found, by their names with their scores, the likeliest first.

    ``in_words`` is the one that is nearest by words alone.
    """

    cards: tuple[tuple[str, float], ...]
    in_words: str


@dataclass(frozen=True, slots=True)
class Answering:
    """The chance (0 to 1) that the first card found is what was asked for.

    A logistic curve, fitted to lines that the reader was not taught (``models.reader.answering``):
    ``base`` and the weights of the odds that the sentence says nothing, of the first card's score,
    of how far it is ahead of the second, of the net's own odds of it, of how far the vector lies on
    the side of askings (its product with ``side``), of 1 where the words agree, of the entropy of
    the net's chances of the cards, and of its odds of the likeliest question of the book's own.
    """

    base: float
    nothing: float
    score: float
    ahead: float
    learnt: float
    asked: float
    agreed: float
    spread: float
    own: float
    side: tuple[float, ...]

    def chance(self, guess: Guess, nothing: float, ranking: Ranking) -> float:
        """Return it for what the net makes of a sentence, and the cards found."""
        return self.of(marks_of(guess, nothing, ranking, self.side))

    def of(self, marks: tuple[float, ...]) -> float:
        """Return it for what ``marks_of`` gives."""
        weights = (
            self.nothing, self.score, self.ahead, self.learnt, self.asked, self.agreed,
            self.spread, self.own,
        )  # fmt: skip
        odds = self.base + sum(one * mark for one, mark in zip(weights, marks, strict=True))
        return 1 / (1 + math.exp(-odds))


def marks_of(
    guess: Guess, nothing: float, ranking: Ranking, side: Sequence[float]
) -> tuple[float, ...]:
    """Return what ``Answering`` weighs, in the order of its weights."""
    import numpy as np

    card, first = ranking.cards[0]
    second = ranking.cards[1][1] if len(ranking.cards) > 1 else first - _FAR_AHEAD
    learnt = guess.labels.get(f"card={card}", _UNTAUGHT)
    on_side = float(guess.vector @ np.asarray(side, np.float32))
    agreed = float(card == ranking.in_words)
    cards = [one for kind, one in guess.labels.items() if kind.startswith("card=")]
    spread = -sum(one * math.log(one) for one in cards if one > 0)
    own = max((one for kind, one in guess.labels.items() if _is_own(kind)), default=0.0)
    return (
        _odds(nothing), first, first - second, _odds(learnt), on_side, agreed, spread, _odds(own),
    )  # fmt: skip


def _is_own(kind: str) -> bool:
    return kind.startswith("ask=") and kind != ANY_CARD


def _odds(chance: float) -> float:
    return math.log((chance + _EDGE) / (1 - chance + _EDGE))


def stored_curves(file: Path) -> tuple[Joining, Answering]:
    """Return the curves that came with the reader.

    Raises:
        OSError, ValueError: for a file that is missing or damaged.
    """
    try:
        told = json.loads(file.read_text())
        side = tuple(float(one) for one in told["answering"].pop("side"))
        floats = [{name: float(one) for name, one in told[key].items()} for key in _CURVES]
        return Joining(**floats[0]), Answering(**floats[1], side=side)
    except (TypeError, AttributeError, KeyError) as fault:
        raise ValueError(f"{file.name} is none of a reader") from fault


_CURVES = ("joining", "answering")


class CardFinder:
    """Finds among the cards of one handbook; ``split`` makes words of a text as the reader does."""

    def __init__(
        self,
        cards: Sequence[Card],
        net: ReaderNet,
        split: Callable[[str], tuple[str, ...]],
        vectors: Path,
    ) -> None:
        self._cards = cards
        self._net = net
        self._split = split
        self._file = vectors

    def ranking(self, text: str, guess: Guess, joining: Joining) -> Ranking:
        """Return all cards as ``text`` and what the net makes of it rank them."""
        return ranking_of([card.id for card in self._cards], self.measures(text, guess), joining)

    def measures(self, text: str, guess: Guess) -> NDArray[np.float64]:
        """Return what was learnt, the words and the sense of each card: (cards, 3).

        The first two are logarithms, so that nothing in common speaks against a card.
        """
        import numpy as np

        near = {found.card.id: found.score for found in self._words.find(text)}
        found = np.empty((len(self._cards), 3))
        found[:, 0] = [guess.labels.get(f"card={card.id}", _UNTAUGHT) for card in self._cards]
        found[:, 1] = [near.get(card.id, 0.0) for card in self._cards]
        found[:, :2] = np.log(found[:, :2] + (_LEAST_CHANCE, _LEAST_NEAR))
        found[:, 2] = self._in_sense(guess)
        return found

    def _in_sense(self, guess: Guess) -> NDArray[np.float64]:
        """Return how near the nearest askings of each card are in sense, 0 to 1."""
        import numpy as np

        vectors, starts = self._askings
        near = self._vectors.near(vectors, guess.vector)
        nearest = (np.sort(one)[-NEAREST:] for one in np.split(near, starts))
        return np.array([one.mean() if len(one) else 0.0 for one in nearest])

    @cached_property
    def _words(self) -> Finder:
        return Finder(self._cards)

    @cached_property
    def _vectors(self) -> AskingVectors:
        from fieldvoice.nlu.asking_vectors import AskingVectors

        return AskingVectors.stored(self._file, self._net.size)

    @cached_property
    def _askings(self) -> tuple[NDArray[np.int8], NDArray[np.int64]]:
        """The vectors of all askings, card after card, and where each card but the first begins."""
        import numpy as np

        from fieldvoice.nlu.asking_vectors import digest

        kept, vectors = self._vectors.kept, []
        for card in self._cards:
            for asking in card.asked:
                vector = kept.get(digest(asking))
                if vector is None:  # an asking that came after the reader was taught
                    guess = self._net.guess(self._split(asking) or (asking,))
                    vector = self._vectors.packed(guess.vector)
                vectors.append(vector)
        starts = np.cumsum([len(card.asked) for card in self._cards])[:-1]
        return np.array(vectors), starts


def ranking_of(
    names: Sequence[str], measures: NDArray[np.float64], joining: Joining, without: str = ""
) -> Ranking:
    """Return cards of these names as their (cards, 3) ``measures`` rank them, one left out."""
    scores = zip(names, joining.score(measures).tolist(), measures[:, 1].tolist(), strict=True)
    found = [one for one in scores if one[0] != without]
    cards = sorted(((name, score) for name, score, _ in found), key=lambda one: -one[1])
    return Ranking(tuple(cards), max(found, key=lambda one: one[2])[0])
