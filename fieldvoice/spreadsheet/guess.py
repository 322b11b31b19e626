"""Guesses what a table's columns are, by their headings, their cells and each other."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldvoice.spreadsheet.amounts import Numerals, is_metric, kind_of, unit_named
from fieldvoice.spreadsheet.dates import DayEvidence, Order, written_day, years_in
from fieldvoice.spreadsheet.headings import (
    MEASURES,
    NUMBERS,
    ROLES,
    SUMS,
    Kind,
    Role,
    heading,
    jar_size,
    tree_label,
)
from fieldvoice.spreadsheet.wordings import TABLES, known_word

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from fieldvoice.cells import Sheet
    from fieldvoice.spreadsheet.dates import Written
    from fieldvoice.spreadsheet.layout import ColumnSeen, Layout, Part

#: One blank day in so many rows, and a blank day is that of the row above (a design choice).
_DITTO_SHARE = 10
#: So many gallons or quarts are never drawn off at once: the column is one of temperatures.
_HOT = 90
_LONGEST_MONTH = 31
#: What tells each kind of table, the surest first.
_TELLING: tuple[tuple[Kind, frozenset[Role]], ...] = (
    ("weather", frozenset(("low", "high"))),
    ("sales", frozenset(("price", "price each"))),
    ("boils", frozenset(("boiled", "draw temperature", "wood", "fire lit", "fire out", "syrup"))),
    ("jars", frozenset(("size", "fill temperature"))),
    ("trees", frozenset(("species", "girth", "diameter", "health"))),
)
#: The roles that a table of a kind may have; its headings stand for the first of theirs in here.
_FITS: Mapping[Kind, frozenset[Role]] = {
    "sap": frozenset(ROLES) - {"jars", "size", "why", "to", "colour"},
    "trees": frozenset(ROLES) - {"jars", "size", "why", "look", "to", "sap"},
    "boils": frozenset(ROLES) - {"tree", "jars", "size", "why", "look"},
    "jars": frozenset(ROLES) - {"tree", "sap", "look", "diameter", "species", "why"},
    "sales": frozenset(ROLES) - {"tree", "sap", "look", "diameter", "species"},
    "weather": frozenset(("date", "time", "year", "month", "day number", "low", "high", "remark")),
}
_SALES_ROLES = frozenset(("to", "why"))


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its place in the sheet, its heading, what it holds and in what unit.

    ``role`` is None for what is left out. In a grid ``tree``, ``day`` or ``size`` (of jars) is that
    of the heading.
    """

    place: int
    heading: str
    role: Role | None
    unit: str | None = None
    unit_told: bool = True
    tree: int | str | None = None
    day: Written | None = None
    size: str | None = None

    @property
    def is_of_grid(self) -> bool:
        """Whether the heading is a value itself."""
        return self.tree is not None or self.day is not None or self.size is not None


@dataclass(frozen=True, slots=True)
class Guess:
    """What a table is taken for.

    ``order`` is that of day and month (None where it does not matter), ``order_sure`` whether the
    column shows it. ``year`` counts where none is written; ``dated`` is the day of rows without
    one. ``ditto`` says that a blank day is that of the row above, ``mixed`` that some days can only
    be read one way and some only the other, so that what could be both is in doubt.
    """

    sheet: Sheet
    part: Part
    kind: Kind
    columns: tuple[Column, ...]
    numerals: Numerals
    order: Order | None = None
    order_sure: bool = True
    year: int | None = None
    year_told: bool = True
    dated: date | None = None
    dated_told: bool = True
    ditto: bool = False
    mixed: bool = False
    remembered: bool = False

    @property
    def first(self) -> int:
        """The row of the headings."""
        return self.part.table.first

    @property
    def last(self) -> int:
        """The last row."""
        return self.part.table.last

    @property
    def signature(self) -> str:
        """What the table is remembered by: its headings."""
        return " | ".join(column.heading for column in self.columns)

    def column(self, role: Role) -> Column | None:
        """Return the column of a role."""
        return next((column for column in self.columns if column.role == role), None)


def guesses(sheet: Sheet, layout: Layout, today: date, *, metric: bool) -> list[Guess]:
    """Return what each table of a sheet is taken for."""
    return [_guess(sheet, layout, part, today, metric=metric) for part in layout.parts]


def _guess(sheet: Sheet, layout: Layout, part: Part, today: date, *, metric: bool) -> Guess:
    titles = (*part.titles, *layout.titles, sheet.name, sheet.file.stem)
    columns = _roles(part, titles)
    kind = _kind(columns, titles)
    found = _units(
        [_settled(part, column, kind) for column in columns], part, titles, metric=metric
    )
    uses_metric = metric or any(c.unit and is_metric(c.unit) for c in found)
    guess = Guess(
        sheet, part, kind, tuple(found), Numerals(part.table.marks.decimal_comma(sheet.delimiter))
    )
    return _dated(guess, titles, today, metric=uses_metric)


