"""Speech with steady noise turned down, and what two hearings come to."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.heard import Alternative, Heard
from fieldvoice.hearing import SAMPLE_RATE
from fieldvoice.hearing.pocketsphinx_engine import (
    NOISY_BELOW_DB,
    PocketsphinxRecogniser,
    together,
)
from fieldvoice.hearing.quieter import (
    FLOOR,
    _half_exponential_integral,
    contrast_db,
    quieter,
)
from tests.hearing.conftest import silence

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.hearing import Samples

EULER = 0.57721566490153286


def exponential_integral(value: float) -> float:
    """Return E1: Abramowitz and Stegun, Handbook of Mathematical Functions, 5.1.11."""
    terms = ((-value) ** n / (n * math.factorial(n)) for n in range(1, 80))
    return -EULER - math.log(value) - sum(terms)


@pytest.mark.parametrize("value", [0.01, 0.05, 0.1, 0.3, 1.0, 2.0, 5.0, 10.0])
def test_the_fit_is_near_the_integral(value: float) -> None:
    found = float(_half_exponential_integral(np.array([value]))[0])
    assert found == pytest.approx(exponential_integral(value) / 2, abs=0.06)


def wind(seconds: float, level: float) -> Samples:
    """Return rumbling noise: each sample carries on from the last."""
    white = np.random.default_rng(7).normal(0, 1, round(seconds * SAMPLE_RATE))
    red = np.zeros_like(white)
    for at in range(1, len(white)):
        red[at] = 0.95 * red[at - 1] + white[at]
    return np.round(level * red / red.std()).astype(np.int16)


def loudness(samples: Samples) -> float:
    return float(np.sqrt((samples.astype(np.float64) ** 2).mean()))


def test_steady_noise_is_turned_down_to_the_floor() -> None:
    noise = wind(4, 800)
    assert FLOOR * 0.9 < loudness(quieter(noise)) / loudness(noise) < FLOOR * 1.3


def test_speech_stands_out_more_than_before(say: Callable[[str], Samples]) -> None:
    """Moments of speech keep their loudness; the pauses before and after lose theirs."""
    speech = np.concatenate([silence(1), say("tree twelve bucket half full"), silence(1)])
    noise = wind(len(speech) / SAMPLE_RATE, loudness(speech) / 4)[: len(speech)]
    before = speech + noise
    after = quieter(before)
    assert len(after) == len(before)
    assert loudness(after[: SAMPLE_RATE // 2]) < 0.6 * loudness(before[: SAMPLE_RATE // 2])
    assert loudness(after[SAMPLE_RATE:-SAMPLE_RATE]) > 0.8 * loudness(
        speech[SAMPLE_RATE:-SAMPLE_RATE]
    )
    assert contrast_db(after) > contrast_db(before) + 3


@pytest.mark.parametrize("length", [0, 1, 100, 511, 512, 4_000])
def test_any_length_keeps_its_length(length: int) -> None:
    assert len(quieter(np.full(length, 300, dtype=np.int16))) == length


def test_contrast_tells_noise_from_quiet(say: Callable[[str], Samples]) -> None:
    speech = np.concatenate([silence(0.5), say("what should i boil today"), silence(0.5)])
    noise = wind(len(speech) / SAMPLE_RATE, loudness(speech) / 3)[: len(speech)]
    assert contrast_db(speech) > NOISY_BELOW_DB
    assert contrast_db(speech + noise) < NOISY_BELOW_DB
    assert contrast_db(silence(0.01)) == 0


def test_noise_is_heard_through(
    recogniser: PocketsphinxRecogniser, say: Callable[[str], Samples]
) -> None:
    speech = say("tree twelve bucket half full")
    noise = wind(len(speech) / SAMPLE_RATE + 1, loudness(speech) / 3)[: len(speech)]
    heard = recogniser.recognise(speech + noise)
    assert "tree twelve bucket half full" in [one.text for one in heard.alternatives]


def heard(*ranked: tuple[str, float]) -> Heard:
    alternatives = tuple(Alternative(text, score) for text, score in ranked)
    return Heard(ranked[0][0], confidence=0.9, alternatives=alternatives, fit=-0.1)


def test_hearings_that_differ_stand_side_by_side() -> None:
    """Nineteen in the one and ninety in the other: neither is sure, and the talk asks."""
    one = heard(("tree nineteen", 0.0), ("tree nine", -30.0))
    two = heard(("tree ninety", 0.0), ("tree nine", -20.0), ("tree nineteen", -40.0))
    both = together(one, two)
    assert both.text == "tree nineteen"
    assert [(x.text, x.score) for x in both.alternatives] == [
        ("tree nineteen", 0.0),
        ("tree ninety", 0.0),
        ("tree nine", -20.0),
    ]
    assert both.confidence < 0.5


def test_hearings_that_agree_stay_sure() -> None:
    one, two = heard(("tree nine", 0.0), ("tree", -90.0)), heard(("tree nine", 0.0), ("i", -80.0))
    both = together(one, two)
    assert both.text == "tree nine"
    assert both.confidence > 0.99


def test_a_hearing_without_words_gives_way() -> None:
    nothing, something = Heard("", confidence=0.0), heard(("tree nine", 0.0))
    assert together(nothing, something) == something
    assert together(something, nothing) == something
