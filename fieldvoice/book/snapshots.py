"""The fold's state kept in the book, so that a long history need not be gone through each time.

A snapshot holds what the notes up to one moment add up to: all those that happened before, whenever
they were written. It is derived and nothing else: it may be thrown away at any time. A later word
that reaches back (a note taken back, a note of an earlier time, a name given) leaves in use those
of moments before the one it reaches; the notes from there on are gone through once, and new
snapshots left on the way, ever fewer the older.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from array import array
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cache
from heapq import merge
from itertools import islice, pairwise
from operator import itemgetter
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from pydantic import TypeAdapter

from fieldvoice.book.fold import State, begun, by_number, names_in
from fieldvoice.book.rounds import trees_in
from fieldvoice.book.rows import entry_from, number_of, readable
from fieldvoice.schema import Names, plain_name

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fieldvoice.book.rows import Entry, OnBadRow
    from fieldvoice.book.season import Season
    from fieldvoice.schema import Act, TreeId

#: A new snapshot is made when so many notes had to be gone through since the last.
_WORTH = 160
#: The newest notes stay outside: they are the ones that are taken back and put right.
_LEAVE = 60
#: Of a history gone through at one go, snapshots are left at so many notes before its end.
_LADDER = (80_000, 40_000, 20_000, 10_000, 5_000, 2_500, 1_200, 600, 240, _LEAVE)
#: Notes read and taken in at a time.
_PAGE = 1_000
#: How long another program's writing is waited for; a snapshot can be made another time.
_WAIT_MS = 50

#: What is later than now by more than this was stamped by a clock that was wrong.
_CLOCKS_DIFFER = timedelta(days=1)
#: Days are written by the clock of their place; so far apart may be the days of one moment.
_OF_PLACES = timedelta(days=2)

#: The packages that make the state what it is; when one changes, old snapshots mean nothing.
_PACKAGES = ("book", "schema", "rules")

_NAMES = (
    "SELECT * FROM entries WHERE act = 'name' AND id NOT IN (SELECT entry FROM voids) ORDER BY id"
)
#: Entries up to an utterance that may use a name: for trees by the index of those with a name for
#: one, of several trees, and for vessels those that are not a kind with its number.
_USING_NAMES = (
    "SELECT id, at, fields FROM entries WHERE utterance <= coalesce(?1, utterance) AND id IN ("
    " SELECT id FROM entries WHERE typeof(json_extract(fields, '$.tree')) = 'text'"
    " UNION SELECT id FROM entries WHERE json_extract(fields, '$.trees') IS NOT NULL"
    " UNION SELECT id FROM entries WHERE act IN ('name', 'transfer')"
    " UNION SELECT id FROM entries WHERE json_extract(fields, '$.vessel') IS NOT NULL"
    " AND json_extract(fields, '$.vessel') NOT GLOB '* [0-9]*')"
)
_LIVE = "id NOT IN (SELECT entry FROM voids)"
#: The kinds of notes, each found by the index that has them with their times.
KINDS = """WITH RECURSIVE kinds (act) AS (
    SELECT min(act) FROM entries
    UNION ALL SELECT (SELECT min(act) FROM entries WHERE act > kinds.act) FROM kinds
    WHERE act IS NOT NULL
)"""
#: Notes from a day on, looked for kind by kind.
FROM_A_DAY = (
    f"entries.id IN ({KINDS} SELECT one.id FROM kinds CROSS JOIN entries AS one"
    " ON one.act = kinds.act WHERE one.at >= ?)"
)

#: Which entries may name a tree (its number or name is the one value): by number, by any name, or
#: among several.
NAMING_A_TREE = (
    "entries.id IN ("
    " SELECT id FROM entries WHERE json_extract(fields, '$.tree') = ?"
    " UNION SELECT id FROM entries WHERE typeof(json_extract(fields, '$.tree')) = 'text'"
    " UNION SELECT id FROM entries WHERE json_extract(fields, '$.trees') IS NOT NULL"
    " UNION SELECT id FROM entries WHERE act = 'name')"
)
#: The same for a vessel: by its kind and number, or by any name.
NAMING_A_VESSEL = (
    "json_extract(entries.fields, '$.vessel') = ?"
    " OR (json_extract(entries.fields, '$.vessel') IS NOT NULL"
    " AND json_extract(entries.fields, '$.vessel') NOT GLOB '* [0-9]*')"
)


class _Place(NamedTuple):
    """A place in the order of time: after the entry of this number, at this moment."""

    at: datetime
    entry: int


@dataclass(slots=True)
class Held:
    """The state of the last fold, kept in memory: with new notes alone it goes on from there.

    ``place`` is the last entry in it, ``count`` how many are, and ``utterance`` the last one that
    was looked at. ``since`` is the count of the snapshot that it came from; when that is too far
    back, the notes are gone through from there once more, and newer snapshots are left on the way.
    """

    key: str = ""
    state: State | None = None
    place: _Place | None = None
    utterance: int = 0
    count: int = 0
    since: int = 0


@dataclass(slots=True)
class _Begun:
    """Where to go on from: a state, and which notes are in it; ``until`` as of ``_Kept``."""

    state: State
    place: _Place | None = None
    count: int = 0
    utterance: int = 0
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class _Kept:
    """A snapshot to be written; ``until`` is when a note in it ceases to be of the future."""

    count: int
    place: _Place
    until: datetime | None
    state: bytes


def season_of(
    connection: sqlite3.Connection,
    capacities: Mapping[str, float],
    on_bad: OnBadRow,
    now: datetime | None,
    held: Held,
    left_out: frozenset[int] = frozenset(),
) -> Season:
    """Return the season that the book's live entries add up to, but for those left out."""
    key = _key(capacities)
    with _one_moment(connection):  # kept short, for nobody can write meanwhile
        utterance = connection.execute("SELECT max(id) FROM utterances").fetchone()[0] or 0
        going_on = None if left_out else _going_on(connection, key, held, now)
        begin = going_on or _resumed(connection, key, now, left_out)
        state = begin.state if begin is not None else begun(Names({}, {}), capacities)
        begin = begin or _Begun(state)
        names = readable(connection.execute(_NAMES), entry_from, on_bad)
        tail = _tail(connection, begin.place, now, left_out)
    held.state = None  # should anything go wrong below, it is half changed
    state.names = names_in(one for one in names if number_of("e", one.id) not in left_out)
    taken = _take(state, _placed(connection, tail, begin, on_bad), len(tail.numbers), begin)
    if not left_out:
        # What stands at this moment for want of another stands elsewhere at the next.
        if taken.kept and now not in tail.ahead.values():
            _keep(connection, key, taken.kept, begin, utterance)
        if not tail.ahead and taken.place is not None:
            held.key, held.state, held.utterance = key, state, utterance
            held.place, held.count = taken.place, taken.count
            if not going_on:
                held.since = taken.kept[-1].count if taken.kept else begin.count
    return state.season(_Looked(connection, state, on_bad))


