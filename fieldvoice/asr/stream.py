"""Live sound, piece by piece, as utterances: one begins, pauses, goes on, ends."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.asr.audio import SAMPLE_RATE
from fieldvoice.asr.endpoint import Endpointer, Span
from fieldvoice.asr.pauses import PAUSE_S, TAIL_S

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from fieldvoice.asr.audio import Samples
    from fieldvoice.asr.endpoint import SpeechDetector


@dataclass(frozen=True, slots=True, eq=False)
class Began:
    """Somebody speaks; ``sound`` is what there is of it, from a little before the first word."""

    sound: Samples


@dataclass(frozen=True, slots=True, eq=False)
class Grew:
    """The utterance under way goes on with ``sound``."""

    sound: Samples


@dataclass(frozen=True, slots=True, eq=False)
class Paused:
    """Nothing is being said for the moment.

    If nothing more is, ``span`` and ``sound`` are those of the utterance, sample for sample: work
    on them may begin before the pause is long enough to end it.
    """

    span: Span
    sound: Samples


@dataclass(frozen=True, slots=True, eq=False)
class Ended:
    """An utterance with its place in the sound so far and its samples."""

    span: Span
    sound: Samples


Event = Began | Grew | Paused | Ended


class UtteranceStream:
    """Turns pieces of live sound (16 kHz mono, any size) into events. Forgets what is not needed.

    ``pause_s`` is the pause that ends an utterance, in seconds.
    """

    def __init__(self, detector: SpeechDetector | None = None, pause_s: float = PAUSE_S) -> None:
        self._endpointer = Endpointer(detector, pause_s)
        self._kept: deque[Samples] = deque()
        self._begins = 0  # the place of the first sample kept
        self._ends = 0  # one past the last one fed
        self._told = 0  # one past the last one handed out of the utterance under way
        self._paused = False

    @property
    def speaking(self) -> bool:
        """Whether an utterance has begun and not ended."""
        return self._endpointer.speaking

    @property
    def pause_s(self) -> float:
        """The pause that ends an utterance, in seconds."""
        return self._endpointer.pause_s

    @pause_s.setter
    def pause_s(self, seconds: float) -> None:
        self._endpointer.pause_s = seconds

    @property
    def owed_s(self) -> float:
        """How much longer the silence under way may last, in seconds, since more must follow."""
        return self._endpointer.owed_s

    @owed_s.setter
    def owed_s(self, seconds: float) -> None:
        self._endpointer.owed_s = seconds

    @property
    def paused_s(self) -> float:
        """How long nothing has been said within the utterance under way, in seconds."""
        return self._endpointer.paused_s

    def feed(self, piece: Samples) -> list[Event]:
        """Take the next piece; return what happened in it, in order."""
        was_speaking = self._endpointer.speaking
        self._kept.append(piece)
        self._ends += len(piece)
        events: list[Event] = [
            Ended(span, self._sound_of(span)) for span in self._endpointer.feed(piece)
        ]
        if self._endpointer.speaking:
            events += self._under_way(began=not was_speaking or bool(events))
        else:
            self._paused = False
        self._forget()
        return events

    def finish(self) -> list[Event]:
        """End the utterance under way, if there is one: the microphone is gone, or closed."""
        events: list[Event] = [
            Ended(span, self._sound_of(span)) for span in self._endpointer.finish()
        ]
        self._paused = False
        self._forget()
        return events

    def _under_way(self, *, began: bool) -> list[Event]:
        span = self._endpointer.under_way
        assert span is not None
        events: list[Event] = []
        if began:
            self._paused = False
            self._told = round(span.start_s * SAMPLE_RATE)
            events.append(Began(self._tell()))
        else:
            events.append(Grew(self._tell()))
        whole = self._endpointer.paused_s >= TAIL_S
        if whole and not self._paused:
            events.append(Paused(span, self._sound_of(span)))
        self._paused = whole
        return events

    def _tell(self) -> Samples:
        """Return what has not been handed out of the utterance under way."""
        sound = self._between(self._told, self._ends)
        self._told = self._ends
        return sound

    def _sound_of(self, span: Span) -> Samples:
        return self._between(round(span.start_s * SAMPLE_RATE), round(span.end_s * SAMPLE_RATE))

    def _between(self, first: int, last: int) -> Samples:
        kept = np.concatenate(self._kept) if self._kept else np.zeros(0, dtype=np.int16)
        return kept[max(0, first - self._begins) : max(0, last - self._begins)]

    def _forget(self) -> None:
        needed = self._endpointer.needed_from_s * SAMPLE_RATE
        while self._kept and self._begins + len(self._kept[0]) <= needed:
            self._begins += len(self._kept.popleft())


def utterances(
    pieces: Iterable[Samples], detector: SpeechDetector | None = None
) -> Iterator[tuple[Span, Samples]]:
    """Yield each utterance in live sound with its samples as soon as it has ended."""
    stream = UtteranceStream(detector)
    for piece in pieces:
        for event in stream.feed(piece):
            if isinstance(event, Ended):
                yield event.span, event.sound
    for event in stream.finish():
        if isinstance(event, Ended):
            yield event.span, event.sound
