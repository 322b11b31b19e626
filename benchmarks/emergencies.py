"""How many cries for help are known as such, typed and by voice, and what else is taken for one.

    python -m benchmarks.emergencies FOLDER --noise RECORDINGS

The cries of ``emergencies.txt`` (words and the cards that are right for them) and the ordinary
lines of ``tests/handbook/cries/none.txt`` (work, figures of speech, stories, jokes) are spoken into
``FOLDER`` by the voices of ``benchmarks.held_out``; the noise and other people's field sentences
are those of ``RECORDINGS``. Each is handed to a conversation that was not called, with an empty
book. *Known* is a cry that is answered by any emergency card, *right* one by a card named for it;
an *alarm* is an ordinary line that is answered by one; *noted* a cry of which something is saved.
``benchmarks/results/emergencies.json`` has all of it, each share with its Wilson 95 % interval.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import time
from collections import Counter, defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks.engines import ENGINES, Engine
from benchmarks.hearing import NOW
from benchmarks.held_out import speak_all
from benchmarks.reading import origin, shares
from benchmarks.recordings import CLEAN, Clip, Condition, Recordings, sampled
from fieldvoice.book import Book
from fieldvoice.cli.app import cache_folder, the_grammar
from fieldvoice.cli.recognisers import sound_of_words
from fieldvoice.dialogue import Conversation
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldvoice.transcript import Transcript

ROOT = Path(__file__).parents[1]
CRIES = Path(__file__).with_suffix(".txt")
ORDINARY = ROOT / "tests/handbook/cries/none.txt"
WRITTEN = ROOT / "benchmarks/results/emergencies.json"
CONDITIONS = (CLEAN, Condition("wind", 10), Condition("engine", 10))
Tally = defaultdict[str, Counter[str]]


@dataclass(frozen=True, slots=True)
class Line:
    """What is said, and the cards that are right for it: none for what is no cry."""

    words: str
    cards: frozenset[str] = frozenset()


def lines_of(path: Path, start: str) -> dict[str, Line]:
    """Return the lines of a file of cries or of what is none, each with a key of its own."""
    told = (line.split(" => ") for line in path.read_text(encoding="utf-8").splitlines())
    kept = [one for one in told if one[0] and not one[0].startswith("#")]
    return {
        f"{start}{number:03}": Line(words, frozenset(" ".join(cards).split(" | ")) - {""})
        for number, (words, *cards) in enumerate(kept)
    }


def clips(lines: Mapping[str, Line], folder: Path, voices: Sequence[str]) -> list[Clip]:
    """Return the recordings of the lines by some voices, or by all where none is named."""
    return [
        Clip(key, place.name, line.words, place / f"{key}.wav")
        for place in sorted(folder.iterdir())
        if not voices or place.name in voices
        for key, line in lines.items()
    ]


class Judge:
    """Tells what a conversation makes of a line, and counts it."""

    def __init__(self, *, show: bool) -> None:
        grammar = the_grammar()
        self._understander = Interpreter(grammar, sound_of_words(grammar))
        self._urgent = {card.id for card in shipped().cards if card.level == "emergency"}
        self._show = show
        self.tally: Tally = defaultdict(Counter)

    def count(self, rows: Sequence[str], line: Line, heard: Transcript) -> None:
        """Hand ``heard`` to a conversation that was not called; count what came of it in rows."""
        with Book.in_memory_copy(None) as book:
            talk = Conversation(book, self._understander, clock=lambda: NOW)
            reply = talk.hear_unaddressed(heard, source="typed" if heard.is_typed else "live")
            saved = len(book.entries())
        asked = [one.json_fields() for one in reply.meanings] if reply is not None else []
        card = next((one["topic"] for one in asked if one.get("topic") in self._urgent), None)
        counts = {"of": 1}
        if line.cards:
            counts |= {"known": card is not None, "right": card in line.cards, "noted": saved > 0}
        else:
            counts["alarm"] = int(card is not None)
        for row in rows:
            self.tally[row].update(counts)
        if self._show and (card is None) == bool(line.cards):
            fit = "" if heard.fit is None else f" fit {1e3 * heard.fit:.2f}e-3"
            print(f"{rows[0]}: {line.words!r}: {heard.text!r}{fit}: {card}", flush=True)


@dataclass(frozen=True, slots=True)
class Job:
    """One line as one voice says it in one condition; ``name`` is what it is one of."""

    name: str
    clip: Clip
    line: Line
    condition: Condition

    @property
    def rows(self) -> list[str]:
        """What it is counted under."""
        row = f"{self.name}, {self.condition}"
        each = self.condition is CLEAN and bool(self.line.cards)
        return [row, f"{row}, {self.clip.speaker}"] if each else [row]

    @property
    def place(self) -> bytes:
        """Its place in a mixed order, the same each time: any beginning of it is a fair sample."""
        said = f"{self.name} {self.clip.speaker} {self.clip.key} {self.condition}"
        return hashlib.sha256(said.encode()).digest()


def _write(tally: Tally) -> None:
    told = {
        **origin("benchmarks.emergencies"),
        "found": {
            row: {"of": counts["of"], **shares(counts)} for row, counts in sorted(tally.items())
        },
    }
    WRITTEN.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


def _print(tally: Tally) -> None:
    print("| | of | known | right | noted | alarms |\n| --- | --- | --- | --- | --- | --- |")
    for row, counts in sorted(tally.items()):
        cells = [
            f"{100 * counts[one] / counts['of']:.1f}" if one in counts else ""
            for one in ("known", "right", "noted")
        ]
        print(f"| {row} | {counts['of']} | {' | '.join(cells)} | {counts.get('alarm', '')} |")


def main() -> None:
    """Speak, hear, judge and write down."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--noise", type=Path, required=True, help="a folder of recordings")
    parser.add_argument("--engine", default="first+listener", choices=ENGINES, metavar="NAME")
    parser.add_argument("--voices", help="only these of the cries, separated by commas")
    parser.add_argument("--each", type=int, help="cries of each voice in each condition")
    parser.add_argument("--ordinary", type=int, help="ordinary and field lines of each voice")
    parser.add_argument("--only", help="only these conditions: 'clean,wind 10 dB'")
    parser.add_argument("--minutes", type=float, default=600.0, help="stop after so many")
    parser.add_argument("--show", action="store_true", help="show each cry missed and each alarm")
    parser.add_argument("--cache", type=Path, default=cache_folder() / "benchmarks")
    chosen = parser.parse_args()
    cries, ordinary = lines_of(CRIES, "cry"), lines_of(ORDINARY, "none")
    lines = cries | ordinary
    judge = Judge(show=chosen.show)
    for line in lines.values():
        judge.count(["typed cries" if line.cards else "typed, ordinary"], line, typed(line.words))
    speak_all({key: line.words for key, line in lines.items()}, chosen.folder)
    voices = chosen.voices.split(",") if chosen.voices else []
    groups = {
        "cries": clips(cries, chosen.folder, voices),
        "ordinary": clips(ordinary, chosen.folder, voices),
        "field": Recordings(chosen.noise).sentences,
    }
    engine = Engine(chosen.engine, the_grammar(), chosen.cache)
    recordings = Recordings(chosen.noise)
    jobs = [
        Job(name, clip, lines.get(clip.key, Line(clip.say)), condition)
        for condition in CONDITIONS
        if not chosen.only or str(condition) in chosen.only.split(",")
        for name, group in groups.items()
        for clip in sampled(group, chosen.each if name == "cries" else chosen.ordinary, condition)
    ]
    began = time.monotonic()
    for job in sorted(jobs, key=lambda job: job.place):
        if time.monotonic() - began > 60 * chosen.minutes:
            break
        heard = engine.hear(recordings.samples(job.clip, job.condition)).heard
        judge.count(job.rows, job.line, heard)
    _print(judge.tally)
    _write(judge.tally)


if __name__ == "__main__":
    main()
