"""The net that hears an utterance to the end: its phones, and the state of each moment.

Layers of convolutions as in ``phone_net``, on top of each other, with every third frame from the
second on: each sees a second before and after, so that what a number is made of is heard in its
place among other words. It was taught by what was said, not by which moment belongs to which phone
(``ctc``), and by the states of the moments beside that. How it was made is told in
``models/README.md``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.asr.phone_net import BAND_SCALE, layers_in, log_shares

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from fieldvoice.asr.front_end import Frames
    from fieldvoice.asr.phone_net import Layer, Weights

#: Frames of sound to a moment of this net.
FRAMES_A_MOMENT = 3


@dataclass(frozen=True, slots=True, eq=False)
class Moments:
    """What an utterance is made of: probabilities of labels, and log probabilities of states.

    ``labels`` are (moments, labels), the first label the blank; ``states`` (moments, states).
    """

    labels: NDArray[np.float64]
    states: Frames

    def states_of(self, frames: int) -> Frames:
        """Return (frames, states): those of the moments, and between them what lies between."""
        last = len(self.states) - 1
        places = np.minimum(np.arange(frames) / FRAMES_A_MOMENT, last)
        low = places.astype(int)
        part = (places - low)[:, None].astype(np.float32)
        between: Frames = self.states[low] * (1 - part)
        between += self.states[np.minimum(low + 1, last)] * part
        return between


@dataclass(frozen=True, slots=True, eq=False)
class CtcNet:
    """The net: layers (each from the third on added to what went in), labels and states out.

    ``phones`` are what the labels after the first, the blank, stand for.
    """

    layers: tuple[Layer, ...]
    out: Weights
    out_bias: Weights
    states_out: Weights
    states_bias: Weights
    phones: tuple[str, ...]

    def hear(self, bands: Frames) -> Moments:
        """Return what the ``bands`` (frames, bands) of an utterance are made of."""
        frames = (bands - bands.mean(axis=0)) * np.float32(BAND_SCALE)
        frames = self.layers[0](frames)
        moments = self.layers[1](frames)[::FRAMES_A_MOMENT]
        for layer in self.layers[2:]:
            moments = moments + layer(moments)
        labels = log_shares(moments @ self.out + self.out_bias)
        states = log_shares(moments @ self.states_out + self.states_bias)
        return Moments(np.exp(labels.astype(np.float64)), states)


def read_ctc_net(path: Path) -> CtcNet:
    """Return the net in the file ``path``, as ``models/train_ctc.py`` writes it."""
    with np.load(path) as file:
        parts = {name: file[name] for name in file.files}
    heads = ("out", "out_bias", "states_out", "states_bias")
    out, out_bias, states_out, states_bias = (parts[name].astype(np.float32) for name in heads)
    phones = tuple(map(str, parts["phones"]))
    return CtcNet(layers_in(parts), out, out_bias, states_out, states_bias, phones)
