"""The season book: a journal of what was heard and the notes that came of it, only added to."""

from __future__ import annotations

import json
import sqlite3
from array import array
from contextlib import closing, contextmanager, suppress
from copy import copy
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from fieldvoice.book.checksums import KEYS, checksum
from fieldvoice.book.connection import (
    UNWRITABLE,
    DamagedBookError,
    copy_into_memory,
    damage_in,
    is_read_only,
    open_again,
    open_file,
)
from fieldvoice.book.faults import DiskFaultError, plain_faults
from fieldvoice.book.rows import (
    BadRowError,
    Entry,
    Taken,
    Utterance,
    entry_from,
    entry_row,
    name_of,
    number_of,
    readable,
    utterance_from,
    utterance_row,
    written_time,
)
from fieldvoice.book.snapshots import (
    FROM_A_DAY,
    KINDS,
    NAMING_A_TREE,
    NAMING_A_VESSEL,
    OF_PLACES,
    Held,
    one_moment,
    season_of,
)
from fieldvoice.book.wordings import ALL_WORDINGS, wording_from, wording_row
from fieldvoice.book.years import Years
from fieldvoice.calendar_ends import with_room
from fieldvoice.errors import BookError
from fieldvoice.loudness_shape import SHAPES_MAY_SHIFT, alike
from fieldvoice.telling import untold

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from fieldvoice.book.rows import Source, Value
    from fieldvoice.book.season import Season
    from fieldvoice.book.wordings import LearntWording, Taught
    from fieldvoice.reply import Outcome
    from fieldvoice.schema import Act, Meaning, TreeId
    from fieldvoice.telling import Tell
    from fieldvoice.transcript import Transcript

_KEPT = """
SELECT * FROM utterances AS u
WHERE outcome IN ('kept', 'asked')
  AND NOT EXISTS (SELECT 1 FROM utterances AS later WHERE later.resolves = u.id)
ORDER BY id
"""

#: What belongs to a conversation: what is in hand, what was asked, what undo means. Imported notes
#: were never said in it, whatever it is called.
_IN_CONVERSATION = "coalesce(conversation, 'default') = :conversation AND recogniser <> 'import'"

# The question still open is the newest one asked, as long as the newest utterance carries it.
_OPEN_QUESTION = f"""
SELECT id FROM utterances
WHERE outcome = 'asked' AND {_IN_CONVERSATION}
  AND (SELECT pending FROM utterances WHERE {_IN_CONVERSATION} ORDER BY id DESC LIMIT 1)
    IS NOT NULL
ORDER BY id DESC LIMIT 1
"""

_NEWEST_SAID = """
SELECT e.* FROM utterances AS u CROSS JOIN entries AS e ON e.utterance = u.id
WHERE coalesce(u.conversation, 'default') = :conversation AND u.recogniser <> 'import'
  AND e.id NOT IN (SELECT entry FROM voids)
ORDER BY u.id DESC, e.id DESC LIMIT :count
"""

#: How far back is looked for the notes that happened last, before all are gone through.
_LOOKED_BACK = (timedelta(days=2), timedelta(days=30), timedelta(days=400))

#: The conversation of all who name none.
DEFAULT = "default"


@dataclass(slots=True)
class _ReadNotes:
    """Rows never change, so an entry once read stays as it is; ``to`` is the last one read."""

    notes: list[Entry] = field(default_factory=list)
    to: int = 0


