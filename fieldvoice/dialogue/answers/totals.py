"""Answers that add up: sap, syrup in stock, and the season as a whole."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from fieldvoice.dialogue.answers.answered import Answered, answer, answers, month_day, told_gal
from fieldvoice.dialogue.answers.pantry import sorts
from fieldvoice.dialogue.sums import gathered_gal, totals
from fieldvoice.nlu.times import date_of
from fieldvoice.schema.acts import Gather
from fieldvoice.schema.asks.sap import SapTotal
from fieldvoice.schema.asks.season import SeasonSummary
from fieldvoice.segments import Count, VesselRef, When, fact, listed, parts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.segments import Parts, Sentence


@answers(SapTotal)
def _sap_total(ask: SapTotal, moment: TurnContext) -> Answered:
    if "T" in (ask.since or ""):
        return _since_an_hour(datetime.fromisoformat(ask.since or ""), moment)
    today = moment.now.date()
    since = today if ask.since is None else date_of(ask.since, today)
    gathered = gathered_gal(moment.season, since, today)
    season = gathered_gal(moment.season, until=today)
    if not season:
        return answer(_poured(moment, since, today) or "No sap is in the book yet")
    if since == today:
        if not gathered:
            return answer("None today;", told_gal(season), "in all")
        return answer(told_gal(gathered), "today")
    if since == today - timedelta(days=1):
        of_today = gathered_gal(moment.season, today, today)
        before = told_gal(gathered - of_today)
        return answer(before, "yesterday,", told_gal(of_today), "today")
    monday = date_of("week", today)
    if since == monday - timedelta(days=7):
        of_week = gathered_gal(moment.season, monday, today)
        before = told_gal(gathered - of_week)
        return answer(before, "last week,", told_gal(of_week), "so far this week")
    if gathered == season:
        return answer(told_gal(season), "this season")
    return answer(told_gal(gathered), f"since {month_day(since)}")


def _since_an_hour(at: datetime, moment: TurnContext) -> Answered:
    """Return the sap of the rounds since ``at``, of today."""
    notes = (one for walked in moment.season.rounds for one in walked.notes)
    gathered = sum(
        act.volume_gal or 0.0 for when, act in notes if when >= at and isinstance(act, Gather)
    )
    return answer(told_gal(gathered), "since", When(at, moment.now, "clock"))


def _poured(moment: TurnContext, since: date, until: date) -> Parts:
    """Return what went into vessels, where no gathering is noted at all; empty if nothing did."""
    poured: dict[str, float] = {}
    for at, act in moment.season.stores:
        if act.vessel and since <= at.astimezone(moment.now.tzinfo).date() <= until:
            poured[act.vessel] = poured.get(act.vessel, 0.0) + (act.volume_gal or 0.0)
    told = listed(parts(told_gal(gal), "into", VesselRef(name)) for name, gal in poured.items())
    return parts(told, "; no gathering is noted") if told else ()


@answers(SeasonSummary)
def _season_summary(ask: SeasonSummary, moment: TurnContext) -> Answered:
    whole = totals(moment.season)
    told = (
        parts(told_gal(whole.sap_gal), "of sap", _from_trees(whole.trees))
        if whole.sap_gal
        else None,
        Count(whole.boils, "boil") if whole.boils else None,
        parts(told_gal(whole.syrup_gal), "of syrup") if whole.syrup_gal else None,
        _made_from(whole.sap_to_one),
    )
    if not any(told):
        return answer("Nothing gathered or boiled is in the book yet")
    packed = sorts(whole.packed)
    summed = fact(listed(filter(None, told), ","))
    filled = fact("Packed:", packed) if packed else fact()
    return Answered((summed, filled, _beside_before(moment)))


def _beside_before(moment: TurnContext) -> Sentence:
    """Return what the last season before came to by the same day, and in all; empty without one."""
    days = moment.season.gathered_by_day
    year = max(days).year if days else moment.now.year
    with moment.book.years(moment.settings.capacities_gal, now=moment.now) as years:
        before = years.year_before(year)
        if before is None:
            return fact()
        sap = years.amounts("gather", "volume_gal", before)
        syrup = years.amounts("draw", "syrup_gal", before)
    now = moment.now.date()
    until = (now.month, now.day) if now.year == year else (12, 31)
    sap_by_now, syrup_by_now = (_up_to(until, made) for made in (sap, syrup))
    sap_in_all, syrup_in_all = (_up_to((12, 31), made) for made in (sap, syrup))
    if (sap_by_now, syrup_by_now) == (sap_in_all, syrup_in_all):
        return fact("It was", _sap_and_syrup(sap_in_all, syrup_in_all), f"in {before}")
    by_now = _sap_and_syrup(sap_by_now, syrup_by_now)
    whole = listed(map(told_gal, filter(None, (sap_in_all, syrup_in_all))))
    return fact(f"By this day in {before} it was", by_now, ", of", whole, "in all")


def _up_to(until: tuple[int, int], made: Sequence[tuple[date, float]]) -> float:
    """Return what was made up to and with a month and day."""
    return sum(gallons for day, gallons in made if (day.month, day.day) <= until)


def _sap_and_syrup(sap: float, syrup: float) -> Parts:
    drawn = parts(told_gal(syrup), "of syrup") if syrup else ()
    return listed(filter(None, (parts(told_gal(sap), "of sap"), drawn)))


def _from_trees(count: int) -> Parts:
    return parts("from", Count(count, "tree")) if count else ()


def _made_from(sap_to_one: int | None) -> Parts:
    to_one = "of sap to one of syrup"
    return parts(Count(sap_to_one, to_one, to_one)) if sap_to_one else ()
