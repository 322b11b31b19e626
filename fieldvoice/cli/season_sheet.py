"""The season of a book as ``report`` and ``cards`` put it on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.book import Book
from fieldvoice.cli.app import cache_folder, default_book
from fieldvoice.cli.progress import Progress
from fieldvoice.cli.settings_file import read_settings
from fieldvoice.paper.sheet import sheet_of

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.dialogue import Settings
    from fieldvoice.paper.sheet import Sheet


def season_sheet(
    book: Path | None, at: datetime, year: int | None = None
) -> tuple[Sheet, Settings, int]:
    """Return the sheet of a season with the book's settings, and the season's year.

    ``book`` left out is the user's own; ``year`` left out is the newest that the book has, or that
    of ``at``.

    Raises:
        BookError: the book cannot be read.
    """
    place = book or default_book()
    settings = read_settings(place.with_suffix(".toml"))
    with (
        Progress("Going through the seasons") as progress,
        Book.open(place) as opened,
        opened.years(settings.capacities_gal, cache_folder() / "seasons", at, progress) as years,
    ):
        chosen = year or max(years.seasons, default=at.year)
        return sheet_of(years, chosen, settings), settings, chosen
