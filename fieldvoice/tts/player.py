"""Sound out of a loudspeaker: one after the other, stopped at once when someone wants to speak."""

from __future__ import annotations

import threading
import time
from collections import deque
from contextlib import suppress
from typing import TYPE_CHECKING, Protocol

import numpy as np

from fieldvoice.soundcard import OUTPUT_LATENCY_S, SoundDeviceError, find

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from fieldvoice.soundcard import SoundSystem, Stream
    from fieldvoice.tts.voices import Sound

#: A room, and a headset's own delay, bring the voice back for this long after it ended, in seconds.
ECHO_S = 0.2


class Player(Protocol):
    """Plays sounds in order without keeping its caller waiting."""

    @property
    def speaking(self) -> bool:
        """Whether words are being played or wait for it; the short sounds do not count."""
        ...

    @property
    def level(self) -> float:
        """Root mean square, full scale 1, of what left the loudspeaker just now."""
        ...

    def play(self, sound: Sound, *, words: bool) -> None:
        """Play ``sound`` after those before it; ``words`` tells that it is speech."""
        ...

    def stop(self) -> None:
        """Fall silent at once; what waited is dropped."""
        ...

    def close(self) -> None:
        """Give the device back."""
        ...


class Waiting:
    """The samples that wait for the device, handed out block by block."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._sounds: deque[tuple[NDArray[np.int16], bool]] = deque()
        self._level = 0.0
        self._silent_at = 0.0

    @property
    def speaking(self) -> bool:
        """Whether words wait, or left so little ago that they are still to be heard."""
        with self._lock:
            return any(words for _, words in self._sounds) or time.monotonic() < self._silent_at

    @property
    def level(self) -> float:
        """Root mean square of the newest block handed out, full scale 1."""
        return self._level

    def put(self, samples: NDArray[np.int16], words: bool) -> None:
        """Add ``samples``, at the device's rate; ``words`` tells that they are speech."""
        with self._lock:
            self._sounds.append((samples, words))

    def clear(self) -> None:
        """Drop all that waits."""
        with self._lock:
            self._sounds.clear()
            self._silent_at = 0.0

    def take(self, count: int) -> NDArray[np.int16]:
        """Return the next ``count`` samples, silence where nothing waits."""
        block = np.zeros(count, dtype=np.int16)
        filled, spoken = 0, False
        with self._lock:
            while filled < count and self._sounds:
                head, words = self._sounds.popleft()
                part, rest = head[: count - filled], head[count - filled :]
                block[filled : filled + len(part)] = part
                filled += len(part)
                spoken = spoken or words
                if len(rest):
                    self._sounds.appendleft((rest, words))
        if spoken:
            self._silent_at = time.monotonic() + OUTPUT_LATENCY_S + ECHO_S
        self._level = float(np.sqrt(np.mean((block / 32768.0) ** 2))) if filled else 0.0
        return block


class DevicePlayer:
    """Plays on a loudspeaker, kept open all the time so that no beginning is lost.

    ``name`` is a part of the device's name; None for the usual one.

    Raises:
        SoundDeviceError: there is no such device, or it cannot be opened.
    """

    def __init__(self, system: SoundSystem, name: str | None = None) -> None:
        self._system, self._name = system, name
        self._waiting = Waiting()
        self._stream: Stream | None = self._opened()

    @property
    def speaking(self) -> bool:
        """See ``Player``."""
        return self._stream is not None and self._waiting.speaking

    @property
    def level(self) -> float:
        """See ``Player``."""
        return self._waiting.level

    def play(self, sound: Sound, *, words: bool) -> None:
        """See ``Player``. While the device is gone, sound is dropped; the screen has the words."""
        stream = self._stream
        if stream is not None:
            self._waiting.put(at_rate(sound.samples, sound.rate, stream.rate), words)

    def stop(self) -> None:
        """See ``Player``."""
        self._waiting.clear()

    def close(self) -> None:
        """See ``Player``."""
        self._waiting.clear()
        if self._stream is not None:
            self._stream.close()
        self._stream = None

    def reopen(self) -> None:
        """Open the device again, after the machine's devices have changed."""
        self.close()
        with suppress(SoundDeviceError):
            self._stream = self._opened()

    def _opened(self) -> Stream:
        device = find(self._system.devices(), self._name, inputs=False)
        return self._system.speak(device, self._waiting.take)


def at_rate(samples: NDArray[np.int16], rate: int, wanted: int) -> NDArray[np.int16]:
    """Return mono ``samples`` of ``rate`` a second at ``wanted`` a second."""
    if rate == wanted or not len(samples):
        return samples
    import av

    frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(samples).reshape(1, -1), "s16", "mono")
    frame.sample_rate = rate
    resampler = av.AudioResampler("s16", "mono", wanted)
    parts = (*resampler.resample(frame), *resampler.resample(None))
    joined: NDArray[np.int16] = np.concatenate([part.to_ndarray().reshape(-1) for part in parts])
    return joined.astype(np.int16)
