"""Makes notes of a row, or says why it is in doubt: half a row is never taken."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from fieldvoice.errors import FieldvoiceError
from fieldvoice.spreadsheet import wordings
from fieldvoice.spreadsheet.amounts import NOTHING, kind_of, stored
from fieldvoice.spreadsheet.dates import at, clock_time, written_day
from fieldvoice.spreadsheet.headings import MEASURES, NUMBERS, SUMS, tree_label

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date, datetime, time

    from fieldvoice.spreadsheet.guess import Column, Guess
    from fieldvoice.spreadsheet.headings import Role

Fields = dict[str, Any]

_DITTO = frozenset(('"', "''", "”", "〃", "ditto", "do", '""'))
#: What is still so when nobody knows the day that it was noted on.
_LASTING = frozenset(("measure", "tap", "health", "sweetness", "remark"))
#: A sum without a word beside it is one of at least so many rows.
_SUMMED = 3


class DoubtError(FieldvoiceError):
    """A row that is not gone by; the text says why."""


@dataclass(frozen=True, slots=True)
class Dated:
    """A note in the making: its fields, when it was, and whether a time of day was told."""

    fields: Fields
    day: date
    clock: time | None = None

    @property
    def at(self) -> datetime:
        """When it was, by the clock of this place."""
        return at(self.day, self.fields.get("clock") or self.clock)


@dataclass(slots=True)
class _Row:
    """One row's cells by what they hold, read and in stored units."""

    cells: dict[Role, str] = field(default_factory=dict)
    columns: dict[Role, Column] = field(default_factory=dict)
    values: dict[Role, Any] = field(default_factory=dict)

    def take(self, *roles: Role) -> list[Any]:
        """Return values, which no remark then repeats."""
        return [self.values.pop(role, None) for role in roles]


