"""The hiss laid under every recording."""

from __future__ import annotations

import numpy as np

from fieldvoice.asr import SAMPLE_RATE
from fieldvoice.asr.floor import BELOW_SPEECH_DB, active_power, with_floor


def gated_tone() -> np.ndarray:
    """A second of tone between two of dead silence."""
    tone = 8000 * np.sin(2 * np.pi * 300 * np.arange(SAMPLE_RATE) / SAMPLE_RATE)
    return np.pad(tone, SAMPLE_RATE).astype(np.int16)


def test_dead_silence_gets_a_hiss_at_its_distance_from_the_speech() -> None:
    floored = with_floor(gated_tone()).astype(float)
    hiss = (floored[:SAMPLE_RATE] ** 2).mean()
    below = 10 * np.log10(active_power(gated_tone()) / hiss)
    assert abs(below - BELOW_SPEECH_DB) < 0.5


def test_the_speech_itself_stays() -> None:
    sound = gated_tone()
    middle = slice(SAMPLE_RATE, 2 * SAMPLE_RATE)
    error = (with_floor(sound)[middle].astype(float) - sound[middle]).std()
    assert error < 0.02 * sound[middle].std()


def test_it_is_the_same_each_time() -> None:
    assert np.array_equal(with_floor(gated_tone()), with_floor(gated_tone()))


def test_active_power_leaves_pauses_out() -> None:
    """A tone's mean power is half its amplitude squared, however much silence is around it."""
    assert abs(active_power(gated_tone()) / (8000**2 / 2) - 1) < 0.01


def test_less_than_a_frame_has_no_power() -> None:
    assert active_power(np.ones(10, np.int16)) == 0.0
