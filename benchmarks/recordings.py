"""Recordings to measure with: field sentences, people, what is not for the assistant; noise.

The folder they are in holds ``dev.jsonl`` (a line a sentence: ``id``, ``say``, ``meanings``),
``dev/VOICE/ID.flac`` (or ``.wav``), ``human/manifest.tsv`` (``path``, ``transcript``, ``speaker``)
and ``noise/manifest.tsv`` (``path``, ``class``).
"""

from __future__ import annotations

import csv
import json
import zlib
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from fieldvoice.asr import read_audio
from fieldvoice.asr.floor import active_power

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from fieldvoice.asr import Samples

#: Meanings of ``dev.jsonl`` that are not taken as they stand there, each with the reason.
OVERRIDES: dict[str, list[dict[str, Any]]] = {
    # "can i use an old galvanized bucket": the manifest has the question alone; the machine
    # interface lists ``item`` and ``material`` for it, and the interface goes before.
    "d46": [{"ask": "container_advice", "item": "bucket", "material": "galvanized"}],
}

DIGITS = frozenset("zero oh one two three four five six seven eight nine".split())


@dataclass(frozen=True, slots=True)
class Condition:
    """What a recording is mixed with: a class of noise, and its ratio in dB; None for nothing."""

    noise: str | None = None
    ratio_db: int = 0

    def __str__(self) -> str:
        return f"{self.noise} {self.ratio_db} dB" if self.noise else "clean"


CLEAN = Condition()


@dataclass(frozen=True, slots=True)
class Clip:
    """One recording and what was said in it; ``meanings`` is None where that is no field note."""

    key: str
    speaker: str
    say: str
    path: Path
    meanings: list[dict[str, Any]] | None = None


class Recordings:
    """The recordings in a folder, clean or with noise."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._noises: dict[str, list[Samples]] = {}

    @cached_property
    def voices(self) -> list[str]:
        """The voices that read the field sentences."""
        return sorted(path.name for path in (self._folder / "dev").iterdir() if path.is_dir())

    @cached_property
    def sentences(self) -> list[Clip]:
        """Every field sentence by every voice."""
        lines = (self._folder / "dev.jsonl").read_text(encoding="utf-8").splitlines()
        found = []
        for voice in self.voices:
            for line in filter(str.strip, lines):
                said = json.loads(line)
                place = self._folder / "dev" / voice
                paths = (place / f"{said['id']}.{kind}" for kind in ("flac", "wav"))
                path = next((path for path in paths if path.exists()), None)
                meanings = OVERRIDES.get(said["id"], said["meanings"])
                if path is not None:
                    found.append(Clip(said["id"], voice, said["say"], path, meanings))
        return found

    @cached_property
    def people(self) -> list[Clip]:
        """Everything that real people say."""
        return [
            Clip(row["path"], row["speaker"], row["transcript"], self._folder / row["path"])
            for row in self._rows("human")
        ]

    @property
    def digits(self) -> list[Clip]:
        """What real people say that is digits and nothing else."""
        return [clip for clip in self.people if DIGITS.issuperset(clip.say.split())]

    @property
    def commands(self) -> list[Clip]:
        """Single words, other than digits, by many people."""
        return [
            clip
            for clip in self.people
            if " " not in clip.say and "speech_commands" in clip.key and clip.say not in DIGITS
        ]

    @property
    def read_aloud(self) -> list[Clip]:
        """What people read or say about other matters, in four words or more."""
        return [
            clip
            for clip in self.people
            if len(clip.say.split()) >= 4 and not DIGITS & set(clip.say.split())
        ]

    def samples(self, clip: Clip, condition: Condition = CLEAN) -> Samples:
        """Return how ``clip`` sounds in ``condition``, the same each time."""
        samples = read_audio(clip.path).samples
        if condition.noise is None:
            return samples
        seed = zlib.crc32(f"{clip.speaker} {clip.key} {condition}".encode())
        choices = self.noise(condition.noise)
        return mixed(samples, choices[seed % len(choices)], condition.ratio_db, seed)

    def noise(self, kind: str) -> list[Samples]:
        """Return the recordings of one class of noise."""
        if kind not in self._noises:
            self._noises[kind] = [
                read_audio(self._folder / row["path"]).samples
                for row in self._rows("noise")
                if row["class"] == kind
            ]
        return self._noises[kind]

    def _rows(self, part: str) -> Iterator[dict[str, str]]:
        with (self._folder / part / "manifest.tsv").open(encoding="utf-8") as file:
            yield from csv.DictReader(file, delimiter="\t")


def sampled(clips: list[Clip], each: int | None, condition: Condition) -> list[Clip]:
    """Return ``each`` clips of each speaker (None: all), others in other conditions."""
    if each is None:
        return clips
    chosen = []
    for speaker in dict.fromkeys(clip.speaker for clip in clips):
        own = [clip for clip in clips if clip.speaker == speaker]
        own.sort(key=lambda clip: zlib.crc32(f"{clip.key} {condition}".encode()))
        chosen += own[:each]
    return chosen


def mixed(samples: Samples, noise: Samples, ratio_db: float, seed: int) -> Samples:
    """Return speech with ``noise`` from a random place on, ``ratio_db`` below the active speech."""
    chance = np.random.default_rng(seed)
    long = np.tile(noise.astype(np.float64), 2 + len(samples) // len(noise))
    start = int(chance.integers(len(long) - len(samples)))
    part = long[start : start + len(samples)]
    power = max(float((part**2).mean()), 1e-9)
    gain = np.sqrt(active_power(samples) / 10 ** (ratio_db / 10) / power)
    both = samples + gain * part
    fitted: Samples = np.round(both * min(1.0, 32767 / np.abs(both).max())).astype(np.int16)
    return fitted
