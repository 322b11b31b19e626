"""Noise taken out of speech, the speech left where it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr import SAMPLE_RATE
from fieldvoice.asr.cleaner import NOISY_BELOW_DB, Cleaner, contrast_db
from fieldvoice.asr.floor import active_power
from tests.asr.conftest import silence

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.asr import Samples
    from fieldvoice.asr.recogniser import Recogniser


@pytest.fixture(scope="module")
def cleaner() -> Cleaner:
    return Cleaner()


def nearness(one: Samples, other: Samples) -> float:
    return float(np.corrcoef(one.astype(float), other.astype(float))[0, 1])


def test_clean_speech_stays_sample_for_sample_in_its_place(
    say: Callable[[str], Samples], cleaner: Cleaner
) -> None:
    speech = say("tree twelve bucket half full")
    cleaned = cleaner.cleaned(speech)
    assert len(cleaned) == len(speech)
    assert nearness(speech, cleaned) > 0.99


@pytest.mark.parametrize("lead_s", [0.0, 1.0])
def test_speech_in_noise_is_nearer_to_the_speech_afterwards(
    say: Callable[[str], Samples], cleaner: Cleaner, lead_s: float
) -> None:
    speech = say("collected two and a half gallons from tree nine").astype(np.float64)
    lead = round(lead_s * SAMPLE_RATE)
    noise = np.random.default_rng(1).normal(0, 1, lead + len(speech))
    noise *= np.sqrt(active_power(speech.astype(np.int16)) / 10**0.5)
    noisy = np.clip(noise[lead:] + speech, -32768, 32767).astype(np.int16)
    cleaned = cleaner.cleaned(noisy, noise[:lead].astype(np.int16) if lead else None)
    plain = speech.astype(np.int16)
    assert nearness(cleaned, plain) > nearness(noisy, plain) + 0.03


def test_what_is_long_and_what_is_nothing(cleaner: Cleaner) -> None:
    assert len(cleaner.cleaned(np.zeros(0, dtype=np.int16))) == 0
    silent = cleaner.cleaned(np.zeros(3 * SAMPLE_RATE + 7, dtype=np.int16))
    assert len(silent) == 3 * SAMPLE_RATE + 7
    assert np.abs(silent).max() < 50


def wind(seconds: float, level: float) -> Samples:
    """Return rumbling noise: each sample carries on from the last."""
    white = np.random.default_rng(7).normal(0, 1, round(seconds * SAMPLE_RATE))
    red = np.zeros_like(white)
    for at in range(1, len(white)):
        red[at] = 0.95 * red[at - 1] + white[at]
    return np.round(level * red / red.std()).astype(np.int16)


def loudness(samples: Samples) -> float:
    return float(np.sqrt((samples.astype(np.float64) ** 2).mean()))


def in_wind(speech: Samples) -> Samples:
    noise = wind(len(speech) / SAMPLE_RATE + 1, loudness(speech) / 3)
    return (speech + noise[: len(speech)]).astype(np.int16)


def test_noise_shows_by_how_little_speech_stands_out(say: Callable[[str], Samples]) -> None:
    speech = say("tree twelve bucket half full")
    assert contrast_db(speech) > NOISY_BELOW_DB
    assert contrast_db(in_wind(speech)) < NOISY_BELOW_DB
    assert contrast_db(silence(0.01)) == 0


@pytest.mark.parametrize("text", ["tree twelve bucket half full", "what should i boil today"])
def test_speech_is_heard_in_wind(
    ears: Recogniser, say: Callable[[str], Samples], text: str
) -> None:
    assert ears.recognise(in_wind(say(text))).text == text