@contextmanager
def _one_moment(connection: sqlite3.Connection) -> Iterator[None]:
    """Let several reads see the same moment, whoever else is writing."""
    connection.execute("BEGIN")
    try:
        yield
    finally:
        connection.execute("ROLLBACK")


def _going_on(
    connection: sqlite3.Connection, key: str, held: Held, now: datetime | None
) -> _Begun | None:
    """Return the state held in memory, if nothing reaches behind its end."""
    if held.state is None or held.place is None or held.key != key:
        return None
    fresh = connection.execute("SELECT count(*) FROM entries WHERE utterance > ?", [held.utterance])
    if held.count + fresh.fetchone()[0] - held.since >= _WORTH:
        return None
    reached = _reached(connection, held.utterance, now)
    if reached is not None and reached <= held.place:
        return None
    return _Begun(held.state, held.place, held.count, held.utterance)


def _resumed(
    connection: sqlite3.Connection, key: str, now: datetime | None, left_out: frozenset[int]
) -> _Begun | None:
    """Return the newest state that still holds."""
    rows = connection.execute(
        "SELECT entry, utterance, last_at, checksum FROM snapshots WHERE key = ? "
        "ORDER BY entry DESC",
        [key],
    ).fetchall()
    changed: dict[int, _Place | None] = {}
    left = _places(connection, [_row_of(connection, number) for number in left_out], None, now)
    for row in rows:
        place, until = _read_place(row["last_at"])
        since = row["utterance"]
        if since not in changed:
            changed[since] = _reached(connection, since, now)
        reached = (*left, changed[since]) if changed[since] else left
        if any(one <= place for one in reached if one) or not _is_of_now(place, until, now):
            continue
        written = connection.execute(
            "SELECT state FROM snapshots WHERE key = ? AND entry = ?", [key, row["entry"]]
        ).fetchone()["state"]
        if row["checksum"] != _sum(written):
            continue  # damaged; what is derived can be made again
        return _Begun(_adapter().validate_json(written), place, row["entry"], since, until)
    return None


