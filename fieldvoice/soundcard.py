"""The machine's microphones and loudspeakers: which there are, and streams to and from them.

Two libraries can do it: sounddevice (PortAudio), and miniaudio where the PortAudio library is not
installed. Each device is opened at a rate of its own choice; whoever wants another one resamples.
"""

from __future__ import annotations

import ctypes
import sys
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
from numpy.typing import NDArray

from fieldvoice.errors import FieldvoiceError

if TYPE_CHECKING:
    from collections.abc import Callable, Generator

Block = NDArray[np.int16]

#: What to do where no library can be used.
TO_INSTALL = (
    'To use a microphone: pip install "fieldvoice[live]"; '
    "on Debian or Ubuntu also: apt install libportaudio2"
)
#: Sound comes and goes in pieces of this length, in seconds.
BLOCK_S = 0.02
#: What a loudspeaker holds ready, in seconds. With 0.06 and a sound server, PortAudio does not
#: recover from a gap of 0.15 s, as a busy machine makes them: it starts the device over and over
#: and so swallows whole sentences, for seconds. With 0.1 that was not seen.
OUTPUT_LATENCY_S = 0.1
#: What a microphone may gather while the machine is busy; more is lost. PortAudio hands on a third
#: of it at once: sound is 60 ms late at most with this, 40 ms with half of it.
INPUT_LATENCY_S = 0.2


class SoundDeviceError(FieldvoiceError):
    """A microphone or loudspeaker is not there or cannot be used."""


@dataclass(frozen=True, slots=True)
class Device:
    """A microphone (``inputs`` above 0), a loudspeaker (``outputs``), or both.

    ``rate`` is its own, in samples a second. ``usual_input`` and ``usual_output`` tell that it is
    taken when none is named. ``handle`` is the library's own name for it.
    """

    name: str
    inputs: int
    outputs: int
    rate: int
    usual_input: bool
    usual_output: bool
    handle: Any = None


class Stream(Protocol):
    """An open device."""

    rate: int
    name: str

    @property
    def active(self) -> bool:
        """Whether the device still runs, as far as the library knows."""
        ...

    def close(self) -> None:
        """Give the device back."""
        ...


class SoundSystem(Protocol):
    """What both libraries offer."""

    name: str

    def devices(self) -> list[Device]:
        """Return the devices there are now."""
        ...

    def listen(self, device: Device | None, take: Callable[[Block], None]) -> Stream:
        """Open a microphone; ``take`` gets its mono blocks, from another thread."""
        ...

    def speak(self, device: Device | None, give: Callable[[int], Block]) -> Stream:
        """Open a loudspeaker; ``give`` returns as many mono samples as asked, in another thread."""
        ...

    def rescan(self) -> None:
        """Look for devices anew. Streams that are open may be lost by it."""
        ...


def sound_system(microphone: str | None = None, speaker: str | None = None) -> SoundSystem:
    """Return the first library that works here and knows the devices named.

    On Linux, PortAudio knows a Bluetooth headset only as part of the sound server; the other
    library knows it by its name.

    Raises:
        SoundDeviceError: none works; the text says what to install.
    """
    working: list[SoundSystem] = []
    for library in (PortAudio, MiniAudio):
        try:
            working.append(library())
        except (ImportError, OSError):
            continue
        if _knows(working[-1], microphone, speaker):
            return working[-1]
    if not working:
        raise SoundDeviceError(TO_INSTALL)
    return working[0]


def all_devices() -> list[Device]:
    """Return the devices that either library knows, each name once for either side.

    Raises:
        SoundDeviceError: none works.
    """
    found = sound_system().devices()
    with suppress(ImportError, OSError):
        found += MiniAudio().devices()
    return list({(one.name, one.inputs > 0, one.outputs > 0): one for one in found[::-1]}.values())[
        ::-1
    ]


