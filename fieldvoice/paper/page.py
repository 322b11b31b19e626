"""The season's page: one file of its own, with its pictures in it and a table behind each."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from jinja2 import Environment, PackageLoader, StrictUndefined

from fieldvoice.dialogue.sums import slow_trees
from fieldvoice.paper import charts, tables, trunk_words, trunks
from fieldvoice.paper import measures as m
from fieldvoice.paper.story import paragraph
from fieldvoice.paper.trees import place
from fieldvoice.paper.trunk import trunk_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime

    from markupsafe import Markup

    from fieldvoice.paper.drawing import Picture
    from fieldvoice.paper.sheet import Sheet
    from fieldvoice.paper.tables import Table
    from fieldvoice.paper.trees import TreeRow


@dataclass(frozen=True, slots=True)
class Chart:
    """Pictures for wide pages and for phones, with the words and the table beside them."""

    wide: Sequence[Markup]
    narrow: Sequence[Markup]
    told: str
    table: Table


@dataclass(frozen=True, slots=True)
class TrunkCard:
    """What is shown of one trunk: its pictures, and lines of what is known of it."""

    name: str
    pictures: tuple[Markup, ...]
    lines: tuple[str, ...]


def page(sheet: Sheet, made_at: datetime) -> str:
    """Return the page as HTML. ``made_at`` is the time that it tells it was made at."""
    known = _by_number(sheet)
    return _environment().get_template("page.html").render(
        sheet=sheet,
        made=f"{m.day(made_at.date())}, {made_at.year}",
        sentences=paragraph(sheet.sums, sheet.told) if sheet.sums else [],
        tiles=tables.tiles(sheet),
        runs=_runs(sheet),
        trees=_trees(sheet),
        flow=_flow(sheet),
        boils=_boils(sheet),
        jars=_jars(sheet),
        lots=tables.lots(sheet),
        colours=tables.colours(sheet),
        gone=tables.gone(sheet),
        warned=tables.warned(sheet, made_at),
        small=[(title, picture.svg()) for title, picture in _seasons(sheet)],
        seasons=tables.seasons(sheet),
        trunks=[_trunk(row, sheet) for row in known],
        grown=trunk_words.grown_enough(known),
        trunk_table=trunk_words.table(known, sheet.told, sheet.year),
    )  # fmt: skip


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("fieldvoice.paper", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _chart(draw: Callable[[float], Sequence[Picture]], told: str, table: Table) -> Chart:
    wide, narrow = (
        [picture.svg() for picture in draw(width)] for width in (charts.WIDE, charts.NARROW)
    )
    return Chart(wide, narrow, told, table)


def _runs(sheet: Sheet) -> Chart | None:
    if not any(row.sap_gal for row in sheet.days):
        return None
    days = _season_days(sheet)
    return _chart(
        lambda width: [charts.runs(days, sheet.told, width)],
        "Sap runs after a night below freezing and a day above it. Blue dots are such nights; the "
        "broken line is freezing."
        if sheet.sums and sheet.sums.nights
        else "",
        tables.days(sheet),
    )


def _season_days(sheet: Sheet) -> list[charts.DayRow]:
    """Return the days from two weeks before the first sap to two weeks after the last.

    Weather may be in the book for a whole year.
    """
    sap = [row.day.toordinal() for row in sheet.days if row.sap_gal]
    first, last = min(sap) - 14, max(sap) + 14
    return [row for row in sheet.days if first <= row.day.toordinal() <= last]


def _trees(sheet: Sheet) -> Chart | None:
    if not sheet.trees:
        return None
    return _chart(
        lambda width: charts.trees(sheet.trees, sheet.told, width),
        _slow(sheet),
        tables.trees(sheet),
    )


def _slow(sheet: Sheet) -> str:
    found = slow_trees(sheet.season) if sheet.season else None
    if found is None or not found[0]:
        return ""
    return f"Slow trees gave less than half of the usual {sheet.told.gallons(found[1])} a tap."


def _flow(sheet: Sheet) -> Chart | None:
    if sheet.season is None or not any(charts.flow_sides(sheet.season.account)):
        return None
    account = sheet.season.account
    if not all(charts.flow_sides(account)):
        return None
    return _chart(
        lambda width: [charts.flow(account, sheet.told, width)],
        "Every gallon that is in the book, from where it came to what became of it."
        if not sheet.told.style.metric
        else "All sap that is in the book, from where it came to what became of it.",
        tables.flow(sheet),
    )


def _boils(sheet: Sheet) -> Chart | None:
    if sheet.season is None or not tables.has_boils(sheet):
        return None
    boilings = sheet.season.boilings
    return _chart(
        lambda width: [charts.boils(boilings, sheet.usual_gal_h, sheet.told, width)],
        "A stroke over the syrup is what the sap's sugar would give: less syrup is sap spilled, "
        "foamed over or boiled too far, or a sugar test that was off. The broken line is what the "
        "pan usually boils off.",
        tables.boils(sheet),
    )


def _jars(sheet: Sheet) -> Chart | None:
    if sheet.pantry is None or not sheet.pantry.lots:
        return None
    own, older = sheet.pantry.lots[: sheet.pantry.filled], sheet.pantry.lots[sheet.pantry.filled :]
    told = "Jars leave by the ledger's rule: the oldest that fit what was said go first."
    if own and older:
        told += f" {m.count(len(older), 'lot')} of earlier seasons: in the table."
    return _chart(
        lambda width: charts.jars(own or older, sheet.year, sheet.told, width),
        told,
        tables.jars(sheet),
    )


def _seasons(sheet: Sheet) -> list[tuple[str, Picture]]:
    return charts.seasons(sheet.seasons, sheet.told) if len(sheet.seasons) > 1 else []


def _by_number(sheet: Sheet) -> list[TreeRow]:
    known = [row for row in sheet.trees if row.tree.taps or row.sizes]
    return sorted(known, key=lambda row: place(row.tree.id))


def _trunk(row: TreeRow, sheet: Sheet) -> TrunkCard:
    trunk = trunk_of(row.tree, row.limit, sheet.year, row.zone)
    name = sheet.told.tree(row.tree.id)
    pictures = (
        trunks.bark(trunk, sheet.told, name, sheet.year),
        trunks.years(row, sheet.told, name, sheet.year),
    )
    lines = tuple(trunk_words.lines(row, trunk, sheet.told, sheet.year))
    return TrunkCard(name, tuple(one.svg() for one in pictures if one is not None), lines)
