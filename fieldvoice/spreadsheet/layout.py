"""Finds the tables of a sheet: titles, heading rows, tables below and beside each other.

A sheet is gone through once, a row at a time; what is kept of a column is counts, so that a
million rows take no more room than ten.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fieldvoice.spreadsheet.amounts import NOTHING, Marks, Numerals, unit_named
from fieldvoice.spreadsheet.dates import DayEvidence, written_day
from fieldvoice.spreadsheet.headings import SUMS, heading, tree_label

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fieldvoice.cells import Row

#: As many different cells of a column are looked at for what they say.
_SAMPLES = 60
#: A row in the midst of a table is another's headings only if so many of its cells are known.
_KNOWN_AMIDST = 3
_NUMERALS = (Numerals(), Numerals(decimal_comma=True))


@dataclass(slots=True)
class ColumnSeen:
    """What the cells of a column are like, taken in one by one."""

    filled: int = 0
    numbers: int = 0
    whole: int = 0
    smallest: float = float("inf")
    largest: float = float("-inf")
    days: DayEvidence = field(default_factory=DayEvidence)
    dated: int = 0
    texts: Counter[str] = field(default_factory=Counter)

    def see(self, cell: str) -> None:
        """Take one cell."""
        if cell.lower() in NOTHING:
            return
        self.filled += 1
        amount = _NUMERALS[0].read(cell) or _NUMERALS[1].read(cell)
        if amount is not None:
            self.numbers += 1
            self.whole += amount.unit is None and amount.value == round(amount.value)
            self.smallest = min(self.smallest, amount.value)
            self.largest = max(self.largest, amount.value)
        day = written_day(cell)
        if day is not None:
            self.dated += 1
            self.days.see(cell, day)
        if cell in self.texts or len(self.texts) < _SAMPLES:
            self.texts[cell] += 1

    def are_numbers(self) -> bool:
        """Whether most cells are numbers."""
        return self.numbers * 10 >= self.filled * 6

    def are_counts(self) -> bool:
        """Whether all cells are whole numbers."""
        return self.numbers == self.filled and self.whole == self.numbers

    def are_days(self) -> bool:
        """Whether most cells are days."""
        return self.dated * 10 >= self.filled * 6 and self.filled > 0


@dataclass(slots=True)
class TableSeen:
    """A table as it lies in the sheet: its heading row, its last row, and its columns' cells."""

    first: int
    headings: list[str]
    titles: list[tuple[int, str]]
    last: int = 0
    rows: int = 0
    marks: Marks = field(default_factory=Marks)
    columns: list[ColumnSeen] = field(default_factory=list)

    def see(self, number: int, cells: Sequence[str]) -> None:
        """Take one row of the table."""
        self.last = number
        self.rows += 1
        while len(self.columns) < len(cells):
            self.columns.append(ColumnSeen())
        if any(SUMS.fullmatch(cell) for cell in cells if cell[:1].isalpha()):
            return
        for column, cell in zip(self.columns, cells, strict=False):
            column.see(cell)
            if "," in cell or "." in cell:
                self.marks.see(cell)


@dataclass(frozen=True, slots=True)
class Part:
    """One of the tables that lie beside each other: its columns of the sheet."""

    table: TableSeen
    columns: tuple[int, ...]
    titles: tuple[str, ...]


@dataclass(slots=True)
class Layout:
    """The tables of a sheet, those beside each other apart; ``titles`` stand above the first."""

    parts: list[Part] = field(default_factory=list)
    titles: list[str] = field(default_factory=list)
    rows: int = 0


def layout_of(rows: Iterable[Row]) -> Layout:
    """Return the tables that a sheet's rows make."""
    found: list[TableSeen] = []
    layout = Layout()
    titles: list[tuple[int, str]] = []
    after_gap = True
    for number, cells in rows:
        if not any(cells):
            after_gap = True
            continue
        layout.rows += 1
        table = found[-1] if found else None
        if table is not None and cells_of(cells) == cells_of(table.headings):
            table.last = number
        elif is_headings(cells, amidst=table is not None and not after_gap):
            found.append(TableSeen(number, cells, titles, number))
            layout.titles += [text for _, text in titles] if len(found) == 1 else []
            titles = []
        elif table is None or ((after_gap or titles) and is_title(cells)):
            titles += [(place, cell) for place, cell in enumerate(cells) if cell]
        else:
            table.see(number, cells)
        after_gap = False
    layout.titles = layout.titles or [text for _, text in titles]
    layout.parts = [part for table in found for part in _parts(table) if table.rows]
    return layout


