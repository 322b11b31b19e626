"""The recogniser's front end: sound into frames of numbers, a hundred a second.

The cepstra are those that the bundled engine computes (``fe_sigproc.c`` and ``fe_noise.c`` of
pocketsphinx, with the settings of its English model), to a ten-thousandth. The engine itself
carries its estimate of the noise from one utterance into the next; here nothing is carried over.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fieldvoice.asr.audio import SAMPLE_RATE

if TYPE_CHECKING:
    from fieldvoice.asr.audio import Samples

Frames = NDArray[np.float32]
Spectra = NDArray[np.float64]

#: Numbers in a frame.
CEPSTRA = 13

_SIZE, _SHIFT, _FFT = 410, 160, 512
_PREEMPHASIS = 0.97

# Of the engine's English model.
_FILTERS, _LOW_HZ, _HIGH_HZ = 25, 130.0, 6800.0
_LIFTER = 22


def power_spectra(samples: Samples) -> Spectra:
    """Return (frames, 257): the power spectrum of each 25.6 ms of ``samples`` (16 kHz mono)."""
    sound = samples.astype(np.float64)
    sound[1:] -= _PREEMPHASIS * samples[:-1]
    count = 1 + max(0, -(-(len(sound) - _SIZE) // _SHIFT))
    padded = np.pad(sound, (0, (count - 1) * _SHIFT + _SIZE - len(sound)))
    frames = np.lib.stride_tricks.sliding_window_view(padded, _SIZE)[::_SHIFT]
    spectra = np.fft.rfft(frames * np.hamming(_SIZE), _FFT, axis=1)
    power: Spectra = spectra.real**2 + spectra.imag**2
    return power


def cepstra(power: Spectra) -> Frames:
    """Return (frames, ``CEPSTRA``) as the engine has them, its noise removal included."""
    mel = _without_noise(power @ _triangles().T)
    return (np.log(mel + 1e-4) @ _cosines().T).astype(np.float32)


@cache
def _triangles() -> NDArray[np.float64]:
    """Return (25, 257): triangles of equal area, evenly spread over the mel scale."""
    step = SAMPLE_RATE / _FFT
    mel = np.linspace(_mel(_LOW_HZ), _mel(_HIGH_HZ), _FILTERS + 2)
    places = np.floor(700 * (10 ** (mel / 2595) - 1) / step + 0.5) * step
    hertz = np.arange(_FFT // 2 + 1) * step
    left, middle, right = (places[at : at + _FILTERS, None] for at in range(3))
    rising, falling = (hertz - left) / (middle - left), (right - hertz) / (right - middle)
    height: NDArray[np.float64] = np.maximum(np.minimum(rising, falling), 0) * 2 / (right - left)
    return height


def _mel(hertz: float) -> float:
    return float(2595 * np.log10(1 + hertz / 700))


@cache
def _cosines() -> NDArray[np.float64]:
    """Return (13, 25): the cosine transform with its lifter."""
    order = np.arange(CEPSTRA)[:, None]
    cosines = np.cos(np.pi / _FILTERS * order * (np.arange(_FILTERS) + 0.5))
    cosines *= np.where(order == 0, np.sqrt(1 / _FILTERS), np.sqrt(2 / _FILTERS))
    lifted: NDArray[np.float64] = cosines * (1 + _LIFTER / 2 * np.sin(order * np.pi / _LIFTER))
    return lifted


# The constants of fe_noise.c, by their names there.
_LAMBDA_POWER, _LAMBDA_A, _LAMBDA_B, _LAMBDA_T, _MU_T = 0.7, 0.995, 0.5, 0.85, 0.2
_MAX_GAIN, _SMOOTH_WINDOW = 20.0, 4
# Where a band is dead silent its gain is the greatest.
_TINY = 1e-10


def _without_noise(mel: Spectra) -> Spectra:
    """Return mel spectra with what is steady in each band turned down."""
    smoothing = _smoothing(mel.shape[1])
    power = mel[0].copy()
    noise, floor = mel[0] / _MAX_GAIN, mel[0] / _MAX_GAIN
    peak = np.zeros_like(power)
    gains = np.empty_like(mel)
    for at, now in enumerate(mel):
        power = _LAMBDA_POWER * power + (1 - _LAMBDA_POWER) * now
        noise = _lower_envelope(power, noise)
        signal = np.maximum(power - noise, 1.0)
        floor = _lower_envelope(signal, floor)
        peak = peak * _LAMBDA_T
        masked = np.where(signal < _LAMBDA_T * peak, _MU_T * peak, signal)
        peak = np.maximum(signal, peak)
        gains[at] = np.clip(
            np.maximum(masked, floor) / np.maximum(power, _TINY), 1 / _MAX_GAIN, _MAX_GAIN
        )
    turned: Spectra = mel * (gains @ smoothing.T)
    return turned


def _lower_envelope(now: NDArray[np.float64], before: NDArray[np.float64]) -> NDArray[np.float64]:
    slowness = np.where(now >= before, _LAMBDA_A, _LAMBDA_B)
    envelope: NDArray[np.float64] = slowness * before + (1 - slowness) * now
    return envelope


@cache
def _smoothing(count: int) -> NDArray[np.float64]:
    """Return (count, count): each band's mean over itself and its neighbours."""
    places = np.arange(count)
    near = np.abs(places[:, None] - places) <= _SMOOTH_WINDOW
    mean: NDArray[np.float64] = near / near.sum(axis=1, keepdims=True)
    return mean
