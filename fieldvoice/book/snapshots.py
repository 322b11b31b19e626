"""The fold's state kept in the book, so that a long history need not be gone through each time.

A snapshot holds what the notes up to one moment add up to: all those that happened before, whenever
they were written. It is derived and nothing else: it may be thrown away at any time. A later word
that reaches back (a note taken back, a note of an earlier time, a name given) leaves in use those
of moments before the one it reaches; the notes from there on are gone through once, and new
snapshots left on the way, ever fewer the older. Where the state comes out as it is in a snapshot of
before, the notes behind it come to what they came to then, as far as the next change: the way goes
on from there, so that a note of years ago costs little more than its own season.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from array import array
from collections import deque
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import cache
from heapq import merge
from operator import itemgetter
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from fieldvoice.book.fold import begun, by_number, names_in
from fieldvoice.book.lasting import FewTrees, trees_that_differ
from fieldvoice.book.rounds import trees_in
from fieldvoice.book.rows import entry_from, number_of, readable
from fieldvoice.book.states import state_from, sum_of, written_state
from fieldvoice.calendar_ends import with_room
from fieldvoice.schema import Names, plain_name
from fieldvoice.telling import untold

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fieldvoice.book.fold import State
    from fieldvoice.book.rows import Entry, OnBadRow
    from fieldvoice.book.season import Season
    from fieldvoice.schema import Act, TreeId
    from fieldvoice.telling import Tell

#: A new snapshot is made when so many notes had to be gone through since the last.
_WORTH = 160
#: The newest notes stay outside: they are the ones that are taken back and put right.
_LEAVE = 60
#: Of a long history, each snapshot lies so much further from the end than the one behind it.
_SPACING = 1.12
#: Notes that are taken in between two looks whether what changed lasts in a few trees alone.
_COMPARED = 600
#: Snapshots that are left anew where what changed lasts in a few trees; of more, each second one.
_ENOUGH = 20
#: Notes read and taken in at a time.
_PAGE = 1_000
#: After so many notes it is told how far it is.
_TOLD_EVERY = 100
#: How long another program's writing is waited for; a snapshot can be made another time.
_WAIT_MS = 50

#: What is later than now by more than this was stamped by a clock that was wrong.
_CLOCKS_DIFFER = timedelta(days=1)
#: The database orders times rightly that are so far apart.
_DATABASE_DIFFERS = timedelta(seconds=1)
#: Orders entries by the time they happened; what is beyond the database's own times comes last.
BY_TIME = "coalesce(julianday(at), 1e9)"
#: Days are written by the clock of their place; so far apart may be the days of one moment.
OF_PLACES = timedelta(days=2)

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


@dataclass(frozen=True, slots=True)
class _Snapshot:
    """A snapshot in the book, without its state.

    ``count`` is how many notes are in it, ``place`` that of the last one, and ``utterance`` what
    was looked at for it. ``until`` is when a note in it ceases to be of the future.
    """

    count: int
    place: _Place
    utterance: int
    until: datetime | None
    checksum: str

    @classmethod
    def of(cls, row: sqlite3.Row) -> _Snapshot:
        """Return what a row tells."""
        at, entry, *until = row["last_at"].split()
        place = _Place(datetime.fromisoformat(at), int(entry))
        ends = datetime.fromisoformat(until[0]) if until else None
        return cls(row["entry"], place, row["utterance"], ends, row["checksum"])

    @property
    def last_at(self) -> str:
        """Its place as it stands in the row."""
        until = () if self.until is None else (self.until.isoformat(),)
        return " ".join((self.place.at.isoformat(), str(self.place.entry), *until))

    def is_of_now(self, now: datetime | None) -> bool:
        """Whether what it took for notes of the future is that now, and nothing else is."""
        if now is None:
            return self.until is None
        is_still_ahead = self.until is None or stamped_ahead(self.until, now)
        return is_still_ahead and not stamped_ahead(self.place.at, now)


@dataclass(slots=True)
class _Way:
    """A state on its way through the notes, and what became of the snapshots.

    ``count`` is how many notes are in it, ``place`` that of the last; ``until`` is as of a
    snapshot. ``ahead`` are the snapshots that hold if the state comes out as it is in one of them,
    ``stands`` those that hold, with their counts as they are now, and ``made`` new ones.
    ``compared`` is how many notes were in it when it was last looked at for what changed.
    ``has_news`` tells that something came of it that the book does not know.
    """

    state: State
    count: int = 0
    place: _Place | None = None
    until: datetime | None = None
    ahead: list[_Snapshot] = field(default_factory=list)
    stands: dict[_Snapshot, int] = field(default_factory=dict)
    made: list[tuple[_Snapshot, bytes]] = field(default_factory=list)
    compared: int = 0
    has_news: bool = False

    def take(self, place: _Place, entry: Entry) -> None:
        """Take in the note at the next place."""
        self.state.take(place.at, entry.act)
        if entry.at != place.at:
            self.until = min(entry.at, self.until or entry.at)
        self.count, self.place = self.count + 1, place

    def passed(self, place: _Place) -> list[_Snapshot]:
        """Return, and drop from ``ahead``, the snapshots that lie before a place."""
        found = [one for one in self.ahead if one.place < place]
        self.ahead = self.ahead[len(found) :]
        return found

    def go_on(self, state: State, behind: _Snapshot, more: int) -> None:
        """Go on with the state of a snapshot ahead, in which are so many more notes than were."""
        self.state, self.place, self.count = state, behind.place, behind.count + more
        self.passed(behind.place)

    def leave_snapshot(self, utterance: int, passed: list[_Snapshot]) -> _Snapshot | None:
        """Leave a snapshot, or return one of those passed if it is the same; that one stands."""
        if self.place is None:
            return None
        written = written_state(self.state)
        new = _Snapshot(self.count, self.place, utterance, self.until, sum_of(written))
        same = next((one for one in passed if one.checksum == new.checksum), None)
        if same is None:
            self.made.append((new, written))
        else:
            self.stands[same] = self.count
        self.has_news = True
        return same


@dataclass(frozen=True, slots=True)
class _Moment:
    """The book as it was after an utterance; entries left out are as good as taken back."""

    connection: sqlite3.Connection
    key: str
    now: datetime | None
    utterance: int
    left_out: frozenset[int]
    on_bad: OnBadRow
    tell: Tell


def season_of(
    connection: sqlite3.Connection,
    capacities: Mapping[str, float],
    on_bad: OnBadRow,
    now: datetime | None,
    held: Held,
    left_out: frozenset[int] = frozenset(),
    tell: Tell = untold,
) -> Season:
    """Return the season that the book's live entries add up to, but for those left out.

    ``tell`` hears how many of the notes have been gone through that were not before.
    """
    key = _key(capacities)
    with one_moment(connection):  # kept short, for nobody can write meanwhile
        utterance = connection.execute("SELECT max(id) FROM utterances").fetchone()[0] or 0
        moment = _Moment(connection, key, now, utterance, left_out, on_bad, tell)
        changes = _Changes(moment)
        going_on = None if left_out else _going_on(moment, changes, held)
        way = going_on or _resumed(moment, changes) or _Way(begun(capacities))
        names = readable(connection.execute(_NAMES), entry_from, on_bad)
    held.state = None  # should anything go wrong below, it is half changed
    known = names_in(one for one in names if number_of("e", one.id) not in left_out)
    is_settled = _go_through(moment, changes, way, known)
    if is_settled and not left_out:
        if way.has_news:
            _keep(moment, way)
        if way.until is None and way.place is not None:
            held.key, held.state, held.utterance = key, way.state, utterance
            held.place, held.count = way.place, way.count
            if not going_on:
                counts = (*way.stands.values(), *(one.count for one, _ in way.made))
                held.since = max(counts, default=0)
    return way.state.season(_Looked(moment, way.state.names))


@contextmanager
def one_moment(connection: sqlite3.Connection) -> Iterator[None]:
    """Let several reads see the same moment, whoever else is writing."""
    connection.execute("BEGIN")
    try:
        yield
    finally:
        connection.execute("ROLLBACK")


def _going_on(moment: _Moment, changes: _Changes, held: Held) -> _Way | None:
    """Return the state held in memory, if nothing reaches behind its end."""
    if held.state is None or held.place is None or held.key != moment.key:
        return None
    if stamped_ahead(held.place.at, moment.now):
        return None  # the clock was put back since
    fresh = moment.connection.execute(
        "SELECT count(*) FROM entries WHERE utterance > ?", [held.utterance]
    ).fetchone()[0]
    if held.count + fresh - held.since >= _WORTH:
        return None
    if changes.between(held.utterance, None, held.place):
        return None
    return _Way(held.state, held.count, held.place)


def _resumed(moment: _Moment, changes: _Changes) -> _Way | None:
    """Return the newest state that still holds, with the snapshots before it and ahead."""
    rows = moment.connection.execute(
        "SELECT entry, utterance, last_at, checksum FROM snapshots WHERE key = ? "
        "ORDER BY entry DESC",
        [moment.key],
    )
    ahead: list[_Snapshot] = []
    known = [one for one in map(_Snapshot.of, rows) if one.is_of_now(moment.now)]
    for number, one in enumerate(known):
        if changes.between(one.utterance, None, one.place):
            ahead.insert(0, one)
        elif (state := _state_of(moment, one)) is not None:
            stands = {
                before: before.count
                for before in known[number:]
                if not changes.between(before.utterance, None, before.place)
            }
            return _Way(state, one.count, one.place, one.until, ahead, stands)
    return None


def _state_of(moment: _Moment, one: _Snapshot) -> State | None:
    written = _written_of(moment, one)
    return None if written is None else state_from(written)


def _written_of(moment: _Moment, one: _Snapshot) -> bytes | None:
    """Return the state of a snapshot; None if it is damaged: what is derived can be made again."""
    row = moment.connection.execute(
        "SELECT state FROM snapshots WHERE key = ? AND entry = ?", [moment.key, one.count]
    ).fetchone()
    if row is None or sum_of(row["state"]) != one.checksum:
        return None
    written: bytes = row["state"]
    return written


class _Changes:
    """Where in the order of time it has changed, since an utterance, what the notes come to."""

    def __init__(self, moment: _Moment) -> None:
        self._moment = moment
        rows = [_row_of(moment.connection, number) for number in moment.left_out]
        self._left = _places(moment.connection, rows, None, moment.now)
        self._since: dict[int, list[_Place]] = {}

    def between(self, utterance: int, after: _Place | None, to: _Place) -> bool:
        """Whether there is a change behind ``after`` (None: the beginning), up to the place ``to``.

        It is one since the utterance.
        """
        if utterance not in self._since:
            self._since[utterance] = [*self._left, *self._written_since(utterance)]
        return any(one <= to and (after is None or one > after) for one in self._since[utterance])

    def _written_since(self, utterance: int) -> list[_Place]:
        connection = self._moment.connection
        written = connection.execute(
            "SELECT id, at, act, fields FROM entries WHERE utterance > ?", [utterance]
        ).fetchall()
        taken_back = connection.execute(
            "SELECT entries.id, at, act, fields FROM voids "
            "JOIN entries ON entries.id = voids.entry WHERE voids.utterance > ?",
            [utterance],
        ).fetchall()
        return _places(connection, [*written, *taken_back], utterance, self._moment.now)


def _places(
    connection: sqlite3.Connection, rows: list[sqlite3.Row], until: int | None, now: datetime | None
) -> list[_Place]:
    """Return where entries stand in the order of time, and what was called by a name in them.

    That was written up to the utterance ``until``. A bad row stands nowhere.
    """
    named = [row for row in rows if row["act"] == "name"]
    using = [one for row in named for one in _using(connection, row["fields"], until)]
    moments = {row["id"]: at for row in (*rows, *using) if (at := moment_of(row["at"]))}
    ahead = [number for number, at in moments.items() if stamped_ahead(at, now)]
    moments |= belonging(connection, ahead, now)
    return [_Place(at, number) for number, at in moments.items()]


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
    return None if found.utcoffset() is None else with_room(found)


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


def _using(connection: sqlite3.Connection, fields: str, until: int | None) -> list[sqlite3.Row]:
    """Return the notes that use a name given (by a note with such fields).

    Names are seldom used before they are given, so that of 100,000 notes none need be gone through
    again for one. A note that a name is not in, it cannot change.
    """
    try:
        name = plain_name(json.loads(fields)["name"])
    except (ValueError, KeyError, TypeError, AttributeError):
        return []
    return [
        row
        for row in connection.execute(_USING_NAMES, [until])
        if name in map(plain_name, _names_used(row["fields"]))
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


def _tail(moment: _Moment, place: _Place | None) -> _Tail:
    """Return what lies after a place; nothing of it but its numbers is held in memory."""
    connection, now = moment.connection, moment.now
    where, values = "1", list[str]()
    if place is not None:
        where = FROM_A_DAY
        values = [(place.at.date() - OF_PLACES).isoformat() if place.at.year > 1 else ""]
    rows = connection.execute(
        f"SELECT id, at, {BY_TIME} > julianday(?) AS may_be_ahead FROM entries "
        f"WHERE {where} AND utterance <= ? AND id NOT IN "
        f"(SELECT entry FROM voids WHERE utterance <= ?) ORDER BY {BY_TIME}, id",
        [None if now is None else now.isoformat(), *values, moment.utterance, moment.utterance],
    )
    numbers, ahead, is_behind = array("q"), list[int](), place is None
    for number, written, may_be_ahead in rows:
        if number in moment.left_out:
            continue
        if not is_behind or may_be_ahead:  # few: to take the times of all apart takes long
            at = moment_of(written)
            if at is not None and stamped_ahead(at, now):
                ahead.append(number)
            elif at is not None and place is not None and not is_behind:
                if (at, number) <= place:
                    continue
                is_behind = at - place.at > _DATABASE_DIFFERS
        numbers.append(number)
    return _Tail(numbers, belonging(connection, ahead, now))


def _placed(moment: _Moment, tail: _Tail, place: _Place | None) -> Iterator[tuple[_Place, Entry]]:
    """Yield the entries of the tail, which begins at ``place``, in the order of time.

    Those from the future stand at the time of what was written before them; their entries keep what
    they were stamped with. Rows never change, so that they may be read after the moment.
    """
    if not tail.ahead:
        return _in_pages(moment, tail.numbers)
    others = array("q", (number for number in tail.numbers if number not in tail.ahead))
    ahead = [
        (_Place(tail.ahead[number_of("e", entry.id)], number_of("e", entry.id)), entry)
        for _, entry in _in_pages(moment, array("q", tail.ahead))
    ]
    late = sorted((one for one in ahead if place is None or one[0] > place), key=itemgetter(0))
    return merge(_in_pages(moment, others), late, key=itemgetter(0))


def _in_pages(moment: _Moment, numbers: array[int]) -> Iterator[tuple[_Place, Entry]]:
    """Yield entries by their numbers, which are in the order of time."""
    for begin in range(0, len(numbers), _PAGE):
        page = numbers[begin : begin + _PAGE]
        marks = ",".join("?" * len(page))
        rows = moment.connection.execute(f"SELECT * FROM entries WHERE id IN ({marks})", list(page))
        entries = readable(rows.fetchall(), entry_from, moment.on_bad)
        yield from sorted(
            ((_Place(one.at, number_of("e", one.id)), one) for one in entries), key=itemgetter(0)
        )


def _go_through(moment: _Moment, changes: _Changes, way: _Way, names: Names) -> bool:
    """Take in all that is not in the state yet, and leave snapshots on the way.

    Returns whether the notes stand where they would at any other moment; one of the future may
    stand at this moment for want of another.
    """
    is_settled, is_more = True, True
    while is_more:
        way.state.names = names
        tail = _tail(moment, way.place)
        is_settled &= moment.now not in tail.ahead.values()
        if tail.ahead or way.until is not None:
            way.ahead = []  # notes of the future may have come to stand elsewhere
        is_more = _take(moment, changes, way, tail)
    return is_settled


def _take(moment: _Moment, changes: _Changes, way: _Way, tail: _Tail) -> bool:
    """Take in the tail; return whether the way went on from a later snapshot before its end."""
    length = len(tail.numbers)
    rungs = _rungs(length)
    for taken, (place, entry) in enumerate(_placed(moment, tail, way.place)):
        passed = way.passed(place) if way.ahead and way.ahead[0].place < place else []
        # Where there were some, they are left in the same places.
        if passed or (length - taken in rungs and not way.ahead):
            same = way.leave_snapshot(moment.utterance, passed)
            if same is not None and _go_on_behind(moment, changes, way, same):
                return True
            if same is None and passed and _carry_on(moment, changes, way, passed[-1]):
                return True
        way.take(place, entry)
        if not taken % _TOLD_EVERY:
            moment.tell(taken, length)
    moment.tell(length, length)
    return False


def _go_on_behind(moment: _Moment, changes: _Changes, way: _Way, same: _Snapshot) -> bool:
    """Go on from the last snapshot that holds because the state is that of one before it.

    Returns whether there is one.
    """
    behind = _unchanged_behind(changes, way, same)
    state = _state_of(moment, behind[-1]) if behind else None
    if state is None:
        return False
    more = way.count - same.count
    way.stands |= {one: one.count + more for one in behind}
    way.go_on(state, behind[-1], more)
    return True


def _unchanged_behind(changes: _Changes, way: _Way, one: _Snapshot) -> list[_Snapshot]:
    """Return the snapshots ahead between which and ``one`` the notes are what they were."""
    return [
        other
        for other in way.ahead
        if other.utterance == one.utterance
        and not changes.between(other.utterance, one.place, other.place)
    ]


def _carry_on(moment: _Moment, changes: _Changes, way: _Way, old: _Snapshot) -> bool:
    """Go on from the last snapshot that differs from what it was in a few trees alone.

    ``old`` is what there was instead of the snapshot left last. Those behind are left anew with
    what is known of these trees. Returns whether there are some.
    """
    if old.place != way.place or way.count < way.compared + _COMPARED:
        return False
    way.compared = way.count
    behind = _unchanged_behind(changes, way, old)
    if len(behind) > _ENOUGH:  # what each costs adds up, and half of them will do
        behind = behind[::-2][::-1]
    before = _written_of(moment, old) if behind else None
    keys = [] if before is None else trees_that_differ(before, way.made[-1][1])
    if not keys:
        return False
    trees, written = FewTrees(way.state, keys), b""
    notes, carried = _notes_on(moment, trees.ids, old.place), list[tuple[_Snapshot, bytes]]()
    for one in behind:
        while notes and notes[0][0] <= one.place:
            trees.take(notes[0][0].at, notes.popleft()[1].act)
        there = _written_of(moment, one)
        if there is None:
            return False
        written = trees.put_into(there)
        count = one.count + way.count - old.count
        new = replace(one, count=count, utterance=moment.utterance, checksum=sum_of(written))
        carried.append((new, written))
    way.made += carried
    way.go_on(state_from(written), behind[-1], way.count - old.count)
    return True


def _notes_on(moment: _Moment, trees: list[TreeId], place: _Place) -> deque[tuple[_Place, Entry]]:
    """Return the live notes after a place that may be on some trees, in the order of time."""
    naming = " OR ".join([NAMING_A_TREE] * len(trees))
    day = (place.at.date() - OF_PLACES).isoformat()
    rows = moment.connection.execute(
        f"SELECT * FROM entries WHERE ({naming} OR act = 'pull') AND at >= ? AND utterance <= ? "
        "AND id NOT IN (SELECT entry FROM voids WHERE utterance <= ?)",
        [*trees, day, moment.utterance, moment.utterance],
    )
    live = [row for row in rows if row["id"] not in moment.left_out]
    entries = readable(live, entry_from, moment.on_bad)
    placed = ((_Place(one.at, number_of("e", one.id)), one) for one in entries)
    return deque(sorted((one for one in placed if one[0] > place), key=itemgetter(0)))


def _next_rung(back: int) -> int:
    """Return how far from the end the next snapshot lies, at the least, before one at ``back``."""
    return max(int(back * _SPACING), back + _WORTH - _LEAVE)


def _rungs(length: int) -> set[int]:
    """Return at how many notes before the end of such a tail snapshots are left."""
    found, back = set[int](), _LEAVE
    while length >= _WORTH and back < length:
        found.add(back)
        back = _next_rung(back)
    return found


def _keep(moment: _Moment, way: _Way) -> None:
    """Write new snapshots down; those that hold are looked at to the moment, the others go."""
    connection = moment.connection
    try:
        connection.execute(f"PRAGMA busy_timeout = {_WAIT_MS}")
        connection.execute("BEGIN IMMEDIATE")
        for row in connection.execute(
            "SELECT rowid, key, entry, utterance, last_at, checksum FROM snapshots"
        ).fetchall():
            count = way.stands.get(_Snapshot.of(row)) if row["key"] == moment.key else None
            if count is None:
                connection.execute("DELETE FROM snapshots WHERE rowid = ?", [row["rowid"]])
            else:  # below zero, where none is in its way
                connection.execute(
                    "UPDATE snapshots SET entry = ?, utterance = ? WHERE rowid = ?",
                    [-count, moment.utterance, row["rowid"]],
                )
        connection.execute("UPDATE snapshots SET entry = -entry")
        connection.executemany(
            "INSERT OR REPLACE INTO snapshots (key, entry, utterance, last_at, state, checksum) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            [
                (moment.key, one.count, one.utterance, one.last_at, state, one.checksum)
                for one, state in way.made
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
    newest, reach = rows[0]["entry"] + _LEAVE, _LEAVE
    for row in rows[1:]:
        back = newest - row["entry"]
        if back < _next_rung(reach):
            connection.execute("DELETE FROM snapshots WHERE entry = ?", [row["entry"]])
        else:
            reach = back


class _Looked:
    """The notes looked up in the book."""

    def __init__(self, moment: _Moment, names: Names) -> None:
        self._moment, self._names = moment, names

    def of_act(self, act: str, year: int | None) -> Sequence[tuple[datetime, Act]]:
        return self._where("act = ? AND at >= ? AND at < ?", [act, f"{year}", f"{(year or 0) + 1}"])

    def of_tree(self, tree: TreeId, kind: str | None) -> Sequence[tuple[datetime, Act]]:
        found = self._where(f"{NAMING_A_TREE} AND act = coalesce(?, act)", [tree, kind])
        return [(at, act) for at, act in found if tree in trees_in(act)]

    def _where(self, where: str, values: Sequence[TreeId | None]) -> list[tuple[datetime, Act]]:
        rows = self._moment.connection.execute(
            f"SELECT * FROM entries WHERE {where} AND {_LIVE} ORDER BY id", values
        )
        notes = [row for row in rows if row["id"] not in self._moment.left_out]
        entries = readable(notes, entry_from, self._moment.on_bad)
        entries.sort(key=lambda entry: entry.at)
        return [(entry.at, by_number(entry.act, self._names)) for entry in entries]


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