class RowReader:
    """Reads the rows of one table in their order: some go by the row above them."""

    def __init__(self, guess: Guess, today: date) -> None:
        self._guess = guess
        self._today = today
        self._day: date | None = None
        self._sums: dict[int, float] = {}
        self._count = 0

    def is_left_out(self, cells: Sequence[str]) -> str | None:
        """Return what a row is that is no note: "empty", "heading" or "total"; None for others."""
        own = [cells[place] for place in self._guess.part.columns if place < len(cells)]
        if not any(own):
            return "empty"
        headings = [one.heading.casefold() for one in self._guess.columns if one.heading]
        if [cell.casefold() for cell in own if cell] == headings:
            return "heading"
        first = next(cell for cell in own if cell)
        worded = SUMS.fullmatch(first) or (
            self._has_no_day(cells) and any(SUMS.fullmatch(cell) for cell in own)
        )
        return "total" if worded or self._sums_up(cells) else None

    def _has_no_day(self, cells: Sequence[str]) -> bool:
        column = self._guess.column("date")
        return column is not None and written_day(_cell(cells, column)) is None

    def _sums_up(self, cells: Sequence[str]) -> bool:
        """Whether a row without a day (or tree) says what the column above it comes to."""
        key = self._guess.column("date") or self._guess.column("tree")
        if key is None or _cell(cells, key) or self._count < _SUMMED:
            return False
        numbers = {
            column.place: self._guess.numerals.read(_cell(cells, column))
            for column in self._guess.columns
            if column.role in NUMBERS and _cell(cells, column)
        }
        return bool(numbers) and all(
            amount is not None
            and math.isclose(amount.value, self._sums.get(place, 0.0), rel_tol=1e-3)
            for place, amount in numbers.items()
        )

    def notes(self, cells: Sequence[str]) -> list[Dated]:
        """Return the notes of a row.

        Raises:
            DoubtError: something in it cannot be gone by.
        """
        self._count += 1
        for column in self._guess.columns:
            amount = self._guess.numerals.read(_cell(cells, column))
            if amount is not None:
                self._sums[column.place] = self._sums.get(column.place, 0.0) + amount.value
        grid = [one for one in self._guess.columns if one.tree is not None or one.day is not None]
        if grid:
            return list(self._of_grid(cells, grid))
        sized = [one for one in self._guess.columns if one.size is not None]
        row = self._read(cells)
        day, clock = self._when(row, cells)
        if sized:
            return [self._dated(fields, day, clock) for fields in self._of_jars(cells, sized, row)]
        return [self._dated(fields, day, clock) for fields in _acts(row)]

    def _dated(self, fields: Fields, day: date, clock: time | None) -> Dated:
        """Return a note with its day; one that is of a day is none without it."""
        if self._guess.dated is not None and fields["act"] not in _LASTING:
            raise DoubtError("no day is named")
        return Dated(fields, day, clock)

    def _of_jars(
        self, cells: Sequence[str], sized: Sequence[Column], row: _Row
    ) -> Iterator[Fields]:
        """Yield the jars of each size that a row has a count of, and its remark once."""
        remark = row.values.pop("remark", None)
        counts = {one: _cell(cells, one) for one in sized}
        filled = {
            one: cell for one, cell in counts.items() if cell.casefold() not in (*NOTHING, "0")
        }
        price = row.values.get("price")
        if price is not None and len(filled) > 1:
            raise DoubtError("one price for jars of several sizes")
        for column, cell in filled.items():
            row.values |= {"jars": self._number(column, cell), "size": column.size}
            yield from _jars(replace(row, values=dict(row.values)))
        if remark is not None:
            yield {"act": "remark", "text": remark}
        if not filled and remark is None:
            raise DoubtError("it says nothing that a note could be made of")

    def reading(self, cells: Sequence[str], column: Column, cell: str) -> tuple[date, int, float]:
        """Return the day, the hour and the number of one column of a row.

        Raises:
            DoubtError: one of them cannot be gone by.
        """
        day, clock = self._when(self._read(cells), cells)
        if clock is None:
            raise DoubtError("no time stands here")
        return day, clock.hour, self._number(column, cell)

    def _of_grid(self, cells: Sequence[str], grid: Sequence[Column]) -> Iterator[Dated]:
        """Yield a gathering for each filled cell of a row of trees, or of days."""
        named = self._guess.column("tree")
        by_day = grid[0].day is not None
        day, clock = (None, None) if by_day else self._day_of(cells)
        tree = _tree(_cell(cells, named)) if named and by_day else None
        for column in grid:
            cell = _cell(cells, column)
            if cell.casefold() in NOTHING:
                continue
            gallons = self._number(column, cell)
            on = self._on(column.heading) if by_day else day
            assert on is not None
            whose = tree if by_day else column.tree
            yield Dated({"act": "gather", "tree": whose, "volume_gal": gallons}, on, clock)

    def _on(self, cell: str) -> date:
        """Return the day in a cell.

        Raises:
            DoubtError: there is no such day, or it may be two.
        """
        written = written_day(cell)
        if written is None:
            raise DoubtError(f"“{cell}” is no day")
        order = self._guess.order or "mdy"
        day = written.on(order, self._guess.year)
        if day is None and self._guess.mixed:  # then it is one that only the other order makes
            day = written.on("dmy" if order == "mdy" else "mdy", self._guess.year)
        if day is None:
            raise DoubtError(f"there is no day {cell}")
        if self._guess.mixed and not written.known:
            both = {written.on("dmy", self._guess.year), written.on("mdy", self._guess.year)}
            if len(both - {None}) > 1:
                raise DoubtError(f"{cell} may be two days: the column has both orders")
        if day > self._today:
            raise DoubtError(f"{cell} is still to come")
        if day.year < 1900:
            raise DoubtError(f"the year of {cell} is not likely")
        return day

    def _when(self, row: _Row, cells: Sequence[str]) -> tuple[date, time | None]:
        day, clock = self._day_of(cells)
        told = row.cells.get("time", "")
        if told and told.casefold() not in NOTHING:
            clock = clock_time(told)
            if clock is None:
                raise DoubtError(f"“{told}” is no time")
        return day, clock

    def _day_of(self, cells: Sequence[str]) -> tuple[date, time | None]:
        column = self._guess.column("date")
        if column is None:
            return self._parted(cells) or self._guess.dated or self._today, None
        cell = _cell(cells, column)
        if cell in _DITTO or (self._guess.ditto and not cell):
            if self._day is None:
                raise DoubtError("no day stands here or above")
            return self._day, None
        if not cell:
            raise DoubtError("no day stands here")
        self._day = None  # a blank below an impossible day is of no day either
        self._day = self._on(cell)
        written = written_day(cell)
        return self._day, written.clock if written else None

    def _parted(self, cells: Sequence[str]) -> date | None:
        """Return a day whose year, month and day have columns of their own."""
        columns = [self._guess.column(role) for role in ("year", "month", "day number")]
        if columns[1] is None or columns[2] is None:
            return None
        year = _cell(cells, columns[0]) if columns[0] else str(self._guess.year)
        return self._on(f"{year}-{_cell(cells, columns[1])}-{_cell(cells, columns[2])}")

    def _number(self, column: Column, cell: str) -> float:
        """Return a cell's number in its stored unit.

        Raises:
            DoubtError: it is none, or in a unit that the column cannot have.
        """
        amount = self._guess.numerals.read(cell)
        name = column.heading or str(column.role)
        if amount is None:
            raise DoubtError(f"{name}: “{cell}” is {_no_number(cell)}")
        measure = MEASURES.get(column.role) if column.role else None
        if measure is None:
            return amount.value
        unit = amount.unit or column.unit
        assert unit is not None
        if kind_of(unit) != measure:
            raise DoubtError(f"{name}: “{cell}” is in {unit}")
        if amount.value < 0 and measure != "temperature":
            raise DoubtError(f"{name}: “{cell}” is below nothing")
        return stored(amount.value, unit)

    def _read(self, cells: Sequence[str]) -> _Row:
        row = _Row()
        for column in self._guess.columns:
            cell, role = _cell(cells, column), column.role
            if (
                role is None
                or column.size is not None
                or (cell.casefold() in NOTHING and role != "remark")
                or not cell
            ):
                continue
            if role == "remark" and role in row.cells:
                row.values["remark"] += f"; {cell}"
                continue
            row.cells[role], row.columns[role] = cell, column
            if role in NUMBERS and role not in ("year", "day number"):
                row.values[role] = self._number(column, cell)
            elif role not in ("date", "time", "month", "year", "day number"):
                row.values[role] = _words(role, cell)
        return row


