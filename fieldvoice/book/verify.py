"""Is every row of the book whole and as it was written? Each fault is told with its row."""

from __future__ import annotations

import json
import sqlite3
from collections import defaultdict
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from fieldvoice.book.checksums import COLUMNS, KEYS, checksum
from fieldvoice.book.connection import book_version, damage_in, open_to_read
from fieldvoice.book.faults import plain_faults
from fieldvoice.book.salvage import is_a_book
from fieldvoice.book.snapshots import one_moment
from fieldvoice.book.version import SCHEMA_VERSION
from fieldvoice.telling import untold

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from fieldvoice.telling import Tell

Kind = Literal["changed", "missing", "doubled", "foreign", "damaged"]

#: How a row of each table is called, by its key.
_CALLED = {
    "utterances": "utterance u{key}", "entries": "note e{key}",
    "voids": "the taking back of note e{key}", "memos": "the memo {key}",
    "wordings": "wording w{key}", "wording_uses": "the use of a wording in utterance u{key}",
    "forgotten_wordings": "the forgetting of wording w{key}",
    "origins": "the origin of note e{key}",
    "deliveries": "the delivery of utterance u{key}",
}  # fmt: skip
#: Which rows of each table were there when the numbers were looked at: those of later utterances
#: are no fault, for their other rows are not read.
_WITHIN = {
    "utterances": "id <= :newest_utterances", "entries": "id <= :newest_entries",
    "voids": "utterance <= :newest_utterances", "memos": "rowid <= :newest_memos",
    "wordings": "id <= :newest_wordings", "wording_uses": "utterance <= :newest_utterances",
    "forgotten_wordings": "utterance <= :newest_utterances",
    "origins": "entry <= :newest_entries", "deliveries": "utterance <= :newest_utterances",
}  # fmt: skip
#: Rows read at a time.
_PAGE = 2_000
#: SQLite's own findings told at most; damage to a page may have thousands.
_MOST = 20


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: with which row (None where SQLite cannot say), and in words."""

    kind: Kind
    text: str
    table: str | None = None
    row: str | None = None


@dataclass(frozen=True, slots=True)
class Verified:
    """What came of it: how many rows of each table there are, and the faults found.

    ``remark`` tells what could not be looked at.
    """

    rows: dict[str, int]
    faults: tuple[Fault, ...]
    remark: str | None = None

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong."""
        return not self.faults


def verify(path: Path, tell: Tell = untold) -> Verified:
    """Read the whole book and return what is wrong with it; nothing is changed.

    ``tell`` hears meanwhile how many rows have been read, and about how many there are.

    Raises:
        BookError: the file is no book, or cannot be read.
    """
    with plain_faults(path):
        try:
            return _verified(path, tell)
        except sqlite3.DatabaseError as fault:
            damaged = damage_in(path, fault)
            if damaged is None or not is_a_book(path):
                raise
            return Verified({}, (Fault("damaged", f"The file is damaged: {damaged.why}."),))


def _verified(path: Path, tell: Tell) -> Verified:
    with closing(open_to_read(path)) as connection:
        version = book_version(connection, path)
        if version < SCHEMA_VERSION:
            old = f"A book of version {version}: its rows get checksums when it is opened next."
            return Verified({}, tuple(_by_sqlite(connection)), old)
        faults = list(_by_sqlite(connection))
        if any(fault.kind == "damaged" for fault in faults):
            return Verified({}, tuple(faults))
        moment = _moment(connection)
        reading = _Reading(moment, tell)
        tables = {table: _Table(connection, table, reading) for table in COLUMNS}
        for table in tables.values():
            faults += table.faults
        faults += _missing(connection, moment, tables)
    return Verified({name: len(table.keys) for name, table in tables.items()}, tuple(faults))


