"""A speaker's voice found again in the means, from counts that are known."""

from __future__ import annotations

import numpy as np
import pytest

from models.acoustic import AcousticModel
from models.adapt import Counts
from models.speaker import averaged, transformed

PHONES, STREAMS, GAUSSIANS, SIZE = 5, 3, 16, 4


@pytest.fixture
def model() -> AcousticModel:
    chance = np.random.default_rng(1)
    shape = (PHONES, STREAMS, GAUSSIANS, SIZE)
    return AcousticModel(
        chance.normal(0, 3, shape),
        chance.uniform(0.5, 2, shape),
        np.full((STREAMS, GAUSSIANS, 7), 1 / GAUSSIANS),
        np.zeros(7, np.int64),
    )


def counts_of(model: AcousticModel, means: np.ndarray, frames: float) -> Counts:
    """Return what ``frames`` frames of each Gaussian say whose means are ``means``."""
    taken = np.full(model.means.shape[:3], frames)
    return Counts(taken, frames * means, frames * means**2, np.zeros_like(model.weights))


def spoken(model: AcousticModel) -> np.ndarray:
    chance = np.random.default_rng(2)
    turn = np.eye(SIZE) + chance.normal(0, 0.1, (SIZE, SIZE))
    return model.means @ turn.T + chance.normal(0, 1, SIZE)


def test_the_transform_of_a_speaker_is_found(model: AcousticModel) -> None:
    said = spoken(model)
    found = transformed(model, counts_of(model, said, 100.0), belief=1.0)
    assert np.allclose(found.means, said, atol=0.02)


def test_it_holds_for_gaussians_that_were_never_said(model: AcousticModel) -> None:
    said = spoken(model)
    counts = counts_of(model, said, 100.0)
    counts.taken[3:] = counts.first[3:] = 0.0
    found = transformed(model, counts, belief=1e-6)
    assert np.allclose(found.means, said, atol=0.01)


def test_nothing_said_changes_nothing(model: AcousticModel) -> None:
    counts = counts_of(model, spoken(model), 0.0)
    assert np.allclose(transformed(model, counts, belief=10.0).means, model.means)
    assert np.allclose(averaged(model, counts, belief=10.0).means, model.means)


def test_a_mean_lies_between_what_was_believed_and_what_was_said(model: AcousticModel) -> None:
    said = spoken(model)
    found = averaged(model, counts_of(model, said, 30.0), belief=10.0)
    assert np.allclose(found.means, (10 * model.means + 30 * said) / 40)
