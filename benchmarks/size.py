"""What a book's size costs: questions, a name, late corrections, the history, memory.

    python -m benchmarks.size [--seasons 10] [--book FILE]

Ten of the invented seasons of ``benchmarks.ledger`` are 10⁵ notes, a hundred are 10⁶. Each thing is
said in a conversation of its own with the book opened anew, as a program started for it would, and
is followed by a question, for what a correction costs is paid when next something is asked. Times
are of work (processor time) and by the clock. ``benchmarks/results/size.json`` has them.
"""

from __future__ import annotations

import argparse
import json
import resource
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, Any

from benchmarks import ledger
from benchmarks.reading import origin
from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation
from fieldvoice.grammar import load_grammar
from fieldvoice.nlu import Interpreter
from fieldvoice.schema import Act, meaning_from
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from collections.abc import Callable

WRITTEN = Path(__file__).parent / "results" / "size.json"
_ASKED = "how full is tank one"
_GATHERED = {"act": "gather", "tree": 9, "volume_gal": 1.0}
#: How far back a late note or correction reaches.
_BACK = {"a day": 1, "a week": 7, "a month": 30, "a season": 366, "three seasons": 3 * 366}


class Measured:
    """A book and how long things take on copies of it."""

    def __init__(self, path: Path, understander: Interpreter, now: datetime) -> None:
        self.path, self.now = path, now
        self._understander = understander
        self.times: dict[str, dict[str, Any]] = {}

    def time(self, name: str, run: Callable[..., None], *given: Any) -> None:
        """Note how long ``run`` takes on the book."""
        began, worked = time.perf_counter(), time.process_time()
        run(self.path, *given)
        work, clock = time.process_time() - worked, time.perf_counter() - began
        self.times.setdefault(name, {"work_ms": [], "clock_ms": []})
        self.times[name]["work_ms"].append(round(work * 1000, 1))
        self.times[name]["clock_ms"].append(round(clock * 1000, 1))
        print(f"{name}: {work * 1000:.0f} ms of work, {clock * 1000:.0f} by the clock", flush=True)

    def hear(self, path: Path, *said: str) -> None:
        """Say something, and ask; each in a conversation of its own."""
        for words in said:
            with Book.open(path) as book:
                talk = Conversation(book, self._understander, clock=lambda: self.now)
                reply = talk.hear(typed(words))
                assert reply.outcome in ("saved", "answered", "done"), (words, reply.text)

    def late_note(self, path: Path, days: int, fields: dict[str, Any] = _GATHERED) -> None:
        """Write a note of so many days ago, as a memo would, and ask."""
        with Book.open(path) as book:
            at, note = self.now - timedelta(days=days), meaning_from(fields)
            assert isinstance(note, Act)
            book.take(at=at, source="memo", heard=typed("words"), outcome="saved",
                      meanings=[note], reply="Saved.", notes=[note])  # fmt: skip
        self.hear(path, _ASKED)

    def note_of(self, days: int) -> str:
        """Return the id of a note of so many days ago."""
        day = (self.now - timedelta(days=days)).date()
        with Book.open(self.path) as book:
            return book.entries_since(day)[0].id

    def take_back(self, path: Path, entry: str) -> None:
        """Take back a note, and ask."""
        with Book.open(path) as book:
            book.take(at=self.now, source="typed", heard=typed("words"), outcome="done",
                      meanings=[], reply="Taken back.", voids=[entry])  # fmt: skip
        self.hear(path, _ASKED)


def last_evening(seasons: int) -> datetime:
    """Return when is asked: the evening after the last notes."""
    return datetime(ledger.FIRST_YEAR + seasons - 1, 4, 27, 21, tzinfo=ledger.LOCAL)


def measure(path: Path, seasons: int, times: int, folder: Path) -> dict[str, Any]:
    """Return the times of everything in one book."""
    book = Measured(path, Interpreter(load_grammar(cache=folder)), last_evening(seasons))
    book.time("the first question of all, no snapshots there", book.hear, _ASKED)
    for _ in range(times):
        for question in ledger.QUESTIONS:
            book.time("a question", book.hear, question)
    book.time("a name for a tree", book.hear, "call tree nine old tom", _ASKED)
    book.time("a correction", book.hear, "tree nine two gallons", "no three gallons", _ASKED)
    book.time("undo", book.hear, "undo", _ASKED)
    for name, days in _BACK.items():
        book.time(f"a note of {name} ago", book.late_note, days)
        book.time(f"a note of {name} ago, asked again", book.hear, _ASKED)
        book.time(f"a note of {name} ago is taken back", book.take_back, book.note_of(days))
    last = "a hole drilled three seasons ago, which is in the tree ever since"
    book.time(last, book.late_note, _BACK["three seasons"], {"act": "tap", "tree": 9})
    return book.times


def command(path: Path, name: str, *options: str) -> dict[str, float]:
    """Return how long a command takes, and the most memory that it has, in MB."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    began = time.perf_counter()
    run = [sys.executable, "-c", _PEAK, name, "--book", str(path), *options]
    done = subprocess.run(run, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
                          check=True)  # fmt: skip
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return {
        "clock_s": round(time.perf_counter() - began, 1),
        "work_s": round(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, 1),
        "most_mb": round(int(done.stderr.split()[-1]) / 1024),
    }


#: Runs the program and tells the most memory that it had.
_PEAK = """
import re, sys
from pathlib import Path
from fieldvoice.cli.main import cli
try:
    cli(sys.argv[1:])
finally:  # not of getrusage, which counts what the program had that started this one
    status = Path("/proc/self/status").read_text()
    print(re.search(r"VmHWM:\\s*(\\d+) kB", status)[1], file=sys.stderr)
"""


def _told(times: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {"n": len(times["work_ms"])}
    for which, values in times.items():
        ordered = sorted(values)
        found[which] = {
            "median": median(ordered),
            "p99": ordered[min(len(ordered) - 1, int(len(ordered) * 0.99))],
        }
    return found


def main() -> None:
    """Measure, print, and write down."""
    options = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    options.add_argument("--seasons", type=int, default=10)
    options.add_argument("--times", type=int, default=5)
    options.add_argument("--book", type=Path, help="one that was written before")
    options.add_argument("--as", dest="name", help="what the figures are called in the results")
    chosen = options.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder, path = Path(scratch), Path(scratch) / "season.db"
        if chosen.book is None:
            ledger.write(path, chosen.seasons)
        else:
            shutil.copyfile(chosen.book, path)
        times = measure(path, chosen.seasons, chosen.times, folder)
        found: dict[str, Any] = {name: _told(one) for name, one in times.items()}
        found["history"] = command(path, "history")
        found["history --last 20"] = command(path, "history", "--last", "20")
        found["history tree 9 --last 20"] = command(path, "history", "tree", "9", "--last", "20")
        now = last_evening(chosen.seasons).isoformat()
        found["say, the program started for it"] = command(path, "say", _ASKED, "--now", now)
        with closing(sqlite3.connect(path)) as connection, connection:
            connection.execute("DELETE FROM snapshots")
        found["say, no snapshots there"] = command(path, "say", _ASKED, "--now", now)
    for name, one in found.items():
        print(f"{name}: {json.dumps(one)}")
    told = json.loads(WRITTEN.read_text(encoding="utf-8")) if WRITTEN.exists() else {}
    name = chosen.name or f"{chosen.seasons} seasons"
    told[name] = {**origin("benchmarks.size"), "found": found}
    WRITTEN.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
