"""How well people's own words are understood: ``python -m benchmarks.reading [--typed N]``.

The lines are those that the second reader was not taught, parts "set" and "test" of
``models.reader.corpus.part``: sayings with one agreed reading and paraphrases that are all notes or
all questions, lines that are no notes, and the askings of ``tests/handbook/held_out``. Lines with
given names are left out. The bands were set by part "set"; what counts is part "test". Talk among
people that was taught to nobody (``tests/nlu/chatter.txt``) is a part of its own, "chatter".

*alone*      the second reader by itself, on every line: notes and questions right in every field,
             questions by their ask, cards by the first named and by the first three; of lines that
             are none, those proposed as a note or answered, by the chances of ``BANDS``;
*found*      askings held out for the finder of cards alone, whatever else they may be;
*sure band*  of all lines that it would have saved by itself, those that are that note;
*typed*      lines drawn from each group, each typed to an empty book: saved or answered right, or
             put to the speaker right (a doubted or missing value included), or kept with the right
             kind among the nearest, or taken wrong. "Saved wrong" is the bad one.

Every share comes with its Wilson 95 % interval. ``benchmarks/results/reading.json`` has all of it
with machine, commit and command; a table is printed. No training code is needed.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import platform
import random
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.book import Book
from fieldvoice.cli.app import is_english, the_grammar
from fieldvoice.dialogue import Conversation
from fieldvoice.dialogue.proposals import BANDS
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.normalise import words_of
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.nlu.times import dated
from fieldvoice.nlu.wordings import come_along
from fieldvoice.schema import Act, Ask, meaning_from
from fieldvoice.transcript import typed
from models.reader.corpus import part
from tests.handbook.other_mouths import held_out
from tests.nlu import tables

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fieldvoice.grammar import Grammar
    from fieldvoice.nlu.second_reader import SecondReading
    from fieldvoice.reply import Reply
    from fieldvoice.schema import Meaning
    from tests.nlu.tables import Saying

ROOT = Path(__file__).parents[1]
WRITTEN = ROOT / "benchmarks/results/reading.json"

#: The clock of a line that names none, and where it stands.
EASTERN = timezone(timedelta(hours=-5))
NOW = datetime(2027, 3, 5, 9, 10, tzinfo=UTC)
SEED = 5
#: 95 % of a normal distribution lie within so many deviations.
DEVIATIONS = 1.96

Tally = dict[str, Counter[str]]


@dataclass(frozen=True)
class Line:
    """A line to be measured: ``sort`` is "note", "question", "card" or "none"."""

    words: str
    sort: str
    part: str
    saying: Saying | None = None
    cards: tuple[str, ...] = ()

    @property
    def clock(self) -> datetime:
        """When it is said."""
        at = self.saying.clock if self.saying is not None else None
        return datetime.fromisoformat(at).replace(tzinfo=EASTERN) if at else NOW

    def accepts(self, meanings: Sequence[Meaning]) -> bool:
        """Whether ``meanings`` are what the line says."""
        if self.sort == "card":
            told = [one.json_fields() for one in meanings]
            return told in [[{"ask": "advice", "topic": card}] for card in self.cards]
        told = [dated(one, self.clock).json_fields() for one in meanings]
        return self.saying is not None and self.saying.accepts(told)

    def kinds(self) -> set[str]:
        """Return the kinds that it is, as the second reader names them."""
        if self.saying is None:
            return {f"card={card}" for card in self.cards}
        return {f"{one.sort}={one.name}" for one in self.saying.readings[0]}


def main() -> None:
    """Measure, write, print."""
    asked = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    asked.add_argument("--typed", type=int, default=300, metavar="N", help="lines of each group")
    asked.add_argument("--seed", type=int, default=SEED, help="which lines are typed")
    asked.add_argument("--show", action="store_true", help="print what was saved wrong")
    chosen = asked.parse_args()
    began = time.monotonic()
    grammar = the_grammar()
    reader = SecondReader(grammar.words, lambda: shipped().cards)
    understander = Interpreter(grammar, None, is_english, reader, come_along)
    groups: dict[str, list[Line]] = defaultdict(list)
    for line in _lines(grammar):
        groups[f"{line.part}: {line.sort}"].append(line)
    tally: Tally = defaultdict(Counter)
    for line in (line for lines in groups.values() for line in lines):
        _tell_alone(tally, line, reader.read(line.words, understander.networks))
        if line.sort == "card":
            found = reader.read(line.words, understander.networks, cards_only=True)
            _tell_found(tally, line, found)
    chance = random.Random(chosen.seed)
    with tempfile.TemporaryDirectory() as folder:
        empty = Path(folder) / "empty.db"
        Book.open(empty).close()
        for name, lines in groups.items():
            for line in chance.sample(lines, min(chosen.typed, len(lines))):
                with Book.in_memory_copy(empty) as book:
                    outcome = _typed(line, understander, book, chosen.show)
                tally[f"{name} typed"].update({"of": 1, outcome: 1})
    _write(tally, time.monotonic() - began)
    _print(tally)


def _typed(line: Line, understander: Interpreter, book: Book, show: bool) -> str:
    """Return what becomes of a line that is typed to an empty book."""
    reply = Conversation(book, understander, clock=lambda: line.clock).hear(typed(line.words))
    outcome = _outcome(line, reply)
    if show and outcome in ("saved wrong", "saved"):
        print(f"{outcome}: {line.words!r}: {[one.json_fields() for one in reply.meanings]}")
    return outcome


def _lines(grammar: Grammar) -> Iterator[Line]:
    folder = ROOT / "sayings"
    for path in [*tables.UTTERANCES, *sorted((folder / "paraphrases").glob("*.txt"))]:
        for saying in tables.sayings(path):
            sorts = {one.sort for one in saying.readings[0]}
            sort = {"act": "note", "ask": "question"}.get("".join(sorts), "")
            which = part(words_of(saying.words, grammar.words, breaks=True), "saying")
            if sort and which != "learn" and not saying.trees and not saying.vessels:
                yield Line(saying.words, sort, which, saying)
    for path in sorted((folder / "none").glob("*.txt")):
        for saying in tables.sayings(path, with_meanings=False):
            which = part(words_of(saying.words, grammar.words, breaks=True), "none")
            if which != "learn":
                yield Line(saying.words, "none", which)
    for saying in tables.sayings(ROOT / "tests/nlu/chatter.txt", with_meanings=False):
        yield Line(saying.words, "none", "chatter")
    for asking in held_out():
        yield Line(asking.words, "card", "test", cards=asking.cards)


def _tell_alone(tally: Tally, line: Line, reading: SecondReading | None) -> None:
    """Count what the second reader makes of a line by itself."""
    meanings = reading.meanings if reading is not None else ()
    chance = reading.chance if reading is not None else 0.0
    is_note = bool(meanings) and all(isinstance(one, Act) for one in meanings)
    is_right = line.sort != "none" and line.accepts(meanings)
    counts = {"of": 1}
    if line.sort == "none":
        is_ask = bool(meanings) and all(isinstance(one, Ask) for one in meanings)
        counts["proposed as a note"] = int(is_note and chance >= BANDS.note)
        counts["answered"] = int(is_ask and chance >= BANDS.ask)
    else:
        counts["right"] = int(is_right)
    if line.sort == "question":
        asks = [f"ask={one.json_fields().get('ask')}" for one in meanings]
        counts["right ask"] = int(len(asks) == 1 and set(asks) == line.kinds())
    if line.sort == "card":
        nearest = reading.nearest if reading is not None else ()
        counts["among three"] = int(any(kind in line.kinds() for kind, _ in nearest))
    tally[f"{line.part}: {line.sort} alone"].update(counts)
    if reading is not None and is_note and reading.is_plain and chance >= BANDS.sure:
        tally[f"{line.part}: sure band"].update({"of": 1, "right": int(is_right)})


def _tell_found(tally: Tally, line: Line, found: SecondReading | None) -> None:
    """Count what the finder of cards makes of an asking by itself."""
    named = [kind for kind, _ in found.nearest] if found is not None else []
    of_it = [kind in line.kinds() for kind in named]
    counts = {"of": 1, "first": int(any(of_it[:1])), "among three": int(any(of_it))}
    tally[f"{line.part}: card found"].update(counts)


def _outcome(line: Line, reply: Reply) -> str:
    """Return what became of a typed line."""
    if reply.outcome == "kept":
        near = {_kind(one["meaning"]) for one in reply.nearest}
        return "kept, right one named" if near & line.kinds() else "kept"
    if line.sort == "none":
        return reply.outcome
    # A question puts one reading to the speaker, or two to choose from.
    readings = [reply.meanings] if reply.outcome != "asked" else _put(reply)
    is_right = any(line.accepts(meanings) for meanings in readings)
    return f"{reply.outcome} {'right' if is_right else 'wrong'}"


def _put(reply: Reply) -> list[tuple[Meaning, ...]]:
    """Return the readings that a question is about."""
    options = (reply.pending or {}).get("options", [])
    return [tuple(meaning_from(one) for one in option) for option in options] or [reply.meanings]


def _kind(meaning: dict[str, Any]) -> str:
    if meaning.get("ask") == "advice" and meaning.get("topic"):
        return f"card={meaning['topic']}"
    return next(f"{key}={meaning[key]}" for key in ("act", "ask", "do") if key in meaning)


def interval(hits: int, of: int) -> tuple[float, float]:
    """Return the Wilson 95 % interval of a share (Wilson 1927).

    >>> [round(one, 3) for one in interval(8, 10)]
    [0.49, 0.943]
    """
    share, square = hits / of, DEVIATIONS**2
    middle = (share + square / (2 * of)) / (1 + square / of)
    half = DEVIATIONS * math.sqrt(share * (1 - share) / of + square / (4 * of * of))
    half /= 1 + square / of
    return max(0.0, middle - half), min(1.0, middle + half)


def shares(counts: Counter[str]) -> dict[str, dict[str, Any]]:
    """Return each count with its share and interval, the commonest first."""
    of = counts["of"]
    return {
        name: {
            "count": hits,
            "share": round(hits / of, 4),
            "interval": [round(one, 4) for one in interval(hits, of)],
        }
        for name, hits in counts.most_common()
        if name != "of"
    }


def origin(module: str) -> dict[str, Any]:
    """Return by which command, of which commit, and on what machine figures are being made."""
    commit = subprocess.run(
        ["git", "describe", "--always", "--dirty", "--abbrev=12"],
        cwd=ROOT, stdout=subprocess.PIPE, text=True, check=False,
    )  # fmt: skip
    return {
        "command": " ".join([f"python -m {module}", *sys.argv[1:]]),
        "commit": commit.stdout.strip(),
        "machine": {
            "platform": platform.platform(),
            "cores": os.cpu_count(),
            "python": platform.python_version(),
        },
    }


def _write(tally: Tally, spent_s: float) -> None:
    told = {
        **origin("benchmarks.reading"),
        "seconds": round(spent_s),
        "bands": {name: getattr(BANDS, name) for name in BANDS.__slots__},
        "found": {
            name: {"of": counts["of"], **shares(counts)} for name, counts in sorted(tally.items())
        },
    }
    WRITTEN.parent.mkdir(exist_ok=True)
    WRITTEN.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


def _print(tally: Tally) -> None:
    print("| lines | of | outcome | per cent (95 %) |\n| --- | --- | --- | --- |")
    for name, counts in sorted(tally.items()):
        for outcome, one in shares(counts).items():
            low, high = (100 * bound for bound in one["interval"])
            share = f"{100 * one['share']:.1f} ({low:.1f} to {high:.1f})"
            print(f"| {name} | {counts['of']} | {outcome} | {share} |")


if __name__ == "__main__":
    main()
