"""Loudness by ITU-R BS.1770 (pyloudnorm) and silences, of speech as it leaves the voices."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pyloudnorm
import pytest

from fieldvoice.tts import VOICES, HibariVoice, Sound, named_voice
from fieldvoice.tts.levelled import GAP_S, HEAD_S, LUFS, TAIL_S, levelled, limited
from fieldvoice.tts.voices import Levelled

if TYPE_CHECKING:
    from numpy.typing import NDArray

RATE = 24_000
GOLDEN = Path(__file__).parents[1] / "dialogue" / "golden_replies.jsonl"


def tone(seconds: float, size: float = 0.2) -> NDArray[np.float64]:
    return size * np.sin(2 * np.pi * 500 * np.arange(round(seconds * RATE)) / RATE)


def silence(seconds: float) -> NDArray[np.float64]:
    return np.zeros(round(seconds * RATE))


def longest_silence_s(sound: Sound) -> float:
    """Of steps of 10 ms in which all lies 40 dB under the loudest of them."""
    step = sound.rate // 100
    frames = sound.samples[: len(sound.samples) // step * step].reshape(-1, step)
    power = np.mean((frames / 32768) ** 2, axis=1)
    runs = "".join(".-"[int(one)] for one in power < power.max() * 1e-4).split(".")
    return max(map(len, runs)) / 100


def loudness(samples: NDArray[Any], rate: int) -> float:
    return float(pyloudnorm.Meter(rate).integrated_loudness(samples / 32768))


def twenty_replies() -> list[str]:
    """Replies told in the kept conversations, from one end to the other; no very short ones."""
    lines = GOLDEN.read_text(encoding="utf-8").splitlines()
    told = [line["spoken"] for line in map(json.loads, lines)]
    long_enough = list(dict.fromkeys(one for one in told if 5 <= len(one.split()) <= 25))
    return long_enough[:: len(long_enough) // 20][:20]


def test_silences_are_shortened_and_sounds_are_whole() -> None:
    wave = np.concatenate([silence(0.5), tone(1), silence(0.9), tone(0.5), silence(0.7)])
    sound = levelled(wave, RATE, 0.0)
    assert len(sound) / RATE == pytest.approx(HEAD_S + 1 + GAP_S + 0.5 + TAIL_S, abs=0.03)


def test_a_soft_consonant_at_the_end_is_no_silence() -> None:
    """35 dB under the loudest, as an "s" or "f" may be."""
    wave = np.concatenate([silence(0.5), tone(1, 0.5), silence(0.1), tone(0.1, 0.009)])
    sound = levelled(wave, RATE, 0.0)
    assert len(sound) / RATE == pytest.approx(HEAD_S + 1.2, abs=0.03)


def test_nothing_said_is_no_sound() -> None:
    assert len(levelled(silence(0.5), RATE, 8.0)) == 0
    assert len(levelled(silence(0), RATE, 8.0)) == 0


def test_peaks_are_rounded_off_and_the_rest_is_left() -> None:
    wave = np.linspace(-3, 3, 1001)
    bent = limited(wave)
    assert np.abs(bent).max() < 1
    assert np.all(np.diff(bent) >= 0)
    quiet = np.abs(wave) < 0.7
    assert np.array_equal(bent[quiet], wave[quiet])


@pytest.mark.long
@pytest.mark.parametrize("name", VOICES)
def test_twenty_replies_are_as_loud_as_other_programs(name: str) -> None:
    """All of them within 1 LU, each within 3; no silence in them is as long as 0.3 s."""
    if name == "pico":
        pytest.importorskip("py_nanotts", reason="the light voice's package is not installed")
    voice = named_voice(name)
    sounds = [voice.render(text) for text in twenty_replies()]
    rate = sounds[0].rate
    assert len(sounds) == 20
    assert loudness(np.concatenate([one.samples for one in sounds]), rate) == pytest.approx(
        LUFS, abs=1.0
    )
    for sound in sounds:
        assert loudness(sound.samples, rate) == pytest.approx(LUFS, abs=3.0)
        assert longest_silence_s(sound) < 0.3
        assert np.abs(sound.samples.astype(int)).max() < 32767


def test_between_two_parts_of_a_reply_is_less_than_a_third_of_a_second(
    hibari: HibariVoice,
) -> None:
    """Sentences are made one by one and played one after the other."""
    voice = Levelled(hibari)
    parts = [voice.render(one) for one in ("Tree twelve: cloudy.", "Keep it out of the tank.")]
    joined = Sound(np.concatenate([one.samples for one in parts]), parts[0].rate)
    assert longest_silence_s(joined) < 0.3
