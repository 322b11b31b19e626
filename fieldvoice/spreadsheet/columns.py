"""What a table's columns are, as words: shown, asked about, remembered and put right."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, get_args

from fieldvoice.errors import FieldvoiceError
from fieldvoice.spreadsheet.amounts import kind_of, unit_named
from fieldvoice.spreadsheet.dates import Order
from fieldvoice.spreadsheet.headings import MEASURES, ROLES

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldvoice.spreadsheet.guess import Column, Guess
    from fieldvoice.spreadsheet.headings import Role

#: A column that is left out.
LEFT_OUT = "-"
_ORDERS = {"dmy": "day before month", "mdy": "month before day"}
_SHOWN: Mapping[str, str] = {
    "sap": "sap gathered", "look": "how the sap looked", "sugar": "sugar of the sap",
    "low": "the day's low", "high": "the day's high", "girth": "girth of the trunk",
    "diameter": "diameter of the trunk", "boiled": "sap boiled", "syrup": "syrup drawn off",
    "draw temperature": "temperature drawn off at", "wood": "wood burned", "jars": "how many jars",
    "size": "size of the jars", "to": "whom it went to", "price": "price of all",
    "why": "sold or given", "fill": "how full", "remark": "a remark",
}  # fmt: skip


class ColumnError(FieldvoiceError):
    """What a column was said to be is nothing that it can be; the text says what it can."""


def shown(guess: Guess) -> list[str]:
    """Return what each column is taken for, a line each, and what was assumed."""
    named = [(column.heading or f"column {column.place + 1}", _shown(guess, column))
             for column in guess.columns if column.heading or column.role]  # fmt: skip
    grid = [one for one in guess.columns if one.is_of_grid and one.size is None]
    if grid:
        across = {one.heading for one in grid}
        first, last = grid[0].heading, grid[-1].heading
        over = "trees" if grid[0].tree is not None else "days"
        named = [one for one in named if one[0] not in across]
        named.append((f"{first} to {last}", f"{over}, each {_shown(guess, grid[0])}"))
    width = max((len(name) for name, _ in named), default=0)
    return [f"  {name:<{width}}  {what}" for name, what in named] + [
        f"  {line}" for line in assumed(guess)
    ]


def _shown(guess: Guess, column: Column) -> str:
    if column.role is None:
        return "left out"
    what = _SHOWN.get(column.role, column.role)
    if column.role == "date" and guess.order:
        return f"{what}, {_ORDERS[guess.order]}"
    if column.size is not None:
        return f"{what}, of {column.size}"
    return f"{what}, in {column.unit}" if column.unit else what


def assumed(guess: Guess) -> list[str]:
    """Return what was taken for granted, in words: units, the year, the order of day and month."""
    taken = [one for one in guess.columns if one.unit and not one.unit_told]
    names = {one.heading if _is_alone(one) else "the table": one.unit for one in taken}
    found = [f"No unit is named for {name}: taken as {unit}." for name, unit in names.items()]
    if guess.order and not guess.order_sure:
        found.append(f"The days may be read two ways: taken as {_ORDERS[guess.order]}.")
    if guess.dated is not None:
        no_day = "No day is named" if not guess.dated_told else "No day is named but the year"
        found.append(f"{no_day}: taken as {guess.dated:%B} {guess.dated.day}, {guess.dated.year}.")
    elif not guess.year_told:
        found.append(f"No year is named: taken as {guess.year}.")
    if guess.ditto:
        found.append("A row without a day is of the day above it.")
    if guess.numerals.decimal_comma:
        found.append("A comma is taken for the decimal mark.")
    return found


def written(guess: Guess) -> list[str]:
    """Return the columns as they are remembered: "date dmy", "sap gal", "-"."""
    return [_written(guess, column) for column in guess.columns]


def _written(guess: Guess, column: Column) -> str:
    if column.role is None:
        return LEFT_OUT
    more = guess.order if column.role == "date" else column.unit
    return f"{column.role} {more}" if more else column.role


def with_columns(guess: Guess, columns: Sequence[str]) -> Guess:
    """Return the guess with its columns as they were remembered.

    Raises:
        ColumnError: they are not columns of such a table.
    """
    if len(columns) != len(guess.columns):
        raise ColumnError("That table had other columns.")
    for column, said in zip(guess.columns, columns, strict=True):
        if said != _written(guess, column):
            guess = with_column(guess, column.place, said)
    return guess


def with_column(guess: Guess, place: int, said: str) -> Guess:
    """Return the guess with one column as it was said to be: "tree", "sap L", "date dmy", "-".

    Raises:
        ColumnError: it cannot be that.
    """
    role, more = _role_in(said)
    order = guess.order
    unit: str | None = None
    if role == "date" and more:
        if more not in get_args(Order):
            raise ColumnError("The order of days is dmy (day before month) or mdy.")
        order = "dmy" if more == "dmy" else "mdy"
    elif role in MEASURES:
        unit = _unit_in(role, more, next(c.unit for c in guess.columns if c.place == place))
    elif more:
        raise ColumnError(f"A column of {role} has no unit.")
    columns = tuple(
        replace(one, role=role, unit=unit, unit_told=True)
        if one.place == place
        # What was taken for the same before gives way, but for remarks and grids.
        else replace(one, role=None)
        if one.role == role and _is_alone(one)
        else one
        for one in guess.columns
    )
    return replace(guess, columns=columns, order=order, order_sure=guess.order_sure or bool(more))


def _is_alone(column: Column) -> bool:
    return column.role != "remark" and not column.is_of_grid


def _role_in(said: str) -> tuple[Role | None, str]:
    words = " ".join(said.split())
    if words in (LEFT_OUT, "", "left out"):
        return None, ""
    for role in sorted(ROLES, key=len, reverse=True):
        if words == role or words.startswith(f"{role} "):
            return role, words.removeprefix(role).strip()
    raise ColumnError(f"A column is one of: {', '.join(ROLES)}; or {LEFT_OUT} to leave it out.")


def _unit_in(role: Role, said: str, before: str | None) -> str:
    measure = MEASURES[role]
    unit = unit_named(said) if said else before
    if unit is None or kind_of(unit) != measure:
        raise ColumnError(f"Say its unit too, like “{role} {_EXAMPLES[measure]}”.")
    return unit


_EXAMPLES = {"volume": "L", "length": "cm", "temperature": "°C", "share": "%", "wood": "cord"}
