"""All seasons of a book, to look back on: what each year's notes came to, and what was warned of.

A season that is over does not change, so the state at a year's end may be kept in a folder, under
a name that tells of every note that it is made of. What is kept so is derived and nothing else: it
may be thrown away, and no change in the book, the program or a vessel's size leaves it in use.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from datetime import date
from functools import cached_property
from itertools import chain
from typing import TYPE_CHECKING, Literal

from fieldvoice.book.fold import State, begun, by_number, names_in
from fieldvoice.book.ledger import amount
from fieldvoice.book.rounds import trees_in
from fieldvoice.book.rows import entry_from, name_of, number_of, readable, utterance_from
from fieldvoice.book.snapshots import (
    belonging,
    moment_of,
    program,
    stamped_ahead,
)
from fieldvoice.book.states import state_from, written_state
from fieldvoice.telling import telling, untold
from fieldvoice.whole_files import write_whole

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.book.rows import Entry, OnBadRow, Utterance
    from fieldvoice.book.season import Season
    from fieldvoice.schema import Act, Names, TreeId
    from fieldvoice.telling import Tell

#: States kept, of all books and of notes that have changed since; each is some 200 kB.
_MOST_KEPT = 60
_LIVE = "id NOT IN (SELECT entry FROM voids)"


class Years:
    """The seasons of a book by their years, as the book is now.

    A note from after ``now`` counts where it was written; one that cannot be read is told to
    ``on_bad``. ``kept`` is a folder for the states at the ends of years, None to keep nothing.
    ``tell`` hears how many years have been gone through.
    """

    def __init__(
        self,
        connection: sqlite3.Connection,
        capacities: Mapping[str, float],
        on_bad: OnBadRow,
        now: datetime | None = None,
        kept: Path | None = None,
        tell: Tell = untold,
    ) -> None:
        self._connection = connection
        self._capacities = dict(capacities)
        self._on_bad = on_bad
        self._now = now
        self._kept = kept
        self._tell = tell

    @cached_property
    def seasons(self) -> dict[int, Season]:
        """The season of each year that has a note, the oldest first.

        Each is what the notes of its year and of those before add up to.
        """
        return dict(self._seasons())

    def season(self, year: int) -> Season | None:
        """Return the season of one year; None where it has no note."""
        return next((season for one, season in self._seasons() if one == year), None)

    def _seasons(self) -> Iterator[tuple[int, Season]]:
        state = begun(self._capacities)
        state.names = self.names
        for year, digest in telling(self._digests().items(), self._tell):
            name = f"{year}-{digest}.state"
            state = self._read(name) or self._folded(state, year, name)
            yield year, state.season(self)

    @cached_property
    def names(self) -> Names:
        """The names given to trees and vessels."""
        rows = self._connection.execute(f"SELECT * FROM entries WHERE act = 'name' AND {_LIVE}")
        return names_in(readable(rows, entry_from, self._on_bad))

    def of_act(self, act: str, year: int | None = None) -> Sequence[tuple[datetime, Act]]:
        """Return the notes of one act, of one year or all, by the time they happened."""
        since, until = ("", "9999") if year is None else (f"{year}", f"{year + 1}")
        rows = self._connection.execute(
            f"SELECT * FROM entries WHERE act = ? AND at >= ? AND at < ? AND {_LIVE} ORDER BY id",
            [act, since, until],
        )
        entries = sorted(readable(rows, entry_from, self._on_bad), key=lambda entry: entry.at)
        return [(entry.at, by_number(entry.act, self.names)) for entry in entries]

    def of_tree(self, tree: TreeId, kind: str | None = None) -> Sequence[tuple[datetime, Act]]:
        """Return what tells of a tree for years: its measurings, its health and remarks."""
        notes = self._of_trees.get(tree, ())
        return [(at, act) for at, act in notes if kind in (None, act.act)]

    @cached_property
    def _of_trees(self) -> dict[TreeId, list[tuple[datetime, Act]]]:
        lasting = chain.from_iterable(map(self.of_act, ("measure", "health", "remark")))
        found: dict[TreeId, list[tuple[datetime, Act]]] = {}
        for at, act in sorted(lasting, key=lambda note: note[0]):
            for tree in trees_in(act):
                found.setdefault(tree, []).append((at, act))
        return found

    def amounts(
        self, act: Literal["gather", "draw"], field: str, year: int
    ) -> list[tuple[date, float]]:
        """Return the gallons in one field of a year's notes with their days, as sums take them."""
        rows = self._connection.execute(
            "SELECT at, json_extract(fields, ?) FROM entries "
            f"WHERE act = ? AND at >= ? AND at < ? AND {_LIVE}",
            [f"$.{field}", act, f"{year}", f"{year + 1}"],
        )
        return [(date.fromisoformat(at[:10]), amount(gallons) or 0.0) for at, gallons in rows]

    def year_before(self, year: int) -> int | None:
        """Return the last year before one in which sap was gathered or syrup drawn."""
        last = self._connection.execute(
            f"SELECT max(at) FROM entries WHERE act IN ('gather', 'draw') AND at < ? AND {_LIVE}",
            [f"{year}"],
        ).fetchone()[0]
        return None if last is None else int(last[:4])

    def warned(self, year: int) -> list[Utterance]:
        """Return what was said in a year and led the rules to say something, in that order."""
        rows = self._connection.execute(
            "SELECT * FROM utterances WHERE findings <> '[]' AND at >= ? AND at < ? ORDER BY id",
            [f"{year}", f"{year + 1}"],
        )
        return readable(rows, utterance_from, self._on_bad)

    def entries(self, year: int) -> list[Entry]:
        """Return all the notes of a year in the order of writing, those taken back too."""
        ahead = ",".join(str(number) for number, at in self._ahead.items() if at.year == year)
        rows = self._connection.execute(
            "SELECT entries.*, voids.utterance AS voided_by FROM entries "
            "LEFT JOIN voids ON voids.entry = entries.id "
            f"WHERE at >= ? AND at < ? OR entries.id IN ({ahead}) ORDER BY entries.id",
            [f"{year}", f"{year + 1}"],
        )
        entries = readable(rows, _with_void, self._on_bad)
        if not self._ahead:
            return entries
        placed = (
            replace(entry, at=self._ahead.get(number_of("e", entry.id), entry.at))
            for entry in entries
        )
        return [entry for entry in placed if entry.at.year == year]

    @cached_property
    def _ahead(self) -> dict[int, datetime]:
        """The live notes that a clock stamped ahead, by number, with the times where they count."""
        if self._now is None:
            return {}
        rows = self._connection.execute(
            f"SELECT id, at FROM entries WHERE at >= ? AND {_LIVE} ORDER BY id",
            [self._now.date().isoformat()],
        )
        ahead = [
            number
            for number, at in rows
            if (moment := moment_of(at)) and stamped_ahead(moment, self._now)
        ]
        return belonging(self._connection, ahead, self._now)

    def _folded(self, state: State, year: int, name: str) -> State:
        """Return the state with one more year in it, kept under ``name``."""
        state.take_all(entry for entry in self.entries(year) if entry.voided_by is None)
        if self._kept is not None:
            try:
                write_whole(self._kept / name, written_state(state))
                _thin_out(self._kept)
            except OSError:
                pass  # it is only slower the next time
        return state

    def _read(self, name: str) -> State | None:
        """Return a state kept; None where there is none that can be read."""
        if self._kept is None:
            return None
        try:
            state = state_from((self._kept / name).read_bytes())
        except (OSError, ValueError):
            return None
        state.names = self.names
        return state

    def _digests(self) -> dict[int, str]:
        """Return, for each year with a note, a digest of all that its state is made of."""
        names = {**self.names.trees, **self.names.vessels}
        ahead = {number: at.isoformat() for number, at in self._ahead.items()}
        known = json.dumps([program(), self._capacities, names, ahead], sort_keys=True)
        digest = hashlib.sha256(known.encode())
        rows = self._connection.execute(
            "SELECT id, substr(at, 1, 4), iif(checksum = '', at || fields, checksum) FROM entries "
            f"WHERE at GLOB '[0-9][0-9][0-9][0-9]-*' AND {_LIVE} ORDER BY id"
        )
        notes: dict[int, list[str]] = {}
        for number, year, content in rows:
            of_year = self._ahead[number].year if number in self._ahead else int(year)
            notes.setdefault(of_year, []).append(f"{number} {content}\n")
        found: dict[int, str] = {}
        for one in sorted(notes):
            digest.update("".join(notes[one]).encode())
            found[one] = digest.hexdigest()[:32]
        return found


def _thin_out(folder: Path) -> None:
    """Drop the states that were written longest ago, when there are many."""
    kept = sorted(folder.iterdir(), key=lambda path: path.stat().st_mtime)
    for path in kept[:-_MOST_KEPT]:
        path.unlink(missing_ok=True)


def _with_void(row: sqlite3.Row) -> Entry:
    entry = entry_from(row)
    if row["voided_by"] is None:
        return entry
    return replace(entry, voided_by=name_of("u", row["voided_by"]))
