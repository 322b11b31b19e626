"""Answers that add up: sap, syrup in stock, and the season as a whole."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import TYPE_CHECKING

from fieldvoice.dialogue.answers.answered import Answered, answer, answers
from fieldvoice.dialogue.answers.pantry import sorts
from fieldvoice.nlu.times import date_of
from fieldvoice.schema.asks.sap import SapTotal
from fieldvoice.schema.asks.season import SeasonSummary
from fieldvoice.segments import Count, Quantity, VesselRef, fact, listed, parts

if TYPE_CHECKING:
    from fieldvoice.dialogue.context import Moment
    from fieldvoice.segments import Parts


@answers(SapTotal)
def _sap_total(ask: SapTotal, moment: Moment) -> Answered:
    today = moment.now.date()
    since = today if ask.since is None else date_of(ask.since, today)
    gathered = _gathered(moment, since, today)
    season = _gathered(moment, date.min, today)
    if not season:
        return answer(_poured(moment, since, today) or "No sap is in the book yet")
    if since == today:
        if not gathered:
            return answer("None today;", _about(season), "in all")
        return answer(_about(gathered), "today")
    if since == today - timedelta(days=1):
        of_today = _gathered(moment, today, today)
        before = _about(gathered - of_today)
        return answer(before, "yesterday,", _about(of_today), "today")
    if gathered == season:
        return answer(_about(season), "this season")
    return answer(_about(gathered), f"since {_day(since)}")


def _poured(moment: Moment, since: date, until: date) -> Parts:
    """Return what went into vessels, where no gathering is noted at all; empty if nothing did."""
    poured: dict[str, float] = {}
    for at, act in moment.season.stores:
        if act.vessel and since <= at.astimezone(moment.now.tzinfo).date() <= until:
            poured[act.vessel] = poured.get(act.vessel, 0.0) + (act.volume_gal or 0.0)
    told = listed(parts(_about(gal), "into", VesselRef(name)) for name, gal in poured.items())
    return parts(told, "; no gathering is noted") if told else ()


def _gathered(moment: Moment, since: date, until: date) -> float:
    """Return the gallons gathered from day ``since`` up to and with day ``until``."""
    return sum(
        gallons for day, gallons in moment.season.gathered_by_day.items() if since <= day <= until
    )


def _about(gallons: float) -> Quantity:
    return Quantity(round(gallons, 2), "gal")


def _day(day: date) -> str:
    return f"{day.day} {day:%B}"


@answers(SeasonSummary)
def _season_summary(ask: SeasonSummary, moment: Moment) -> Answered:
    season = moment.season
    sap = _gathered(moment, date.min, date.max)
    emptied = [tree for tree in season.trees.values() if tree.gathered_gal]
    drawn = sum(act.syrup_gal or 0.0 for _, act in season.draws)
    told = (
        parts(_about(sap), "of sap", _from_trees(len(emptied))) if sap else None,
        Count(len(season.boilings), "boil") if season.boilings else None,
        parts(_about(drawn), "of syrup") if drawn else None,
        _made_from(season.account.boiled_gal or sap, drawn),
    )
    if not any(told):
        return answer("Nothing gathered or boiled is in the book yet")
    packed = _packed(moment)
    whole = fact(listed(filter(None, told), ","))
    return Answered((whole, fact("Packed:", packed) if packed else fact()))


def _from_trees(count: int) -> Parts:
    return parts("from", Count(count, "tree")) if count else ()


def _packed(moment: Moment) -> Parts:
    """Return what was packed this season, gone since or not, by size and colour."""
    packed: Counter[tuple[str, str]] = Counter()
    for _, act in moment.season.packs:
        packed[act.size or "container", act.colour or ""] += act.count or 0
    return sorts(packed)


def _made_from(sap_gal: float, syrup_gal: float) -> Parts:
    if not sap_gal or not syrup_gal:
        return ()
    to_one = "of sap to one of syrup"
    return parts(Count(round(sap_gal / syrup_gal), to_one, to_one))
