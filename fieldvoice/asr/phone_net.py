"""The net that tells which state of which phone each moment of sound is in.

A time-delay neural network (A. Waibel and others, "Phoneme recognition using time-delay neural
networks", IEEE Transactions on Acoustics, Speech, and Signal Processing 37 (3), 1989, pages 328 to
339) of one-dimensional convolutions over mel bands: it sees a fifth of a second before and after
each moment, which a Gaussian does not, and was shown speech in every kind of noise. How it was made
is told in ``models/README.md``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from fieldvoice.asr.front_end import Frames

Weights = NDArray[np.float32]

#: States of a phone, and phones as the bundled model counts them.
STATES_OF_A_PHONE = 3

#: Bands, less their mean over the utterance, are scaled by this before they go in.
BAND_SCALE = 0.25

#: How much likelier than usual a state can be made out to be, and how much less: what is rarer
#: than this is not taken for rarer still, and what is denied is not denied for ever.
RAREST = 0.002
LEAST = -20.0


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """One convolution: taps (count, in, out) this far apart, and what is done to its output."""

    taps: Weights
    bias: Weights
    scale: Weights
    shift: Weights
    apart: int

    def __call__(self, frames: Frames) -> Frames:
        """Return (frames, out): the convolution, rectified, scaled and shifted."""
        rectified = np.maximum(_convolved(frames, self.taps, self.apart) + self.bias, 0)
        scaled: Frames = rectified * self.scale + self.shift
        return scaled


@dataclass(frozen=True, slots=True, eq=False)
class PhoneNet:
    """The net: layers on top of each other (each but the first added to what went in), states out.

    ``shares`` is how often each state came in what it was shown; ``noises`` the states of phones
    that are no speech, of which it was shown none.
    """

    layers: tuple[Layer, ...]
    out: Weights
    out_bias: Weights
    shares: Weights
    noises: NDArray[np.int64]

    @property
    def states(self) -> int:
        """How many states it tells apart."""
        return len(self.out_bias)

    def evidence(self, bands: Frames) -> Frames:
        """Return (frames, states): by how much each state is likelier than it usually is.

        Natural logarithms of likelihood ratios. ``bands`` are those of one utterance.
        """
        frames = (bands - bands.mean(axis=0)) * np.float32(BAND_SCALE)
        frames = self.layers[0](frames)
        for layer in self.layers[1:]:
            frames = frames + layer(frames)
        return self.against_usual(log_shares(frames @ self.out + self.out_bias))

    def against_usual(self, likely: Frames) -> Frames:
        """Return by how much each state is likelier than usual, given logs of how likely it is."""
        ratios: Frames = np.maximum(likely - np.log(np.maximum(self.shares, RAREST)), LEAST)
        ratios[:, self.noises] = LEAST
        return ratios


def read_net(path: Path) -> PhoneNet:
    """Return the net in the file ``path``, as ``models/train.py`` writes it."""
    with np.load(path) as file:
        parts = {name: file[name] for name in file.files}
    out, bias, shares = (parts[name].astype(np.float32) for name in ("out", "out_bias", "shares"))
    return PhoneNet(layers_in(parts), out, bias, shares, parts["noises"].astype(np.int64))


def layers_in(parts: Mapping[str, NDArray[Any]]) -> tuple[Layer, ...]:
    """Return the layers of a net out of its file, the first one first."""

    def part(kind: str, at: int) -> Weights:
        return parts[f"{kind}_{at}"].astype(np.float32)

    return tuple(
        Layer(part("taps", at), part("bias", at), part("scale", at), part("shift", at), int(apart))
        for at, apart in enumerate(parts["apart"])
    )


def log_shares(scores: Frames) -> Frames:
    """Return the logarithms of the shares that scores (frames, kinds) stand for, of 1 a frame."""
    raised = scores - scores.max(axis=1, keepdims=True)
    logs: Frames = raised - np.log(np.exp(raised).sum(axis=1, keepdims=True))
    return logs


def _convolved(frames: Frames, taps: Weights, apart: int) -> Frames:
    reach = len(taps) // 2 * apart
    padded = np.pad(frames, ((reach, reach), (0, 0)))
    count = len(frames)
    total: Frames = padded[:count] @ taps[0]
    for at in range(1, len(taps)):
        total += padded[at * apart : at * apart + count] @ taps[at]
    return total