def _is_of_now(place: _Place, until: datetime | None, now: datetime | None) -> bool:
    """Whether what a snapshot took for notes of the future is that now, and nothing else is."""
    if now is None:
        return until is None
    return place.at - now <= _CLOCKS_DIFFER and (until is None or until - now > _CLOCKS_DIFFER)


def _reached(connection: sqlite3.Connection, since: int, now: datetime | None) -> _Place | None:
    """Return the earliest place that was changed by what was written after an utterance.

    None if nothing was written that any state depends on.
    """
    written = connection.execute(
        "SELECT id, at, act, fields FROM entries WHERE utterance > ?", [since]
    ).fetchall()
    taken_back = connection.execute(
        "SELECT entries.id, at, act, fields FROM voids JOIN entries ON entries.id = voids.entry "
        "WHERE voids.utterance > ?",
        [since],
    ).fetchall()
    return min(_places(connection, [*written, *taken_back], since, now), default=None)


def _places(
    connection: sqlite3.Connection, rows: list[sqlite3.Row], until: int | None, now: datetime | None
) -> list[_Place]:
    """Return where entries stand in the order of time, and what was called by a name in them.

    That was written up to the utterance ``until``. A bad row stands nowhere.
    """
    moments = {row["id"]: at for row in rows if (at := moment_of(row["at"]))}
    ahead = [number for number, at in moments.items() if stamped_ahead(at, now)]
    moments |= belonging(connection, ahead, now)
    places = [_Place(at, number) for number, at in moments.items()]
    for row in rows:
        if row["act"] == "name":
            places += _using(connection, row["fields"], until)
    return places


def _row_of(connection: sqlite3.Connection, number: int) -> sqlite3.Row:
    found: sqlite3.Row = connection.execute(
        "SELECT id, at, act, fields FROM entries WHERE id = ?", [number]
    ).fetchone()
    return found


def moment_of(at: object) -> datetime | None:
    """Return the time that a row was stamped with; None for what is no time."""
    try:
        found = datetime.fromisoformat(str(at))
    except ValueError:
        return None
    return None if found.utcoffset() is None else found


def stamped_ahead(at: datetime, now: datetime | None) -> bool:
    """Whether a note was stamped by a clock that was ahead."""
    return now is not None and at - now > _CLOCKS_DIFFER


def belonging(
    connection: sqlite3.Connection, ahead: Sequence[int], now: datetime | None
) -> dict[int, datetime]:
    """Return the times of what was written before entries by a clock that was right.

    Taken as they are stamped, notes of the future would begin a season that hides this one. Where
    nothing was written before by such a clock, it is now.
    """
    if not ahead or now is None:
        return {}
    rows = connection.execute("SELECT at FROM entries WHERE id < ? ORDER BY id DESC", [min(ahead)])
    moments = (moment_of(row["at"]) for row in rows)
    last = next((at for at in moments if at is not None and not stamped_ahead(at, now)), now)
    found, wanted = dict[int, datetime](), set(ahead)
    for number, written in connection.execute(
        "SELECT id, at FROM entries WHERE id BETWEEN ? AND ? ORDER BY id", [min(ahead), max(ahead)]
    ):
        if number in wanted:
            found[number] = last
        elif (at := moment_of(written)) is not None and not stamped_ahead(at, now):
            last = at
    return found


def _using(connection: sqlite3.Connection, fields: str, until: int | None) -> list[_Place]:
    """Return where the notes stand that use a name given (by a note with such fields).

    Names are seldom used before they are given, so that of 100,000 notes none need be gone through
    again for one. A note that a name is not in, it cannot change.
    """
    try:
        name = plain_name(json.loads(fields)["name"])
    except (ValueError, KeyError, TypeError, AttributeError):
        return []
    return [
        _Place(at, row["id"])
        for row in connection.execute(_USING_NAMES, [until])
        if name in map(plain_name, _names_used(row["fields"])) and (at := moment_of(row["at"]))
    ]


