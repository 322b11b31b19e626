"""Does the book keep what it said it keeps: killed at every write and sync, and after power cuts.

``python -m benchmarks.durability [--states N] [--notes N]``. A program takes notes and prints the
id of each when the book has it. Its system calls are recorded (strace). Then

- it is killed at each write, sync and truncation in turn, and
- power cuts are played from the record: at each point the files are as the last syncs left them,
  with each later write there, gone, or torn at a sector's end, in many ways.

After each, the book is opened as users open it: every note whose id was printed must be there once,
and every row as it was written. A killed program is no power cut: what it wrote is in the system's
memory still; so both are done. (The method is that of SQLite's ``test6.c`` and of Pillai et al.,
"All file systems are not created equal", OSDI 2014.)
"""

from __future__ import annotations

import argparse
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.book import Book
from fieldvoice.book.verify import verify
from fieldvoice.errors import BookError

if TYPE_CHECKING:
    from collections.abc import Iterator

_SECTOR = 512
_BOOK, _JOURNAL = "season.db", "season.db-journal"
#: The calls by which the files change or are put on the disk.
CALLS = ("pwrite64", "fdatasync", "fsync", "ftruncate")

#: Takes notes, some of which take back the one before, and prints the id of each.
WRITER = """
import os, sys
from datetime import UTC, datetime
from pathlib import Path
from fieldvoice.book import Book
from fieldvoice.transcript import typed
from fieldvoice.schema import meaning_from
with Book.open(Path(sys.argv[1])) as book:
    voids = []
    for tree in range(1, int(sys.argv[2]) + 1):
        note = meaning_from({"act": "inspect", "tree": tree, "fill": 0.5})
        taken = book.take(at=datetime(2026, 3, 14, tzinfo=UTC), source="typed", heard=typed("x"),
                          outcome="saved", meanings=[note], reply="", notes=[note], voids=voids)
        voids = list(taken.records) if tree % 5 == 0 else []
        os.write(1, f"{taken.records[0]}\\n".encode())
"""


def can_trace() -> bool:
    """Whether system calls can be watched here."""
    strace = shutil.which("strace")
    if strace is None:
        return False
    done = subprocess.run([strace, "-e", "trace=none", "true"], capture_output=True, check=False)
    return done.returncode == 0


def fresh_book(folder: Path) -> Path:
    """Return a new book of no notes, with its journal's file beside it."""
    path = folder / _BOOK
    Book.open(path).close()
    return path


def fault_of(path: Path, acknowledged: list[str]) -> str | None:
    """Return what is wrong with a book in which these notes must be; None if nothing is."""
    try:
        with Book.open(path) as book:
            if book.damage is not None:
                return book.damage
            found = [entry.id for entry in book.entries(include_void=True)]
        told = verify(path)
    except BookError as fault:
        return str(fault)
    if not told.sound:
        return told.faults[0].text
    if found[: len(acknowledged)] != acknowledged:
        return f"acknowledged {acknowledged}, found {found}"
    # At most one note can have reached the disk without its id reaching anybody.
    return None if len(found) <= len(acknowledged) + 1 else f"{found} after {acknowledged}"


def _traced(path: Path, notes: int, *options: str) -> subprocess.CompletedProcess[str]:
    writer = [sys.executable, "-c", WRITER, str(path), str(notes)]
    command = ["strace", "-qq", *options, *writer]
    return subprocess.run(command, capture_output=True, text=True, check=False)


# Kills.


@dataclass(slots=True)
class Killed:
    """How often the program was killed, and what was wrong afterwards."""

    kills: int = 0
    faults: list[str] = field(default_factory=list)


def kill_everywhere(folder: Path, notes: int, every: int = 1) -> Killed:
    """Kill the writer at each call that changes the files (or at each ``every``-th)."""
    told = Killed()
    empty = fresh_book(folder)
    for call in CALLS:
        for when in range(1, 1_000_000, every):
            place = Path(tempfile.mkdtemp(dir=folder))
            path = Path(shutil.copy(empty, place / _BOOK))
            done = _traced(path, notes, "-o", "/dev/null", "-e", f"trace={call}",
                           "-e", f"inject={call}:signal=KILL:when={when}")  # fmt: skip
            acknowledged = done.stdout.split()
            fault = fault_of(path, acknowledged)
            shutil.rmtree(place)
            if len(acknowledged) == notes and done.returncode == 0:
                break  # it came to its end: there are no more such calls
            told.kills += 1
            if fault is not None:
                told.faults.append(f"killed at {call} {when}: {fault}")
    return told


# Power cuts.


@dataclass(frozen=True, slots=True)
class Event:
    """One call: a write (``at``, ``data``), a truncation (``at``), a sync, or a note's id."""

    kind: str
    file: str = ""
    at: int = 0
    data: bytes = b""


_CALL = re.compile(
    r'(\w+)\((\d+)<([^>]*)>(?:, "((?:\\x[0-9a-f]{2})*)"(?:\.\.\.)?)?(.*?)\) += (-?\d+)'
)


