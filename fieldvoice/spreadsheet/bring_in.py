"""Brings the rows of somebody's own spreadsheet into the book: checked, told of, nothing twice.

A note of a row is known by what it says, not by its file or row: the same row of a file that was
renamed, sorted or added to is the same note, and the second of two equal rows is a second note.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from fieldvoice.book.conflicts import ROW
from fieldvoice.book.exchange import standing, write_note
from fieldvoice.spreadsheet.checked import checked
from fieldvoice.spreadsheet.rows import DoubtError, RowReader
from fieldvoice.telling import untold

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from datetime import datetime

    from fieldvoice.book.conflicts import Standing
    from fieldvoice.book.exchange import Note
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.schema import Act
    from fieldvoice.spreadsheet.guess import Guess
    from fieldvoice.telling import Tell

#: After so many rows it is told how far it is.
_TOLD_EVERY = 50
#: Notes written at one go, so that somebody who speaks meanwhile is not kept waiting.
_AT_ONE_GO = 2000


@dataclass(slots=True)
class Told:
    """What came of it: notes new and there before, rows that gave them, in doubt, sums left out."""

    new: int = 0
    there: int = 0
    rows: int = 0
    doubtful: int = 0
    totals: int = 0
    conflicts: int = 0


@dataclass(frozen=True, slots=True)
class NoteOfRow:
    """A note with its id, the row that it is from and when it was."""

    name: str
    act: Act
    at: datetime
    heard: str


def bring_in(
    guesses: Sequence[Guess],
    moment: TurnContext,
    tell: Callable[[str], None],
    *,
    dry_run: bool = False,
    progress: Tell = untold,
) -> Told:
    """Bring in the rows of tables; each row that is in doubt, or in conflict, is told of.

    ``progress`` hears how many of all rows have been gone through.

    Raises:
        BookError: the book cannot be written; what came in by then stays, and comes in no second
            time.
        SheetError: a file cannot be read to its end.
    """
    told = Told()
    known = standing(moment.book, of_rows=True)
    with closing(_Seen()) as seen:
        batch: list[NoteOfRow] = []
        whole, before = sum(one.last - one.first for one in guesses), 0
        for guess in guesses:
            so_far = partial(_further, progress, before, whole)
            before += guess.last - guess.first
            for note in _notes(guess, moment, known, seen, told, tell, so_far):
                batch.append(note)
                if len(batch) == _AT_ONE_GO:
                    _write(batch, moment, seen, told, dry_run=dry_run)
                    batch.clear()
        _write(batch, moment, seen, told, dry_run=dry_run)
        progress(whole, whole)
    return told


def _further(progress: Tell, before: int, whole: int, rows: int) -> None:
    if rows > 0 and not rows % _TOLD_EVERY:
        progress(before + rows, whole)


def _notes(
    guess: Guess,
    moment: TurnContext,
    known: Standing,
    seen: _Seen,
    told: Told,
    tell: Callable[[str], None],
    so_far: Callable[[int], None],
) -> Iterator[NoteOfRow]:
    reader = RowReader(guess, moment.now.date())
    where = f"{guess.sheet.file}{guess.first}{guess.part.columns}"
    for number, cells in guess.sheet.rows():
        if number > guess.last:
            return
        left_out = None if number <= guess.first else reader.is_left_out(cells)
        told.totals += left_out == "total"
        so_far(number - guess.first)
        if number <= guess.first or left_out:
            continue
        heard = f"{guess.sheet.place}, row {number}: " + ", ".join(filter(None, cells))
        try:
            told_day = guess.dated is None
            read = [(one, checked(one, moment, day_told=told_day)) for one in reader.notes(cells)]
        except DoubtError as doubt:
            told.doubtful += 1
            tell(f"{guess.sheet.place}, row {number}: {doubt}.")
            continue
        told.rows += 1
        for dated, act in read:
            note = _identified(act, dated.at, guess, where, seen, heard)
            against = known.against(note.name, note.at, note.act)
            if against is not None and not moment.book.rows(_IS_THERE, [note.name]):
                told.conflicts += 1
                tell(f"{guess.sheet.place}, row {number}: {against}.")
            else:
                yield note


def _identified(
    act: Act, when: datetime, guess: Guess, where: str, seen: _Seen, heard: str
) -> NoteOfRow:
    """Return a note with its id, which no zone of time and no guessed day changes."""
    day = None if guess.dated is not None else when.replace(tzinfo=None).isoformat()
    content = json.dumps([act.json_fields(), day], sort_keys=True)
    digest = hashlib.sha256(content.encode()).hexdigest()[:16]
    count = seen.times(where, digest)
    return NoteOfRow(f"{ROW}-{digest}" + (f"-{count}" if count > 1 else ""), act, when, heard)


_IS_THERE = "SELECT 1 FROM origins WHERE note = ?"


def _write(
    batch: Iterable[NoteOfRow], moment: TurnContext, seen: _Seen, told: Told, *, dry_run: bool
) -> None:
    book = moment.book
    if dry_run:
        for note in batch:
            there = book.rows(_IS_THERE, [note.name]) or seen.times("", note.name) > 1
            told.there += bool(there)
            told.new += not there
        return
    if book.before_notes is not None and book.newest_entries(1):
        book.before_notes()
    with book.writing():
        for note in batch:
            if book.rows(_IS_THERE, [note.name]):
                told.there += 1
                continue
            written: Note = {"id": note.name, "at": note.at.isoformat(), "source": "import",
                             "heard": note.heard}  # fmt: skip
            write_note(book, written, note.act)
            told.new += 1


class _Seen:
    """How often each row was met, kept on the disk: there may be a million."""

    def __init__(self) -> None:
        # A database without a name is a file of its own that goes away with the connection.
        self._db = sqlite3.connect("", isolation_level=None)
        self._db.execute(
            "CREATE TABLE seen (place TEXT, note TEXT, times INTEGER, PRIMARY KEY (place, note)) "
            "WITHOUT ROWID"
        )
        self._db.execute("BEGIN")

    def times(self, place: str, note: str) -> int:
        """Count a note once more at a place, and return how often it was met there by now."""
        found = self._db.execute(
            "INSERT INTO seen VALUES (?, ?, 1) ON CONFLICT DO UPDATE SET times = times + 1 "
            "RETURNING times",
            [place, note],
        ).fetchone()
        return int(found[0])

    def close(self) -> None:
        """Forget all of it."""
        self._db.close()