def _seen(part: Part, place: int) -> ColumnSeen:
    return part.table.columns[place]


def _named(part: Part, place: int) -> str:
    headings = part.table.headings
    return headings[place] if place < len(headings) else ""


def _roles(part: Part, titles: Sequence[str]) -> list[tuple[Column, tuple[Role, ...]]]:
    """Return the columns, each with what its heading may stand for."""
    found: list[tuple[Column, tuple[Role, ...]]] = []
    for place in part.columns:
        text = _named(part, place)
        known = None if SUMS.fullmatch(text) and heading(text) is None else heading(text)
        seen = _seen(part, place)
        roles = tuple(role for role in known.roles if _fits(role, seen)) if known else ()
        unit = known.unit if known else None
        found.append((Column(place, text, None, unit), roles))
    if not any("date" in roles for _, roles in found):
        found = [_day_by_cells(part, one) for one in found]
    if any("month" in roles for _, roles in found):
        found = [_day_of_month(part, one) for one in found]
    return _grid(_jars(part, found))


def _day_by_cells(
    part: Part, one: tuple[Column, tuple[Role, ...]]
) -> tuple[Column, tuple[Role, ...]]:
    """Return a column without a known heading as that of the days, where its cells are days."""
    column, roles = one
    seen = _seen(part, column.place)
    return (column, ("date",)) if not roles and seen.are_days() and not seen.are_numbers() else one


def _day_of_month(
    part: Part, one: tuple[Column, tuple[Role, ...]]
) -> tuple[Column, tuple[Role, ...]]:
    """Return a column of the numbers 1 to 31 beside one of months as what it is."""
    column, roles = one
    seen = _seen(part, column.place)
    counts = seen.are_counts() and seen.largest <= _LONGEST_MONTH
    return (column, ("day number",)) if roles == ("date",) and counts else one


def _fits(role: Role, seen: ColumnSeen) -> bool:
    """Whether the cells of a column can be what its heading says."""
    if not seen.filled:
        return True
    if role == "time":
        return not seen.are_days()
    if role in TABLES:
        return _mostly_known(role, seen)
    if role not in NUMBERS:
        return role != "species" or not seen.are_numbers()
    return seen.are_numbers() and (role != "syrup" or seen.smallest < _HOT)


def _mostly_known(role: Role, seen: ColumnSeen) -> bool:
    """Whether most cells of a column of words are words that are known there."""
    known = sum(count for cell, count in seen.texts.items() if known_word(role, cell) is not None)
    return known * 2 >= sum(seen.texts.values())


def _jars(
    part: Part, found: list[tuple[Column, tuple[Role, ...]]]
) -> list[tuple[Column, tuple[Role, ...]]]:
    """Return sizes that head columns of their own, with whole numbers below, as counts of jars."""
    held = {role for _, roles in found for role in roles[:1]}
    sized = {
        column.place: of
        for column, _ in found
        if (of := jar_size(column.heading)) is not None
        and _seen(part, column.place).are_counts()
        and not tree_label(column.heading)
    }
    if held & {"tree", "low", "high", "boiled", "size"} or len(sized) + ("colour" in held) < 2:
        return found
    return [
        (replace(column, size=sized[column.place], unit=None), ("jars",))
        if column.place in sized
        else (column, roles)
        for column, roles in found
    ]


def _grid(found: list[tuple[Column, tuple[Role, ...]]]) -> list[tuple[Column, tuple[Role, ...]]]:
    """Return trees (or days) that head columns of their own as columns of sap."""
    held = {role for _, roles in found for role in roles[:1]}
    made: list[tuple[Column, tuple[Role, ...]]] = []
    for column, roles in found:
        tree = tree_label(column.heading) if "date" in held else None
        day = written_day(column.heading) if "tree" in held and "date" not in held else None
        if not roles and tree is not None:
            made.append((replace(column, tree=tree), ("sap",)))
        elif not roles and day is not None:
            made.append((replace(column, day=day), ("sap",)))
        else:
            made.append((column, roles))
    headed = sum(1 for column, _ in made if column.is_of_grid)
    return made if headed >= 2 else found