def _no_number(cell: str) -> str:
    return "a formula, not its value" if cell.startswith("=") else "no plain number"


def _cell(cells: Sequence[str], column: Column) -> str:
    return cells[column.place] if column.place < len(cells) else ""


def _tree(cell: str) -> int | str:
    """Return the tree that a cell names, by number or by name."""
    label = tree_label(cell)
    return " ".join(cell.casefold().split()) if label is None else label


def _words(role: Role, cell: str) -> Any:
    """Return what a cell of words says.

    Raises:
        DoubtError: it says nothing that is known in such a column.
    """
    if role == "tree":
        if re.search(r"\d\s*([-–,&+]|and|to)\s*\d", cell):
            raise DoubtError(f"“{cell}” is several trees")
        return _tree(cell)
    if role in wordings.TABLES:
        return wordings.known_word(role, cell) or _unknown(role, cell)
    if role == "fill":
        return _fill(cell)
    if role in ("fire lit", "fire out"):
        return clock_time(cell) or _unknown(role, cell)
    reading = {"species": wordings.species, "size": wordings.size, "vessel": wordings.vessel,
               "place": wordings.site}.get(role)  # fmt: skip
    if reading is None:
        return cell
    return reading(cell) or _unknown(role, cell)


def _unknown(role: Role, cell: str) -> Any:
    raise DoubtError(f"“{cell}” is no {role} that is known")


def _fill(cell: str) -> float:
    named = wordings.FILLS.get(wordings.plain(cell))
    if named is not None:
        return named
    number = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*(%)?|(\d)\s*/\s*(\d)", cell.strip())
    if number is None:
        _unknown("fill", cell)
    assert number is not None
    if number[3]:
        share = int(number[3]) / max(1, int(number[4]))
    else:
        value = float(number[1].replace(",", "."))
        share = value / 100 if number[2] or value > 1 else value
    if share > 1:
        _unknown("fill", cell)
    return share


# What the values of a row say together.


def _acts(row: _Row) -> Iterator[Fields]:
    """Yield the notes that a row's values make, the main one first.

    Raises:
        DoubtError: they make none.
    """
    told = _remark(row)
    made = [
        fields for making in (_weather, _sap, _tree_facts, _boil, _jars) for fields in making(row)
    ]
    left = [
        f"{row.columns[role].heading}: {row.cells[role]}"
        for role in row.values
        if role not in ("tree", "place", "vessel", "remark")
    ]
    if not made and not told and not left:
        raise DoubtError("it says nothing that a note could be made of")
    yield from made
    for text in (*left, *told):
        tree = row.values.get("tree")
        yield {"act": "remark", "text": text, **({} if tree is None else {"tree": tree})}


