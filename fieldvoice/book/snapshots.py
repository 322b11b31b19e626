"""The fold's state kept in the book, so that a long history need not be gone through each time.

A snapshot holds what the first notes up to one place in the journal add up to. It is derived and
nothing else: it may be thrown away at any time, and it is not used when a later word reaches back
behind it (a note taken back, a note of an earlier time, a name given). Some older ones are kept for
that case, ever fewer the older.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import TypeAdapter

from fieldvoice.book.fold import State, begun, by_number, names_in
from fieldvoice.book.rounds import trees_in
from fieldvoice.book.rows import entry_from, number_of, readable
from fieldvoice.schema import plain_name

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldvoice.book.rows import Entry, OnBadRow
    from fieldvoice.book.season import Season
    from fieldvoice.schema import Act, TreeId

#: A new snapshot is made when so many notes had to be gone through since the last.
_WORTH = 160
#: The newest notes stay outside: they are the ones that are taken back and put right.
_LEAVE = 60
#: Of a history gone through at one go, snapshots are left at so many notes before its end.
_LADDER = (40_000, 10_000, 2_500, 600, _LEAVE)
#: How long another program's writing is waited for; a snapshot can be made another time.
_WAIT_MS = 50

#: What is later than now by more than this was stamped by a clock that was wrong.
_CLOCKS_DIFFER = timedelta(days=1)

#: The packages that make the state what it is; when one changes, old snapshots mean nothing.
_PACKAGES = ("book", "schema", "rules")

_NAMES = (
    "SELECT * FROM entries WHERE act = 'name' AND id NOT IN (SELECT entry FROM voids) ORDER BY id"
)
#: Entries up to one that may use a name: for trees by the index of those with a name for one, of
#: several trees, and for vessels those that are not a kind with its number.
_USING_NAMES = (
    "SELECT fields FROM entries WHERE id <= ?1 AND id IN ("
    " SELECT id FROM entries WHERE typeof(json_extract(fields, '$.tree')) = 'text'"
    " UNION SELECT id FROM entries WHERE json_extract(fields, '$.trees') IS NOT NULL"
    " UNION SELECT id FROM entries WHERE act IN ('name', 'transfer')"
    " UNION SELECT id FROM entries WHERE json_extract(fields, '$.vessel') IS NOT NULL"
    " AND json_extract(fields, '$.vessel') NOT GLOB '* [0-9]*')"
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


@dataclass(slots=True)
class Held:
    """The state of the last fold, kept in memory: with new notes alone it goes on from there.

    ``since`` is the last entry of the snapshot that it came from; when that is too far back, the
    notes are gone through from there once more, and newer snapshots are left on the way.
    """

    key: str = ""
    state: State | None = None
    since: int = 0
    entry: int = 0
    utterance: int = 0


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
    if left_out:
        state, after = _resumed(connection, key) or (None, 0)
        resumed = (None, 0) if min(left_out) <= after else (state, after)
        return _season_without(connection, capacities, left_out, resumed, on_bad, now)
    going_on = _going_on(connection, key, held)
    state, after = going_on or _resumed(connection, key) or (None, 0)
    held.state = None  # should anything go wrong below, it is half changed
    names = names_in(readable(connection.execute(_NAMES), entry_from, on_bad))
    tail = _live_after(connection, after, on_bad)
    if state is not None and _reaches_back(tail, state):
        state, after, tail = None, 0, _live_after(connection, 0, on_bad)
    if state is None:
        state = begun(names, capacities)
    state.names = names
    last = connection.execute(
        "SELECT coalesce((SELECT max(id) FROM entries), 0), "
        "coalesce((SELECT max(id) FROM utterances), 0)"
    ).fetchone()
    placed = _placed(tail, state.last_at, now)
    _take(connection, key, state, placed)
    if placed == tail and (not tail or number_of("e", tail[-1].id) <= last[0]):
        held.key, held.state, held.entry, held.utterance = key, state, last[0], last[1]
        if not going_on:  # of a long tail the last snapshot was left on the way
            held.since = last[0] - _LEAVE if len(tail) >= _WORTH else after
    return state.season(_Looked(connection, state, on_bad))


def _season_without(
    connection: sqlite3.Connection,
    capacities: Mapping[str, float],
    left_out: frozenset[int],
    resumed: tuple[State | None, int],
    on_bad: OnBadRow,
    now: datetime | None,
) -> Season:
    """Return the season without some entries; nothing of it is kept."""
    state, after = resumed
    if state is None or _reaches_back(_live_after(connection, after, on_bad), state):
        state, after = None, 0
    live = _live_after(connection, after, on_bad)
    tail = [one for one in live if number_of("e", one.id) not in left_out]
    if state is None:
        state = begun(names_in(tail), capacities)
    state.take_all(_placed(tail, state.last_at, now))
    return state.season(_Looked(connection, state, on_bad))


def _going_on(connection: sqlite3.Connection, key: str, held: Held) -> tuple[State, int] | None:
    """Return the state held in memory, and the last entry in it, if nothing reaches behind it."""
    state = held.state
    if state is None or held.key != key or state.last_at is None:
        return None
    newest = connection.execute("SELECT max(id) FROM entries").fetchone()[0] or 0
    if newest - held.since >= _WORTH:
        return None
    last_at = state.last_at.isoformat()
    if _is_undone(connection, held.entry, held.utterance, last_at):
        return None
    return state, held.entry


def _take(connection: sqlite3.Connection, key: str, state: State, tail: Sequence[Entry]) -> None:
    """Take the entries in, leaving snapshots on the way where they are worth it."""
    done = 0
    if len(tail) >= _WORTH:
        for left in _LADDER:
            place = len(tail) - left
            if place > done and _is_a_cut(tail, place):
                state.take_all(tail[done:place])
                _keep(connection, key, state, tail[place - 1])
                done = place
    state.take_all(tail[done:])


def _placed(tail: list[Entry], last_at: datetime | None, now: datetime | None) -> list[Entry]:
    """Return the entries, those from the future at the time of what was written before them.

    The clock was ahead when they were written. Taken as they are stamped, they would begin a season
    that hides this one.
    """
    placed = []
    for entry in tail:
        if now is not None and entry.at - now > _CLOCKS_DIFFER:
            entry = replace(entry, at=now if last_at is None else last_at)
        else:
            last_at = entry.at
        placed.append(entry)
    return placed


def _is_a_cut(entries: Sequence[Entry], place: int) -> bool:
    """Whether all that was written before ``place`` also happened before the rest."""
    before = max(entry.at for entry in entries[:place])
    return all(entry.at >= before for entry in entries[place:])


def _reaches_back(tail: Sequence[Entry], state: State) -> bool:
    """Whether a later entry changes what the snapshot has gone through already."""
    return any(state.last_at is not None and entry.at < state.last_at for entry in tail)


def _resumed(connection: sqlite3.Connection, key: str) -> tuple[State, int] | None:
    """Return the newest state that still holds, and the number of the last entry in it."""
    rows = connection.execute(
        "SELECT entry, utterance, last_at, state, checksum FROM snapshots WHERE key = ? "
        "ORDER BY entry DESC",
        [key],
    )
    for row in rows:
        if _is_undone(connection, row["entry"], row["utterance"], row["last_at"]):
            continue
        if row["checksum"] != _sum(row["state"]):
            continue  # damaged; what is derived can be made again
        return _adapter().validate_json(row["state"]), row["entry"]
    return None


def _is_undone(connection: sqlite3.Connection, entry: int, utterance: int, last_at: str) -> bool:
    """Whether something written since reaches back behind a snapshot."""
    voided = connection.execute(
        "SELECT 1 FROM voids WHERE utterance > ? AND entry <= ? LIMIT 1", [utterance, entry]
    ).fetchone()
    if voided:
        return True
    until = datetime.fromisoformat(last_at)
    later = connection.execute("SELECT at, act, fields FROM entries WHERE id > ?", [entry])
    return any(
        _is_used_before(connection, row["fields"], entry)
        if row["act"] == "name"
        else _is_before(row["at"], until)
        for row in later
    )


def _is_before(at: str, until: datetime) -> bool:
    try:
        return datetime.fromisoformat(at) < until
    except (ValueError, TypeError):
        return False  # a bad row, which counts for nothing


def _is_used_before(connection: sqlite3.Connection, fields: str, entry: int) -> bool:
    """Whether a name given later is met with in notes up to an entry, which it then changes.

    Names are seldom used before they are given, so that of 100,000 notes none need be gone through
    again for one. A note that a name is not in, it cannot change.
    """
    try:
        name = plain_name(json.loads(fields)["name"])
    except (ValueError, KeyError, TypeError, AttributeError):
        return True
    used = connection.execute(_USING_NAMES, [entry]).fetchall()
    return any(name in map(plain_name, _names_used(row["fields"])) for row in used)


def _names_used(fields: str) -> list[str]:
    """Return the names of trees and vessels in the fields of a note."""
    said = json.loads(fields)
    places = (said.get("tree"), said.get("vessel"), said.get("into"), said.get("name"),
              *(said.get("trees") or ()), *(said.get("but") or ()))  # fmt: skip
    return [one for one in places if isinstance(one, str)]


def _live_after(connection: sqlite3.Connection, after: int, on_bad: OnBadRow) -> list[Entry]:
    rows = connection.execute(
        "SELECT * FROM entries WHERE id > ? AND id NOT IN (SELECT entry FROM voids) ORDER BY id",
        [after],
    )
    return readable(rows, entry_from, on_bad)


def _keep(connection: sqlite3.Connection, key: str, state: State, last: Entry) -> None:
    """Write a snapshot down, if nothing stands against it now."""
    entry, assumed = number_of("e", last.id), state.last_at
    if assumed is None:
        return
    written = _adapter().dump_json(state, exclude_none=True)
    row = {
        "key": key,
        "entry": entry,
        "last_at": assumed.isoformat(),
        "state": written,
        "checksum": _sum(written),
    }
    try:
        connection.execute(f"PRAGMA busy_timeout = {_WAIT_MS}")
        connection.execute("BEGIN IMMEDIATE")
        connection.execute(
            "INSERT OR REPLACE INTO snapshots (key, entry, utterance, last_at, state, checksum) "
            "VALUES (:key, :entry, (SELECT max(id) FROM utterances), :last_at, :state, :checksum)",
            row,
        )
        _thin_out(connection, key)
        connection.execute("COMMIT")
    except sqlite3.Error:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
    finally:
        connection.execute("PRAGMA busy_timeout = 10000")


def _thin_out(connection: sqlite3.Connection, key: str) -> None:
    """Drop what is not needed: other keys, and of this one all but ever fewer of the older."""
    connection.execute("DELETE FROM snapshots WHERE key <> ?", [key])
    places = [
        row["entry"]
        for row in connection.execute(
            "SELECT entry FROM snapshots WHERE key = ? ORDER BY entry DESC", [key]
        )
    ]
    newest, reach = places[0], 0
    for place in places[1:]:
        back = newest - place
        if back < max(2 * reach, _LEAVE):
            connection.execute("DELETE FROM snapshots WHERE key = ? AND entry = ?", [key, place])
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
