"""Speech as loud as other programs' and without long silences, whatever engine made it."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

#: What voices are brought to, in LUFS (a choice: as loud as other spoken programs are).
LUFS = -18.0
#: Silence left before the first sound, after the last, and at most between two, in seconds.
HEAD_S, TAIL_S, GAP_S = 0.03, 0.2, 0.25
#: A frame this far under the loudest is silence: the softest consonants lie some 35 dB under it.
_QUIET_DB = 40.0
_FRAME_S = 0.01
#: Above this peaks are rounded off.
_BENT = 0.7


def levelled(wave: NDArray[np.floating], rate: int, gain_db: float) -> NDArray[np.int16]:
    """Return speech (full scale 1, ``rate`` samples a second) louder, without long silences."""
    loud = limited(_without_silences(wave, rate) * 10 ** (gain_db / 20))
    return np.round(loud * 32767).astype(np.int16)


def limited(wave: NDArray[np.floating]) -> NDArray[np.float64]:
    """Return ``wave`` within full scale, its peaks rounded off: louder without rattling."""
    size = np.abs(wave)
    bent = _BENT + (1 - _BENT) * np.tanh((size - _BENT) / (1 - _BENT))
    found: NDArray[np.float64] = np.sign(wave) * np.where(size > _BENT, bent, size)
    return found


def _without_silences(wave: NDArray[np.floating], rate: int) -> NDArray[np.floating]:
    step = round(_FRAME_S * rate)
    frames = wave[: len(wave) // step * step].reshape(-1, step)
    power = np.mean(frames.astype(np.float64) ** 2, axis=1)
    sounding = np.flatnonzero(power > power.max(initial=0.0) * 10 ** (-_QUIET_DB / 10))
    if not len(sounding):
        return wave[:0]
    head, tail, gap = (round(seconds / _FRAME_S) for seconds in (HEAD_S, TAIL_S, GAP_S))
    kept = np.zeros(len(frames), dtype=bool)
    kept[max(0, sounding[0] - head) : sounding[-1] + 1 + tail] = True
    for before, after in pairwise(sounding):
        if after - before - 1 > gap:
            kept[before + 1 + gap // 2 : after - (gap - gap // 2)] = False
    return frames[kept].reshape(-1)
