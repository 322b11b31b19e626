"""``fieldvoice report``: the season on one page of its own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import book_option, clock_of, now_option

if TYPE_CHECKING:
    from datetime import datetime


@click.command("report")
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--season", "year", type=click.IntRange(1900, 9999), help="The year; left out: the newest."
)
@book_option
@now_option
def command(path: Path, year: int | None, book: Path | None, now: datetime | None) -> None:
    r"""Write the season to PATH as a page (HTML) to read on a phone, a screen or paper.

    \b
    fieldvoice report season.html
    fieldvoice report last_year.html --season 2026
    """
    from fieldvoice.book import Book
    from fieldvoice.cli.app import cache_folder, default_book
    from fieldvoice.cli.faults import say_aside
    from fieldvoice.cli.settings_file import read_settings
    from fieldvoice.cli.written_file import write_whole
    from fieldvoice.paper.page import page
    from fieldvoice.paper.sheet import sheet_of

    at = clock_of(now)()
    place = book or default_book()
    settings = read_settings(place.with_suffix(".toml"))
    with (
        Book.open(place) as opened,
        opened.years(settings.capacities_gal, cache_folder() / "seasons") as years,
    ):
        chosen = year or max(years.seasons, default=at.year)
        sheet = sheet_of(years, chosen, settings)
    write_whole(path, page(sheet, at).encode())
    say_aside(f"{path}: the season of {chosen}.")