def _knows(system: SoundSystem, microphone: str | None, speaker: str | None) -> bool:
    try:
        devices = system.devices()
        find(devices, microphone, inputs=True)
        find(devices, speaker, inputs=False)
    except SoundDeviceError:
        return False
    return True


def find(devices: list[Device], name: str | None, *, inputs: bool) -> Device | None:
    """Return the microphone (``inputs``) or loudspeaker whose name holds ``name``, in any case.

    A name in full goes before a part of one. None where no name was given: the usual one.

    Raises:
        SoundDeviceError: there is none; the text names those that there are.
    """
    if name is None:
        return None
    able = [one for one in devices if (one.inputs if inputs else one.outputs) > 0]
    whole = [one for one in able if one.name.lower() == name.lower()]
    part = [one for one in able if name.lower() in one.name.lower()]
    if whole or part:
        return (whole or part)[0]
    kind = "microphone" if inputs else "loudspeaker"
    there = ", ".join(dict.fromkeys(one.name for one in able)) or "none"
    raise SoundDeviceError(f"There is no {kind} called {name!r}; there is: {there}.")


class PortAudio:
    """Devices through sounddevice."""

    name = "sounddevice"

    def __init__(self) -> None:
        import sounddevice

        self._sd = sounddevice
        _silence_alsa()

    def devices(self) -> list[Device]:
        """See ``SoundSystem``."""
        usual_in, usual_out = self._sd.default.device
        return [
            Device(
                name=str(one["name"]),
                inputs=int(one["max_input_channels"]),
                outputs=int(one["max_output_channels"]),
                rate=round(one["default_samplerate"]),
                usual_input=number == usual_in,
                usual_output=number == usual_out,
                handle=number,
            )
            for number, one in enumerate(self._sd.query_devices())
        ]

    def listen(self, device: Device | None, take: Callable[[Block], None]) -> Stream:
        """See ``SoundSystem``."""

        def taken(data: Any, frames: int, time: Any, status: Any) -> None:
            # Where a device has two channels, both hear the same voice: the first is enough.
            whole = np.frombuffer(data, dtype=np.int16)
            take(whole.reshape(frames, -1)[:, 0].copy())

        return self._opened(self._sd.RawInputStream, device, "input", INPUT_LATENCY_S, taken)

    def speak(self, device: Device | None, give: Callable[[int], Block]) -> Stream:
        """See ``SoundSystem``."""

        def given(data: Any, frames: int, time: Any, status: Any) -> None:
            channels = len(data) // (2 * frames)
            data[:] = np.repeat(give(frames), channels).tobytes()

        return self._opened(self._sd.RawOutputStream, device, "output", OUTPUT_LATENCY_S, given)

    def rescan(self) -> None:
        """See ``SoundSystem``. PortAudio reads the devices once, when it starts."""
        self._sd._terminate()
        self._sd._initialize()

    def _opened(
        self, kind: Any, device: Device | None, side: str, latency_s: float, work: Any
    ) -> Stream:
        try:
            about = self._sd.query_devices(device.handle if device else None, side)
            rate = round(about["default_samplerate"])
            stream = self._one_or_two_channels(
                kind, about, side, rate=rate, latency_s=latency_s, work=work
            )
            stream.start()
        except (self._sd.PortAudioError, ValueError) as fault:
            raise SoundDeviceError(_unusable(self, device, side, fault)) from fault
        return _PortAudioStream(stream, rate, str(about["name"]))

    def _one_or_two_channels(
        self, kind: Any, about: Any, side: str, *, rate: int, latency_s: float, work: Any
    ) -> Any:
        """Return the opened stream; some devices have no single channel."""
        options = {
            "samplerate": rate,
            "device": about["index"],
            "dtype": "int16",
            "blocksize": round(rate * BLOCK_S),
            "latency": latency_s,
            "callback": work,
        }
        try:
            return kind(channels=1, **options)
        except self._sd.PortAudioError:
            return kind(channels=min(2, about[f"max_{side}_channels"]), **options)


