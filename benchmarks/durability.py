"""Does the book keep what it said it keeps: killed, without power, on a full or failing disk.

``python -m benchmarks.durability [--states N] [--notes N] [--only PART …]``. Programs take notes
and tell of each when the book has it. Their system calls are recorded or tampered with (strace).
Then

- ``kills``: the program is killed at each write, sync and truncation in turn;
- ``cuts``: the power is cut, played from the record (``benchmarks.power_cuts``), for one program,
  for two that write at once, and for ``fieldvoice say --stdin`` from before there is a book;
- ``failing``: each write is refused for want of room, once or from there on; each sync fails;
- ``full``: the disk is full at each byte, or each ``--step``-th (a limit on the size of files
  stands for it).

After each, the book is opened as users open it: every note that was acknowledged must be there
once, and every row as it was written. A killed program is no power cut: what it wrote is in the
system's memory still; so both are done. (The method is that of SQLite's ``test6.c`` and of Pillai
et al., "All file systems are not created equal", OSDI 2014.) ``results/durability.json`` has the
figures, part by part.
"""

from __future__ import annotations

import argparse
import json
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks import power_cuts
from benchmarks.reading import origin
from fieldvoice.book import Book
from fieldvoice.book.verify import verify
from fieldvoice.errors import BookError
from fieldvoice.schema import Act, meaning_from
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

WRITTEN = Path(__file__).parent / "results" / "durability.json"
BOOK = "season.db"
#: The calls by which the files change or are put on the disk.
CALLS = ("pwrite64", "fdatasync", "fsync", "ftruncate")
PARTS = ("kills", "cuts", "failing", "full")

#: Takes notes on trees, some of which take back the one before, and prints each tree.
WRITER = """
import os, sys
from datetime import UTC, datetime
from pathlib import Path
from fieldvoice.book import Book
from fieldvoice.errors import BookError
from fieldvoice.transcript import typed
from fieldvoice.schema import meaning_from
try:
    book = Book.open(Path(sys.argv[1]))
except BookError as fault:
    sys.exit(str(fault))
with book:
    voids = []
    first = int(sys.argv[3])
    for tree in range(first, first + int(sys.argv[2])):
        note = meaning_from({"act": "inspect", "tree": tree, "fill": 0.5})
        try:
            taken = book.take(at=datetime(2026, 3, 14, tzinfo=UTC), source="typed",
                              heard=typed("x"), outcome="saved", meanings=[note], reply="",
                              notes=[note], voids=voids)
        except BookError as fault:
            os.write(2, f"{tree} {fault}\\n".encode())
            continue
        voids = list(taken.records) if tree % 5 == 0 else []
        os.write(1, f"{tree}\\n".encode())
"""


@dataclass(slots=True)
class Tried:
    """How often something was tried, how often the program said no, and what was wrong after.

    ``not_known`` counts the notes of which it said that they may be there or not.
    """

    tried: int = 0
    refused: int = 0
    not_known: int = 0
    faults: list[str] = field(default_factory=list)
    seconds: float = 0.0

    def look(self, path: Path, acknowledged: Sequence[int], what: str, at_most: int = 1) -> None:
        """Count one trial, and look at the book that it left."""
        self.tried += 1
        fault = fault_of(path, acknowledged, at_most)
        if fault is not None:
            self.faults.append(f"{what}: {fault}")


def can_trace() -> bool:
    """Whether system calls can be watched here."""
    strace = shutil.which("strace")
    if strace is None:
        return False
    done = subprocess.run([strace, "-e", "trace=none", "true"], capture_output=True, check=False)
    return done.returncode == 0


def fresh_book(folder: Path) -> Path:
    """Return a new book of no notes, with its journal's file beside it."""
    path = folder / BOOK
    Book.open(path).close()
    return path


def fault_of(path: Path, acknowledged: Sequence[int], at_most: int = 1) -> str | None:
    """Return what is wrong with a book in which notes on these trees must be; None if nothing is.

    ``at_most`` notes more may be there: those that reached the disk before they could be told of.
    """
    try:
        with Book.open(path) as book:
            if book.damage is not None:
                return book.damage
            found = [entry.act.json_fields()["tree"] for entry in book.entries(include_void=True)]
        told = verify(path)
    except BookError as fault:
        return str(fault)
    if not told.sound:
        return told.faults[0].text
    if len(set(found)) < len(found):
        return f"doubled: {found}"
    if lost := set(acknowledged) - set(found):
        return f"lost: {sorted(lost)}"
    more = set(found) - set(acknowledged)
    return None if len(more) <= at_most else f"{sorted(more)} were not told of"


