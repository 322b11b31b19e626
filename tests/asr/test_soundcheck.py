"""What the sound check finds in recordings made for it, and what it advises."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE
from fieldvoice.asr.soundcheck import advice, sound_check
from tests.asr.conftest import silence

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.asr import Samples


@pytest.fixture
def spoken(say: Callable[[str], Samples]) -> Callable[..., Samples]:
    """A note with a second of silence around it, at a gain, over noise of a level."""

    def made(gain: float = 1.0, noise: float = 0.0, low: bool = False) -> Samples:
        quiet = silence(1)
        sound = np.concatenate([quiet, say("tree twelve bucket half full"), quiet]) * gain
        hiss = np.random.default_rng(2).normal(0, 1, len(sound))
        if low:
            hiss = np.cumsum(hiss)
            hiss -= np.convolve(hiss, np.ones(4000) / 4000, mode="same")
        both = sound + noise * hiss / hiss.std()
        return np.clip(both, -32768, 32767).astype(np.int16)

    return made


def test_a_clear_voice_is_praised(spoken: Callable[..., Samples]) -> None:
    checked = sound_check(spoken(noise=10))
    assert checked.clipped == 0.0
    assert checked.above_background_db is not None
    assert checked.above_background_db > 20
    assert advice(checked) == ("Good: loud enough, no rattling, little noise.",)


def test_levels_are_those_of_the_sound() -> None:
    """A tone of full scale has an RMS of -3.01 dB, one of a tenth 20 dB less (by definition)."""
    times = np.arange(SAMPLE_RATE) / SAMPLE_RATE
    loud = np.sin(2 * np.pi * 1000 * times) * 32767
    checked = sound_check((loud * 0.1).astype(np.int16))
    assert checked.peak_db == pytest.approx(-20.0, abs=0.1)
    assert checked.background_db == pytest.approx(-23.01, abs=0.1)
    assert checked.speech_db is None


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"gain": 0.0}, "Nothing comes from this microphone"),
        ({"gain": 12.0}, "too loud and rattles"),
        ({"gain": 0.03}, "very soft"),
        ({"noise": 900.0}, "The background is"),
        ({"noise": 900.0, "low": True}, "as of wind: put a foam windscreen"),
    ],
)
def test_what_is_wrong_is_told(
    spoken: Callable[..., Samples], change: dict[str, float], told: str
) -> None:
    assert any(told in line for line in advice(sound_check(spoken(**change))))


def test_nobody_speaking_is_told() -> None:
    hiss = np.random.default_rng(3).normal(0, 60, 3 * SAMPLE_RATE).astype(np.int16)
    assert "Nobody was heard" in advice(sound_check(hiss))[0]
