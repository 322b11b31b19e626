"""Daily lows and highs out of any weather station's table, also where it has hours only."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.cells import SheetError, sheets_of
from fieldvoice.errors import RangeError
from fieldvoice.rules.weather import day_class
from fieldvoice.schema.acts import Weather
from fieldvoice.spreadsheet.amounts import NOTHING
from fieldvoice.spreadsheet.guess import guesses
from fieldvoice.spreadsheet.layout import layout_of
from fieldvoice.spreadsheet.rows import DoubtError, RowReader

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import date
    from pathlib import Path

    from fieldvoice.spreadsheet.guess import Guess

#: Readings of fewer hours than this show neither the night's low nor the day's high.
_HOURS_OF_A_DAY = 20
#: Beside the usual signs for nothing: what stations write for a value that they lack.
_MISSING = frozenset(("-9999", "9999", "-99.9", "999.9", "-999", "null", "nan", "missing", "t"))


def days_of(path: Path, today: date, tell: Callable[[str], None], *, metric: bool) -> list[Weather]:
    """Return the days of a station's file, each with its low and high; ``tell`` hears of the rest.

    Raises:
        SheetError: it cannot be read, or no table in it has days with lows and highs.
    """
    found: dict[str, Weather] = {}
    tables = 0
    for sheet in sheets_of(path):
        for guess in guesses(sheet, layout_of(sheet.rows()), today, metric=metric):
            if guess.column("low") and guess.column("high"):
                reading = _daily(guess, today, tell)
            elif guess.column("temperature") and (guess.column("time") or _has_hours(guess)):
                reading = _hourly(guess, today, tell)
            else:
                continue
            tables += 1
            found.update((str(day.day), day) for day in reading)
    if not tables:
        raise SheetError(f"{path} needs a head line such as day,low_f,high_f.")
    return list(found.values())


def _has_hours(guess: Guess) -> bool:
    column = guess.column("date")
    texts = guess.part.table.columns[column.place].texts if column else {}
    return any(":" in text for text in texts)


def _rows(guess: Guess) -> Iterator[tuple[int, list[str]]]:
    for number, cells in guess.sheet.rows():
        if guess.first < number <= guess.last:
            yield number, ["" if cell.lower() in _MISSING else cell for cell in cells]


def _daily(guess: Guess, today: date, tell: Callable[[str], None]) -> Iterator[Weather]:
    # A forecast is of days to come.
    reader = RowReader(guess, today.replace(year=today.year + 1, day=1))
    for number, cells in _rows(guess):
        if reader.is_left_out(cells):
            continue
        try:
            yield _day(reader, cells)
        except (DoubtError, RangeError) as doubt:
            tell(f"{guess.sheet.file}, line {number}: {str(doubt).rstrip('.')}.")


def _day(reader: RowReader, cells: list[str]) -> Weather:
    notes = [note for note in reader.notes(cells) if note.fields["act"] == "weather"]
    if not notes or not {"low_f", "high_f"} <= notes[0].fields.keys():
        raise DoubtError("no day with a low and a high")
    low_f, high_f = notes[0].fields["low_f"], notes[0].fields["high_f"]
    day_class(low_f, high_f)
    return Weather(day=notes[0].day.isoformat(), low_f=low_f, high_f=high_f)


def _hourly(guess: Guess, today: date, tell: Callable[[str], None]) -> Iterator[Weather]:
    """Yield the lowest and highest of each day that has readings of all its hours."""
    reader = RowReader(guess, today)
    hours: dict[date, dict[int, tuple[float, float]]] = {}
    unread = 0
    for _, cells in _rows(guess):
        column = guess.column("temperature")
        assert column is not None
        text = cells[column.place] if column.place < len(cells) else ""
        if text.casefold() in NOTHING:
            continue
        try:
            day, hour, temp_f = reader.reading(cells, column, text)
        except DoubtError:
            unread += 1
            continue
        low, high = hours.setdefault(day, {}).get(hour, (temp_f, temp_f))
        hours[day][hour] = min(low, temp_f), max(high, temp_f)
    if unread:
        tell(f"{guess.sheet.file}: {unread} lines have no time and temperature that can be read.")
    for day, of_day in hours.items():
        if len(of_day) < _HOURS_OF_A_DAY:
            tell(f"{guess.sheet.file}: {day} has readings of {len(of_day)} hours only.")
            continue
        low_f, high_f = min(one for one, _ in of_day.values()), max(x for _, x in of_day.values())
        yield Weather(day=day.isoformat(), low_f=low_f, high_f=high_f)
