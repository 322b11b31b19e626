"""``fieldvoice report``: the season on one page of its own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import book_option, clock_of, examples, now_option

if TYPE_CHECKING:
    from datetime import datetime


@click.command(
    "report",
    epilog=examples(
        "fieldvoice report season.html",
        "fieldvoice report last_year.html --season 2026",
    ),
)
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--season", "year", type=click.IntRange(1900, 9999), help="The year; left out: the newest."
)
@book_option
@now_option
def command(path: Path, year: int | None, book: Path | None, now: datetime | None) -> None:
    """Write the season as one page (HTML) to PATH.

    It reads well on a phone, a screen or paper.
    """
    from fieldvoice.cli.faults import say_aside
    from fieldvoice.cli.season_sheet import season_sheet
    from fieldvoice.cli.written_file import write_whole
    from fieldvoice.paper.page import page

    at = clock_of(now)()
    sheet, _, chosen = season_sheet(book, at, year)
    write_whole(path, page(sheet, at).encode())
    say_aside(f"{path}: the season of {chosen}.")
