"""Another speaker's bands: changed within bounds, and the phones still in their places."""

from __future__ import annotations

import numpy as np
import pytest

from models.another import (
    LEAST_FRAMES_A_PHONE,
    LONGEST_GAP,
    PACED,
    by_another,
    paced,
    with_gaps,
)

FRAMES, BANDS = 120, 40


@pytest.fixture
def chance() -> np.random.Generator:
    return np.random.default_rng(1)


def test_a_peak_is_moved_by_a_few_bands_and_no_two_times_alike(
    chance: np.random.Generator,
) -> None:
    peak = np.zeros((30, FRAMES, BANDS), np.float32)
    peak[:, :, 20] = 50.0
    moved = by_another(peak, chance)
    # bands that are lost (at most five in a row) may have the peak among them
    found = [one[0].argmax() for one in moved if one[0].max() > 10]
    assert len(found) > 20
    assert len(set(found)) > 1
    assert max(abs(at - 20) for at in found) <= 4
    far = by_another(peak, chance, unlike=3.0)
    assert max(abs(one[0].argmax() - 20) for one in far if one[0].max() > 10) > 4


def test_gaps_are_short_and_all_else_stays(chance: np.random.Generator) -> None:
    full = np.ones((200, FRAMES, BANDS), np.float32)
    lost = (with_gaps(full, chance) == 0).all(axis=2).sum(axis=1)
    assert 30 < np.count_nonzero(lost) < 90
    assert lost.max() <= LONGEST_GAP
    assert full.min() == 1


def test_another_pace_carries_the_states_along(chance: np.random.Generator) -> None:
    states = np.repeat(np.arange(12, dtype=np.int16), FRAMES // 12)
    bands = np.repeat(states[:, None], BANDS, axis=1).astype(np.float16)
    lengths = set()
    for _ in range(40):
        frames, own = paced(bands, states, 12, chance)
        lengths.add(len(frames))
        assert len(frames) == len(own)
        assert np.abs(frames[:, 0] - own).max() <= 1
        assert list(dict.fromkeys(own)) == list(range(12))
    assert len(lengths) > 5
    assert min(lengths) >= FRAMES * np.exp(-PACED) - 1
    assert max(lengths) <= FRAMES * np.exp(PACED)


def test_time_for_each_phone_stays(chance: np.random.Generator) -> None:
    states = np.zeros(FRAMES, np.int16)
    phones = int(FRAMES / LEAST_FRAMES_A_PHONE)
    for _ in range(40):
        frames, _ = paced(np.zeros((FRAMES, BANDS), np.float16), states, phones, chance)
        assert len(frames) >= phones * LEAST_FRAMES_A_PHONE - 1