def _kind(columns: Sequence[tuple[Column, tuple[Role, ...]]], titles: Sequence[str]) -> Kind:
    """Return what a table is about, by the headings that can stand for one thing alone."""
    sure = {roles[0] for _, roles in columns if len(roles) == 1}
    may = {role for _, roles in columns for role in roles}
    if any(column.size is not None for column, _ in columns):
        return "sales" if may & {"price", "why", "to"} else "jars"
    if any(column.is_of_grid for column, _ in columns):
        return "sap"
    if {"low", "high"} <= sure:
        return "weather"
    if sure & _TELLING[1][1] or (may & _SALES_ROLES and may & {"size", "jars"}):
        return "sales"
    if "jars" in may and may & {"size", "colour"} and "tree" not in sure:
        return "jars"
    if sure & _TELLING[2][1] and "tree" not in sure:
        return "boils"
    if sure & _TELLING[4][1] and "date" not in sure:
        return "trees"
    if "tree" in may and sure & _TELLING[4][1] and not may & {"sap", "fill", "sugar"}:
        return "trees"
    told = " ".join(titles[:3]).lower()
    return "boils" if "boil" in told and "tree" not in may else "sap"


def _settled(part: Part, one: tuple[Column, tuple[Role, ...]], kind: Kind) -> Column:
    column, roles = one
    fits = [role for role in roles if role in _FITS[kind]]
    if kind == "boils" and fits[:2] == ["sap", "boiled"]:
        fits = ["boiled"]
    return replace(column, role=fits[0] if fits else None)


def _units(
    columns: Sequence[Column], part: Part, titles: Sequence[str], *, metric: bool
) -> list[Column]:
    """Return the columns, each role once, with the units of those that have one."""
    taken: set[Role] = set()
    found: list[Column] = []
    named = [column.unit for column in columns if column.unit]
    of_title = _unit_of_titles(titles)
    inclined = metric or any(map(is_metric, [*named, *of_title.values()]))
    for column in columns:
        role = column.role
        if role is None or (role in taken and role != "remark" and not column.is_of_grid):
            found.append(replace(column, role=None))
            continue
        taken.add(role)
        found.append(_with_unit(column, _seen(part, column.place), of_title, inclined))
    return found


def _with_unit(
    column: Column, seen: ColumnSeen, of_title: Mapping[str, str], metric: bool
) -> Column:
    measure = MEASURES.get(column.role) if column.role else None
    if measure is None:
        return replace(column, unit=None)
    if column.unit and kind_of(column.unit) == measure:
        return column
    if measure in of_title:
        return replace(column, unit=of_title[measure])
    usual = {"volume": ("gal", "L"), "length": ("in", "cm"), "temperature": ("°F", "°C")}
    if measure not in usual:
        return replace(column, unit={"share": "%", "wood": "cord"}[measure])
    by_cells = _unit_by_cells(column, seen)
    return replace(column, unit=by_cells or usual[measure][metric], unit_told=by_cells is not None)


def _unit_by_cells(column: Column, seen: ColumnSeen) -> str | None:
    """Return the unit that the size of the numbers shows: no syrup is drawn at 104 °F."""
    low, high = seen.smallest, seen.largest
    if column.role in ("draw temperature", "fill temperature"):
        return "°F" if low > 150 else "°C" if high < 120 else None
    if column.role == "high":
        return "°F" if high > 35 else None
    return None


def _unit_of_titles(titles: Sequence[str]) -> dict[str, str]:
    """Return the units that titles name: "all in litres", "Sap in quarts per tree"."""
    found: dict[str, str] = {}
    for title in titles:
        for word in title.replace("(", " ").replace(")", " ").split():
            unit = unit_named(word.strip(",.;:")) if len(word.strip(",.;:")) > 2 else None
            if unit:
                found.setdefault(kind_of(unit), unit)
    return found


def _dated(guess: Guess, titles: Sequence[str], today: date, *, metric: bool) -> Guess:
    """Return the guess with how its days are read."""
    years = [year for title in titles for year in years_in(title)]
    year = years[0] if years else None
    column = guess.column("date")
    across = [column.day for column in guess.columns if column.day is not None]
    if column is None and not across:
        parted = guess.column("month") and guess.column("day number")
        day = None if parted else today if year is None else today.replace(year, 1, 1)
        return replace(guess, year=year or today.year, dated=day, dated_told=year is not None)
    evidence = guess.part.table.columns[column.place].days if column else _evidence(guess)
    order, sure = evidence.order(metric)
    rows = max((_seen(guess.part, one.place).filled for one in guess.columns), default=0)
    blank = rows - _seen(guess.part, column.place).filled if column else 0
    return replace(
        guess,
        order=order if evidence.of_numbers else None,
        order_sure=sure,
        year=year or today.year,
        year_told=year is not None or not evidence.yearless,
        ditto=blank * _DITTO_SHARE >= rows > 0,
        mixed=evidence.is_mixed(),
    )


def _evidence(guess: Guess) -> DayEvidence:
    evidence = DayEvidence()
    for column in guess.columns:
        if column.day is not None:
            evidence.see(column.heading, column.day)
    return evidence
