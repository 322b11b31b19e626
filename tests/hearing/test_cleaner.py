"""Noise taken out of speech, the speech left where it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.hearing import SAMPLE_RATE
from fieldvoice.hearing.floor import active_power

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.hearing import Samples
    from fieldvoice.hearing.cleaner import Cleaner


@pytest.fixture(scope="module")
def cleaner() -> Cleaner:
    pytest.importorskip("onnxruntime", reason="no build for this machine")
    from fieldvoice.hearing.cleaner import Cleaner

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
