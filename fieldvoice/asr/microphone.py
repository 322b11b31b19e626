"""A microphone that outlives its cable: 16 kHz sound whenever the device is there.

The device is opened at its own rate and the sound brought to 16 kHz here. When it falls silent for
good (unplugged, out of range), it is looked for by name until it is back.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING, Any

import numpy as np

from fieldvoice.asr.audio import SAMPLE_RATE, Samples
from fieldvoice.soundcard import SoundDeviceError, find

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.soundcard import Block, SoundSystem, Stream

#: A microphone that gives nothing for this long is gone. It is waited for in steps, so that a
#: machine too busy to run this program, or asleep, is not taken for a lost microphone.
GONE_AFTER_S = 1.5
_STEP_S = 0.1
#: How often it is looked for then.
LOOK_EVERY_S = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """The next samples from the microphone: 16 kHz mono."""

    samples: Samples


@dataclass(frozen=True, slots=True)
class Lost:
    """The microphone is gone; ``why`` in one line."""

    why: str


@dataclass(frozen=True, slots=True)
class Found:
    """The microphone ``name`` is there (again)."""

    name: str


News = Piece | Lost | Found


class Resampler:
    """Brings live sound to 16 kHz, keeping what it needs from one block to the next."""

    def __init__(self, rate: int) -> None:
        self._rate = rate
        self._resampler: Any = None
        if rate != SAMPLE_RATE:
            import av

            self._resampler = av.AudioResampler("s16", "mono", SAMPLE_RATE)

    def feed(self, block: Block) -> Samples:
        """Return the samples that ``block`` (mono, at the rate given) makes ready."""
        if self._resampler is None:
            return block
        import av

        frame = av.AudioFrame.from_ndarray(block.reshape(1, -1), "s16", "mono")
        frame.sample_rate = self._rate
        ready = [one.to_ndarray().reshape(-1) for one in self._resampler.resample(frame)]
        return np.concatenate(ready).astype(np.int16) if ready else np.zeros(0, dtype=np.int16)


class Microphone:
    """Listens to a device in a thread of its own and hands all news to ``tell``.

    ``name`` is a part of the device's name; None for the usual one. Looking for devices anew takes
    all streams away: ``before_rescan`` and ``after_rescan`` let others close and open theirs.
    """

    def __init__(
        self,
        system: SoundSystem,
        tell: Callable[[News], None],
        name: str | None = None,
        before_rescan: Callable[[], None] = lambda: None,
        after_rescan: Callable[[], None] = lambda: None,
    ) -> None:
        self._system, self._tell, self._name = system, tell, name
        self._before_rescan, self._after_rescan = before_rescan, after_rescan
        self._blocks: SimpleQueue[Block] = SimpleQueue()
        self._ended = threading.Event()
        self._stream: Stream | None = self._opened()
        self._thread = threading.Thread(target=self._work, name="microphone", daemon=True)

    @property
    def name(self) -> str:
        """The device's own name; the one looked for while it is gone."""
        return self._stream.name if self._stream else self._name or "the usual one"

    def start(self) -> None:
        """Begin to hand on sound, from now on."""
        self._drop_blocks()
        self._thread.start()

    def close(self) -> None:
        """Give the device back."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join(timeout=GONE_AFTER_S + LOOK_EVERY_S + 1)
        self._close()

    def _opened(self) -> Stream:
        device = find(self._system.devices(), self._name, inputs=True)
        return self._system.listen(device, self._blocks.put)

    def _work(self) -> None:
        while not self._ended.is_set():
            assert self._stream is not None
            self._tell(Found(self._stream.name))
            self._hand_on(Resampler(self._stream.rate))
            self._close()
            if not self._ended.is_set():
                self._tell(Lost("nothing comes from the microphone"))
                self._look_for_it()

    def _hand_on(self, resampler: Resampler) -> None:
        """Hand sound on until the device is gone."""
        waited = 0
        while not self._ended.is_set() and waited * _STEP_S < GONE_AFTER_S:
            try:
                block = self._blocks.get(timeout=_STEP_S)
            except Empty:
                waited += 1
                continue
            waited = 0
            samples = resampler.feed(block)
            if len(samples):
                self._tell(Piece(samples))

    def _look_for_it(self) -> None:
        while not self._ended.wait(LOOK_EVERY_S):
            self._before_rescan()
            self._system.rescan()
            self._after_rescan()
            try:
                self._stream = self._opened()
            except SoundDeviceError:
                continue
            return

    def _close(self) -> None:
        if self._stream is not None:
            self._stream.close()
        self._stream = None
        self._drop_blocks()

    def _drop_blocks(self) -> None:
        while not self._blocks.empty():
            self._blocks.get()