def _remark(row: _Row) -> list[str]:
    text = row.values.pop("remark", None)
    return [text] if text else []


def _said(**fields: Any) -> Fields:
    return {name: value for name, value in fields.items() if value is not None}


def _weather(row: _Row) -> Iterator[Fields]:
    if "low" in row.values or "high" in row.values:
        low, high = row.take("low", "high")
        yield _said(act="weather", low_f=low, high_f=high)


def _about(row: _Row) -> Fields:
    """Return what sap is from: a tree, a place, or the whole yard."""
    tree, place = row.values.get("tree"), row.values.get("place")
    return {"tree": tree} if tree is not None else {"site": place} if place else {}


def _sap(row: _Row) -> Iterator[Fields]:
    about, vessel = _about(row), row.values.get("vessel")
    if "sap" in row.values:
        gallons, look, fill = row.take("sap", "look", "fill")
        yield _said(act="gather", **(about or {"all": True}), volume_gal=gallons, sap=look,
                    fill=fill, vessel=vessel)  # fmt: skip
    elif {"look", "fill"} & row.values.keys() and ("tree" in about or vessel):
        look, fill = row.take("look", "fill")
        yield _said(act="inspect", **(about or {"vessel": vessel}), sap=look, fill=fill)
    of_vessel = {"vessel": vessel} if vessel else {}
    if "sugar" in row.values and (about or of_vessel):
        (brix,) = row.take("sugar")
        yield {"act": "sweetness", **(about or of_vessel), "brix": brix}
    if "temperature" in row.values and of_vessel and not about:
        (temp_f,) = row.take("temperature")
        yield {"act": "reading", **of_vessel, "temp_f": temp_f}


def _tree_facts(row: _Row) -> Iterator[Fields]:
    tree = row.values.get("tree")
    if tree is None:
        return
    across, around, kind = row.take("diameter", "girth", "species")
    if across is None and around is not None:
        across = around / math.pi
    if across is not None or kind is not None:
        yield _said(act="measure", tree=tree, diameter_in=across, species=kind)
    taps, side = row.take("taps", "side")
    if taps:
        yield _said(act="tap", tree=tree, count=_whole(taps, "taps"), side=side)
    (health,) = row.take("health")
    if health is not None:
        yield {"act": "health", "tree": tree, "condition": health}


def _boil(row: _Row) -> Iterator[Fields]:
    vessel = row.values.get("vessel")
    lit, sap, syrup, hot, cords, out = row.take(
        "fire lit", "boiled", "syrup", "draw temperature", "wood", "fire out"
    )
    if lit is not None:
        yield {"act": "boil", "phase": "start", "clock": lit}
    if sap is not None:
        yield _said(act="boil", vessel=vessel, volume_gal=sap, clock=lit)
    if syrup is not None:
        yield _said(act="draw", syrup_gal=syrup, temp_f=hot, clock=out)
    elif hot is not None:
        raise DoubtError("a draw without its syrup")
    if cords is not None:
        yield _said(act="fuel", cords=cords, clock=out)
    if out is not None:
        yield {"act": "boil", "phase": "stop", "clock": out}


def _jars(row: _Row) -> Iterator[Fields]:
    if "jars" not in row.values:
        return
    count, size, colour, hot, to, price, each, why = row.take(
        "jars", "size", "colour", "fill temperature", "to", "price", "price each", "why"
    )
    if size is None:
        raise DoubtError("jars without their size")
    whole = _whole(count, "jars")
    if to is None and price is None and each is None and why is None:
        yield _said(act="pack", count=whole, size=size, colour=colour, temp_f=hot)
        return
    paid = price if price is not None else None if each is None else each * whole
    yield _said(act="stock_out", count=whole, size=size, colour=colour, price=paid,
                to=None if to is None else to.casefold().removeprefix("the "),
                why=why or ("sold" if paid else None))  # fmt: skip


def _whole(number: float, what: str) -> int:
    if number != round(number):
        raise DoubtError(f"{number:g} {what} is no whole number")
    return round(number)
