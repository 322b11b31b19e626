"""Trains the net that hears an utterance to the end.

    python -m models.train_ctc OUT.npz BANDS.npz… [--shorter 1] [--width 256]

Needs torch, which nothing else here does. Whole utterances of about the same length go in together,
each by another speaker every time (``another``). The net learns by the likelihood of the phones in
their order (``fieldvoice/asr/ctc.py``), and by which state each moment is in. It learns in two
lots, the second from speakers more unlike, at other paces; what is written is the mean of the
weights after the two. Three quarters of an hour for 17 million frames on two cores;
``--shorter 10`` takes a tenth of the epochs.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import torch
from torch import nn
from torch.nn import functional

from fieldvoice.asr.acoustic_files import read_senones
from fieldvoice.asr.ctc_net import FRAMES_A_MOMENT
from fieldvoice.asr.front_end import BANDS
from fieldvoice.asr.model_files import bundled_model
from fieldvoice.asr.phone_net import BAND_SCALE, STATES_OF_A_PHONE
from models.another import by_another, paced, with_gaps
from models.bands import Bands, read_bands
from models.train import NOISE, NOT_COUNTED, Descent, descend, folded

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

#: How far apart the taps of each layer above the first two are, in moments; all have five.
APART = (1, 1, 2, 1, 2, 4, 1, 2, 4, 1)
TAPS = 5
#: Frames that go in together, and how unlike in length utterances that do may be.
AT_ONCE, UNLIKE = 14_000, 15.0
#: How much the states count beside the phones.
STATES_WEIGHT = 0.3
SILENCE = "SIL"


@dataclass(frozen=True, slots=True)
class Lot:
    """So many epochs at a rate, from speakers so unlike, at their own pace or any."""

    epochs: float
    rate: float
    unlike: float
    any_pace: bool


LOTS = (Lot(5, 2e-3, 1.0, False), Lot(2, 1e-3, 1.4, True))


class CtcNet(nn.Module):
    """The net while it learns; ``fieldvoice/asr/ctc_net.py`` is the net that has learnt."""

    def __init__(self, width: int, labels: int, states: int) -> None:
        super().__init__()
        first = nn.Conv1d(BANDS, width, TAPS, padding=TAPS // 2)
        coarse = nn.Conv1d(width, width, TAPS, padding=TAPS // 2, stride=FRAMES_A_MOMENT)
        above = [
            nn.Conv1d(width, width, TAPS, dilation=apart, padding=TAPS // 2 * apart)
            for apart in APART
        ]
        self.layers = nn.ModuleList([first, coarse, *above])
        self.norms = nn.ModuleList([nn.BatchNorm1d(width) for _ in self.layers])
        self.drop = nn.Dropout(0.15)
        self.out = nn.Conv1d(width, labels, 1)
        self.states = nn.Conv1d(width, states, 1)

    def forward(self, bands: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
        """Return scores (utterance, label, moment) and (utterance, state, moment).

        ``bands`` are (utterance, band, frame).
        """
        now = bands
        for layer, norm in zip(self.layers[:2], self.norms[:2], strict=True):
            now = norm(functional.relu(layer(now)))
        for layer, norm in zip(self.layers[2:], self.norms[2:], strict=True):
            now = now + self.drop(norm(functional.relu(layer(now))))
        return self.out(now), self.states(now)


@dataclass(frozen=True, slots=True, eq=False)
class Utterance:
    """Bands (frames, 40) less their mean, the state of each frame, and the labels said."""

    bands: NDArray[np.float16]
    states: NDArray[np.int16]
    labels: NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Batch:
    """Utterances that go in together, filled up to the same length, their labels in one row."""

    bands: torch.Tensor
    states: torch.Tensor
    moments: torch.Tensor
    labels: torch.Tensor
    counts: torch.Tensor


def spoken_phones(names: Sequence[str]) -> list[str]:
    """Return the phones that are said, of the bundled model's."""
    return [name for name in names if name != SILENCE and not name.startswith(NOISE)]


def utterances(corpus: Bands, names: Sequence[str]) -> Iterator[Utterance]:
    """Yield the utterances of a corpus; ``names`` are the bundled model's phones."""
    said = spoken_phones(names)
    label_of = np.array([said.index(name) + 1 if name in said else 0 for name in names])
    ends = np.cumsum(corpus.lengths)
    for begin, end in zip(ends - corpus.lengths, ends, strict=True):
        labels = label_of[_phones(corpus.states[begin:end])]
        frames = corpus.frames[begin:end]
        middle = frames.astype(np.float32).mean(axis=0)
        yield Utterance(
            (frames - middle).astype(np.float16), corpus.states[begin:end], labels[labels > 0]
        )


def _phones(states: NDArray[np.int16]) -> NDArray[np.int64]:
    """Return the phones in their order; one said twice is told by its states beginning again."""
    phones = states // STATES_OF_A_PHONE
    begins = (phones[1:] != phones[:-1]) | (states[1:] < states[:-1])
    return phones[np.flatnonzero(np.concatenate([[True], begins]))].astype(np.int64)


