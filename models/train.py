"""Trains the net that tells the states of phones.

    python -m models.train OUT.npz BANDS.npz… [--epochs 3] [--width 256]

Needs torch, which nothing else here does. Each step takes stretches of two seconds out of many
utterances, moves their bands a little up or down (a head of another size), tilts them (another
headset) and now and then loses some. About a quarter of an hour for ten million frames, three
epochs, on two cores.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import torch
from torch import nn
from torch.nn import functional

from fieldvoice.asr.acoustic_files import read_senones
from fieldvoice.asr.front_end import BANDS
from fieldvoice.asr.model_files import bundled_model
from fieldvoice.asr.phone_net import BAND_SCALE, STATES_OF_A_PHONE
from models.another import by_another
from models.bands import Bands, read_bands

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

STRETCH, AT_ONCE = 200, 64
#: How far apart the three taps of each layer above the first are; the first has five in a row.
APART = (2, 3, 4, 6)
FIRST_TAPS = 5
#: The states' noise phones have names that begin so.
NOISE = "+"

#: Stands for the state of a frame that is none.
NOT_COUNTED = -100


class Net(nn.Module):
    """The net while it learns; ``fieldvoice/asr/phone_net.py`` is the net that has learnt."""

    def __init__(self, width: int, states: int) -> None:
        super().__init__()
        first = nn.Conv1d(BANDS, width, FIRST_TAPS, padding=FIRST_TAPS // 2)
        above = [nn.Conv1d(width, width, 3, dilation=apart, padding=apart) for apart in APART]
        self.layers = nn.ModuleList([first, *above])
        self.norms = nn.ModuleList([nn.BatchNorm1d(width) for _ in self.layers])
        self.drop = nn.Dropout(0.1)
        self.out = nn.Conv1d(width, states, 1)

    def forward(self, bands: torch.Tensor) -> torch.Tensor:
        """Return scores (utterance, state, frame) of bands (utterance, band, frame)."""
        now = self.norms[0](functional.relu(self.layers[0](bands)))
        for layer, norm in zip(self.layers[1:], self.norms[1:], strict=True):
            now = now + self.drop(norm(functional.relu(layer(now))))
        return self.out(now)


def folded(
    layers: nn.ModuleList, norms: nn.ModuleList, **heads: nn.Conv1d
) -> dict[str, NDArray[np.float16]]:
    """Return the weights of layers, each with its norm, as ``phone_net.layers_in`` reads them.

    And those of ``heads``, by their names.
    """
    made = {}
    for name, head in heads.items():
        made[name] = head.weight[:, :, 0].T
        made[f"{name.removesuffix('_out')}_bias"] = head.bias
    for at, (layer, norm) in enumerate(zip(layers, norms, strict=True)):
        scale = norm.weight / torch.sqrt(norm.running_var + norm.eps)
        made[f"taps_{at}"] = layer.weight.permute(2, 1, 0)
        made[f"bias_{at}"] = layer.bias
        made[f"scale_{at}"] = scale
        made[f"shift_{at}"] = norm.bias - norm.running_mean * scale
    return {name: part.detach().numpy().astype(np.float16) for name, part in made.items()}


class Stretches:
    """Draws stretches of utterances, each changed in its own way."""

    def __init__(self, corpora: Sequence[Bands], seed: int = 1) -> None:
        self.frames = np.concatenate([corpus.frames for corpus in corpora])
        self.states = np.concatenate([corpus.states for corpus in corpora])
        self._lengths = np.concatenate([corpus.lengths for corpus in corpora])
        self._starts = np.concatenate([[0], np.cumsum(self._lengths)])
        spans = zip(self._starts[:-1], self._starts[1:], strict=True)
        self._means = [self.frames[a:b].astype(np.float32).mean(axis=0) for a, b in spans]
        self._chance = np.random.default_rng(seed)

    def draw(self) -> tuple[torch.Tensor, torch.Tensor]:
        """Return bands (utterance, band, frame) and states (utterance, frame)."""
        chance, shares = self._chance, self._lengths / self._lengths.sum()
        bands = np.zeros((AT_ONCE, STRETCH, BANDS), np.float32)
        states = np.full((AT_ONCE, STRETCH), NOT_COUNTED, np.int64)
        for row, one in enumerate(chance.choice(len(shares), AT_ONCE, p=shares)):
            length = self._lengths[one]
            begin = self._starts[one] + int(chance.integers(max(1, length - STRETCH + 1)))
            end = min(begin + STRETCH, self._starts[one + 1])
            part = self.frames[begin:end].astype(np.float32) - self._means[one]
            bands[row, : end - begin] = part * BAND_SCALE
            states[row, : end - begin] = self.states[begin:end]
        return torch.from_numpy(by_another(bands, chance)).transpose(1, 2), torch.from_numpy(states)


@dataclass(frozen=True, slots=True)
class Descent:
    """How fast a net learns at most, in which part of its steps that rises, and what holds it."""

    rate: float
    rising: float
    decay: float


def descend(net: nn.Module, losses: Iterator[torch.Tensor], steps: int, how: Descent) -> None:
    """Let ``net`` learn from so many of ``losses``, each reckoned when it is asked for."""
    optimiser = torch.optim.AdamW(net.parameters(), lr=how.rate, weight_decay=how.decay)
    schedule = torch.optim.lr_scheduler.OneCycleLR(
        optimiser, how.rate, total_steps=steps, pct_start=how.rising
    )
    began, smooth = time.monotonic(), 0.0
    for step, loss in enumerate(islice(losses, steps), start=1):
        optimiser.zero_grad()
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        optimiser.step()
        schedule.step()
        smooth = loss.item() if step == 1 else 0.98 * smooth + 0.02 * loss.item()
        if step % 100 == 0:
            took = time.monotonic() - began
            print(f"{step} of {steps}, loss {smooth:.3f}, {took:.0f} s", flush=True)


def losses_of(net: Net, stretches: Stretches) -> Iterator[torch.Tensor]:
    """Yield how wrong ``net`` is about the states of stretches, for ever."""
    while True:
        bands, states = stretches.draw()
        # half as long as in whole precision, on processors that have it
        with torch.autocast("cpu", torch.bfloat16):
            scores = net(bands)
        yield functional.cross_entropy(scores.float(), states, ignore_index=NOT_COUNTED)


def train(stretches: Stretches, net: Net, epochs: float) -> None:
    """Let ``net`` learn from ``stretches``."""
    steps = int(epochs * len(stretches.states) / (STRETCH * AT_ONCE))
    descend(net, losses_of(net, stretches), steps, Descent(2e-3, rising=0.15, decay=1e-4))


def write(net: Net, states: NDArray[np.int16], names: Sequence[str], out: Path) -> None:
    """Write ``net`` as ``phone_net.read_net`` reads it; ``states`` are those it was shown."""
    net.eval()
    counts = np.bincount(states, minlength=STATES_OF_A_PHONE * len(names)) + 1.0
    noisy = [name.startswith(NOISE) for name in names]
    np.savez_compressed(
        out,
        **folded(net.layers, net.norms, out=net.out),
        apart=np.array([1, *APART]),
        shares=(counts / counts.sum()).astype(np.float32),
        noises=np.flatnonzero(np.repeat(noisy, STATES_OF_A_PHONE)),
    )


def main() -> None:
    parser = argparse.ArgumentParser(description="Train the net of the field model.")
    parser.add_argument("out", type=Path)
    parser.add_argument("bands", type=Path, nargs="+")
    parser.add_argument("--epochs", type=float, default=3.0)
    parser.add_argument("--width", type=int, default=384)
    chosen = parser.parse_args()
    names = read_senones((bundled_model("en-us") / "mdef").read_bytes()).phones
    stretches = Stretches([read_bands(path) for path in chosen.bands])
    net = Net(chosen.width, STATES_OF_A_PHONE * len(names))
    train(stretches, net, chosen.epochs)
    write(net, stretches.states, names, chosen.out)


if __name__ == "__main__":
    main()