class _PortAudioStream:
    def __init__(self, stream: Any, rate: int, name: str) -> None:
        self._stream, self.rate, self.name = stream, rate, name

    @property
    def active(self) -> bool:
        return bool(self._stream.active)

    def close(self) -> None:
        # Closing what is gone already is no trouble of the user's.
        self._stream.close(ignore_errors=True)


class MiniAudio:
    """Devices through miniaudio, which needs no library of the system."""

    name = "miniaudio"
    rate = 48_000

    def __init__(self) -> None:
        import miniaudio

        self._ma = miniaudio

    def devices(self) -> list[Device]:
        """See ``SoundSystem``."""
        return [
            Device(str(one["name"]), inputs, 1 - inputs, self.rate, False, False, one["id"])
            for inputs, side in ((1, "get_captures"), (0, "get_playbacks"))
            for one in self._known(side)
        ]

    def _known(self, side: str) -> list[dict[str, Any]]:
        try:
            known: list[dict[str, Any]] = getattr(self._ma.Devices(), side)()
        except self._ma.MiniaudioError:
            return []  # one of them is listed and cannot be asked what it is
        return known

    def listen(self, device: Device | None, take: Callable[[Block], None]) -> Stream:
        """See ``SoundSystem``."""

        def taking() -> Generator[None, bytes, None]:
            while True:
                take(np.frombuffer((yield), dtype=np.int16))

        return self._opened(self._ma.CaptureDevice, device, "input", taking())

    def speak(self, device: Device | None, give: Callable[[int], Block]) -> Stream:
        """See ``SoundSystem``."""

        def giving() -> Generator[bytes, int, None]:
            wanted = yield b""
            while True:
                wanted = yield give(wanted).tobytes()

        return self._opened(self._ma.PlaybackDevice, device, "output", giving())

    def rescan(self) -> None:
        """See ``SoundSystem``. This library asks for the devices each time."""

    def _opened(
        self, kind: Any, device: Device | None, side: str, work: Generator[Any, Any, None]
    ) -> Stream:
        options: dict[str, Any] = {
            f"{side}_format": self._ma.SampleFormat.SIGNED16,
            "nchannels": 1,
            "sample_rate": self.rate,
            "buffersize_msec": round(2000 * BLOCK_S),
            "device_id": device.handle if device else None,
        }
        try:
            opened = kind(**options)
            next(work)
            opened.start(work)
        except (self._ma.MiniaudioError, OSError) as fault:
            raise SoundDeviceError(_unusable(self, device, side, fault)) from fault
        return _MiniAudioStream(opened, self.rate, device.name if device else "the usual one")


class _MiniAudioStream:
    def __init__(self, device: Any, rate: int, name: str) -> None:
        self._device, self.rate, self.name = device, rate, name

    @property
    def active(self) -> bool:
        return bool(self._device.running)

    def close(self) -> None:
        self._device.close()


@cache
def _silence_alsa() -> object:
    """Keep Linux's sound library from writing over the screen.

    It tells of every short gap in the sound on standard error, whatever program it serves. What is
    returned is called by that library as long as the program runs: the cache keeps it alive, for a
    handler that is gone ends the program at the next gap.
    """
    if not sys.platform.startswith("linux"):
        return None
    handler_type = ctypes.CFUNCTYPE(
        None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p
    )
    handler = handler_type(lambda *_: None)
    with suppress(OSError, AttributeError):
        ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(handler)
    return handler


def _unusable(system: SoundSystem, device: Device | None, side: str, fault: Exception) -> str:
    kind = "microphone" if side == "input" else "loudspeaker"
    able = [one for one in system.devices() if (one.inputs if side == "input" else one.outputs)]
    if not able:
        return f"No {kind} was found: connect one, or see whether the system shows it."
    name = f" {device.name!r}" if device else ""
    return f"The {kind}{name} cannot be used: {str(fault).splitlines()[0]}"
