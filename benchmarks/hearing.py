"""How well recordings of field sentences are heard and understood, voice by voice and in noise.

    python -m benchmarks.hearing FOLDER [--voices kokoro_af_bella,…] [--clean-only]

``FOLDER`` holds ``dev.jsonl`` (a line a sentence: ``id``, ``say``, ``meanings``),
``dev/VOICE/ID.flac``, and for the noisy conditions ``noise/manifest.tsv`` (``path``, ``class``).
Each sentence is heard in a conversation of its own with an empty book; a command ("scratch that")
with one note in it, to act on.

A sentence counts as *right* when it was saved, answered or done with exactly the meanings it has
(numbers to 0.01); as *wrong* when it was saved, answered or done with any other; as *asked* or
*kept* when the assistant asked back or kept it for review. Noise is mixed in at a ratio to the
active speech level: the mean power of the 20 ms frames within 30 dB of the loudest, so that pauses
do not count.
"""

from __future__ import annotations

import argparse
import csv
import json
import resource
import subprocess
import sys
import time
import zlib
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import jiwer
import numpy as np

from fieldvoice.book import Book
from fieldvoice.cli.desk import cache_folder, the_grammar
from fieldvoice.cli.ears import ears, sound_of_words
from fieldvoice.conversation import Conversation
from fieldvoice.heard import typed
from fieldvoice.hearing import SAMPLE_RATE, read_audio
from fieldvoice.understanding import Understander

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from fieldvoice.hearing import Recogniser, Samples
    from fieldvoice.reply import Reply

#: Noise class and its ratio in dB, by the name of the condition.
CONDITIONS: dict[str, tuple[str, int] | None] = {
    "clean": None,
    "wind 10 dB": ("wind", 10),
    "engine 10 dB": ("engine", 10),
    "wind 5 dB": ("wind", 5),
    "engine 5 dB": ("engine", 5),
}
#: Meanings are compared with numbers to this.
TOLERANCE = 0.01
#: A fixed clock: the sentences name no days but today.
NOW = datetime(2027, 3, 12, 14, 0, tzinfo=UTC)

#: What was noted before a command comes.
NOTE_BEFORE = "tree twelve bucket half full"

# What a user waits for: the interpreter, the modules, the grammar, the model, the first words.
_FROM_COLD = """
import sys, time
from pathlib import Path
from fieldvoice.cli.desk import the_grammar
from fieldvoice.cli.ears import ears
ears(the_grammar())
"""


@dataclass(frozen=True, slots=True)
class Sentence:
    """One line of ``dev.jsonl``."""

    id: str
    say: str
    meanings: list[dict[str, Any]]


@dataclass(slots=True)
class Tally:
    """What came of the sentences of one voice in one condition."""

    said: list[str] = field(default_factory=list)
    heard: list[str] = field(default_factory=list)
    outcomes: list[str] = field(default_factory=list)
    sound_s: float = 0.0
    cpu_s: float = 0.0

    def add(self, other: Tally) -> None:
        """Take in what came of other sentences."""
        self.said += other.said
        self.heard += other.heard
        self.outcomes += other.outcomes
        self.sound_s += other.sound_s
        self.cpu_s += other.cpu_s

    def row(self, name: str) -> str:
        """Return the figures as a row of the table."""
        exact = sum(said == heard for said, heard in zip(self.said, self.heard, strict=True))
        shares = [self.outcomes.count(what) for what in ("right", "wrong", "asked", "kept")]
        percents = [100 * count / len(self.said) for count in (exact, *shares)]
        errors = 100 * jiwer.wer(self.said, self.heard)
        cells = "".join(f"{percent:8.1f}" for percent in percents)
        return f"{name:34}{len(self.said):5}{errors:7.1f}{cells}{self.cpu_s / self.sound_s:8.3f}"


