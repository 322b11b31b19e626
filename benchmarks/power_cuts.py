"""Power cuts, played from what programs did to a book's files.

A record has each write, truncation and sync, the making of a file and the sync of its folder, and
when notes were acknowledged. At any point the power may go: then a file is as its last sync left
it, and of each later write any sectors may be there and others not; a file whose folder was not
synced since it was made may be missing.
"""

from __future__ import annotations

import random
import re
import shlex
import subprocess
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_SECTOR = 512
#: Calls that change files or put them on the disk; those that would need a case of their own are
#: refused by ``recorded``.
_WATCHED = "write,pwrite64,ftruncate,fdatasync,fsync,openat,unlink,rename"
_CALL = re.compile(
    r"(?P<call>\w+)\((?P<first>(?:\d+|AT_FDCWD)(?:<(?P<place>[^>]*)>)?|\"[^\"]*\")"
    r'(?:, "(?P<data>(?:\\x[0-9a-f]{2})*)"(?:\.\.\.)?)?(?P<rest>.*?)\) += (?P<result>-?\d+)'
)
_RESUMED = re.compile(r"<\.\.\. \w+ resumed>(.*)")


@dataclass(frozen=True, slots=True)
class Event:
    """One call: ``write`` (``at``, ``data``), ``cut`` (``at``), ``sync``, ``made``.

    ``folder`` is the sync of the folder, and with ``told`` notes were acknowledged.
    """

    kind: str
    file: str = ""
    at: int = 0
    data: bytes = b""
    told: tuple[int, ...] = ()


@dataclass(slots=True)
class _Disk:
    """What is on the disk for certain, and what waits in the system's memory."""

    durable: dict[str, bytes]
    waiting: dict[str, list[Event]] = field(default_factory=dict)
    unnamed: set[str] = field(default_factory=set)

    def take(self, event: Event, chance: random.Random) -> None:
        if event.kind == "made":
            self.durable.setdefault(event.file, b"")
            self.unnamed.add(event.file)
        elif event.kind == "folder":
            self.unnamed.clear()
        elif event.kind == "sync":
            events = self.waiting.pop(event.file, [])
            self.durable[event.file] = _played(self.durable[event.file], events, chance, "kept")
        elif event.kind in ("write", "cut"):
            self.waiting.setdefault(event.file, []).append(event)

    def after_cut(self, chance: random.Random, fate: str | None) -> dict[str, bytes]:
        """Return the files after a cut: ``fate`` of what waits, or one for each by chance."""
        return {
            name: _played(content, self.waiting.get(name, []), chance, fate)
            for name, content in self.durable.items()
            if name not in self.unnamed
            or fate == "kept"
            or (fate is None and chance.random() < 0.5)
        }


def files_in(book: Path) -> dict[str, bytes]:
    """Return the files of a book that are there, by their names."""
    found = (book.with_name(name) for name in _names(book))
    return {path.name: path.read_bytes() for path in found if path.exists()}


def _names(book: Path) -> tuple[str, str]:
    return book.name, f"{book.name}-journal"