def writer(path: Path, notes: int, first: int = 1) -> list[str]:
    """Return the command that takes so many notes, the first on tree ``first``."""
    return [sys.executable, "-c", WRITER, str(path), str(notes), str(first)]


def _traced(command: list[str], *options: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["strace", "-qq", *options, *command], capture_output=True, text=True, check=False
    )


def _trees(told: str) -> list[int]:
    return [int(line) for line in told.split()]


def _copies(folder: Path) -> Iterator[Path]:
    """Yield copies of an empty book, each gone when the next is asked for."""
    empty = fresh_book(folder)
    while True:
        with tempfile.TemporaryDirectory(dir=folder) as place:
            yield Path(shutil.copy(empty, Path(place) / BOOK))


def kill_everywhere(folder: Path, notes: int, every: int = 1) -> Tried:
    """Kill the writer at each call that changes the files (or at each ``every``-th)."""
    told, books = Tried(), _copies(folder)
    for call in CALLS:
        for when in range(1, 1_000_000, every):
            path = next(books)
            done = _traced(writer(path, notes), "-o", "/dev/null", "-e", f"trace={call}",
                           "-e", f"inject={call}:signal=KILL:when={when}")  # fmt: skip
            if done.returncode == 0:
                break  # it came to its end: there are no more such calls
            told.look(path, _trees(done.stdout), f"killed at {call} {when}")
    return told


#: What is done to calls on a failing disk; "+" is from that call on.
FAILURES = (
    ("pwrite64", "ENOSPC", ""), ("pwrite64", "ENOSPC", "+"), ("fdatasync", "EIO", ""),
    ("fdatasync", "EIO", "+"), ("ftruncate", "EIO", ""),
)  # fmt: skip


def fail_everywhere(folder: Path, notes: int, every: int = 1) -> Tried:
    """Refuse each write for want of room, and let each sync and truncation fail.

    What is told not to be there must not be, for its speaker will say it again, and what is told to
    be there must be; how often neither can be told is counted.
    """
    told, books = Tried(), _copies(folder)
    for call, error, onward in FAILURES:
        for when in range(1, 1_000_000, every):
            path = next(books)
            done = _traced(writer(path, notes), "-o", "/dev/null", "-e", f"trace={call}",
                           "-e", f"inject={call}:error={error}:when={when}{onward}")  # fmt: skip
            acknowledged = _trees(done.stdout)
            what = f"{error} at {call} {when}{onward}"
            if "Traceback" in done.stderr:
                told.faults.append(f"{what}: {done.stderr}")
            if not done.stderr:
                break  # nothing failed: there are no more such calls
            told.refused += 1
            of_tree = dict(line.split(" ", 1) for line in done.stderr.splitlines())
            there = [int(tree) for tree, line in of_tree.items() if line.startswith("It is in")]
            unknown = sum("may be in" in line for line in of_tree.values())
            told.not_known += unknown
            told.look(path, [*acknowledged, *there], what, at_most=unknown)
    return told


def full_at_each_byte(folder: Path, notes: int, step: int = 1) -> Tried:
    """Let no file grow beyond each size from that of a new book on (or each ``step``-th)."""
    empty, told = fresh_book(folder), Tried()
    whole = empty.stat().st_size
    for limit in range(512, 1_000_000_000, step):
        path = Path(shutil.copy(empty, folder / "full.db"))
        acknowledged = _take_within(path, notes, limit)
        told.refused += notes - len(acknowledged)
        told.look(path, acknowledged, f"no file above {limit} bytes", at_most=0)
        if len(acknowledged) == notes and limit > whole:
            return told
    raise AssertionError("a book cannot be as large as that")


def _take_within(path: Path, notes: int, limit: int) -> list[int]:
    """Take notes while no file may be larger than ``limit``; return the trees that were taken."""
    taken = []
    most = resource.getrlimit(resource.RLIMIT_FSIZE)[1]
    writes_bytecode = sys.dont_write_bytecode
    with Book.open(path) as book:
        sys.dont_write_bytecode = True  # it would be cut short
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, most))
        try:
            for tree in range(1, notes + 1):
                note = meaning_from({"act": "remark", "tree": tree, "text": "x" * 400})
                assert isinstance(note, Act)
                try:
                    book.take(
                        at=datetime(2026, 3, 14, tzinfo=UTC), source="typed", heard=typed("x"),
                        outcome="saved", meanings=[note], reply="", notes=[note],
                    )  # fmt: skip
                    taken.append(tree)
                except BookError:
                    pass
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
            sys.dont_write_bytecode = writes_bytecode
    return taken


