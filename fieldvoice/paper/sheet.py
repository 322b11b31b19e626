"""A season looked back on: all that its page shows, as values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.dialogue.boil_day import pan_rate
from fieldvoice.nlg.written import Style
from fieldvoice.paper.charts import day_rows
from fieldvoice.paper.jars import pantry_of
from fieldvoice.paper.measures import Measures
from fieldvoice.paper.story import year_sums
from fieldvoice.paper.trees import tree_rows
from fieldvoice.paper.warned import warnings_of

if TYPE_CHECKING:
    from fieldvoice.book import Season, Years
    from fieldvoice.dialogue.settings import Settings
    from fieldvoice.paper.charts import DayRow
    from fieldvoice.paper.jars import Pantry
    from fieldvoice.paper.story import YearSums
    from fieldvoice.paper.trees import TreeRow
    from fieldvoice.paper.warned import Warned


@dataclass(frozen=True, slots=True)
class Sheet:
    """One season of a book, and the sums of all its seasons, the oldest first.

    ``season`` is None where the book has no note of the year. ``usual_gal_h`` is what the pan
    usually boils off in an hour.
    """

    year: int
    told: Measures
    season: Season | None
    days: tuple[DayRow, ...] = ()
    trees: tuple[TreeRow, ...] = ()
    pantry: Pantry | None = None
    warned: tuple[Warned, ...] = ()
    usual_gal_h: float = 0.0
    sums: YearSums | None = None
    seasons: tuple[YearSums, ...] = ()


def sheet_of(years: Years, year: int, settings: Settings) -> Sheet:
    """Return a season as its page shows it."""
    told = Measures(Style(settings.metric, years.names))
    season = years.seasons.get(year)
    seasons = tuple(year_sums(one, that) for one, that in years.seasons.items())
    if season is None:
        return Sheet(year, told, None, seasons=seasons)
    return Sheet(
        year=year,
        told=told,
        season=season,
        days=tuple(day_rows(season.gathered_by_day, season.weather)),
        trees=tuple(tree_rows(years, year, settings)),
        pantry=pantry_of(years, year),
        warned=tuple(warnings_of(years, year)),
        usual_gal_h=pan_rate(season, settings).gal_h,
        sums=next(one for one in seasons if one.year == year),
        seasons=seasons,
    )
