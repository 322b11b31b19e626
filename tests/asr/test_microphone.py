"""A microphone without a sound card: its sound, its rate, its going and coming back."""

from __future__ import annotations

import queue
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE, microphone
from fieldvoice.asr.microphone import Found, Lost, Microphone, Piece, Resampler
from fieldvoice.soundcard import Device, MiniAudio, SoundDeviceError, find

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.soundcard import Block

HEADSET = Device("Wooly Headset Mono", 1, 1, 48_000, False, False)
BUILT_IN = Device("Built-in Audio", 2, 2, 44_100, True, True)


class FakeStream:
    active = True

    def __init__(self, device: Device) -> None:
        self.rate, self.name, self.closed = device.rate, device.name, False

    def close(self) -> None:
        self.closed = True


class FakeSystem:
    """Devices that a test plugs and unplugs; ``take`` gets the open microphone's sound."""

    name = "fake"

    def __init__(self, *devices: Device) -> None:
        self.plugged = list(devices)
        self.known = list(devices)
        self.take: Callable[[Block], None] = lambda block: None
        self.calls: list[str] = []

    def devices(self) -> list[Device]:
        return self.known

    def listen(self, device: Device | None, take: Callable[[Block], None]) -> FakeStream:
        chosen = device or next(one for one in self.known if one.usual_input)
        if chosen not in self.plugged:
            raise SoundDeviceError("unplugged")
        self.take = take
        self.calls.append(f"listen {chosen.name}")
        return FakeStream(chosen)

    def rescan(self) -> None:
        self.calls.append("rescan")
        self.known = list(self.plugged)


@pytest.fixture(autouse=True)
def _quickly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(microphone, "GONE_AFTER_S", 0.1)
    monkeypatch.setattr(microphone, "LOOK_EVERY_S", 0.02)


def test_a_device_is_found_by_a_part_of_its_name() -> None:
    devices = [BUILT_IN, HEADSET]
    assert find(devices, "headset", inputs=True) is HEADSET
    assert find(devices, "built-in audio", inputs=False) is BUILT_IN
    assert find(devices, None, inputs=True) is None
    with pytest.raises(SoundDeviceError, match="there is: Built-in Audio, Wooly Headset Mono"):
        find(devices, "radio", inputs=True)
    with pytest.raises(SoundDeviceError, match="no loudspeaker"):
        find([Device("Lavalier", 1, 0, 48_000, False, False)], "lavalier", inputs=False)


def test_a_name_in_full_goes_before_a_part_of_one() -> None:
    plain = Device("USB", 1, 0, 48_000, False, False)
    other = Device("USB Camera", 1, 0, 48_000, False, False)
    assert find([other, plain], "usb", inputs=True) is plain


@pytest.mark.parametrize("rate", [8_000, 16_000, 44_100, 48_000])
def test_any_rate_becomes_16_khz(rate: int) -> None:
    """A tone keeps its pitch and its length; pieces of any size join without a click."""
    seconds, pitch = 2.0, 440.0
    tone = np.sin(2 * np.pi * pitch * np.arange(round(seconds * rate)) / rate) * 10_000
    resampler = Resampler(rate)
    blocks = np.array_split(tone.astype(np.int16), 101)
    sound = np.concatenate([resampler.feed(block) for block in blocks])
    assert len(sound) == pytest.approx(seconds * SAMPLE_RATE, abs=200)
    spectrum = np.abs(np.fft.rfft(sound[1_000:-1_000] * np.hanning(len(sound) - 2_000)))
    found = spectrum.argmax() * SAMPLE_RATE / (len(sound) - 2_000)
    assert found == pytest.approx(pitch, abs=1.0)
    assert np.abs(np.diff(sound.astype(int))).max() < 2_500


def test_a_headset_that_goes_out_of_range_is_taken_again_when_it_is_back() -> None:
    system = FakeSystem(BUILT_IN, HEADSET)
    news: queue.SimpleQueue[object] = queue.SimpleQueue()
    rescans: list[str] = []
    source = Microphone(
        system,
        news.put,
        "headset",
        before_rescan=lambda: rescans.append("before"),
        after_rescan=lambda: rescans.append("after"),
    )
    source.start()
    assert news.get(timeout=30) == Found(HEADSET.name)
    system.take(np.ones(960, dtype=np.int16))
    piece = news.get(timeout=30)
    assert isinstance(piece, Piece)
    system.plugged.remove(HEADSET)
    assert isinstance(news.get(timeout=30), Lost)
    while system.calls.count("rescan") < 3:
        pass
    system.plugged.append(HEADSET)
    assert news.get(timeout=30) == Found(HEADSET.name)
    source.close()
    assert system.calls.count(f"listen {HEADSET.name}") == 2
    assert f"listen {BUILT_IN.name}" not in system.calls, "no other microphone is taken instead"
    assert rescans[:2] == ["before", "after"]


def test_a_microphone_that_is_not_there_is_told_at_once() -> None:
    with pytest.raises(SoundDeviceError, match="no microphone called 'radio'"):
        Microphone(FakeSystem(BUILT_IN), lambda news: None, "radio")


def test_a_device_that_cannot_be_asked_what_it_is_hides_no_other_side(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A sound server's microphone may be listed when the server is gone."""
    ma = pytest.importorskip("miniaudio")

    class Devices:
        def get_captures(self) -> list[dict[str, object]]:
            raise ma.MiniaudioError("can't get device info")

        def get_playbacks(self) -> list[dict[str, object]]:
            return [{"name": "horn", "id": b"1"}]

    monkeypatch.setattr(ma, "Devices", Devices)
    assert [(one.name, one.outputs) for one in MiniAudio().devices()] == [("horn", 1)]


def test_a_machine_without_sound_is_told_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both libraries only say that something was not found, each in its own way."""
    miniaudio = pytest.importorskip("miniaudio", reason="the extra live is not installed")

    def nothing(*_: object, **__: object) -> None:
        raise miniaudio.MiniaudioError("can't get device info")

    for name in ("Devices", "PlaybackDevice", "CaptureDevice"):
        monkeypatch.setattr(miniaudio, name, nothing)
    system = MiniAudio()
    assert system.devices() == []
    with pytest.raises(SoundDeviceError, match="No loudspeaker was found: connect one"):
        system.speak(None, lambda count: np.zeros(count, dtype=np.int16))
    with pytest.raises(SoundDeviceError, match="No microphone was found: connect one"):
        system.listen(None, lambda block: None)
