"""Bands as another speaker's would be, through another headset: no two times the same."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

#: A head of another size: bands stretched by up to this share, and moved by up to so many bands.
WARP, MOVED = 0.09, 0.7
#: Another headset: how much louder the highest bands are than the lowest, one standard deviation.
TILTED = 0.15
#: In this share of utterances up to so many bands next to each other are lost.
LOST_SHARE, MOST_LOST = 0.3, 5
#: In this share of utterances a stretch of frames is lost, up to so many.
GAP_SHARE, LONGEST_GAP = 0.3, 8
#: Another pace: in all but this share of utterances, by up to this much in its logarithm; but time
#: for each phone stays.
SAME_PACE_SHARE, PACED, LEAST_FRAMES_A_PHONE = 0.4, 0.18, 3.6


def by_another(
    bands: NDArray[np.float32], chance: np.random.Generator, unlike: float = 1.0
) -> NDArray[np.float32]:
    """Return ``bands`` (utterance, frame, band), less their mean, each changed in its own way.

    ``unlike`` is how far another speaker and headset may be from the first.
    """
    utterances, frames, count = bands.shape
    each = (utterances, 1)
    warped = np.arange(count) * np.exp(unlike * chance.uniform(-WARP, WARP, each))
    moved = warped + unlike * chance.uniform(-MOVED, MOVED, each)
    places = np.clip(moved, 0, count - 1.001)
    low = places.astype(int)[:, None, :]
    part = (places[:, None, :] - low).astype(np.float32)
    rows, columns = np.arange(utterances)[:, None, None], np.arange(frames)[None, :, None]
    made: NDArray[np.float32] = bands[rows, columns, low] * (1 - part)
    made += bands[rows, columns, low + 1] * part
    tilt = unlike * chance.normal(0, TILTED, (utterances, 1, 1)) * np.linspace(-1, 1, count)
    made += tilt.astype(np.float32)
    for row in np.flatnonzero(chance.random(utterances) < LOST_SHARE):
        lost = int(chance.integers(1, MOST_LOST + 1))
        begin = int(chance.integers(count - lost))
        made[row, :, begin : begin + lost] = 0
    return made


def with_gaps(bands: NDArray[np.float32], chance: np.random.Generator) -> NDArray[np.float32]:
    """Return ``bands`` (utterance, frame, band), of which now and then some frames are lost."""
    utterances, frames, _ = bands.shape
    made = bands.copy()
    for row in np.flatnonzero(chance.random(utterances) < GAP_SHARE):
        gap = int(chance.integers(2, LONGEST_GAP + 1))
        begin = int(chance.integers(max(1, frames - gap)))
        made[row, begin : begin + gap] = 0
    return made


def paced(
    bands: NDArray[np.float16], states: NDArray[np.int16], phones: int, chance: np.random.Generator
) -> tuple[NDArray[np.float32], NDArray[np.int16]]:
    """Return ``bands`` (frame, band) of ``phones`` phones, and ``states``, at another pace."""
    frames = bands.astype(np.float32)
    if chance.random() < SAME_PACE_SHARE:
        return frames, states
    stretched = len(frames) * np.exp(chance.uniform(-PACED, PACED))
    count = max(int(stretched), int(LEAST_FRAMES_A_PHONE * phones))
    places = np.linspace(0, len(frames) - 1.001, count)
    low = places.astype(int)
    part = (places - low)[:, None].astype(np.float32)
    made: NDArray[np.float32] = frames[low] * (1 - part) + frames[low + 1] * part
    return made, states[np.round(places).astype(int)]
