"""Where and by whom something is said: other speakers, headsets, rooms, noise, recorders."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.signal import oaconvolve

from fieldvoice.asr.floor import active_power
from models.noise import SAMPLE_RATE, Sound

if TYPE_CHECKING:
    from fieldvoice.asr import Samples

#: Seconds of silence around a sentence.
SILENCE_S = (0.15, 0.6)
#: Another speaker: pitch, formants and pace together, up and down.
RESAMPLED = (0.86, 1.16)
ROOM_SHARE, HEADSET_SHARE = 0.4, 0.7


def changed(
    sound: Sound, chance: np.random.Generator, multiple: int = 1
) -> tuple[Sound, float, int]:
    """Return ``sound`` by another speaker, with silence around it, at a recorder's level.

    Also its pace against before, and how many samples of silence lead it; ``multiple`` is what its
    length becomes a multiple of.
    """
    pace = float(np.exp(chance.uniform(*np.log(RESAMPLED))))
    places = np.arange(0, len(sound) - 1, pace)
    sound = np.interp(places, np.arange(len(sound)), sound)
    before, after = (int(SAMPLE_RATE * chance.uniform(*SILENCE_S)) for _ in range(2))
    after += -(len(sound) + before + after) % multiple
    sound = np.pad(sound, (before, after))
    level = 10 ** (chance.uniform(-32, -10) / 20) / np.sqrt(active_power(sound) + 1e-12)
    return sound * level, pace, before


def placed(sound: Sound, chance: np.random.Generator) -> Sound:
    """Return ``sound`` through a headset and, now and then, in a room."""
    if chance.random() < HEADSET_SHARE:
        places = np.linspace(0, SAMPLE_RATE / 2, 10)
        gains = chance.normal(0, 4, 10)
        gains[0] -= chance.uniform(0, 25)
        spectrum = np.fft.rfft(sound)
        hertz = np.fft.rfftfreq(len(sound), 1 / SAMPLE_RATE)
        sound = np.fft.irfft(spectrum * 10 ** (np.interp(hertz, places, gains) / 20), len(sound))
    if chance.random() < ROOM_SHARE:
        lasts = chance.uniform(0.1, 0.45)
        time = np.arange(int(lasts * SAMPLE_RATE)) / SAMPLE_RATE
        tail = chance.normal(0, 1, len(time)) * np.exp(-6.9 * time / lasts)
        tail *= 10 ** (-chance.uniform(3, 15) / 20) / np.sqrt((tail**2).sum())
        tail[: int(0.003 * SAMPLE_RATE)] = 0
        tail[0] = 1
        sound = oaconvolve(sound, tail)[: len(sound)]
    return sound


def mixed(sound: Sound, loud: Sound, ratio_db: float) -> Sound:
    """Return ``sound`` with ``loud`` (of mean power 1) so far below the active speech."""
    return sound + np.sqrt(active_power(sound) / 10 ** (ratio_db / 10)) * loud


def as_samples(sound: Sound, chance: np.random.Generator) -> Samples:
    """Return ``sound`` as 16-bit samples with the faint hiss that every recorder has."""
    loud = np.abs(sound).max()
    scaled = sound * min(1.0, 0.98 / loud) * 32767
    hiss = chance.normal(0, 10 ** chance.uniform(0.2, 1.2), len(sound))
    return np.clip(np.round(scaled + hiss), -32768, 32767).astype(np.int16)