class Book:
    """A season book in one SQLite file. Every method raises ``BookError`` in plain words.

    A context manager that closes itself. Ids are "u12" for utterances and "e12" for notes
    (entries), numbered in the order of writing.
    """

    def __init__(
        self, connection: sqlite3.Connection, name: str, damage: str | None = None
    ) -> None:
        self._connection = connection
        self._name = name
        #: Why the file is read and not written, and what to do: it is damaged, or may not be.
        self.damage = damage
        #: Called before notes are written beside those that are there.
        self.before_notes: Callable[[], None] | None = None
        #: Called with one line for each row that cannot be gone by, once for each.
        self.on_bad_row: Callable[[str], None] | None = None
        self._bad: set[str] = set()
        self._read = _ReadNotes()
        self._held = Held()
        #: The table, key and checksum of the row inserted last.
        self._inserted: tuple[str, Any, str] | None = None
        self._conversation: str | None = None

    def in_conversation(self, name: str | None) -> Self:
        """Return this book as one conversation sees it (None: that of all who name none).

        What was said last, and the newest notes, are then those of this conversation; everything
        else is the book's.
        """
        other = copy(self)
        other._conversation = DEFAULT if name is None else name
        return other

    @classmethod
    def open(cls, path: Path) -> Self:
        """Open the book at ``path``, making it (and its folder) or bringing it up to date.

        One that is damaged, or may not be written to, can only be read: ``damage`` says so.

        Raises:
            BookError: it is no book, a newer one, or cannot be used.
        """
        if is_read_only(path):
            return cls(copy_into_memory(path), str(path), UNWRITABLE.format(book=path))
        try:
            return cls(open_file(path), str(path))
        except DamagedBookError as damaged:
            book = cls(copy_into_memory(None), str(path))
            book._take_what_is_readable(damaged)
            return book

    @classmethod
    def in_memory_copy(cls, path: Path | None = None) -> Self:
        """Return a copy for a dry run: it starts as the book at ``path`` and writes to no file.

        Raises:
            BookError: as for ``open``.
        """
        return cls(copy_into_memory(path), "in memory" if path is None else str(path))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file. Everything taken is on the disk already."""
        self._connection.close()

    def _take_what_is_readable(self, damaged: DamagedBookError) -> None:
        """Go on with a copy in memory of what a damaged file still holds.

        Raises:
            BookError: that is nothing.
        """
        # Here, for a sound book needs none of this.
        from fieldvoice.book.salvage import read_broken

        try:
            readable = read_broken(Path(self._name))
        except BookError:
            if damaged.beginning:
                raise
            raise damaged from None
        self._connection, self._read, self._held = copy_into_memory(None), _ReadNotes(), Held()
        with self.writing():
            readable.write_into(self)
        self.damage = str(damaged)

    def _reading(self, read: Callable[[sqlite3.Connection], Value]) -> Value:
        """Return what is read; a file that turns out to be damaged is read as far as it can be."""
        with plain_faults(self._name):
            try:
                return read(self._connection)
            except sqlite3.DatabaseError as fault:
                damaged = None if self._connection.in_transaction else damage_in(self._name, fault)
                if damaged is None:
                    raise
                self._take_what_is_readable(damaged)
                if self.on_bad_row is not None:
                    self.on_bad_row(str(damaged))
                return read(self._connection)

    def refuse_if_damaged(self) -> None:
        """See that the book may be written.

        Raises:
            BookError: it is damaged.
        """
        if self.damage is not None:
            raise BookError(f"{self.damage}. Nothing was saved.")

    def take(
        self,
        *,
        at: datetime,
        source: Source,
        heard: Transcript,
        outcome: Outcome,
        meanings: Sequence[Meaning | Mapping[str, Any]],
        reply: str,
        notes: Sequence[Act] = (),
        voids: Sequence[str] = (),
        pending: Mapping[str, Any] | None = None,
        focus: Mapping[str, Any] | None = None,
        resolves: str | None = None,
        findings: Sequence[Mapping[str, Any]] = (),
        by: str | None = None,
        conversation: str | None = None,
        taught: Taught | None = None,
        wording: str | None = None,
        forgets: Sequence[str] = (),
        delivery: str | None = None,
    ) -> Taken:
        """Write one utterance with its notes, and void older entries: all of it or nothing.

        ``at`` is when it was said, with its offset. ``voids`` are ids of entries taken back (they
        stay visible in the history), ``resolves`` the id of the kept or asked utterance settled,
        ``findings`` what the rules had to say; ``by`` and ``conversation`` are who said it and in
        which talk, where known. ``taught`` is a wording learnt by it, ``wording`` the id of the one
        that it was read by, and ``forgets`` are those that it has forgotten. ``delivery`` is what
        its sender calls it, for ``delivered``. On return all of it is on the disk.

        In a book that can only be read nothing is written: what would be lost by that is refused,
        and a mere question has no id.

        Raises:
            BookError: the book is damaged or cannot be written; an id is not in it; an entry was
                taken back before; this part of a memo, or this delivery, was taken before. Nothing
                has then been written.
            ValueError: ``at`` has no offset.
        """
        if self.damage is not None and outcome in ("answered", "done") and not (notes or voids):
            return Taken("", ())
        self.refuse_if_damaged()
        if notes and self.before_notes is not None and self.newest_entries(1):
            self.before_notes()
        row = utterance_row(
            at=at,
            source=source,
            heard=heard,
            outcome=outcome,
            meanings=meanings,
            reply=reply,
            pending=pending,
            focus=focus or {},
            resolves=resolves,
            findings=findings,
            by=by,
            conversation=conversation,
        )
        entries = [entry_row(act, at) for act in notes]
        voided = [(name, number_of("e", name)) for name in dict.fromkeys(voids)]
        with self.writing():
            if resolves is not None:
                self._require("utterances", row["resolves"], f"utterance {resolves!r}")
            for name, number in voided:
                self._require_not_void(name, number)
            utterance = self.next_number("utterances")
            first = self.next_number("entries")
            rows: list[tuple[str, dict[str, Any]]] = [
                ("voids", {"entry": number, "utterance": utterance}) for _, number in voided
            ]
            rows += [
                ("entries", {"id": number, "utterance": utterance, **entry})
                for number, entry in enumerate(entries, start=first)
            ]
            rows += self._wording_rows(utterance, taught, wording, forgets)
            if delivery is not None:
                rows.append(("deliveries", {"utterance": utterance, "name": delivery}))
            written = _keys_by_table(rows)
            row = {"id": utterance, **row, "written": json.dumps(written) if written else None}
            for table, values in [("utterances", row), *rows]:
                self.insert(table, values)
        numbers = written.get("entries", [])
        return Taken(name_of("u", utterance), tuple(name_of("e", number) for number in numbers))

    def _wording_rows(
        self, utterance: int, taught: Taught | None, wording: str | None, forgets: Sequence[str]
    ) -> list[tuple[str, dict[str, Any]]]:
        rows: list[tuple[str, dict[str, Any]]] = []
        if taught is not None:
            learnt = {"id": self.next_number("wordings"), **wording_row(taught, utterance)}
            rows.append(("wordings", learnt))
        if wording is not None:
            used = {"utterance": utterance, "wording": self._require_wording(wording)}
            rows.append(("wording_uses", used))
        for name in dict.fromkeys(forgets):
            number = self._require_wording(name)
            if self.rows("SELECT 1 FROM forgotten_wordings WHERE wording = ?", [number]):
                raise BookError(f"Wording {name!r} was forgotten before; nothing was written.")
            rows.append(("forgotten_wordings", {"wording": number, "utterance": utterance}))
        return rows

    def _require_wording(self, name: str) -> int:
        number = number_of("w", name)
        self._require("wordings", number, f"wording {name!r}")
        return number

    def wordings(self) -> list[LearntWording]:
        """Return every wording that was learnt, in that order, with those that count no more."""
        return [wording_from(row) for row in self.rows(ALL_WORDINGS)]

    def wording(self, wording_id: str) -> LearntWording:
        """Return one wording.

        Raises:
            BookError: the book has no such wording.
        """
        number_of("w", wording_id)
        found = next((one for one in self.wordings() if one.id == wording_id), None)
        if found is None:
            raise BookError(f"There is no wording {wording_id!r} in the book.")
        return found

    def read_by_wordings(self) -> dict[str, str]:
        """Return the ids of the utterances that were read by a wording, each with that of it."""
        rows = self.rows("SELECT utterance, wording FROM wording_uses")
        return {name_of("u", row["utterance"]): name_of("w", row["wording"]) for row in rows}

    def delivered(self, name: str) -> dict[str, Utterance]:
        """Return what came of a delivery, by its own name or by those of its parts (``NAME.PART``).

        It is empty where nothing of that name came in yet.
        """
        rows = self.rows(
            "SELECT deliveries.name, utterances.* FROM deliveries "
            "JOIN utterances ON utterances.id = deliveries.utterance "
            "WHERE name = :name OR (name > :name || '.' AND name < :name || '/') "
            "ORDER BY utterances.id",
            {"name": name},
        )
        names = {name_of("u", row["id"]): row["name"] for row in rows}
        found = readable(rows, utterance_from, self.tell_of)
        return {names[one.id]: one for one in found}

    def last_utterance(self) -> Utterance | None:
        """Return the newest utterance, None in an empty book."""
        return next(iter(self.utterances(1)), None)

    def utterance(self, utterance_id: str) -> Utterance:
        """Return one utterance.

        Raises:
            BookError: the book has no such utterance.
        """
        number = number_of("u", utterance_id)
        found = self.rows("SELECT * FROM utterances WHERE id = ?", [number])
        if not found:
            raise BookError(f"There is no utterance {utterance_id!r} in the book.")
        with plain_faults(self._name):
            return utterance_from(found[0])

    def utterances(self, newest: int | None = None) -> list[Utterance]:
        """Return the ``newest`` utterances (all, if None), the oldest of them first."""
        values = {"limit": -1 if newest is None else newest, "conversation": self._conversation}
        where = "1" if self._conversation is None else _IN_CONVERSATION
        rows = self.rows(
            f"SELECT * FROM utterances WHERE {where} ORDER BY id DESC LIMIT :limit", values
        )
        return readable(reversed(rows), utterance_from, self.tell_of)

    def heard_with(self, field: str) -> list[Utterance]:
        """Return what was heard (not typed) and has a field of this name in what it means."""
        rows = self.rows(
            "SELECT * FROM utterances WHERE audio_file IS NOT NULL AND instr(meanings, ?) > 0 "
            "ORDER BY id",
            [f'"{field}"'],
        )
        return readable(rows, utterance_from, self.tell_of)

    def entries(self, include_void: bool = False) -> list[Entry]:
        """Return the notes in the order of writing, by default without those taken back."""

        def read(connection: sqlite3.Connection) -> tuple[list[sqlite3.Row], list[sqlite3.Row]]:
            with one_moment(connection):
                unread = "SELECT * FROM entries WHERE id > ? ORDER BY id"
                fresh = connection.execute(unread, [self._read.to]).fetchall()
                return fresh, connection.execute("SELECT entry, utterance FROM voids").fetchall()

        fresh, voids = self._reading(read)
        self._read.notes += self._entries(fresh)
        self._read.to = fresh[-1]["id"] if fresh else self._read.to
        voided_by = {name_of("e", v["entry"]): name_of("u", v["utterance"]) for v in voids}
        if not include_void:
            return [entry for entry in self._read.notes if entry.id not in voided_by]
        return [_with_void(entry, voided_by.get(entry.id)) for entry in self._read.notes]

    def times_of_notes(self, count: int) -> list[datetime]:
        """Return when the last ``count`` notes of living people were said, by the clock then."""
        rows = self.rows(
            "SELECT at FROM utterances WHERE outcome = 'saved' AND source <> 'memo' "
            "AND recogniser <> 'import' ORDER BY id DESC LIMIT ?",
            [count],
        )
        return [with_room(datetime.fromisoformat(row["at"])) for row in rows]

    def newest_entries(self, count: int) -> list[Entry]:
        """Return the last ``count`` notes not taken back, the oldest of them first."""
        every = (
            "SELECT * FROM entries WHERE id NOT IN (SELECT entry FROM voids) "
            "ORDER BY id DESC LIMIT :count"
        )
        said = every if self._conversation is None else _NEWEST_SAID
        rows = self.rows(said, {"count": count, "conversation": self._conversation})
        return self._entries(reversed(rows))

    def entries_since(self, day: date, include_void: bool = False) -> list[Entry]:
        """Return the notes of what happened on ``day`` or later, as ``entries`` does.

        The day is that of the place where they were made.
        """
        return self._some_entries(FROM_A_DAY, [day.isoformat()], include_void)

    def newest_to_happen(self, count: int, include_void: bool = False) -> list[Entry]:
        """Return notes as ``entries`` does, among them the ``count`` that happened last."""
        last = self.rows(f"{KINDS} SELECT (SELECT max(at) FROM entries WHERE act = kinds.act) "
                         "AS at FROM kinds WHERE act IS NOT NULL")  # fmt: skip
        with suppress(ValueError):  # no notes, or a bad row: all are gone through
            newest = date.fromisoformat(max(row["at"] for row in last)[:10])
            for back in _LOOKED_BACK:
                found = self.entries_since(newest - back, include_void=True)
                if sum(one.voided_by is None for one in found) >= count:
                    return [one for one in found if include_void or one.voided_by is None]
        return self.entries(include_void)

    def entries_of(self, act: str) -> list[Entry]:
        """Return the notes of one kind, without those taken back."""
        return self._some_entries("act = ?", [act], include_void=False)

    def entries_naming(
        self,
        *,
        tree: TreeId | None = None,
        vessel: str | None = None,
        since: datetime | None = None,
        include_void: bool = False,
    ) -> list[Entry]:
        """Return the notes that may name a tree, or else a vessel, as ``entries`` does.

        Notes that use a name given to it are among them, and some that name another. With
        ``since`` those of days long before need not be among them.
        """
        where, thing = (NAMING_A_TREE, tree) if tree is not None else (NAMING_A_VESSEL, vessel)
        day = "" if since is None else (since.date() - OF_PLACES).isoformat()
        return self._some_entries(f"({where}) AND entries.at >= ?", [thing, day], include_void)

    def entries_taken_back_by(self, utterance_id: str) -> list[Entry]:
        """Return the notes that one utterance took back or put right, as ``entries`` does."""
        number = number_of("u", utterance_id)
        return self._some_entries("voids.utterance = ?", [number], include_void=True)

    def _some_entries(self, where: str, values: Sequence[Any], include_void: bool) -> list[Entry]:
        rows = self.rows(
            "SELECT entries.*, voids.utterance AS voided_by FROM entries "
            f"LEFT JOIN voids ON voids.entry = entries.id WHERE {where} ORDER BY entries.id",
            values,
        )
        voided_by = {name_of("e", row["id"]): row["voided_by"] for row in rows}
        found = []
        for entry in self._entries(rows):
            by = voided_by[entry.id]
            if by is None or include_void:
                found.append(_with_void(entry, None if by is None else name_of("u", by)))
        return found

    def _entries(self, rows: Iterable[sqlite3.Row]) -> list[Entry]:
        return readable(rows, entry_from, self.tell_of)

    def reads(self, row: sqlite3.Row) -> bool:
        """Whether the row of a note can be gone by; if not, it is told of."""
        return bool(self._entries([row]))

    def tell_of(self, bad: BadRowError) -> None:
        """Say once that a row cannot be gone by."""
        if bad.row not in self._bad and self.on_bad_row is not None:
            self.on_bad_row(str(bad))
        self._bad.add(bad.row)

    def kept(self) -> list[Utterance]:
        """Return what waits for review, oldest first.

        That is what was not understood, and what was asked back and never answered, as far as no
        later utterance settled it. A question that is still open does not count.
        """
        waiting = readable(self.rows(_KEPT), utterance_from, self.tell_of)
        talks = {one.conversation or DEFAULT for one in waiting if one.outcome == "asked"}
        still_open = {
            name_of("u", row["id"])
            for talk in talks
            for row in self.rows(_OPEN_QUESTION, {"conversation": talk})
        }
        return [one for one in waiting if one.id not in still_open]

    def memo_taken(self, sha256: str, sound: str | None = None) -> bool:
        """Whether a recording with this content, or just this sound, has been taken to its end."""
        where = "SELECT 1 FROM memos WHERE sha256 = ? OR sound = ?"
        return bool(self.rows(where, [sha256, sound]))

    def memo_like(self, shape: str) -> str | None:
        """Return the name of a recording taken that has nearly the same sound; None without one.

        ``shape`` tells how loud it is from moment to moment (``loudness_shape``).
        """
        rows = self.rows(
            "SELECT name, shape FROM memos WHERE length(shape) BETWEEN ? AND ?",
            [len(shape) - SHAPES_MAY_SHIFT, len(shape) + SHAPES_MAY_SHIFT],
        )
        return next((Path(row["name"]).name for row in rows if alike(shape, row["shape"])), None)

    def memo_place(self, sha256: str) -> str | None:
        """Return where a recording lay when it was taken to its end; None if it was not."""
        rows = self.rows("SELECT name FROM memos WHERE sha256 = ?", [sha256])
        return str(rows[0]["name"]) if rows else None

    def heard_spans(self, sha256: str) -> set[int]:
        """Return where utterances already taken from a memo start, in milliseconds."""
        rows = self.rows(
            "SELECT audio_start_ms FROM utterances WHERE source = 'memo' AND audio_sha256 = ?",
            [sha256],
        )
        return {row["audio_start_ms"] for row in rows}

    def sounds(self) -> set[str]:
        """Return the hashes of all recordings from which an utterance was taken."""
        rows = self.rows(
            "SELECT DISTINCT audio_sha256 FROM utterances WHERE audio_sha256 IS NOT NULL"
        )
        return {row["audio_sha256"] for row in rows}

    def finish_memo(
        self,
        sha256: str,
        name: str,
        at: datetime,
        *,
        sound: str | None = None,
        shape: str | None = None,
    ) -> None:
        """Note that the recording has been taken to its end; saying so twice changes nothing.

        ``name`` is where it lies, for ``memo_place``; ``sound`` is the hash of its samples and
        ``shape`` how loud it is, by which it is known in another file.
        """
        row = {
            "sha256": sha256, "name": name, "at": written_time(at), "sound": sound, "shape": shape,
        }  # fmt: skip
        with self.writing():
            if not self.memo_taken(sha256):
                self.insert("memos", row)

    @property
    def identity(self) -> str:
        """What this book is called where notes of several books meet."""
        return str(self.rows("SELECT book FROM identity")[0]["book"])

    def identify(self, identity: str) -> None:
        """Take over what another book is called: this one stands in its place."""
        self._connection.execute("UPDATE identity SET book = ?", [identity])

    def season(
        self,
        capacities: Mapping[str, float] | None = None,
        now: datetime | None = None,
        *,
        without: Iterable[str] = (),
        tell: Tell = untold,
    ) -> Season:
        """Return the season as the live entries tell it.

        ``capacities`` gives what vessels hold when full, in US gallons, where it is known. A note
        from after ``now`` was stamped by a clock that was ahead: it counts where it was written.
        ``without`` are ids of entries left out, as if they had been taken back. ``tell`` hears how
        many of the notes that are new have been gone through.
        """
        left_out = frozenset(number_of("e", one) for one in without)
        return self._reading(
            lambda connection: season_of(
                connection, capacities or {}, self.tell_of, now, self._held, left_out, tell
            )
        )

    @contextmanager
    def years(
        self,
        capacities: Mapping[str, float] | None = None,
        kept: Path | None = None,
        now: datetime | None = None,
        tell: Tell = untold,
    ) -> Iterator[Years]:
        """Let all the seasons be looked back on, as they stand at one moment.

        ``kept`` is a folder where what earlier years add up to may be kept for the next time;
        ``now`` is as for ``season``, and ``tell`` hears how many years have been gone through.
        """
        with plain_faults(self._name), one_moment(self._connection):
            yield Years(self._connection, capacities or {}, self.tell_of, now, kept, tell)

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Hold the write lock for the block; keep all that was written, or on an error none.

        Where the disk reports a fault, what was written may be there all the same: it is looked up.
        """
        self._inserted = None
        try:
            with plain_faults(self._name), self._all_or_nothing():
                yield
        except DiskFaultError as fault:
            raise DiskFaultError(self._name, self._is_there()) from fault

    @contextmanager
    def _all_or_nothing(self) -> Iterator[None]:
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._connection.execute("COMMIT")
        finally:
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK")

    def _is_there(self) -> bool | None:
        """Whether the row inserted last is in the file; None where that cannot be read."""
        if self._inserted is None:
            return False
        table, key, written = self._inserted
        with suppress(sqlite3.Error), closing(open_again(Path(self._name))) as connection:
            found = connection.execute(
                f"SELECT checksum FROM {table} WHERE {KEYS[table]} = ?", [key]
            ).fetchone()
            return found is not None and found[0] == written
        return None

    def rows(self, sql: str, values: Sequence[Any] | Mapping[str, Any] = ()) -> list[sqlite3.Row]:
        """Return the rows of a question to the database."""
        return self._reading(lambda connection: connection.execute(sql, values).fetchall())

    def numbers(self, sql: str, values: Sequence[Any] = ()) -> array[int]:
        """Return the first column of a question to the database, eight bytes for each row."""
        return self._reading(
            lambda connection: array("q", (row[0] for row in connection.execute(sql, values)))
        )

    def next_number(self, table: str) -> int:
        """Return the number of the next row; the caller holds the write lock."""
        found = self.rows(f"SELECT coalesce(max(id), 0) + 1 AS number FROM {table}")
        return int(found[0]["number"])

    def insert(self, table: str, row: Mapping[str, Any]) -> None:
        """Write one row with its checksum; the caller holds the write lock."""
        row = {**row, "checksum": checksum(table, row)}
        self._inserted = table, row[KEYS[table]], row["checksum"]
        names, marks = ", ".join(row), ", ".join(f":{name}" for name in row)
        self._connection.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", row)

    def _require_not_void(self, name: str, number: int) -> None:
        self._require("entries", number, f"note {name!r}")
        if self.rows("SELECT 1 FROM voids WHERE entry = ?", [number]):
            raise BookError(f"Note {name!r} was taken back before; nothing was written.")

    def _require(self, table: str, number: int, what: str) -> None:
        if not self.rows(f"SELECT 1 FROM {table} WHERE id = ?", [number]):
            raise BookError(f"There is no {what} in the book; nothing was written.")


def _with_void(entry: Entry, voided_by: str | None) -> Entry:
    if voided_by is None:
        return entry
    return Entry(entry.id, entry.utterance_id, entry.at, entry.act, voided_by)


def _keys_by_table(rows: Sequence[tuple[str, Mapping[str, Any]]]) -> dict[str, list[int]]:
    """Return the keys of rows that are written with an utterance, by their table."""
    written: dict[str, list[int]] = {}
    for table, row in rows:
        written.setdefault(table, []).append(row[KEYS[table]])
    return written