def cells_of(cells: Sequence[str]) -> list[str]:
    """Return cells as they are compared: without the empty ones at the end, in small letters."""
    plain = [cell.casefold() for cell in cells]
    while plain and not plain[-1]:
        plain.pop()
    return plain


def is_title(cells: Sequence[str]) -> bool:
    """Whether a row is no more than a few words over a table."""
    filled = [cell for cell in cells if cell]
    return len(filled) == 1 and not _is_value(filled[0]) and not SUMS.fullmatch(filled[0])


def _is_value(cell: str) -> bool:
    return written_day(cell) is not None or _NUMERALS[0].read(cell) is not None


def is_headings(cells: Sequence[str], *, amidst: bool = False) -> bool:
    """Whether a row names the columns below it."""
    filled = [cell for cell in cells if cell]
    if len(filled) < 2 or _is_value(filled[0]) or any(len(cell) > 60 for cell in filled):
        return False
    known = [heading(cell) for cell in filled]
    values = [cell for cell in filled if _is_value(cell) and not unit_named(cell)]
    if values:
        return known[0] is not None and _is_grid(filled, known[0].roles[0])
    count = sum(1 for one in known if one)
    labels = sum(1 for cell in filled if tree_label(cell) is not None)
    if labels >= 2 and known[0] is not None:
        return True
    if SUMS.fullmatch(filled[0]):
        return False
    return count >= (_KNOWN_AMIDST if amidst else 2) and count * 5 >= len(filled) * 2


def _is_grid(filled: Sequence[str], first: str) -> bool:
    """Whether a heading row names days over trees, or trees over days: "Tree, 3/1, 3/4"."""
    rest = [cell for cell in filled[1:] if heading(cell) is None and not SUMS.fullmatch(cell)]
    if first == "date":
        labels = [tree_label(cell) for cell in rest]
        return len(rest) >= 2 and None not in labels and len(set(labels)) == len(labels)
    days = [written_day(cell) for cell in rest]
    return first == "tree" and len(rest) >= 2 and None not in days


def _parts(table: TableSeen) -> list[Part]:
    """Return the tables that lie beside each other, apart by an empty column, all with headings."""
    while len(table.columns) < len(table.headings):
        table.columns.append(ColumnSeen())
    groups: list[list[int]] = [[]]
    for place, column in enumerate(table.columns):
        named = place < len(table.headings) and table.headings[place]
        if not named and not column.filled:
            groups.append([])
        else:
            groups[-1].append(place)
    named_groups = [
        group for group in groups if any(table.headings[i : i + 1] not in ([], [""]) for i in group)
    ]
    if not all(_stands_alone(table, group) for group in named_groups):
        named_groups = [[place for group in named_groups for place in group]]
    split = [half for group in named_groups for half in _halves(table, group)]
    return [Part(table, tuple(group), _titles(table, group, split)) for group in split if group]


def _stands_alone(table: TableSeen, group: Sequence[int]) -> bool:
    named = [table.headings[i] for i in group if i < len(table.headings) and table.headings[i]]
    return len(named) >= 2 and is_headings(named)


def _halves(table: TableSeen, group: Sequence[int]) -> list[list[int]]:
    """Return one table, or two where a second column of days begins another."""
    starts = []
    for place in group:
        named = heading(table.headings[place]) if place < len(table.headings) else None
        if named and named.roles == ("date",) and table.columns[place].are_days():
            starts.append(place)
    if len(starts) < 2 or starts[0] != group[0]:
        return [list(group)]
    cuts = [*starts[1:], group[-1] + 1]
    halves, begun = [], group[0]
    for cut in cuts:
        halves.append([place for place in group if begun <= place < cut])
        begun = cut
    return halves


def _titles(
    table: TableSeen, group: Sequence[int], groups: Sequence[Sequence[int]]
) -> tuple[str, ...]:
    """Return the titles over a table: those that stand over its columns, and those over all."""
    starts = sorted(one[0] for one in groups if one)
    told = []
    for place, text in table.titles:
        over = max((start for start in starts if start <= place), default=starts[0])
        if over == group[0] or (place == 0 and len(table.titles) == 1):
            told.append(text)
    return tuple(told)
