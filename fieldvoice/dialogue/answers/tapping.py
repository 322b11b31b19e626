"""Answers about tapping: gear for the taps, growth, wood left, buds, when to pull and to stop."""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import TYPE_CHECKING

from fieldvoice.dialogue import rule_inputs
from fieldvoice.dialogue.answers.answered import Answered, answer, answers, from_findings
from fieldvoice.dialogue.answers.sugarbush import usual_share
from fieldvoice.dialogue.answers.trees import size_of, tree_asked
from fieldvoice.errors import RangeError
from fieldvoice.rules.pulling import healing, pull_advice
from fieldvoice.rules.season import bud_outlook, sap_week, time_to_stop
from fieldvoice.rules.supplies import supplies
from fieldvoice.rules.taps import tap_limit
from fieldvoice.schema.asks.season import BudOutlook, TimeToStop
from fieldvoice.schema.asks.trees import (
    Diameter,
    GearNeeded,
    Growth,
    HolesHealed,
    TappingZone,
    WhenToPull,
)
from fieldvoice.segments import Count, Quantity, TreeRef, fact, listed, parts, told_of

if TYPE_CHECKING:
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.rules.finding import Finding
    from fieldvoice.rules.taps import TapLimit

#: Days before today that show the run's course.
_DAYS_BACK = 7


@answers(Diameter)
def _diameter(ask: Diameter, moment: TurnContext) -> Answered:
    if ask.diameter_in is None:
        return answer("Tell me how many inches around it is")
    limit = tap_limit(ask.diameter_in, schedule=moment.settings.schedule)
    taps = "no tap yet" if limit.taps == 0 else Count(limit.taps, "tap")
    around = parts(",", Quantity(math.pi * ask.diameter_in, "in", 0), "around:")
    return answer(
        Quantity(ask.diameter_in, "in", 1), "across", around, taps, findings=limit.findings
    )


@answers(GearNeeded)
def _gear_needed(ask: GearNeeded, moment: TurnContext) -> Answered:
    hang = moment.settings.buckets_hang
    if ask.count is not None:
        return from_findings(supplies(ask.count, buckets_on_ground=not hang).findings)
    limits = [rule_inputs.limit_of(tree, moment.settings) for tree in moment.season.trees.values()]
    measured = [limit.taps for limit in limits if limit is not None]
    if not measured:
        return answer("I know no trunks yet. Measure them, or tell me how many taps")
    taps = sum(measured)
    trees = Count(sum(count > 0 for count in measured), "tree")
    needed = supplies(taps, buckets_on_ground=not hang)
    return from_findings(needed.findings, about=parts("For", Count(taps, "tap"), "in", trees))


@answers(Growth)
def _growth(ask: Growth, moment: TurnContext) -> Answered:
    tree, it = tree_asked(ask, moment)
    if tree is None or tree.diameter_in is None:
        return answer(it, "was never measured")
    grown = rule_inputs.growth_of(tree)
    if grown is None:
        return answer("I can't tell yet: measure", it, "twice, three years apart")
    gain = Quantity(grown.diameter_in_per_year, "in", 2)
    (first_at, first), *_, (last_at, last) = rule_inputs.sizes_of(tree)
    whole = parts(Quantity(last - first, "in", 1), f"from {first_at.year} until {last_at.year}")
    return from_findings(grown.findings, before=fact(it, "gained", whole, ":", gain, "a year"))


@answers(TappingZone)
def _tapping_zone(ask: TappingZone, moment: TurnContext) -> Answered:
    tree, it = tree_asked(ask, moment)
    if tree is None or tree.diameter_in is None:
        return Answered(size_of(it.trees[0]))
    limit = rule_inputs.limit_of(tree, moment.settings)
    taps = ask.count or tree.taps_in or (limit.taps if limit else 0) or 1
    if limit is not None and taps > limit.taps:
        return _over_its_limit(it, limit)
    found = rule_inputs.zone_of(tree, taps)
    assert found is not None
    grown = rule_inputs.growth_of(tree)
    after = None if grown else "That takes usual growth; measure it again in three years"
    return from_findings(found.findings, about=it, after=after)


