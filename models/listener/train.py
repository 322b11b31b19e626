"""Teaches the listener: its lessons' texts, and to make of noise what it made of the sound alone.

    python -m models.listener.train START.npz TOKENS.txt TEXTS.tsv LESSONS OUT.npz [--steps 1500]

``START.npz`` is written by ``models.listener.published``, ``LESSONS`` by ``models.listener.lessons``.
What is taught forgets people; four things hold that off. Plain English is in every batch. The
encoder is held to what the published one makes of the same sound without noise, filled up with silence.
The embeddings stay. What is written is the mean of the weights over the steps, which
``models.listener.choose`` averages with the published ones.
"""

from __future__ import annotations

import argparse
import random
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import torch
import torch.nn.functional as F  # noqa: N812

from fieldvoice.asr.listener_net import FILTERS
from fieldvoice.asr.tokens import END, NO_TIMES, PROMPT, START, Tokens
from models.listener.net import Net, mel_bands

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray
    from torch import Tensor

SAMPLE_RATE = 16_000
BATCH, SORTED = 64, 16
#: Silence after a lesson in a batch, in seconds.
AFTER_S = (0.3, 1.0)
WHOLE_S = 16
#: Weights that stay as they were published.
FROZEN = ("decoder/embeddings/weight", "encoder/position_encodings/encodings")
#: How often a lesson comes with a prompt, and how long that is in tokens.
PROMPTED, PROMPT_TOKENS = 0.6, (12, 110)
#: The mean of the weights reaches back about so many steps.
MEAN_OVER = 200
WARM_STEPS = 60
IGNORED = -100


class Prompts:
    """What a listener may be told before a lesson: other sentences of its kind."""

    def __init__(self, texts: Path, tokens: Tokens) -> None:
        self._special = tokens.special(PROMPT)
        self._tokens: dict[str, list[int]] = {}
        self._of_kind: dict[str, list[str]] = {}
        self._with_word: dict[str, list[str]] = {}
        for line in texts.read_text("utf-8").splitlines():
            kind, text = line.split("\t")
            self._tokens[text] = tokens.of(f"{text}.")
            self._of_kind.setdefault(kind, []).append(text)
            if kind == "plain":
                for word in set(text.split()):
                    self._with_word.setdefault(word, []).append(text)

    def before(self, kind: str, text: str, chance: random.Random) -> list[int]:
        """Return the tokens of a prompt, or none."""
        if chance.random() >= PROMPTED:
            return []
        pool = self._of_kind["grammar" if kind in ("sayings", "none", "remarks") else kind]
        said = chance.sample(pool, k=min(16, len(pool)))
        if kind == "plain" and chance.random() < 0.7:
            long = [word for word in text.split() if len(word) > 3]
            near = [s for word in long for s in self._with_word.get(word, ()) if s != text]
            said[: len(near[:3])] = chance.sample(near, k=min(3, len(near)))
            chance.shuffle(said)
        room, found = chance.randint(*PROMPT_TOKENS), list[int]()
        for one in said:
            more = self._tokens[one]
            if len(found) + len(more) > room:
                break
            found += more
        return [self._special, *found] if found else []