def _by_sqlite(connection: sqlite3.Connection) -> Iterator[Fault]:
    try:
        for (told,) in connection.execute(f"PRAGMA integrity_check({_MOST})"):
            if told != "ok":
                yield Fault("damaged", f"The file is damaged: {' '.join(str(told).split())}.")
        for table, number, *_ in connection.execute("PRAGMA foreign_key_check"):
            text = f"Row {number} of {table} is about a row that is not there."
            yield Fault("missing", text, table, str(number))
    except sqlite3.DatabaseError as fault:
        yield Fault("damaged", f"The file is damaged: {fault}.")


def _moment(connection: sqlite3.Connection) -> dict[str, int]:
    """Return the last number of each table as it is now; what is written meanwhile is not read."""
    with one_moment(connection):
        lasts = dict(connection.execute("SELECT name, last FROM tallies").fetchall())
        newest = {
            table: connection.execute(f"SELECT coalesce(max(rowid), 0) FROM {table}").fetchone()[0]
            for table in ("utterances", "entries", "wordings", "memos")
        }
    return {**lasts, **{f"newest_{table}": number for table, number in newest.items()}}


def _rows(
    connection: sqlite3.Connection, table: str, moment: dict[str, int]
) -> Iterator[sqlite3.Row]:
    """Yield the rows of a table as of a moment; between two pages others may write."""
    place = -(2**63)
    while True:
        page = connection.execute(
            f"SELECT rowid AS place, * FROM {table} WHERE rowid > :place AND {_WITHIN[table]} "
            f"ORDER BY rowid LIMIT {_PAGE}",
            {**moment, "place": place},
        ).fetchall()
        yield from page
        if len(page) < _PAGE:
            return
        place = page[-1]["place"]


class _Keys:
    """Keys of rows: a byte for each number near those before it, for a long book has millions."""

    def __init__(self) -> None:
        self._near = bytearray()
        self._others: set[Any] = set()

    def add(self, key: Any) -> None:
        """Add a key; an unusual one costs more."""
        if not isinstance(key, int) or not 0 <= key < len(self._near) + _PAGE:
            self._others.add(key)
            return
        if key >= len(self._near):
            self._near.extend(bytes(key + 1 - len(self._near)))
        self._near[key] = 1

    def __contains__(self, key: Any) -> bool:
        if isinstance(key, int) and 0 <= key < len(self._near) and self._near[key]:
            return True
        return key in self._others

    def __iter__(self) -> Iterator[Any]:
        yield from (number for number, there in enumerate(self._near) if there)
        yield from self._others

    def __len__(self) -> int:
        return self._near.count(1) + len(self._others)


class _Reading:
    """The tables read as of a moment, and who is told how many of their rows have been."""

    def __init__(self, moment: dict[str, int], tell: Tell) -> None:
        self.moment, self._tell = moment, tell
        self._read = 0
        # Other tables have a row for some of these at most.
        self._whole = sum(moment[f"newest_{table}"] for table in ("utterances", "entries"))

    def row(self) -> None:
        """Count one more row."""
        self._read += 1
        if not self._read % _PAGE:
            self._tell(min(self._read, self._whole), self._whole)