def recorded(path: Path, notes: int) -> list[Event]:
    """Run the writer and return what it did to the files, and when each note was acknowledged."""
    log = path.with_name("calls")
    done = _traced(path, notes, "-y", "-xx", "-s", "100000", "-o", str(log),
                   "-e", f"trace=write,{','.join(CALLS)}")  # fmt: skip
    if done.returncode != 0:
        raise RuntimeError(done.stderr)
    return list(_events(log.read_text(encoding="utf-8")))


def _events(log: str) -> Iterator[Event]:
    for found in _CALL.finditer(log):
        call, number, place, data, rest, _ = found.groups()
        name = Path(_plain(place)).name
        numbers = [int(one) for one in re.findall(r"\d+", rest)]
        if call == "write":
            if number == "1":
                yield Event("told", data=_bytes(data or ""))
        elif name in (_BOOK, _JOURNAL):
            if call == "pwrite64":
                yield Event("write", name, numbers[-1], _bytes(data or ""))
            elif call == "ftruncate":
                yield Event("cut", name, numbers[-1])
            else:
                yield Event("sync", name)


def _plain(place: str) -> str:
    return _bytes(place).decode() if place.startswith("\\x") else place


def _bytes(text: str) -> bytes:
    return bytes.fromhex(text.replace("\\x", ""))


def power_cuts(folder: Path, notes: int, states: int, seed: int = 1) -> tuple[int, list[str]]:
    """Return how many distinct states after power cuts were looked at, and what was wrong."""
    path = fresh_book(folder)
    start = {name: (folder / name).read_bytes() if (folder / name).exists() else b""
             for name in (_BOOK, _JOURNAL)}  # fmt: skip
    events = recorded(path, notes)
    chance, seen, faults = random.Random(seed), set[int](), []
    rounds = 0
    while len(seen) < states and rounds < 200:
        rounds += 1
        for files, acknowledged in _cuts(start, events, chance, gentle=rounds == 1):
            key = hash((tuple(sorted(files.items())), len(acknowledged)))
            if key in seen:
                continue
            seen.add(key)
            fault = _after(folder / "cut", files, acknowledged)
            if fault is not None:
                faults.append(fault)
            if len(seen) >= states:
                break
    return len(seen), faults


def _cuts(
    start: dict[str, bytes], events: list[Event], chance: random.Random, *, gentle: bool
) -> Iterator[tuple[dict[str, bytes], list[str]]]:
    """Yield one state for a power cut before each event; ``gentle`` keeps all writes."""
    durable = dict(start)
    waiting: dict[str, list[Event]] = {name: [] for name in start}
    acknowledged: list[str] = []
    for event in events:
        yield (
            {name: _played(durable[name], waiting[name], chance, gentle) for name in durable},
            list(acknowledged),
        )
        if event.kind == "told":
            acknowledged.append(event.data.decode().strip())
        elif event.kind == "sync":
            durable[event.file] = _played(durable[event.file], waiting[event.file], chance, True)
            waiting[event.file].clear()
        else:
            waiting[event.file].append(event)
    yield (
        {name: _played(durable[name], waiting[name], chance, False) for name in durable},
        acknowledged,
    )


def _played(content: bytes, events: list[Event], chance: random.Random, keep: bool) -> bytes:
    """Return what a file holds when some of the calls since its last sync reached the disk."""
    whole = bytearray(content)
    for event in events:
        fate = "kept" if keep else chance.choice(("kept", "gone", "torn"))
        if fate == "gone":
            continue
        if event.kind == "cut":
            del whole[event.at :]
            continue
        data = event.data
        if fate == "torn":
            data = data[: chance.randrange(0, len(data) + 1, _SECTOR)]
        if len(whole) < event.at:
            whole += bytes(event.at - len(whole))
        whole[event.at : event.at + len(data)] = data
    return bytes(whole)


def _after(place: Path, files: dict[str, bytes], acknowledged: list[str]) -> str | None:
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir()
    for name, content in files.items():
        (place / name).write_bytes(content)
    return fault_of(place / _BOOK, acknowledged)


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--notes", type=int, default=12, help="notes taken in each run")
    parser.add_argument("--states", type=int, default=10_000, help="states after power cuts")
    asked = parser.parse_args()
    if not can_trace():
        sys.exit("System calls cannot be watched here (strace is missing or may not).")
    with tempfile.TemporaryDirectory() as name:
        began = time.monotonic()
        (Path(name) / "kills").mkdir()
        killed = kill_everywhere(Path(name) / "kills", asked.notes)
        spent = time.monotonic() - began
        print(
            f"Killed at each of {killed.kills} writes, syncs and truncations of {asked.notes} "
            f"notes: {len(killed.faults)} faults ({spent:.0f} s)."
        )
        began = time.monotonic()
        (Path(name) / "cuts").mkdir()
        count, faults = power_cuts(Path(name) / "cuts", asked.notes, asked.states)
        spent = time.monotonic() - began
        print(f"{count} distinct states after power cuts: {len(faults)} faults ({spent:.0f} s).")
    for fault in [*killed.faults, *faults][:20]:
        print(f"- {fault}")
    sys.exit(1 if killed.faults or faults else 0)


if __name__ == "__main__":
    main()
