"""What an utterance's hearings are worth to a net that has heard it to the end.

The search goes forward with the sound and compares moments; the net (``ctc_net``) compares whole
texts with the whole sound. They err in different ways, so what is ahead by both together is right
more often than what is ahead by one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldvoice.asr.ctc import log_likelihoods

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from fieldvoice.asr.ctc import Ways
    from fieldvoice.asr.ctc_net import Moments
    from fieldvoice.asr.lattice import Hearing

    #: How a word is said: each way the names of its phones.
    Pronounce = Callable[[str], Iterable[Sequence[str]]]

#: What one unit of the net's log likelihood is worth in the search's scores.
WEIGHT = 6.0
#: The least log likelihood of a text: one with more phones than there was time for is not denied
#: for ever.
LEAST = -1e4


@dataclass(frozen=True, slots=True)
class Rescored:
    """A hearing with the score that both give it, and its log likelihood a moment by the net."""

    hearing: Hearing
    likely: float


class Rescorer:
    """Weighs hearings by what a net heard as well.

    ``phones`` are what its labels after the blank stand for; ``pronounce`` gives the ways in which
    words are said.
    """

    def __init__(self, phones: Sequence[str], pronounce: Pronounce) -> None:
        self._pronounce = pronounce
        self._labels = {phone: label for label, phone in enumerate(phones, start=1)}
        self._known: dict[str, Ways] = {}

    def rescored(self, hearings: Sequence[Hearing], moments: Moments) -> list[Rescored]:
        """Return ``hearings`` of the utterance that ``moments`` are of, by both, the best first."""
        texts = [[self._ways(word) for word in one.words] for one in hearings]
        logs = (max(log, LEAST) for log in log_likelihoods(moments.labels, texts))
        both = [
            Rescored(replace(one, score=one.score + WEIGHT * log), log / len(moments.labels))
            for one, log in zip(hearings, logs, strict=True)
        ]
        return sorted(both, key=lambda one: -one.hearing.score)

    def _ways(self, word: str) -> Ways:
        if word not in self._known:
            self._known[word] = tuple(
                tuple(self._labels[phone] for phone in way) for way in self._pronounce(word)
            )
        return self._known[word]
