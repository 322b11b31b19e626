"""``fieldvoice weather``: daily lows and highs from a file, for the rules of run and season."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.faults import UNREADABLE, complain
from fieldvoice.cli.options import book_option, clock_of, examples, json_option, now_option

if TYPE_CHECKING:
    from datetime import datetime


@click.command(
    "weather",
    epilog=examples(
        "fieldvoice weather march.csv",
    ),
)
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@json_option
@book_option
@now_option
def command(file: Path, as_json: bool, book: Path | None, now: datetime | None) -> int:
    """Take daily lows and highs from FILE, a table (CSV).

    A table of any weather station: day,low_f,high_f or Date;Min °C;Max °C, or a temperature for
    each hour. A day that comes again with other values is put right. Days that cannot be read are
    named.
    """
    from fieldvoice.book import Book
    from fieldvoice.cli.app import default_book
    from fieldvoice.cli.settings_file import read_settings
    from fieldvoice.cli.show import show_json
    from fieldvoice.spreadsheet.station import days_of
    from fieldvoice.transcript import typed

    place, at = book or default_book(), clock_of(now)()
    metric = read_settings(place.with_suffix(".toml")).metric
    found = days_of(file, at.date(), complain, metric=metric)
    if not found:
        return UNREADABLE
    with Book.open(place) as opened:
        known = {(one.day.isoformat(), one.low_f, one.high_f) for one in opened.season().weather}
        fresh = [one for one in found if (one.day, one.low_f, one.high_f) not in known]
        told = f"{len(fresh)} days of weather noted, {len(found) - len(fresh)} known already."
        if fresh:
            opened.take(
                at=at,
                source="typed",
                heard=typed(f"weather from {file.name}"),
                outcome="saved",
                meanings=fresh,
                reply=told,
                notes=fresh,
            )
    if as_json:
        show_json({"new": len(fresh), "known": len(found) - len(fresh)})
    else:
        click.echo(told)
    return 0
