"""The net: its sums beside plain ones, and what it says beside the engine's own alignment."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr.acoustic_files import read_senones
from fieldvoice.asr.floor import with_floor
from fieldvoice.asr.front_end import bands, power_spectra
from fieldvoice.asr.model_files import STATES_NET, bundled_model
from fieldvoice.asr.phone_net import (
    BAND_SCALE,
    LEAST,
    RAREST,
    STATES_OF_A_PHONE,
    Layer,
    PhoneNet,
    read_net,
)
from models.alignment import Aligner

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.asr import Samples


@pytest.fixture(scope="module")
def net() -> PhoneNet:
    return read_net(STATES_NET)


def test_a_layer_is_a_convolution_rectified_scaled_and_shifted() -> None:
    chance = np.random.default_rng(1)
    frames = chance.normal(size=(30, 2)).astype(np.float32)
    taps = chance.normal(size=(3, 2, 1)).astype(np.float32)
    layer = Layer(taps, np.float32([0.1]), np.float32([2]), np.float32([-1]), apart=4)
    spread = np.zeros((9, 2))
    spread[::4] = taps[:, :, 0]
    plain = sum(np.correlate(frames[:, at], spread[:, at], "same") for at in range(2))
    assert layer(frames)[:, 0] == pytest.approx(np.maximum(plain + 0.1, 0) * 2 - 1, abs=1e-5)


def test_evidence_is_how_much_likelier_a_state_is_than_usual() -> None:
    """One layer that lets the first band through, two states that weigh it: by hand."""
    through = Layer(*(np.float32([part]) for part in ([[1], [0]], [0], [1], [0])), apart=1)
    tiny = PhoneNet(
        (through,), np.float32([[1, 0]]), np.float32([0, 0]), np.float32([0.25, 0.75]),
        np.array([], dtype=int),
    )  # fmt: skip
    seen = np.float32([[8, 3], [0, 5]])
    high = (8 - 4) * BAND_SCALE
    likely = np.log(np.exp(high) / (np.exp(high) + 1))
    assert tiny.evidence(seen)[0, 0] == pytest.approx(likely - np.log(0.25), rel=1e-5)
    assert tiny.evidence(seen)[1] == pytest.approx(np.log([0.5 / 0.25, 0.5 / 0.75]), rel=1e-5)


def test_loudness_and_a_steady_headset_make_no_difference(net: PhoneNet) -> None:
    seen = np.random.default_rng(2).normal(10, 3, (80, 40)).astype(np.float32)
    coloured = seen + np.linspace(-2, 5, 40, dtype=np.float32)
    assert net.evidence(coloured) == pytest.approx(net.evidence(seen), abs=1e-3)


def test_nothing_is_denied_for_ever_nor_made_out_without_bounds(net: PhoneNet) -> None:
    evidence = net.evidence(np.random.default_rng(4).normal(10, 5, (200, 40)).astype(np.float32))
    assert evidence.min() == LEAST
    assert evidence.max() <= -np.log(RAREST) + 1e-5
    assert np.all(evidence[:, net.noises] == LEAST)


@pytest.mark.parametrize(
    "text", ["tree twelve bucket nearly full sap cloudy", "what should i boil today"]
)
def test_states_are_those_of_the_engines_alignment(
    net: PhoneNet, say: Callable[[str], Samples], text: str, tmp_path: Path
) -> None:
    """Of 42 phones the one that the words put there is the likeliest in most frames."""
    dictionary = tmp_path / "words.dict"
    wanted = set(text.split())
    lines = bundled_model("cmudict-en-us.dict").read_text(encoding="utf-8").splitlines()
    dictionary.write_text(
        "".join(f"{line}\n" for line in lines if line.split(" ")[0].split("(")[0] in wanted)
    )
    samples = with_floor(say(text))
    found = Aligner(bundled_model("en-us"), dictionary).aligned(samples, text)
    assert found is not None
    senones = read_senones((bundled_model("en-us") / "mdef").read_bytes())
    best = net.evidence(bands(power_spectra(samples))) + np.log(net.shares)
    phones = best.argmax(axis=1) // STATES_OF_A_PHONE
    assert np.mean(phones == senones.phone_of[found]) > 0.7