def cut_power_of_writers(
    folder: Path, notes: int, states: int, seed: int = 1, writers: int = 1
) -> Tried:
    """Cut the power while so many programs take notes at once."""
    folder.mkdir(exist_ok=True)
    path = fresh_book(folder)
    Path(f"{path}-journal").unlink(missing_ok=True)  # as in a book that was copied by itself
    start = power_cuts.files_in(path)
    commands = [writer(path, notes, 1 + 100 * number) for number in range(writers)]
    events = power_cuts.recorded(path, commands, _trees)
    return _play(folder, start, events, states, seed, writers)


def cut_power_of_say(folder: Path, notes: int, states: int, seed: int = 1) -> Tried:
    """Cut the power of the whole program, which makes the book and is told notes by its input."""
    folder.mkdir(exist_ok=True)
    path = folder / BOOK
    said = "".join(f"tree {tree} bucket half full\n" for tree in range(1, notes + 1))
    say = [sys.executable, "-m", "fieldvoice", "say", "--stdin", "--json", "--book", str(path),
           "--now", "2026-03-14T09:00:00-04:00"]  # fmt: skip

    def trees(told: str) -> list[int]:
        replies = [json.loads(line) for line in told.splitlines()]
        return [one["tree"] for reply in replies if reply["records"] for one in reply["meanings"]]

    events = power_cuts.recorded(path, [say], trees, said)
    heard = [tree for event in events for tree in event.told]
    if heard != list(range(1, notes + 1)):
        raise RuntimeError(f"it saved {heard}")
    return _play(folder, {}, events, states, seed, 1)


def _play(
    folder: Path, start: dict[str, bytes], events: list[power_cuts.Event], states: int, seed: int,
    at_most: int,
) -> Tried:  # fmt: skip
    told, place = Tried(), folder / "cut"
    for state, acknowledged in power_cuts.states(start, events, states, seed):
        shutil.rmtree(place, ignore_errors=True)
        place.mkdir()
        for name, content in state.items():
            (place / name).write_bytes(content)
        told.look(place / BOOK, acknowledged, f"state {told.tried}", at_most)
    return told


def _line(name: str, one: Tried) -> str:
    refused = f", {one.refused} notes refused in plain words" if one.refused else ""
    refused += f", of {one.not_known} not known whether they are there" if one.not_known else ""
    return f"{name}: {one.tried} tried{refused}, {len(one.faults)} faults ({one.seconds:.0f} s)"


def _write_down(name: str, one: Tried, notes: int) -> None:
    told = json.loads(WRITTEN.read_text(encoding="utf-8")) if WRITTEN.exists() else {}
    told[name] = {**origin("benchmarks.durability"), "notes": notes, **asdict(one)}
    WRITTEN.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--notes", type=int, default=5, help="notes taken in each run")
    parser.add_argument("--states", type=int, default=12_000, help="states after power cuts")
    parser.add_argument("--step", type=int, default=1, help="bytes between two full disks")
    parser.add_argument("--only", nargs="*", choices=PARTS, default=PARTS)
    asked = parser.parse_args()
    if not can_trace():
        sys.exit("System calls cannot be watched here (strace is missing or may not).")
    parts: dict[str, list[tuple[str, Callable[[Path], Tried]]]] = {
        "kills": [("killed", lambda at: kill_everywhere(at, asked.notes))],
        "cuts": [
            ("power cut, one writer",
             lambda at: cut_power_of_writers(at, asked.notes, asked.states // 2)),
            ("power cut, two writers",
             lambda at: cut_power_of_writers(at, asked.notes, asked.states // 4, writers=2)),
            ("power cut, say from no book on",
             lambda at: cut_power_of_say(at, asked.notes, asked.states // 4)),
        ],
        "failing": [("write or sync failed", lambda at: fail_everywhere(at, asked.notes))],
        "full": [("disk full", lambda at: full_at_each_byte(at, 3, asked.step))],
    }  # fmt: skip
    found: dict[str, Tried] = {}
    with tempfile.TemporaryDirectory() as scratch:
        for name, run in (one for part in asked.only for one in parts[part]):
            folder, began = Path(scratch) / name, time.monotonic()
            folder.mkdir()
            found[name] = run(folder)
            found[name].seconds = round(time.monotonic() - began, 1)
            print(_line(name, found[name]), flush=True)
            _write_down(name, found[name], asked.notes)
    faults = [line for one in found.values() for line in one.faults]
    for fault in faults[:20]:
        print(f"- {fault}")
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
