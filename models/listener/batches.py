"""Lessons in batches of about one length, with prompts as the listener is given them."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import numpy as np
import torch
from torch.utils.data import DataLoader, Dataset

from fieldvoice.asr.tokens import END, NO_TIMES, PROMPT, START, Tokens

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from numpy.typing import NDArray
    from torch import Tensor

SAMPLE_RATE = 16_000
#: Batches whose lessons are sorted by length together.
SORTED = 12
#: Silence after the longest lesson of a batch, in seconds.
AFTER_S = (0.3, 1.0)
#: How often a lesson comes with a prompt, and how long that is in tokens.
PROMPTED, PROMPT_TOKENS = 0.6, (12, 110)
#: Kinds that are heard after sentences of the grammar, as whatever is said to the assistant is.
BY_GRAMMAR = ("sayings", "none", "askings", "remarks")
#: Marks a place where nothing is taught.
IGNORED = -100


class Batches(Dataset):  # type: ignore[misc]
    """The lessons in a folder; what is asked for by a list of numbers is a batch."""

    def __init__(self, tokens: Path, texts: Path, lessons: Path, seed: int) -> None:
        self._seed, self._tokens = seed, Tokens(tokens)
        self._sounds: list[tuple[NDArray[np.int16], NDArray[np.int16]]] = []
        self._said: list[tuple[str, str]] = []
        for path in sorted(lessons.glob("*.npz")):
            with np.load(path) as file:
                heard, clean, ends = file["heard"], file["clean"], file["ends"]
                self._said += zip(file["kinds"].tolist(), file["texts"].tolist(), strict=True)
            for begin, end in zip([0, *ends[:-1]], ends, strict=True):
                self._sounds.append((heard[begin:end], clean[begin:end]))
        self._prompts = Prompts(texts, self._tokens)

    def loaded(self, steps: int, size: int, workers: int) -> Iterable[tuple[Tensor, ...]]:
        """Return what yields a batch for each of ``steps``, made by other processes."""
        return DataLoader(
            self, batch_size=None, sampler=self._lots(steps, size), num_workers=workers
        )

    def __len__(self) -> int:
        return len(self._sounds)

    def __getitem__(self, numbers: list[int]) -> tuple[Tensor, ...]:
        """Return what is heard and the same without noise, what is told and what is to be told."""
        chance = random.Random(f"{self._seed} {numbers}")
        longest = max(len(self._sounds[one][0]) for one in numbers)
        length = longest + int(chance.uniform(*AFTER_S) * SAMPLE_RATE)
        length += -length % 320
        sounds = np.zeros((2, len(numbers), length), np.int16)
        for row, one in enumerate(numbers):
            for side in (0, 1):
                sound = self._sounds[one][side]
                sounds[side, row, : len(sound)] = sound
        told, aims = [], []
        for kind, text in (self._said[one] for one in numbers):
            begin = self._prompts.before(kind, text, chance)
            begin += [self._tokens.special(START), self._tokens.special(NO_TIMES)]
            words = self._tokens.of(text)
            told.append(begin + words)
            aims.append([IGNORED] * (len(begin) - 1) + [*words, self._tokens.special(END)])
        return torch.from_numpy(sounds), _even(told, 0), _even(aims, IGNORED)

    def _lots(self, steps: int, size: int) -> list[list[int]]:
        """Return the numbers of the lessons in each batch."""
        chance, lots = random.Random(self._seed), list[list[int]]()
        while len(lots) < steps:
            order = chance.sample(range(len(self)), k=len(self))
            for at in range(0, len(order) - size + 1, size * SORTED):
                some = order[at : at + size * SORTED]
                some.sort(key=lambda one: len(self._sounds[one][0]))
                parts = [some[begin : begin + size] for begin in range(0, len(some), size)]
                chance.shuffle(parts)
                lots += parts
        return lots[:steps]


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
        pool = self._of_kind["grammar" if kind in BY_GRAMMAR else kind]
        said = chance.sample(pool, k=min(16, len(pool)))
        if kind == "plain" and chance.random() < 0.7:
            long = [word for word in text.split() if len(word) > 3]
            near = [other for word in long for other in self._with_word.get(word, ())]
            near = [other for other in near if other not in text]
            said[:3] = chance.sample(near, k=min(3, len(near)))
            chance.shuffle(said)
        room, found = chance.randint(*PROMPT_TOKENS), list[int]()
        for one in said:
            more = self._tokens[one]
            if len(found) + len(more) > room:
                break
            found += more
        return [self._special, *found] if found else []


def _even(rows: list[list[int]], fill: int) -> Tensor:
    longest = max(map(len, rows))
    return torch.tensor([row + [fill] * (longest - len(row)) for row in rows])
