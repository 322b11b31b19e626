"""The voices: sound that is there, repeats, keeps its level, and fails in plain words."""

from __future__ import annotations

import sys
import time

import numpy as np
import pytest

from fieldvoice.errors import VoiceError
from fieldvoice.tts import VOICES, HibariVoice, PicoVoice, Sound, default_voice, named_voice

REPLY = "Tree 12: nearly full, cloudy. Keep it out of the tank today."


def _loud_seconds(sound: Sound) -> float:
    """Seconds in which something is heard: 20 ms frames above -40 dB of full scale."""
    frame = sound.rate // 50
    frames = sound.samples[: len(sound.samples) // frame * frame].reshape(-1, frame)
    return float(np.sum(np.sqrt(np.mean((frames / 32768) ** 2, axis=1)) > 0.01)) / 50


def test_a_reply_is_audible_speech_of_the_right_length(hibari: HibariVoice) -> None:
    """People speak 2 to 4 words a second; seven words last from 1.5 to 4 seconds."""
    sound = hibari.render("Tree twelve can take only one tap.")
    assert sound.rate == 24_000
    assert sound.samples.dtype == np.int16
    assert 1.5 < sound.duration_s < 4
    assert _loud_seconds(sound) > 1


def test_a_reply_does_not_clip(hibari: HibariVoice) -> None:
    peak = np.abs(hibari.render(REPLY).samples.astype(int)).max()
    assert 0.1 * 32768 < peak < 0.95 * 32768


def test_the_same_reply_is_the_same_sound_in_any_order(hibari: HibariVoice) -> None:
    first = hibari.render(REPLY).samples
    hibari.render("Something else in between.")
    assert np.array_equal(hibari.render(REPLY).samples, first)


def test_another_seed_is_another_sound(hibari: HibariVoice) -> None:
    other = HibariVoice(seed=1).render(REPLY).samples
    assert not np.array_equal(other, hibari.render(REPLY).samples)


def test_figures_are_spoken_as_words(hibari: HibariVoice) -> None:
    written = hibari.render("Draw at 219 °F; then 2.5 gal.").samples
    spoken = hibari.render("Draw at two nineteen degrees. Then two and a half gallons.").samples
    assert np.array_equal(written, spoken)


def test_nothing_to_say_is_no_sound(hibari: HibariVoice) -> None:
    assert hibari.render("  ").duration_s == 0


def test_a_reply_of_twelve_words_is_ready_within_half_a_second(hibari: HibariVoice) -> None:
    """The best of three, so that other work on the machine does not count."""
    times = []
    for _ in range(3):
        began = time.perf_counter()
        hibari.render(REPLY)
        times.append(time.perf_counter() - began)
    assert min(times) < 0.5


def test_the_light_voice_speaks_without_clipping() -> None:
    pytest.importorskip("py_nanotts", reason="the light voice's package is not installed")
    sound = PicoVoice().render(REPLY)
    assert sound.rate == 16_000
    assert 2.5 < sound.duration_s < 8
    assert 0.1 * 32768 < np.abs(sound.samples.astype(int)).max() < 32767
    assert PicoVoice().render(" ").duration_s == 0


def test_the_default_voice_is_the_most_natural_one() -> None:
    assert default_voice().name == "hibari" == next(iter(VOICES))


def test_without_the_natural_voice_the_light_one_speaks(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("py_nanotts", reason="the light voice's package is not installed")
    monkeypatch.setitem(sys.modules, "hibari", None)
    assert default_voice().name == "pico"


def test_without_any_voice_the_error_names_the_packages(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "hibari", None)
    monkeypatch.setitem(sys.modules, "py_nanotts", None)
    with pytest.raises(VoiceError, match=r"hibari-tts.*py-nanotts") as caught:
        default_voice()
    assert "\n" not in str(caught.value)


def test_a_broken_engine_counts_as_no_voice(monkeypatch: pytest.MonkeyPatch) -> None:
    class Broken:
        @staticmethod
        def Hibari() -> None:  # noqa: N802 - the engine's own name
            raise RuntimeError("its model is damaged")

    monkeypatch.setitem(sys.modules, "hibari", Broken)
    with pytest.raises(VoiceError, match="its model is damaged"):
        named_voice("hibari")


def test_an_engine_that_fails_while_speaking_is_a_voice_error(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    class Engine:
        sample_rate = 24_000

        def __call__(self, text: str, **_: object) -> np.ndarray:
            if text != "Ready.":
                raise RuntimeError("out of memory")
            return np.zeros(0, np.float32)

    class Module:
        Hibari = Engine

    monkeypatch.setitem(sys.modules, "hibari", Module)
    with pytest.raises(VoiceError, match="out of memory"):
        HibariVoice().render(REPLY)


def test_an_unknown_voice_is_refused_with_those_there_are() -> None:
    with pytest.raises(VoiceError, match="hibari, pico"):
        named_voice("baritone")