def same(one: Any, other: Any) -> bool:
    """Return whether two JSON values are the same, numbers to ``TOLERANCE``."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, int | float) and isinstance(other, int | float):
        return abs(one - other) <= TOLERANCE + 1e-9
    return bool(one == other)


def judged(reply: Reply, meanings: list[dict[str, Any]]) -> str:
    """Return what came of one sentence: right, wrong, asked or kept."""
    if reply.outcome in ("asked", "kept"):
        return reply.outcome
    found = [meaning.json_fields() for meaning in reply.meanings]
    return "right" if same(found, meanings) else "wrong"


def active_power(samples: Samples) -> float:
    """Return the mean power of the frames of 20 ms within 30 dB of the loudest."""
    frame = SAMPLE_RATE // 50
    whole = samples[: len(samples) - len(samples) % frame].astype(np.float64)
    powers = (whole.reshape(-1, frame) ** 2).mean(axis=1)
    return float(powers[powers >= powers.max() / 1000].mean())


def mixed(samples: Samples, noise: Samples, ratio_db: float, seed: int) -> Samples:
    """Return speech with ``noise`` from a random place on, ``ratio_db`` below the speech."""
    chance = np.random.default_rng(seed)
    long = np.tile(noise.astype(np.float64), 2 + len(samples) // len(noise))
    start = int(chance.integers(len(long) - len(samples)))
    part = long[start : start + len(samples)]
    power = max(float((part**2).mean()), 1e-9)
    gain = np.sqrt(active_power(samples) / 10 ** (ratio_db / 10) / power)
    both = samples + gain * part
    fitted: Samples = np.round(both * min(1.0, 32767 / np.abs(both).max())).astype(np.int16)
    return fitted


class Recordings:
    """The recordings in a folder, clean or with noise."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        lines = (folder / "dev.jsonl").read_text(encoding="utf-8").splitlines()
        self.sentences = [Sentence(**json.loads(line)) for line in lines if line.strip()]
        self.voices = sorted(path.name for path in (folder / "dev").iterdir() if path.is_dir())
        self._noises: dict[str, list[Samples]] = {}

    def of(self, voice: str, condition: str) -> Iterator[tuple[Sentence, Samples]]:
        """Yield each sentence that ``voice`` has, as it sounds in ``condition``."""
        for sentence in self.sentences:
            path = self._folder / "dev" / voice / f"{sentence.id}.flac"
            if path.exists():
                yield sentence, self._in(condition, voice, sentence, read_audio(path).samples)

    def _in(self, condition: str, voice: str, sentence: Sentence, samples: Samples) -> Samples:
        noise = CONDITIONS[condition]
        if noise is None:
            return samples
        kind, ratio_db = noise
        seed = zlib.crc32(f"{voice} {sentence.id} {condition}".encode())
        choices = self._noise(kind)
        return mixed(samples, choices[seed % len(choices)], ratio_db, seed)

    def _noise(self, kind: str) -> list[Samples]:
        if kind not in self._noises:
            with (self._folder / "noise" / "manifest.tsv").open(encoding="utf-8") as file:
                rows = list(csv.DictReader(file, delimiter="\t"))
            self._noises[kind] = [
                read_audio(self._folder / row["path"]).samples
                for row in rows
                if row["class"] == kind
            ]
        return self._noises[kind]


def hear(
    recordings: Recordings,
    voice: str,
    condition: str,
    recogniser: Recogniser,
    understander: Understander,
    tell: Callable[[str], None],
) -> Tally:
    """Return what came of every sentence of ``voice`` in ``condition``."""
    tally = Tally()
    for sentence, samples in recordings.of(voice, condition):
        before = time.process_time()
        heard = recogniser.recognise(samples)
        tally.cpu_s += time.process_time() - before
        with Book.in_memory_copy(None) as book:
            talk = Conversation(book, understander, clock=lambda: NOW)
            if any("do" in meaning for meaning in sentence.meanings):
                talk.hear(typed(NOTE_BEFORE))
            reply = talk.hear(heard, source="memo")
        outcome = judged(reply, sentence.meanings)
        tally.sound_s += len(samples) / SAMPLE_RATE
        tally.said.append(sentence.say)
        tally.heard.append(heard.text)
        tally.outcomes.append(outcome)
        if outcome != "right":
            found = json.dumps([meaning.json_fields() for meaning in reply.meanings])
            tell(f"{outcome:6} {voice} {sentence.id} {sentence.say!r} {heard.text!r} {found}")
    return tally


def start_up_s() -> float:
    """Return the seconds from starting Python to a recogniser that is ready, files made before."""
    before = time.perf_counter()
    subprocess.run([sys.executable, "-c", _FROM_COLD], check=True)
    return time.perf_counter() - before


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure hearing on a folder of recordings.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--voices", help="only these, separated by commas")
    parser.add_argument("--clean-only", action="store_true", help="leave the noise out")
    parser.add_argument("--show", action="store_true", help="show each sentence not right")
    chosen = parser.parse_args()
    recordings = Recordings(chosen.folder)
    voices = chosen.voices.split(",") if chosen.voices else recordings.voices
    grammar = the_grammar()
    recogniser = ears(grammar)
    understander = Understander(grammar, sound_of_words(grammar))
    tell: Callable[[str], None] = print if chosen.show else lambda _: None
    print(f"{recogniser.name}; {len(recordings.sentences)} sentences; files in {cache_folder()}")
    print(f"{'':34}{'clips':>5}{'WER':>7}{'exact':>8}", end="")
    print(f"{'right':>8}{'wrong':>8}{'asked':>8}{'kept':>8}{'RTF':>8}")
    for condition in CONDITIONS:
        if chosen.clean_only and condition != "clean":
            continue
        together = Tally()
        for voice in voices:
            tally = hear(recordings, voice, condition, recogniser, understander, tell)
            print(tally.row(f"{condition}, {voice}"), flush=True)
            together.add(tally)
        print(together.row(f"{condition}, all"), flush=True)
    print(f"start-up with files made before: {start_up_s():.2f} s")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory, understanding and book included: {peak:.0f} MB")


if __name__ == "__main__":
    main()
