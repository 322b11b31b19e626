"""Hearing and understanding measured on a folder of recordings.

    python -m benchmarks.hearing FOLDER [--voices a,b] [--noise clean,wind:10] [--show]

FOLDER holds ``dev.jsonl`` (id, say, meanings), ``dev/VOICE/ID.flac`` and ``noise/*.flac``. Each
utterance is heard by itself and taken by a conversation with an empty book, as ``memos`` does it.
An utterance is *exact* when the meanings are those wanted and it was saved, answered or done;
*wrong* when notes were saved, or a command carried out, that were not said; otherwise the
assistant *asked* or *kept* it, or (*misanswered*) answered another question, which harms nothing.
"""

from __future__ import annotations

import argparse
import json
import resource
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import jiwer
import numpy as np

from fieldvoice.book import Book
from fieldvoice.cli.desk import cache_folder, the_grammar
from fieldvoice.cli.ears import sound_of_words
from fieldvoice.conversation import Conversation
from fieldvoice.hearing import choose_recogniser, read_audio
from fieldvoice.hearing.audio import SAMPLE_RATE, Samples
from fieldvoice.understanding import Understander

NOON = datetime(2027, 3, 5, 12, tzinfo=UTC)
#: Voices that sound like people; the others are rougher.
NATURAL = ("kokoro", "pico")


@dataclass
class Tally:
    """What came of the utterances of one voice in one condition."""

    said: list[str] = field(default_factory=list)
    heard: list[str] = field(default_factory=list)
    outcomes: Counter[str] = field(default_factory=Counter)
    sound_s: float = 0.0
    cpu_s: float = 0.0

    def row(self) -> str:
        """Return the figures as one line of the table."""
        count = max(1, sum(self.outcomes.values()))
        shares = " ".join(
            f"{100 * self.outcomes[kind] / count:7.1f}"
            for kind in ("exact", "wrong", "misanswered", "asked", "kept")
        )
        error = jiwer.wer(self.said, self.heard) if self.said else 0.0
        return f"{100 * error:6.1f} {shares} {self.cpu_s / max(self.sound_s, 1e-9):6.3f}"

    def add(self, other: Tally) -> None:
        """Count another tally in."""
        self.said += other.said
        self.heard += other.heard
        self.outcomes += other.outcomes
        self.sound_s += other.sound_s
        self.cpu_s += other.cpu_s


def main() -> None:
    options = _options()
    began = time.perf_counter()
    grammar = the_grammar()
    recogniser = choose_recogniser(grammar, cache_folder())
    understander = Understander(grammar, sound_of_words(grammar))
    start_s = time.perf_counter() - began
    lines = (options.folder / "dev.jsonl").read_text(encoding="utf-8").splitlines()
    cases = [json.loads(line) for line in lines]
    voices = options.voices.split(",") if options.voices else _voices(options.folder)
    print(f"{'condition':12} {'voice':20} {'WER':>6} {'exact':>7} {'wrong':>7} {'misans':>7} "
          f"{'asked':>7} {'kept':>7} {'RTF':>6}")  # fmt: skip
    for condition in options.noise.split(","):
        noises = _noises(options.folder, condition)
        natural = Tally()
        for voice in voices:
            tally = Tally()
            for number, case in enumerate(cases):
                samples = read_audio(options.folder / "dev" / voice / f"{case['id']}.flac").samples
                if noises:
                    decibels = float(condition.partition(":")[2])
                    samples = mixed(samples, noises[number % len(noises)], decibels)
                _one(case, samples, recogniser, understander, tally, options.show)
            print(f"{condition:12} {voice:20} {tally.row()}", flush=True)
            if voice.startswith(NATURAL):
                natural.add(tally)
        print(f"{condition:12} {'all natural voices':20} {natural.row()}", flush=True)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"start-up {start_s:.2f} s, peak memory {memory:.0f} MB")


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--voices", default="")
    parser.add_argument("--noise", default="clean")
    parser.add_argument("--show", action="store_true", help="print what was not exact")
    return parser.parse_args()


def _voices(folder: Path) -> list[str]:
    return sorted(path.name for path in (folder / "dev").iterdir() if path.is_dir())


def _noises(folder: Path, condition: str) -> list[Samples]:
    kind = condition.partition(":")[0]
    if kind == "clean":
        return []
    return [read_audio(path).samples for path in sorted((folder / "noise").glob(f"{kind}*.flac"))]


def mixed(speech: Samples, noise: Samples, decibels: float) -> Samples:
    """Return ``speech`` with ``noise`` that many dB below the level of its active parts."""
    voice, other = speech.astype(np.float64), np.resize(noise, len(speech)).astype(np.float64)
    frame = SAMPLE_RATE // 50
    whole = len(voice) - len(voice) % frame
    power = (voice[:whole].reshape(-1, frame) ** 2).mean(axis=1)
    active = power[power > power.max() / 1000].mean()
    gain = np.sqrt(active / max((other**2).mean(), 1e-9) / 10 ** (decibels / 10))
    both: Samples = np.clip(voice + gain * other, -32768, 32767).astype(np.int16)
    return both


def _one(
    case: dict[str, Any],
    samples: Samples,
    recogniser: Any,
    understander: Understander,
    tally: Tally,
    show: bool,
) -> None:
    began = time.process_time()
    heard = recogniser.recognise(samples)
    with Book.in_memory_copy() as book:
        _ready(book, case, understander)
        talk = Conversation(book, understander, clock=lambda: NOON)
        reply = talk.hear(heard, source="memo")
    tally.cpu_s += time.process_time() - began
    tally.sound_s += len(samples) / SAMPLE_RATE
    tally.said.append(case["say"])
    tally.heard.append(heard.text or "(nothing)")
    got = [meaning.json_fields() for meaning in reply.meanings]
    kind = _judged(case["meanings"], got, reply.outcome)
    tally.outcomes[kind] += 1
    if show and kind != "exact":
        print(f"   {kind:8} {case['say']} | {heard.text} | {got} | {reply.text}")


def _ready(book: Book, case: dict[str, Any], understander: Understander) -> None:
    """A correction corrects something: give it a note to correct, which is not counted."""
    if case["meanings"][0].get("do") in ("correct", "undo"):
        from fieldvoice.heard import typed

        talk = Conversation(book, understander, clock=lambda: NOON)
        talk.hear(typed("tree nine collected two gallons"), source="memo")


def _judged(wanted: list[dict[str, Any]], got: list[dict[str, Any]], outcome: str) -> str:
    if outcome in ("asked", "kept"):
        return outcome
    if same(wanted, got):
        return "exact"
    return "misanswered" if outcome == "answered" else "wrong"


def same(wanted: list[dict[str, Any]], got: list[dict[str, Any]]) -> bool:
    """Whether two lists of meanings are the same, numbers to a hundredth."""
    return len(wanted) == len(got) and all(
        one.keys() == other.keys() and all(_equal(one[key], other[key]) for key in one)
        for one, other in zip(wanted, got, strict=True)
    )


def _equal(one: Any, other: Any) -> bool:
    if isinstance(one, int | float) and isinstance(other, int | float):
        return abs(one - other) <= 0.0101
    return list(one) == list(other) if isinstance(one, list) else bool(one == other)


if __name__ == "__main__":
    main()
