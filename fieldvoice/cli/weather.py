"""``fieldvoice weather``: daily lows and highs from a file, for the rules of run and season."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import book_option, clock_of, now_option
from fieldvoice.errors import FieldvoiceError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from fieldvoice.schema.acts import Weather

_DAY = ("day", "date")
_LOW, _HIGH = ("low", "low_f", "low_c"), ("high", "high_f", "high_c")


class WeatherError(FieldvoiceError):
    """A weather file that cannot be read; the text gives the line and what is wrong."""


@click.command("weather")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@book_option
@now_option
def command(file: Path, book: Path | None, now: datetime | None) -> int:
    r"""Take daily lows and highs from FILE, a CSV with a head line.

    \b
    day,low_f,high_f        or  day,low_c,high_c
    2027-03-01,24,42
    """
    from fieldvoice.book import Book
    from fieldvoice.cli.app import default_book
    from fieldvoice.transcript import typed

    found = _read(file)
    with Book.open(book or default_book()) as opened:
        known = {(one.day.isoformat(), one.low_f, one.high_f) for one in opened.season().weather}
        fresh = [one for one in found if (one.day, one.low_f, one.high_f) not in known]
        told = f"{len(fresh)} days of weather noted, {len(found) - len(fresh)} known already."
        if fresh:
            opened.take(
                at=clock_of(now)(),
                source="typed",
                heard=typed(f"weather from {file.name}"),
                outcome="saved",
                meanings=fresh,
                reply=told,
                notes=fresh,
            )
    click.echo(told)
    return 0


def _read(file: Path) -> list[Weather]:
    """Return the days in a file.

    Raises:
        WeatherError: it cannot be read, or a line is no day with a low and a high.
    """
    try:
        text = file.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        raise WeatherError(f"{file} cannot be read: {fault}.") from None
    rows = csv.DictReader(text.splitlines())
    rows.fieldnames = [name.strip().lower() for name in rows.fieldnames or ()]
    if not all(set(names) & set(rows.fieldnames) for names in (_DAY, _LOW, _HIGH)):
        raise WeatherError(f"{file} needs a head line such as day,low_f,high_f.")
    return [_day(row, f"{file}, line {number}") for number, row in enumerate(rows, start=2)]


def _day(row: Mapping[str, str | None], where: str) -> Weather:
    from fieldvoice.errors import RangeError
    from fieldvoice.rules.weather import day_class
    from fieldvoice.schema.acts import Weather

    try:
        day = date.fromisoformat(_value(row, _DAY)[1]).isoformat()
        low_f, high_f = _temperature(row, _LOW), _temperature(row, _HIGH)
        day_class(low_f, high_f)
    except RangeError as fault:
        raise WeatherError(f"{where}: {fault}") from None
    except ValueError:
        raise WeatherError(f"{where}: no day with a low and a high.") from None
    return Weather(day=day, low_f=low_f, high_f=high_f)


def _temperature(row: Mapping[str, str | None], names: tuple[str, ...]) -> float:
    name, text = _value(row, names)
    value = float(text)
    return round(value * 1.8 + 32, 1) if name.endswith("_c") else value


def _value(row: Mapping[str, str | None], names: tuple[str, ...]) -> tuple[str, str]:
    """Return the column found and what it holds.

    Raises:
        ValueError: nothing stands there.
    """
    for name in names:
        held = (row.get(name) or "").strip()
        if held:
            return name, held
    raise ValueError("an empty cell")
