"""Noise to teach with, made here: wind in a microphone, engines, rain, any steady hiss.

Everything is made from random numbers, so that no recording's licence is on the result. Each
function takes a generator and a number of samples at 16 kHz and returns noise of mean power 1.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Callable

Sound = NDArray[np.float64]

SAMPLE_RATE = 16_000


def wind(chance: np.random.Generator, count: int) -> Sound:
    """Turbulence at the capsule: mostly below a few hundred hertz, in gusts; leaves above it."""
    corner, slope = _between(chance, 60, 500), chance.uniform(0.8, 2.2)
    rumble = shaped(chance, count, lambda hz: (1 + (hz / corner) ** 2) ** (-slope / 2))
    low, high = sorted((_between(chance, 600, 6000), _between(chance, 1500, 8000)))
    leaves = shaped(chance, count, lambda hz: ((hz > low) & (hz < high)) * (hz + 1) ** -0.5)
    gusts = np.exp(chance.uniform(0.3, 1.0) * slow(chance, count, _between(chance, 0.3, 4)))
    flutter = np.exp(0.3 * slow(chance, count, _between(chance, 4, 20)))
    both = level(rumble) * flutter + 10 ** chance.uniform(-1.7, -0.2) * level(leaves)
    return level(both * gusts)


def engine(chance: np.random.Generator, count: int) -> Sound:
    """A motor: firing pulses whose rate drifts, through the pipes' resonances, and its hiss."""
    rate = _between(chance, 12, 140) * np.exp(0.12 * slow(chance, count, chance.uniform(0.1, 0.8)))
    phase = np.cumsum(rate) / SAMPLE_RATE
    fires = np.diff(np.floor(phase), prepend=0.0)
    fires *= chance.uniform(0.6, 1.4, count)
    bangs = np.convolve(fires, _bang(chance), mode="full")[:count]
    hiss = shaped(chance, count, lambda hz: (1 + (hz / 800) ** 2) ** -chance.uniform(0.2, 0.9))
    pulsing = 1 + chance.uniform(0, 0.9) * np.cos(2 * np.pi * phase)
    return level(level(bangs) + 10 ** chance.uniform(-1.2, 0.1) * level(hiss) * pulsing)


def hiss(chance: np.random.Generator, count: int) -> Sound:
    """Rain, a pan on the boil, a recorder's own noise: steady, of any colour."""
    places = np.linspace(0, SAMPLE_RATE / 2, 7)
    heights = np.cumsum(chance.normal(0, 6, 7)) - chance.uniform(0, 30) * places / places[-1]
    steady = shaped(chance, count, lambda hz: 10 ** (np.interp(hz, places, heights) / 20))
    drops = (chance.random(count) < 10 ** chance.uniform(-4, -2)) * chance.normal(0, 1, count)
    patter = np.convolve(drops, _bang(chance)[:400], mode="full")[:count]
    return level(level(steady) + chance.uniform(0, 1) * level(patter))


def people(chance: np.random.Generator, count: int, talk: list[Sound]) -> Sound:
    """Return some of ``talk`` at once, each from anywhere on, over and over."""
    total = np.zeros(count)
    for sound in talk[: int(chance.integers(1, 1 + len(talk)))]:
        again = np.resize(np.pad(sound, (0, SAMPLE_RATE // 4)), count)
        total += 10 ** chance.uniform(-0.5, 0) * level(np.roll(again, int(chance.integers(count))))
    return level(total)


def coloured(sound: Sound, chance: np.random.Generator) -> Sound:
    """Return ``sound`` louder and softer by a few dB from an octave to the next."""
    places = np.linspace(0, SAMPLE_RATE / 2, 9)
    gains = np.cumsum(chance.normal(0, 5, 9))
    hertz = np.fft.rfftfreq(len(sound), 1 / SAMPLE_RATE)
    heights = 10 ** ((np.interp(hertz, places, gains) - gains.mean()) / 20)
    return np.fft.irfft(np.fft.rfft(sound) * heights, len(sound))


def any_kind(chance: np.random.Generator) -> Callable[[np.random.Generator, int], Sound]:
    """Return one of ``KINDS``, as often as they say."""
    kinds, shares = list(KINDS), list(KINDS.values())
    return kinds[int(chance.choice(len(kinds), p=shares))]


def shaped(chance: np.random.Generator, count: int, response: Callable[[Sound], Sound]) -> Sound:
    """Return white noise with the spectrum ``response`` (of hertz)."""
    spectrum = np.fft.rfft(chance.normal(0, 1, count))
    hertz = np.fft.rfftfreq(count, 1 / SAMPLE_RATE)
    return np.fft.irfft(spectrum * response(hertz), count)


def slow(chance: np.random.Generator, count: int, hertz: float) -> Sound:
    """Return a random course of variance 1 that changes about ``hertz`` times a second."""
    places = max(4, int(count / SAMPLE_RATE * hertz * 2) + 3)
    points = chance.normal(0, 1, places)
    return np.interp(np.linspace(0, places - 1, count), np.arange(places), points)


def level(sound: Sound) -> Sound:
    """Return ``sound`` at a mean power of 1."""
    return sound / np.sqrt(max(float((sound**2).mean()), 1e-20))


def _bang(chance: np.random.Generator) -> Sound:
    """Return one knock: a few resonances that die away within 60 ms."""
    time = np.arange(960) / SAMPLE_RATE
    knock = np.zeros(len(time))
    for _ in range(chance.integers(3, 9)):
        hertz, lasts = _between(chance, 50, 4000), _between(chance, 0.002, 0.03)
        loud = 10 ** chance.uniform(-1, 0) * (hertz / 100) ** -0.5
        knock += (
            loud * np.exp(-time / lasts) * np.sin(2 * np.pi * hertz * time + chance.uniform(0, 6))
        )
    return knock


def _between(chance: np.random.Generator, low: float, high: float) -> float:
    """Return a number evenly spread in its logarithm."""
    return float(np.exp(chance.uniform(np.log(low), np.log(high))))


#: What is mixed in, and how often.
KINDS: dict[Callable[[np.random.Generator, int], Sound], float] = {
    wind: 0.4, engine: 0.35, hiss: 0.25,
}  # fmt: skip