def _names_used(fields: str) -> list[str]:
    """Return the names of trees and vessels in the fields of a note."""
    said = json.loads(fields)
    places = (said.get("tree"), said.get("vessel"), said.get("into"), said.get("name"),
              *(said.get("trees") or ()), *(said.get("but") or ()))  # fmt: skip
    return [one for one in places if isinstance(one, str)]


@dataclass(frozen=True, slots=True)
class _Tail:
    """The live entries after a place by their numbers, in the order of time.

    ``ahead`` are those among them that a clock stamped ahead, with the moments where they belong.
    """

    numbers: array[int]
    ahead: dict[int, datetime]


def _tail(
    connection: sqlite3.Connection,
    place: _Place | None,
    now: datetime | None,
    left_out: frozenset[int],
) -> _Tail:
    """Return what lies after a place; nothing of it but its numbers is held in memory."""
    where, values = _LIVE, list[str]()
    if place is not None:
        where = f"{FROM_A_DAY} AND {_LIVE}"
        values = [(place.at.date() - _OF_PLACES).isoformat() if place.at.year > 1 else ""]
    rows = connection.execute(
        f"SELECT id, at FROM entries WHERE {where} ORDER BY julianday(at), id", values
    )
    numbers, ahead = array("q"), list[int]()
    for number, written in rows:
        at = None if place is None and now is None else moment_of(written)
        if number in left_out:
            continue
        if at is not None and stamped_ahead(at, now):
            ahead.append(number)
        elif place is not None and at is not None and (at, number) <= place:
            continue
        numbers.append(number)
    return _Tail(numbers, belonging(connection, ahead, now))


def _placed(
    connection: sqlite3.Connection, tail: _Tail, begin: _Begun, on_bad: OnBadRow
) -> Iterator[tuple[_Place, Entry]]:
    """Yield the entries that are not in the state yet, in the order of time.

    Those from the future stand at the time of what was written before them; their entries keep what
    they were stamped with. Rows never change, so that they may be read after the moment.
    """
    others = array("q", (number for number in tail.numbers if number not in tail.ahead))
    ahead = [
        (_Place(tail.ahead[number_of("e", entry.id)], number_of("e", entry.id)), entry)
        for _, entry in _in_pages(connection, array("q", tail.ahead), on_bad)
    ]
    late = sorted(
        (one for one in ahead if begin.place is None or one[0] > begin.place), key=itemgetter(0)
    )
    return merge(_in_pages(connection, others, on_bad), late, key=itemgetter(0))


def _in_pages(
    connection: sqlite3.Connection, numbers: array[int], on_bad: OnBadRow
) -> Iterator[tuple[_Place, Entry]]:
    """Yield entries by their numbers, which are in the order of time."""
    for begin in range(0, len(numbers), _PAGE):
        page = numbers[begin : begin + _PAGE]
        marks = ",".join("?" * len(page))
        rows = connection.execute(f"SELECT * FROM entries WHERE id IN ({marks})", list(page))
        entries = readable(rows.fetchall(), entry_from, on_bad)
        # The database knows time to some hundred-thousandths of a second.
        yield from sorted(
            ((_Place(one.at, number_of("e", one.id)), one) for one in entries), key=itemgetter(0)
        )


@dataclass(slots=True)
class _Taken:
    """What came of taking entries in: how many are in the state, and up to which place."""

    kept: list[_Kept]
    count: int
    place: _Place | None


def _take(state: State, tail: Iterator[tuple[_Place, Entry]], length: int, begin: _Begun) -> _Taken:
    """Take the entries in, some ``length`` of them, and leave snapshots that are worth it."""
    taken, until = _Taken([], begin.count, begin.place), begin.until
    rungs = {length - left for left in _LADDER} if length >= _WORTH else set()
    ends = sorted({*range(0, length, _PAGE), *(one for one in rungs if one > 0), length})
    for end, more in pairwise((0, *ends)) if length else ():
        page = list(islice(tail, more - end))
        state.take_all(
            entry if entry.at == place.at else replace(entry, at=place.at) for place, entry in page
        )
        ahead = [entry.at for place, entry in page if entry.at != place.at]
        until = min((*ahead, *((until,) if until else ())), default=None)
        taken.count += len(page)
        taken.place = page[-1][0] if page else taken.place
        if more in rungs and taken.place is not None:
            written = _adapter().dump_json(state, exclude_none=True)
            taken.kept.append(_Kept(taken.count, taken.place, until, written))
    return taken