class _Table:
    """One table read from end to end, as of a moment.

    ``listed`` has, by table, the keys of the rows that utterances say were written with them.
    """

    def __init__(self, connection: sqlite3.Connection, table: str, reading: _Reading) -> None:
        self.name, self._moment = table, reading.moment
        self.keys = _Keys()
        self.listed: dict[str, _Keys] = defaultdict(_Keys)
        wrong: list[sqlite3.Row] = []
        for row in _rows(connection, table, self._moment):
            reading.row()
            self.keys.add(row[KEYS[table]])
            if row["checksum"] != checksum(table, row):
                wrong.append(row)
            if table == "utterances":
                for name, keys in _listed(row["written"]).items():
                    for key in keys:
                        self.listed[name].add(key)
        first = self._first_of(connection, wrong)
        self.faults = [self._fault(row, first[self._mark(row)]) for row in wrong]

    def _first_of(self, connection: sqlite3.Connection, wrong: list[sqlite3.Row]) -> dict[str, Any]:
        """Return the key of the first row that is the same as each of those that are wrong."""
        wanted, found = {self._mark(row) for row in wrong}, dict[str, Any]()
        if wanted:
            for row in _rows(connection, self.name, self._moment):
                for mark in {row["checksum"], _content(self.name, row)} & wanted:
                    found.setdefault(mark, row[KEYS[self.name]])
        return found

    def _mark(self, row: sqlite3.Row) -> str:
        """Return what rows have in common of which one is the other a second time."""
        return row["checksum"] or _content(self.name, row)

    def _fault(self, row: sqlite3.Row, twin: Any) -> Fault:
        written, key = row["checksum"], row[KEYS[self.name]]
        called = row_called(self.name, key)
        if twin != key:
            text = f"{called} is {row_called(self.name, twin)} a second time"
            return self._of("doubled", key, text)
        if written == "":
            return self._of("foreign", key, f"{called} was not written by fieldvoice")
        return self._of("changed", key, f"{called} is not as it was written")

    def _of(self, kind: Kind, key: Any, text: str) -> Fault:
        return Fault(kind, f"{text[0].upper()}{text[1:]}.", self.name, row_id(self.name, key))


def _missing(
    connection: sqlite3.Connection, lasts: dict[str, int], tables: dict[str, _Table]
) -> Iterator[Fault]:
    """Yield what is gone: by the numbers, and by what each utterance says was written with it."""
    listed = tables["utterances"].listed
    gone: dict[str, set[Any]] = {}
    for name, read in tables.items():
        gone[name] = {key for key in listed[name] if key not in read.keys}
        if name in ("utterances", "entries", "wordings"):
            numbers = range(1, lasts.get(name, 0) + 1)
            gone[name] |= {number for number in numbers if number not in read.keys}
    by = _written_with(connection, lasts, gone) if any(gone.values()) else {}
    for name, keys in gone.items():
        for key in sorted(keys):
            said = f"; it was written with utterance u{by[name, key]}" if (name, key) in by else ""
            text = f"{row_called(name, key)} is missing{said}"
            yield tables[name]._of("missing", key, text)
    memos = lasts.get("memos", 0) - len(tables["memos"].keys)
    if memos > 0:
        yield Fault("missing", f"{memos} of the memos taken are missing.", "memos")
    for name in ("entries", "voids", "wordings"):
        told = {fault.row for fault in tables[name].faults}
        for key in tables[name].keys:
            if key not in listed[name] and row_id(name, key) not in told:
                text = f"{row_called(name, key)} was not written with any utterance"
                yield tables[name]._of("foreign", key, text)


def _written_with(
    connection: sqlite3.Connection, moment: dict[str, int], wanted: dict[str, set[Any]]
) -> dict[tuple[str, Any], int]:
    """Return with which utterances rows were written, by table and key."""
    return {
        (name, key): row["id"]
        for row in _rows(connection, "utterances", moment)
        for name, keys in _listed(row["written"]).items()
        for key in keys
        if key in wanted.get(name, ())
    }


def row_called(table: str, key: Any) -> str:
    """Return what a row is called where it is told of."""
    return _CALLED[table].format(key=str(key)[:12])


def row_id(table: str, key: Any) -> str:
    """Return the id of a row, as the program shows it."""
    letter = {"utterances": "u", "entries": "e", "voids": "e", "wordings": "w", "origins": "e"}
    return f"{letter.get(table, '')}{key}"


def _content(table: str, row: sqlite3.Row) -> str:
    """Return what a row says, whatever its number."""
    names = [name for name in COLUMNS[table] if name not in ("id", "written")]
    return json.dumps([row[name] for name in names])


def _listed(written: str | None) -> dict[str, list[int]]:
    """Return the keys of rows by their tables, as far as a row tells any."""
    try:
        told = json.loads(written) if written else {}
    except ValueError:
        return {}
    if not isinstance(told, dict):
        return {}
    return {
        name: [key for key in keys if isinstance(key, int)]
        for name, keys in told.items()
        if isinstance(keys, list)
    }