def recorded(
    book: Path, commands: list[list[str]], trees: Callable[[str], list[int]], said: str = ""
) -> list[Event]:
    """Run programs side by side and return what they did to the files of ``book``, in order.

    ``trees`` tells from what a program wrote to its output which trees' notes it acknowledged.
    """
    log, there = book.with_name("calls"), set(files_in(book))
    together = " & ".join(map(shlex.join, commands))
    done = subprocess.run(
        ["strace", "-f", "-qq", "-y", "-xx", "-s", "100000", "-o", str(log),
         "-e", f"trace={_WATCHED}", "sh", "-c", f"{together} & wait" if commands[1:] else together],
        input=said, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode != 0:
        raise RuntimeError(done.stderr)
    return list(_events(log.read_text(encoding="utf-8"), book, there, trees))


def _events(
    log: str, book: Path, there: set[str], trees: Callable[[str], list[int]]
) -> Iterator[Event]:
    names = _names(book)
    for found in filter(None, map(_CALL.match, _whole_calls(log))):
        call, place = found["call"], _plain(found["place"] or "")
        name, data = Path(place).name, _bytes(found["data"] or "")
        numbers = [int(one) for one in re.findall(r"\d+", found["rest"])]
        if call == "write" and found["first"].startswith("1<"):
            yield Event("told", told=tuple(trees(data.decode())))
        elif call == "openat":
            opened = Path(_plain(found["data"] or "")).name
            if opened in names and "O_CREAT" in found["rest"] and opened not in there:
                there.add(opened)
                yield Event("made", opened)
        elif call in ("fdatasync", "fsync") and place == str(book.parent):
            yield Event("folder")
        elif call in ("unlink", "rename") and any(one in _plain(found[0]) for one in names):
            raise RuntimeError(f"{call} of a book's file is no case that is played here")
        elif name in names and int(found["result"]) >= 0:
            yield _of_file(call, name, data, numbers)


def _of_file(call: str, name: str, data: bytes, numbers: list[int]) -> Event:
    if call == "pwrite64":
        return Event("write", name, numbers[-1], data)
    if call == "ftruncate":
        return Event("cut", name, numbers[-1])
    if call in ("fdatasync", "fsync"):
        return Event("sync", name)
    raise RuntimeError(f"{call} of {name} is no case that is played here")


def _whole_calls(log: str) -> Iterator[str]:
    """Yield the calls as they ended; those of several processes may lie within one another."""
    begun: dict[str, str] = {}
    for line in log.splitlines():
        number, _, rest = line.partition(" ")
        rest = rest.strip()
        if rest.endswith("<unfinished ...>"):
            begun[number] = rest.removesuffix("<unfinished ...>")
        elif ended := _RESUMED.match(rest):
            yield begun.pop(number, "") + ended[1]
        else:
            yield rest


def _plain(place: str) -> str:
    return _bytes(place).decode() if place.startswith("\\x") else place


def _bytes(text: str) -> bytes:
    return bytes.fromhex(text.replace("\\x", ""))


def states(
    start: dict[str, bytes], events: list[Event], most: int, seed: int
) -> Iterator[tuple[dict[str, bytes], list[int]]]:
    """Yield distinct states after cuts, each with the trees whose notes were acknowledged.

    First those with all that waited there, then those with none of it, then mixed ones by chance.
    """
    chance, seen = random.Random(seed), set[int]()
    fates: tuple[str | None, ...] = ("kept", "gone", *[None] * 1000)
    for fate in fates:
        for files, acknowledged in _cuts(start, events, chance, fate):
            key = hash((tuple(sorted(files.items())), len(acknowledged)))
            if key not in seen:
                seen.add(key)
                yield files, acknowledged
            if len(seen) >= most:
                return


def _cuts(
    start: dict[str, bytes], events: list[Event], chance: random.Random, fate: str | None
) -> Iterator[tuple[dict[str, bytes], list[int]]]:
    """Yield a state for a power cut before each event and after the last."""
    disk, acknowledged = _Disk(dict(start)), list[int]()
    for event in events:
        yield disk.after_cut(chance, fate), list(acknowledged)
        acknowledged += event.told
        disk.take(event, chance)
    yield disk.after_cut(chance, fate), acknowledged


def _played(content: bytes, events: list[Event], chance: random.Random, fate: str | None) -> bytes:
    """Return what a file holds when some of the calls since its last sync reached the disk."""
    whole = bytearray(content)
    for event in events:
        one = fate or chance.choice(("kept", "gone", "torn", "scattered"))
        if one == "gone":
            continue
        if event.kind == "cut":
            del whole[event.at :]
            continue
        if len(whole) < event.at:
            whole += bytes(event.at - len(whole))
        end = len(event.data)
        if one == "torn":
            end = chance.randrange(0, end + 1, _SECTOR)
        for at in range(0, end, _SECTOR):
            if one == "scattered" and chance.random() < 0.5:
                continue
            piece = event.data[at : min(at + _SECTOR, end)]
            place = event.at + at
            if len(whole) < place:
                whole += bytes(place - len(whole))
            whole[place : place + len(piece)] = piece
    return bytes(whole)