def _read_place(written: str) -> tuple[_Place, datetime | None]:
    at, entry, *until = written.split()
    return (
        _Place(datetime.fromisoformat(at), int(entry)),
        datetime.fromisoformat(until[0]) if until else None,
    )


def _written_place(one: _Kept) -> str:
    until = () if one.until is None else (one.until.isoformat(),)
    return " ".join((one.place.at.isoformat(), str(one.place.entry), *until))


def _keep(
    connection: sqlite3.Connection, key: str, kept: Sequence[_Kept], begin: _Begun, utterance: int
) -> None:
    """Write snapshots down, in the place of those that hold no more.

    ``entry`` is how many notes are in one. Those before ``begin`` hold as it does: all up to
    ``utterance`` was looked at for it.
    """
    try:
        connection.execute(f"PRAGMA busy_timeout = {_WAIT_MS}")
        connection.execute("BEGIN IMMEDIATE")
        connection.execute("DELETE FROM snapshots WHERE key <> ? OR entry > ?", [key, begin.count])
        # One that another program left meanwhile, and that was looked at to no later, stays so.
        connection.execute(
            "UPDATE snapshots SET utterance = ?1 WHERE utterance BETWEEN ?2 AND ?1",
            [utterance, begin.utterance],
        )
        connection.executemany(
            "INSERT OR REPLACE INTO snapshots (key, entry, utterance, last_at, state, checksum) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            [
                (key, one.count, utterance, _written_place(one), one.state, _sum(one.state))
                for one in kept
            ],
        )
        _thin_out(connection)
        connection.execute("COMMIT")
    except sqlite3.Error:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
    finally:
        connection.execute("PRAGMA busy_timeout = 10000")


def _thin_out(connection: sqlite3.Connection) -> None:
    """Drop what is not needed: ever more of the older."""
    rows = connection.execute("SELECT entry FROM snapshots ORDER BY entry DESC").fetchall()
    newest, reach = rows[0]["entry"], 0
    for row in rows[1:]:
        back = newest - row["entry"]
        if back < max(3 * reach // 2, _LEAVE):
            connection.execute("DELETE FROM snapshots WHERE entry = ?", [row["entry"]])
        else:
            reach = back


class _Looked:
    """The notes looked up in the book."""

    def __init__(self, connection: sqlite3.Connection, state: State, on_bad: OnBadRow) -> None:
        self._connection, self._names, self._on_bad = connection, state.names, on_bad

    def of_act(self, act: str, year: int | None) -> Sequence[tuple[datetime, Act]]:
        rows = self._connection.execute(
            "SELECT * FROM entries WHERE act = ? AND at >= ? AND at < ? "
            "AND id NOT IN (SELECT entry FROM voids) ORDER BY id",
            [act, f"{year}", f"{(year or 0) + 1}"],
        )
        return self._numbered(readable(rows, entry_from, self._on_bad))

    def of_tree(self, tree: TreeId) -> Sequence[tuple[datetime, Act]]:
        rows = self._connection.execute(
            f"SELECT * FROM entries WHERE {NAMING_A_TREE} "
            "AND id NOT IN (SELECT entry FROM voids) ORDER BY id",
            [tree],
        )
        notes = self._numbered(readable(rows, entry_from, self._on_bad))
        return [(at, act) for at, act in notes if tree in trees_in(act)]

    def _numbered(self, entries: list[Entry]) -> list[tuple[datetime, Act]]:
        entries.sort(key=lambda entry: entry.at)
        return [(entry.at, by_number(entry.act, self._names)) for entry in entries]


def _sum(state: bytes) -> str:
    return hashlib.blake2b(state, digest_size=16).hexdigest()


@cache
def _adapter() -> TypeAdapter[State]:
    return TypeAdapter(State)


def _key(capacities: Mapping[str, float]) -> str:
    """Return what a snapshot is valid for: this program's fold, and these sizes of vessels."""
    return f"{program()}-{json.dumps(dict(capacities), sort_keys=True)}"


@cache
def program() -> str:
    """Return a digest of the program's part that makes a state what it is."""
    digest = hashlib.sha256()
    for package in _PACKAGES:
        for path in sorted((Path(__file__).parents[1] / package).rglob("*.py")):
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]