@answers(HolesHealed)
def _holes_healed(ask: HolesHealed, moment: TurnContext) -> Answered:
    """Return which holes should be closed by their age: the book does not see them."""
    tree, it = tree_asked(ask, moment)
    if tree is None or not tree.taps:
        return answer("No hole is noted on", it)
    ages = rule_inputs.hole_ages(tree, moment.now.year)
    older = parts(Count(ages.older, "hole"), "should be closed by now") if ages.older else None
    closing = parts(Count(ages.closing, "hole"), "may still be closing") if ages.closing else None
    open_ = parts(Count(ages.this_year, "hole"), "is" if ages.this_year == 1 else "are",
                  "of this year") if ages.this_year else None  # fmt: skip
    told = fact(it, ":", listed(filter(None, (older, closing, open_))))
    return from_findings(healing().findings, before=told)


def _over_its_limit(it: TreeRef, limit: TapLimit) -> Answered:
    """Return what a tree may carry by its health and size: its wood can only lower that."""
    reasons = limit.findings[1:]
    if not reasons:
        return from_findings(limit.findings, about=it)
    most = ("none", "one at most", "two at most", "three at most", "four at most")[limit.taps]
    if "at most" in reasons[0].text:
        return from_findings(reasons, about=it, more=0)
    return from_findings(reasons, before=told_of(it, most), more=0)


@answers(WhenToPull)
def _when_to_pull(ask: WhenToPull, moment: TurnContext) -> Answered:
    if ask.tree is None:
        advised = pull_advice(weeks_open=_longest_open(moment), whole_season=True)
        return from_findings(advised.findings)
    tree, it = tree_asked(ask, moment)
    if tree is None or tree.taps_in <= 0:
        return answer(it, "has no spile in it, as far as the book goes")
    advised = pull_advice(
        weeks_open=rule_inputs.weeks_open(tree, moment.now),
        share_of_neighbours=usual_share(tree.id, moment),
        buds_swelling=tree.sap == "buddy",
        damaged=tree.condition in ("damaged", "dying"),
    )
    return from_findings(advised.findings, about=it)


@answers(TimeToStop)
def _time_to_stop(ask: TimeToStop, moment: TurnContext) -> Answered:
    today = moment.now.date()
    recent = rule_inputs.days(moment.season, after=today - timedelta(days=_DAYS_BACK), until=today)
    coming = rule_inputs.days(moment.season, after=today)
    season = moment.season
    conditions = [tree.sap for tree in season.trees.values()]
    conditions += [vessel.sap for vessel in season.vessels.values()]
    answer = time_to_stop(
        recent=recent,
        coming=coming,
        weeks_open=_longest_open(moment),
        buds_or_buddy=bool(ask.buds) or "buddy" in conditions,
    )
    return from_findings((*answer.findings, *_of_the_model(moment)))


def _of_the_model(moment: TurnContext) -> tuple[Finding, ...]:
    """Return what the weekly model says, where enough of the year's weather is in the book."""
    days = rule_inputs.days(moment.season, after=_new_year_eve(moment), until=moment.now.date())
    try:
        return sap_week(days, moment.now.timetuple().tm_yday).findings
    except RangeError:
        return ()


@answers(BudOutlook)
def _bud_outlook(ask: BudOutlook, moment: TurnContext) -> Answered:
    days = rule_inputs.days(moment.season, after=_new_year_eve(moment), until=moment.now.date())
    if not days:
        return answer("I have no weather of this year; tell me the lows and highs")
    elapsed = moment.now.timetuple().tm_yday
    found = bud_outlook(days, ask.species or "red maple")
    whole = Count(elapsed, "day")
    short = parts("I know", Count(len(days), "of", "of"), whole) if len(days) < elapsed else None
    return from_findings(found.findings, about=ask.species or "red maple", after=short)


def _new_year_eve(moment: TurnContext) -> date:
    return date(moment.now.year - 1, 12, 31)


def _longest_open(moment: TurnContext) -> float | None:
    """Return the weeks that the oldest spile still in a tree has been there."""
    weeks = (rule_inputs.weeks_open(tree, moment.now) for tree in moment.season.trees.values())
    return max((one for one in weeks if one is not None), default=None)
