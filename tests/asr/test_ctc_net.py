"""The net that hears an utterance to the end: its sums by hand, and the phones it finds."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np
import pytest
from rapidfuzz.distance import Levenshtein

from fieldvoice.asr.ctc import BLANK
from fieldvoice.asr.ctc_net import FRAMES_A_MOMENT, CtcNet, Moments, read_ctc_net
from fieldvoice.asr.floor import with_floor
from fieldvoice.asr.front_end import bands, power_spectra
from fieldvoice.asr.model_files import CTC_NET, bundled_model
from fieldvoice.asr.phone_net import BAND_SCALE, Layer

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.asr import Samples


@pytest.fixture(scope="module")
def net() -> CtcNet:
    return read_ctc_net(CTC_NET)


def layer(weight: float) -> Layer:
    """Return a layer of one number and one tap: what goes in, if above 0, times its weight."""
    taps = np.full((1, 1, 1), weight, np.float32)
    return Layer(taps, np.float32([0]), np.float32([1]), np.float32([0]), apart=1)


def test_every_third_moment_goes_on_and_layers_add_to_what_went_in() -> None:
    head, bias = np.float32([[0, 1]]), np.float32([0, 0])
    tiny = CtcNet((layer(1), layer(2), layer(3)), head, bias, -head, bias, ("AH",))
    seen = np.arange(7, dtype=np.float32)[:, None]
    through = np.maximum((seen[::FRAMES_A_MOMENT, 0] - 3) * BAND_SCALE, 0) * 2
    likely = 1 / (1 + np.exp(-(through + 3 * through)))
    found = tiny.hear(seen)
    assert found.labels[:, 1] == pytest.approx(likely, rel=1e-6)
    assert found.labels.sum(axis=1) == pytest.approx(1)
    assert np.exp(found.states[:, 1]) == pytest.approx(1 - likely, abs=1e-6)


def test_between_moments_states_are_between() -> None:
    moments = Moments(np.zeros((3, 1)), np.float32([[0], [3], [9]]))
    assert moments.states_of(8)[:, 0] == pytest.approx([0, 1, 2, 3, 5, 7, 9, 9])


def test_loudness_and_a_steady_headset_make_no_difference(net: CtcNet) -> None:
    seen = np.random.default_rng(2).normal(10, 3, (80, 40)).astype(np.float32)
    coloured = seen + np.linspace(-2, 5, 40, dtype=np.float32)
    assert net.hear(coloured).labels == pytest.approx(net.hear(seen).labels, abs=1e-3)


@pytest.mark.parametrize(
    "text",
    [
        "tree twelve bucket nearly full sap cloudy",
        "what should i boil today",
        "poured sixteen gallons into tank two",
    ],
)
def test_the_phones_are_those_of_the_dictionary(
    net: CtcNet, say: Callable[[str], Samples], text: str
) -> None:
    """The CMU Pronouncing Dictionary, which comes with the recogniser, knows how words sound."""
    known = dict(
        line.split(" ", 1)
        for line in bundled_model("cmudict-en-us.dict").read_text("utf-8").splitlines()
    )
    said = [phone for word in text.split() for phone in known[word].split()]
    best = net.hear(bands(power_spectra(with_floor(say(text))))).labels.argmax(axis=1)
    found = [net.phones[label - 1] for label, _ in groupby(best) if label != BLANK]
    assert Levenshtein.normalized_distance(found, said) < 0.2
