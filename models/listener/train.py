"""Teaches the listener: its lessons' texts, and to make of noise what it made of the sound alone.

    python -m models.listener.train START.npz TOKENS.txt TEXTS.tsv LESSONS OUT.npz [--steps 1500]

``START.npz`` is written by ``models.listener.published``, ``LESSONS`` by
``models.listener.lessons``. What is taught forgets people; four things hold that off. Plain English
is in every batch. The encoder is held to what the published one makes of the same sound without
noise, filled up with silence. The embeddings stay. What is written is the mean of the weights over
the steps, which ``models.listener.choose`` averages with the published ones.
"""

from __future__ import annotations

import argparse
import random
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import torch
import torch.nn.functional as F  # noqa: N812

from fieldvoice.asr.listener_net import FILTERS
from models.listener.batches import IGNORED, SAMPLE_RATE, Batches
from models.listener.net import Net, mel_bands

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from torch import Tensor

#: What the teacher hears is filled up to this with silence, in seconds.
WHOLE_S = 16
#: Weights that stay as they were published.
FROZEN = ("decoder/embeddings/weight", "encoder/position_encodings/encodings")
#: The mean of the weights reaches back about so many steps.
MEAN_OVER = 100
WARM_STEPS = 40
REPORT = 50


def masked(mel: Tensor, chance: random.Random) -> Tensor:
    """Return bands with a few of them, and a short while, left out now and then."""
    if chance.random() < 0.5:
        band, width = chance.randrange(70), chance.randint(1, 10)
        mel[:, band : band + width] = mel.amin(dim=(1, 2), keepdim=True)
    if chance.random() < 0.5:
        at, width = chance.randrange(max(1, mel.shape[2] - 20)), chance.randint(1, 15)
        mel[:, :, at : at + width] = mel.amin(dim=(1, 2), keepdim=True)
    return mel


def load(path: Path, device: torch.device) -> dict[str, Tensor]:
    """Return the weights in a file, by name."""
    with np.load(path) as file:
        names = [name for name in file.files if name != "tokens"]
        return {name: torch.from_numpy(file[name].astype(np.float32)).to(device) for name in names}


def teach(chosen: argparse.Namespace) -> dict[str, NDArray[Any]]:
    """Return the mean of the weights over the last steps."""
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    torch.manual_seed(chosen.seed)
    chance = random.Random(chosen.seed)
    published = load(chosen.start, device)
    weights = {name: array.clone() for name, array in published.items()}
    taught = [name for name in weights if name not in FROZEN]
    for name in taught:
        weights[name].requires_grad_()
    mean = {name: weights[name].detach().clone() for name in taught}
    groups: list[dict[str, Any]] = [
        {"params": [weights[n] for n in taught if n.startswith("encoder")], "lr": chosen.encoder},
        {"params": [weights[n] for n in taught if n.startswith("decoder")], "lr": chosen.decoder},
    ]
    began = time.monotonic()

    def done(step: int) -> float:
        """Return which share of the steps, or of the time, is over."""
        return max(step / chosen.steps, (time.monotonic() - began) / (60 * chosen.minutes))

    optimiser = torch.optim.AdamW(groups, betas=(0.9, 0.98), weight_decay=0.0)
    schedule = torch.optim.lr_scheduler.LambdaLR(
        optimiser,
        lambda step: min(1.0, (step + 1) / WARM_STEPS) * max(0.05, 1 - done(step)),
    )
    net = Net(weights)
    # halves on an accelerator; a processor's normalisation takes single floats only
    kind = torch.bfloat16 if device.type == "cuda" else torch.float32
    teacher = Net({name: array.to(kind) for name, array in published.items()})
    filters = torch.from_numpy(FILTERS).to(device)
    batches = Batches(chosen.tokens, chosen.texts, chosen.lessons, chosen.seed)
    began, sums = time.monotonic(), [0.0, 0.0]  # the loading is not counted
    for step, lot in enumerate(batches.loaded(chosen.steps, chosen.batch, chosen.workers)):
        sounds, told, aims = (one.to(device, non_blocking=True) for one in lot)
        heard, clean = sounds.float() / 32768
        whole = mel_bands(F.pad(clean, (0, WHOLE_S * SAMPLE_RATE - clean.shape[1])), filters)
        mel = masked(mel_bands(heard, filters), chance)
        with torch.autocast(device.type, torch.bfloat16):
            with torch.no_grad():
                like = teacher.hear(whole)
            sound = net.hear(mel)
            like = like[:, : sound.shape[1]]
            scores = net.write(told, sound)
        away = ((sound.float() - like.float()) ** 2).mean() / (like.float() ** 2).mean()
        wrong = F.cross_entropy(scores.float().flatten(0, 1), aims.flatten(), ignore_index=IGNORED)
        (wrong + chosen.hold * away).backward()
        torch.nn.utils.clip_grad_norm_([weights[name] for name in taught], 1.0)
        optimiser.step()
        optimiser.zero_grad(set_to_none=True)
        schedule.step()
        share = max(1 / MEAN_OVER, 1 / (step + 1))
        with torch.no_grad():
            torch._foreach_lerp_([mean[n] for n in taught], [weights[n] for n in taught], share)
        sums = [sums[0] + wrong.item(), sums[1] + away.item()]
        if (step + 1) % REPORT == 0:
            seconds = time.monotonic() - began
            print(
                f"{step + 1}: {sums[0] / REPORT:.3f} {sums[1] / REPORT:.3f} {seconds:.0f} s",
                flush=True,
            )
            sums = [0.0, 0.0]
        if done(step + 1) >= 1:
            break
    return {
        name: one.cpu().numpy() for name, one in {**weights, **mean}.items() if name not in FROZEN
    }


def main() -> None:
    parser = argparse.ArgumentParser(description="Teach the listener.")
    for name in ("start", "tokens", "texts", "lessons", "out"):
        parser.add_argument(name, type=Path)
    parser.add_argument("--steps", type=int, default=1500)
    parser.add_argument("--batch", type=int, default=64)
    parser.add_argument("--workers", type=int, default=2, help="processes that make batches")
    parser.add_argument("--minutes", type=float, default=60, help="at most")
    parser.add_argument("--encoder", type=float, default=1e-5, help="the encoder's rate")
    parser.add_argument("--decoder", type=float, default=2e-5, help="the decoder's rate")
    parser.add_argument("--hold", type=float, default=1.0, help="how much the encoder is held")
    parser.add_argument("--seed", type=int, default=17)
    chosen = parser.parse_args()
    np.savez(chosen.out, **teach(chosen))


if __name__ == "__main__":
    main()
