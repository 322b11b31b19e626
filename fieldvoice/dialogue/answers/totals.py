"""Answers that add up: sap, syrup in stock, and the season as a whole."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from fieldvoice.dialogue.answers.answered import Answered, answer, answers
from fieldvoice.dialogue.answers.pantry import sorts
from fieldvoice.dialogue.sums import gathered_gal, totals
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
    gathered = gathered_gal(moment.season, since, today)
    season = gathered_gal(moment.season, until=today)
    if not season:
        return answer(_poured(moment, since, today) or "No sap is in the book yet")
    if since == today:
        if not gathered:
            return answer("None today;", _about(season), "in all")
        return answer(_about(gathered), "today")
    if since == today - timedelta(days=1):
        of_today = gathered_gal(moment.season, today, today)
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


def _about(gallons: float) -> Quantity:
    return Quantity(round(gallons, 2), "gal")


def _day(day: date) -> str:
    return f"{day.day} {day:%B}"


@answers(SeasonSummary)
def _season_summary(ask: SeasonSummary, moment: Moment) -> Answered:
    whole = totals(moment.season)
    told = (
        parts(_about(whole.sap_gal), "of sap", _from_trees(whole.trees)) if whole.sap_gal else None,
        Count(whole.boils, "boil") if whole.boils else None,
        parts(_about(whole.syrup_gal), "of syrup") if whole.syrup_gal else None,
        _made_from(whole.sap_to_one),
    )
    if not any(told):
        return answer("Nothing gathered or boiled is in the book yet")
    packed = sorts(whole.packed)
    summed = fact(listed(filter(None, told), ","))
    return Answered((summed, fact("Packed:", packed) if packed else fact()))


def _from_trees(count: int) -> Parts:
    return parts("from", Count(count, "tree")) if count else ()


def _made_from(sap_to_one: int | None) -> Parts:
    to_one = "of sap to one of syrup"
    return parts(Count(sap_to_one, to_one, to_one)) if sap_to_one else ()