class Lessons:
    """The lessons in a folder, in batches of about one length."""

    def __init__(self, folder: Path, device: torch.device, *, part: slice = slice(None)) -> None:
        self._device = device
        self._sounds: list[tuple[NDArray[np.int16], NDArray[np.int16]]] = []
        self.said: list[tuple[str, str]] = []
        for path in sorted(folder.glob("*.npz"))[part]:
            with np.load(path) as file:
                heard, clean, ends = file["heard"], file["clean"], file["ends"]
                self.said += zip(file["kinds"].tolist(), file["texts"].tolist(), strict=True)
            for begin, end in zip([0, *ends[:-1]], ends, strict=True):
                self._sounds.append((heard[begin:end], clean[begin:end]))

    def batches(self, chance: random.Random) -> Iterator[list[int]]:
        """Yield the numbers of lessons, again and again."""
        while True:
            order = chance.sample(range(len(self._sounds)), k=len(self._sounds))
            lot = BATCH * SORTED
            for at in range(0, len(order), lot):
                some = sorted(order[at : at + lot], key=lambda one: len(self._sounds[one][0]))
                parts = [some[begin : begin + BATCH] for begin in range(0, len(some), BATCH)]
                chance.shuffle(parts)
                yield from parts

    def sounds(self, numbers: list[int], chance: random.Random) -> tuple[Tensor, Tensor]:
        """Return what is heard, and the same without noise, silence after each."""
        longest = max(len(self._sounds[one][0]) for one in numbers)
        length = longest + int(chance.uniform(*AFTER_S) * SAMPLE_RATE)
        length += -length % 320
        both = np.zeros((2, len(numbers), length), np.int16)
        for row, one in enumerate(numbers):
            for side in (0, 1):
                sound = self._sounds[one][side]
                both[side, row, : len(sound)] = sound
        heard, clean = torch.from_numpy(both).to(self._device).float() / 32768
        return heard, clean


def tokens_of(
    said: list[tuple[str, str]], tokens: Tokens, prompts: Prompts, chance: random.Random
) -> tuple[Tensor, Tensor]:
    """Return what is told and what is to be told next (``IGNORED`` where nothing is taught)."""
    rows, aims = [], []
    for kind, text in said:
        begin = [
            *prompts.before(kind, text, chance),
            tokens.special(START),
            tokens.special(NO_TIMES),
        ]
        words = tokens.of(text)
        rows.append(begin + words)
        aims.append([IGNORED] * (len(begin) - 1) + [*words, tokens.special(END)])
    longest = max(map(len, rows))
    return (
        torch.tensor([row + [0] * (longest - len(row)) for row in rows]),
        torch.tensor([aim + [IGNORED] * (longest - len(aim)) for aim in aims]),
    )


def ahead(
    make: Callable[[list[int]], tuple[Tensor, ...]], lots: Iterator[list[int]], count: int
) -> Iterator[tuple[Tensor, ...]]:
    """Yield ``count`` batches, each made while the one before is learnt."""
    with ThreadPoolExecutor(1) as pool:
        waiting = pool.submit(make, next(lots))
        for _ in range(count):
            ready, waiting = waiting.result(), pool.submit(make, next(lots))
            yield ready


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
    # the encoder goes slower: what it knows of people is what must not be forgotten
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
    teacher = Net({name: array.bfloat16() for name, array in published.items()})
    filters = torch.from_numpy(FILTERS).to(device)
    tokens = Tokens(chosen.tokens)
    prompts, lessons = Prompts(chosen.texts, tokens), Lessons(chosen.lessons, device)
    began, sums = time.monotonic(), [0.0, 0.0]  # the loading is not counted

    making = random.Random(chosen.seed + 1)  # in a thread of its own

    def batch(numbers: list[int]) -> tuple[Tensor, ...]:
        texts = [lessons.said[one] for one in numbers]
        told = tokens_of(texts, tokens, prompts, making)
        return (*lessons.sounds(numbers, making), *(one.to(device) for one in told))

    for step, (heard, clean, told, aims) in enumerate(
        ahead(batch, lessons.batches(random.Random(chosen.seed)), chosen.steps)
    ):
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
        if (step + 1) % 100 == 0:
            seconds = time.monotonic() - began
            print(
                f"{step + 1}: {sums[0] / 100:.3f} {sums[1] / 100:.3f} {seconds:.0f} s", flush=True
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
    parser.add_argument("--minutes", type=float, default=60, help="at most")
    parser.add_argument("--encoder", type=float, default=1e-5, help="the encoder's rate")
    parser.add_argument("--decoder", type=float, default=2e-5, help="the decoder's rate")
    parser.add_argument("--hold", type=float, default=1.0, help="how much the encoder is held")
    parser.add_argument("--seed", type=int, default=17)
    chosen = parser.parse_args()
    np.savez(chosen.out, **teach(chosen))


if __name__ == "__main__":
    main()