def batches(known: Sequence[Utterance], chance: np.random.Generator, lot: Lot) -> Iterator[Batch]:
    """Yield every utterance once, with others of about its length, in random order."""
    lengths = np.array([len(one.bands) for one in known])
    ranked = np.argsort(lengths + chance.normal(0, UNLIKE, len(lengths)))
    groups: list[list[int]] = [[]]
    for at in ranked:
        longest = lengths[[*groups[-1], at]].max()
        if longest * (len(groups[-1]) + 1) > AT_ONCE:
            groups.append([])
        groups[-1].append(at)
    for number in chance.permutation(len(groups)):
        yield _together([known[at] for at in groups[number]], chance, lot)


def _together(group: Sequence[Utterance], chance: np.random.Generator, lot: Lot) -> Batch:
    said = [(one.bands, one.states) for one in group]
    if lot.any_pace:
        said = [paced(one.bands, one.states, len(one.labels), chance) for one in group]
    longest = max(len(states) for _, states in said)
    whole = -(-longest // FRAMES_A_MOMENT) * FRAMES_A_MOMENT
    bands = np.zeros((len(group), whole, BANDS), np.float32)
    states = np.full((len(group), whole), NOT_COUNTED, np.int64)
    for row, (frames, own) in enumerate(said):
        bands[row, : len(frames)] = frames * BAND_SCALE
        states[row, : len(frames)] = own
    bands = with_gaps(by_another(bands, chance, lot.unlike), chance)
    for row, (frames, _) in enumerate(said):
        bands[row, len(frames) :] = 0
    return Batch(
        torch.from_numpy(bands).transpose(1, 2),
        torch.from_numpy(states[:, ::FRAMES_A_MOMENT].copy()),
        torch.tensor([-(-len(own) // FRAMES_A_MOMENT) for _, own in said]),
        torch.from_numpy(np.concatenate([one.labels for one in group])),
        torch.tensor([len(one.labels) for one in group]),
    )


def loss_of(net: CtcNet, batch: Batch) -> torch.Tensor:
    """Return how unlikely the phones said are to ``net``, and a little the states."""
    # half as long as in whole precision, on processors that have it
    with torch.autocast("cpu", torch.bfloat16):
        scores, states = net(batch.bands)
    unlikely = functional.ctc_loss(
        functional.log_softmax(scores.float(), 1).permute(2, 0, 1),
        batch.labels,
        batch.moments,
        batch.counts,
        reduction="sum",
        zero_infinity=True,
    )
    by_state = functional.cross_entropy(states.float(), batch.states, ignore_index=NOT_COUNTED)
    return unlikely / batch.counts.sum() + STATES_WEIGHT * by_state


def losses_of(
    net: CtcNet, known: Sequence[Utterance], lot: Lot, chance: np.random.Generator
) -> Iterator[torch.Tensor]:
    """Yield the loss of ``net`` at each batch of ``known``, over and over."""
    while True:
        for batch in batches(known, chance, lot):
            yield loss_of(net, batch)


def train(known: Sequence[Utterance], net: CtcNet, lot: Lot, chance: np.random.Generator) -> None:
    """Let ``net`` learn a lot from ``known``."""
    net.train()
    frames = sum(len(one.bands) for one in known)
    # utterances of unlike length leave a little room in a batch
    steps = int(lot.epochs * frames / AT_ONCE * 1.1)
    how = Descent(lot.rate, rising=0.12, decay=1e-3)
    descend(net, losses_of(net, known, lot, chance), steps, how)


def mean_of(weights: Sequence[Mapping[str, torch.Tensor]]) -> dict[str, torch.Tensor]:
    """Return the mean of weights of the same net."""
    return {
        name: torch.stack([one[name].float() for one in weights]).mean(0).to(part.dtype)
        for name, part in weights[0].items()
    }


def write(net: CtcNet, phones: Sequence[str], out: Path) -> None:
    """Write ``net`` as ``ctc_net.read_ctc_net`` reads it."""
    net.eval()
    np.savez_compressed(
        out,
        **folded(net.layers, net.norms, out=net.out, states_out=net.states),
        apart=np.array([1, 1, *APART]),
        phones=np.array(phones),
    )


def main() -> None:
    parser = argparse.ArgumentParser(description="Train the net that weighs whole utterances.")
    parser.add_argument("out", type=Path)
    parser.add_argument("bands", type=Path, nargs="+")
    parser.add_argument("--shorter", type=float, default=1.0)
    parser.add_argument("--width", type=int, default=256)
    chosen = parser.parse_args()
    names = read_senones((bundled_model("en-us") / "mdef").read_bytes()).phones
    known = [one for path in chosen.bands for one in utterances(read_bands(path), names)]
    phones = spoken_phones(names)
    net = CtcNet(chosen.width, len(phones) + 1, STATES_OF_A_PHONE * len(names))
    chance, learnt = np.random.default_rng(1), []
    for lot in LOTS:
        train(known, net, replace(lot, epochs=lot.epochs / chosen.shorter), chance)
        learnt.append({name: part.clone() for name, part in net.state_dict().items()})
    net.load_state_dict(mean_of(learnt))
    write(net, phones, chosen.out)


if __name__ == "__main__":
    main()
