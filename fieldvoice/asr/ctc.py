"""How likely it is that a text was said, by what a net says of its phones.

Connectionist temporal classification: A. Graves, S. Fernández, F. Gomez and J. Schmidhuber,
"Connectionist temporal classification: labelling unsegmented sequence data with recurrent neural
networks", Proceedings of the 23rd International Conference on Machine Learning, 2006, pages 369 to
376. At each moment the net gives every phone, and "blank", a probability; a text is as likely as
all the ways together in which its phones, once or longer, with or without blanks between, fill the
time. Where a word is said in several ways, each of them is a way through the text.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

#: The label that stands for no phone.
BLANK = 0

#: A word: the ways it is said, each the labels of its phones.
Ways = tuple[tuple[int, ...], ...]

# Weights this far below the greatest of the same text are none: they cannot matter any more, and
# numbers smaller still are slow to reckon with.
_NEXT_TO_NOTHING = 1e-200


@dataclass(frozen=True, slots=True)
class _Step:
    """One place in a text: the label that is said there, and the places that lead to it."""

    label: int
    before: tuple[int, ...]


class _Places:
    """The places of texts, one text after another.

    ``starts`` is where each text's places start, ``begins`` where the texts may begin and ``ends``
    where each of them may end.
    """

    def __init__(self, texts: Sequence[Sequence[Ways]]) -> None:
        self._steps: list[_Step] = []
        self.starts: list[int] = []
        self.begins: list[int] = []
        self.ends: list[list[int]] = []
        for words in texts:
            self._add_text(words)

    @property
    def labels(self) -> NDArray[np.int64]:
        """What is said at each place."""
        return np.array([step.label for step in self._steps])

    @property
    def before(self) -> NDArray[np.int64]:
        """The places before each, filled up with the one after the last, where nothing is."""
        count = len(self._steps)
        table = np.full((count, max(len(step.before) for step in self._steps)), count)
        for at, step in enumerate(self._steps):
            table[at, : len(step.before)] = step.before
        return table

    def _add_text(self, words: Sequence[Ways]) -> None:
        self.starts.append(len(self._steps))
        ends = [self._add(BLANK, ())]
        self.begins.append(ends[0])
        for number, word in enumerate(words):
            lasts = []
            for way in word:
                first, last = self._add_way(way, ends)
                lasts.append(last)
                if number == 0:
                    self.begins.append(first)
            ends = [self._add(BLANK, tuple(lasts)), *lasts]
        self.ends.append(ends)

    def _add_way(self, way: Sequence[int], before: Sequence[int]) -> tuple[int, int]:
        """Add the phones of a word, blanks between them; return its first place and its last."""
        first = last = self._add_label(way[0], before)
        for label in way[1:]:
            blank = self._add(BLANK, (last,))
            last = self._add_label(label, (blank, last))
        return first, last

    def _add_label(self, label: int, before: Sequence[int]) -> int:
        # the same phone twice is one, but for a blank between
        return self._add(label, tuple(at for at in before if self._steps[at].label != label))

    def _add(self, label: int, before: tuple[int, ...]) -> int:
        at = len(self._steps)
        self._steps.append(_Step(label, (at, *before)))
        return at


def log_likelihoods(
    probabilities: NDArray[np.float64], texts: Sequence[Sequence[Ways]]
) -> list[float]:
    """Return the natural logarithm of the likelihood of each text.

    ``probabilities`` are (moment, label); a text is its words. A text that has more phones than
    there are moments has a likelihood of 0, so minus infinity.
    """
    if not texts:
        return []
    places = _Places(texts)
    labels, before = places.labels, places.before
    owners = np.repeat(np.arange(len(texts)), np.diff([*places.starts, len(labels)]))
    weights = np.zeros(len(labels) + 1)
    weights[places.begins] = 1.0
    logs = np.zeros(len(texts))
    for moment, row in enumerate(probabilities):
        reached = weights[before].sum(axis=1) if moment else weights[:-1]
        reached = reached * row[labels]
        most = np.maximum.reduceat(reached, places.starts)
        with np.errstate(divide="ignore", invalid="ignore"):
            logs += np.log(most)
            reached /= most[owners]
        reached[~(reached > _NEXT_TO_NOTHING)] = 0.0
        weights[:-1] = reached
    whole = [float(weights[last].sum()) for last in places.ends]
    return [
        float(log) + math.log(part) if part > 0 else -math.inf
        for log, part in zip(logs, whole, strict=True)
    ]
