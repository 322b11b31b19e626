"""Which card of the handbook a question means: by its words, by its sense, and by what was learnt.

Three measures are joined. The words are the handbook's own (``handbook.nearest``); the sense is how
near the net's vectors of the question and of a card's askings are; what was learnt is the net's own
chance of each card. A new asking counts at once by the first two, after the reader is taught again
by all three.

Whether the first card answers at all is told by how good it is, how far ahead of the second, and
what the net makes of the sentence: ``Answering``.
"""

from __future__ import annotations

import hashlib
import json
import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from fieldvoice.handbook.nearest import Finder

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

    from fieldvoice.handbook.card import Card
    from fieldvoice.nlu.reader_net import Guess, ReaderNet

#: How much what was learnt counts beside words and sense, which count alike.
LEARNT = 0.3
#: A number of a vector is kept times this, in 8 bits.
SCALE = 150
#: So many vectors are compared at a time.
_PIECE = 1024

#: So many of a card's askings tell how near it is in sense.
NEAREST = 3


#: A chance is kept this far from 0 and 1 before its odds are taken.
_EDGE = 1e-4


@dataclass(frozen=True, slots=True)
class Answering:
    """The chance (0 to 1) that the first card found is what was asked for.

    A logistic curve, fitted to lines that the reader was not taught (``models.reader.answering``):
    ``base`` and the weights of the odds that the sentence says nothing, of the chance that it is
    a card's, of the first card's score, and of how far it is ahead of the second.
    """

    base: float
    nothing: float
    cards: float
    score: float
    ahead: float

    def chance(self, nothing: float, cards: float, ranked: Sequence[tuple[str, float]]) -> float:
        """Return it for the chances of nothing and of any card, and the cards found."""
        return self.of(marks_of(nothing, cards, ranked))

    def of(self, marks: tuple[float, float, float, float]) -> float:
        """Return it for what ``marks_of`` gives."""
        weights = (self.nothing, self.cards, self.score, self.ahead)
        odds = self.base + sum(one * mark for one, mark in zip(weights, marks, strict=True))
        return 1 / (1 + math.exp(-odds))


def marks_of(
    nothing: float, cards: float, ranked: Sequence[tuple[str, float]]
) -> tuple[float, float, float, float]:
    """Return what ``Answering`` weighs, in the order of its weights."""
    first = ranked[0][1]
    second = ranked[1][1] if len(ranked) > 1 else 0.0
    odds = math.log((nothing + _EDGE) / (1 - nothing + _EDGE))
    return odds, cards, first, first - second


def stored_answering(file: Path) -> Answering:
    """Return the curve that came with the reader.

    Raises:
        OSError, ValueError: for a file that is missing or damaged.
    """
    try:
        return Answering(**{name: float(one) for name, one in json.loads(file.read_text()).items()})
    except (TypeError, AttributeError) as fault:
        raise ValueError(f"{file.name} is none of a reader") from fault


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

    def ranked(self, text: str, guess: Guess) -> list[tuple[str, float]]:
        """Return cards by their names, the likeliest first, with a score of 0 to about 2."""
        import numpy as np

        scores = {
            card.id: LEARNT * guess.labels.get(f"card={card.id}", 0.0) for card in self._cards
        }
        for found in self._words.find(text):
            scores[found.card.id] += found.score
        vectors, owners = self._askings
        # Widened piece by piece: all at once they take four times the room.
        pieces = (vectors[at : at + _PIECE] for at in range(0, len(vectors), _PIECE))
        near = np.concatenate([piece.astype(np.float32) @ guess.vector for piece in pieces]) / SCALE
        for at, card in enumerate(self._cards):
            best = np.sort(near[owners == at])[-NEAREST:]
            scores[card.id] += float(best.mean()) if len(best) else 0.0
        return sorted(scores.items(), key=lambda one: -one[1])

    @cached_property
    def _words(self) -> Finder:
        return Finder(self._cards)

    @cached_property
    def _askings(self) -> tuple[NDArray[np.int8], NDArray[np.int64]]:
        """The vectors of all askings, and which card each belongs to."""
        import numpy as np

        kept = stored_vectors(self._file)
        vectors, owners = [], []
        for at, card in enumerate(self._cards):
            for asking in card.asked:
                vector = kept.get(digest(asking))
                if vector is None:  # an asking that came after the reader was taught
                    vector = in_bytes(self._net.guess(self._split(asking) or (asking,)).vector)
                vectors.append(vector)
                owners.append(at)
        return np.array(vectors), np.array(owners)


def digest(asking: str) -> str:
    """Return the name under which an asking's vector is kept."""
    return hashlib.sha256(asking.encode()).hexdigest()[:16]


def in_bytes(vector: NDArray[np.float32]) -> NDArray[np.int8]:
    """Return a vector as it is kept: times ``SCALE``, in 8 bits."""
    import numpy as np

    return np.clip(np.rint(vector * SCALE), -127, 127).astype(np.int8)


def stored_vectors(file: Path) -> Mapping[str, NDArray[np.int8]]:
    """Return the vectors reckoned when the reader was taught; none without a file in order."""
    import zipfile

    import numpy as np

    try:
        with np.load(file, allow_pickle=False) as stored:
            return dict(zip(stored["digests"].tolist(), stored["vectors"], strict=True))
    except (OSError, EOFError, ValueError, KeyError, zipfile.BadZipFile):
        return {}
