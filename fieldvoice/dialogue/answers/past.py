"""Answers that look back: a month, trees that do not pay, the wood in a gallon, reminders."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Literal

from fieldvoice.dialogue import rule_inputs
from fieldvoice.dialogue.answers.answered import Answered, answer, answers, told_gal
from fieldvoice.dialogue.answers.looking_back import cords_burned, jars_of
from fieldvoice.dialogue.answers.pantry import sorts
from fieldvoice.dialogue.noted import noted
from fieldvoice.dialogue.sums import slow_trees, totals
from fieldvoice.dialogue.to_remind import awaited
from fieldvoice.nlu.times import days_of
from fieldvoice.rules.sugar import LITRES_PER_GAL
from fieldvoice.schema.acts.pantry import Pack, dollars
from fieldvoice.schema.acts.reminders import on_the_day
from fieldvoice.schema.asks.past import DropTrees, FuelCost, MadeIn, Reminders, TimeLeft
from fieldvoice.schema.vocabulary import SPAN_BACK
from fieldvoice.segments import (
    Count,
    Example,
    Quantity,
    Span,
    Text,
    TreeRef,
    fact,
    listed,
    parts,
)

if TYPE_CHECKING:
    from fieldvoice.book import TreeState
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.schema import TreeId
    from fieldvoice.segments import Parts, Segment

#: As many as one can follow by ear (design choices).
_MOST_TREES, _MOST_REMINDERS = 4, 5


#: The notes whose amounts are what was made, and the fields that have them.
_MADE: tuple[tuple[Literal["gather", "draw"], str], ...] = (
    ("draw", "syrup_gal"), ("gather", "volume_gal"),
)  # fmt: skip


@answers(MadeIn)
def _made_in(ask: MadeIn, moment: TurnContext) -> Answered:
    """Return the syrup drawn and the sap gathered in a time: a year, a month, a day or days."""
    span = ask.span or f"{moment.now:%Y}"
    first, last = days_of(span)
    of_years = range(first.year, last.year + 1)
    with moment.book.years(moment.settings.capacities_gal, now=moment.now) as years:
        drawn, gathered = (
            [note for year in of_years for note in years.amounts(act, field, year)]
            for act, field in _MADE
        )
    packed = jars_of(act for _, act in noted(Pack, span, moment))
    made = [
        sum(gallons for day, gallons in notes if first <= day <= last)
        for notes in (drawn, gathered)
    ]
    when = SPAN_BACK.told(span)
    syrup, sap = (told_gal(gallons) for gallons in made)
    if not any(made) and not packed:
        return answer("Nothing gathered or drawn off is in the book", *when)
    drawn_off = parts(syrup, "of syrup") if made[0] else () if packed else parts("no syrup")
    gave = parts(sap, "of sap") if made[1] else ()
    jars = parts(sorts(packed), "packed") if packed and not made[0] else ()
    return answer(listed(filter(None, (drawn_off, gave, jars))), *when)


@answers(DropTrees)
def _drop_trees(ask: DropTrees, moment: TurnContext) -> Answered:
    """Return the trees that do not pay or should be spared, each with its reasons."""
    if ask.sick:
        return _sick_trees(moment)
    with moment.book.years(moment.settings.capacities_gal, now=moment.now) as years:
        this = moment.season.year
        before = None if this is None else years.year_before(this)
        last = None if before is None else years.season(before)
    slow = slow_trees(moment.season)
    slow_before = slow_trees(last) if last is not None else None
    reasons = {
        tree.id: found
        for tree in moment.season.trees.values()
        if (found := _against(tree, slow, slow_before, moment))
    }
    if not reasons:
        if slow is None:
            return answer("I can't tell yet: fewer than three trees have sap in the book")
        return answer("None: no tree gives under half of the usual or is noted as failing")
    worst = sorted(reasons, key=lambda tree: -len(reasons[tree]))
    alike: dict[tuple[Parts, ...], list[TreeId]] = {}
    for tree in worst[:_MOST_TREES]:
        alike.setdefault(tuple(reasons[tree]), []).append(tree)
    told = [fact(TreeRef(tuple(trees)), ":", listed(why, ",")) for why, trees in alike.items()]
    more = len(worst) - _MOST_TREES
    return Answered((*told, fact("And", Count(more, "more tree")) if more > 0 else fact()))


def _sick_trees(moment: TurnContext) -> Answered:
    """Return the trees whose condition was noted as anything but sound."""
    failing: dict[str, list[TreeId]] = {}
    for tree in moment.season.standing:
        if tree.condition not in (None, "sound"):
            failing.setdefault(str(tree.condition), []).append(tree.id)
    if not failing:
        return answer("No tree is noted as sick or damaged")
    return answer(listed(
        parts(TreeRef(tuple(trees)), ":", condition) for condition, trees in failing.items()
    ))  # fmt: skip


def _against(
    tree: TreeState,
    slow: tuple[list[TreeId], float] | None,
    before: tuple[list[TreeId], float] | None,
    moment: TurnContext,
) -> list[Parts]:
    """Return what speaks against tapping a tree again."""
    found: list[Parts] = []
    if tree.condition in ("dying", "damaged"):
        found.append(parts("noted as", tree.condition))
    limit = rule_inputs.limit_of(tree, moment.settings)
    if limit is not None and limit.taps == 0 and tree.condition != "dying":
        found.append(parts("no tap allowed"))
    if slow is not None and tree.id in slow[0]:
        both = before is not None and tree.id in before[0]
        found.append(parts("under half of the usual sap", "two seasons running" if both else None))
    grown = rule_inputs.growth_of(tree)
    if grown is not None and not grown.enough:
        found.append(parts("hardly grows"))
    return found


@answers(FuelCost)
def _fuel_cost(ask: FuelCost, moment: TurnContext) -> Answered:
    """Return what the wood burned for a gallon (or litre) of syrup cost."""
    season = moment.season
    if season.cord_price is None:
        example = Example("paid two hundred dollars for a cord of wood")
        return answer("No price of wood is in the book; say", example)
    cords = cords_burned(f"{season.year or moment.now.year}", moment)
    syrup = totals(season).syrup_gal
    if not cords or not syrup:
        none = "no wood burned is noted" if not cords else "no syrup was drawn off this season"
        return answer("A cord cost", *dollars(season.cord_price), ";", none)
    metric = moment.settings.metric
    each = season.cord_price * cords / (syrup * LITRES_PER_GAL if metric else syrup)
    wood = parts(Quantity(round(cords, 2), "cord"), "at", *dollars(season.cord_price), "made")
    return answer(*dollars(round(each, 2)), "a liter" if metric else "a gallon", ":",
                  wood, told_gal(syrup))  # fmt: skip


@answers(Reminders)
def _reminders(ask: Reminders, moment: TurnContext) -> Answered:
    """Return what is still to be reminded of, the soonest first."""
    waiting = awaited(moment.season, moment.now)
    if not waiting:
        return answer("None. Say", Example("remind me on friday to wash the filter"))
    told = [
        fact(*on_the_day(one.due, moment.now), ":", one.text) for one in waiting[:_MOST_REMINDERS]
    ]
    more = len(waiting) - _MOST_REMINDERS
    return Answered((*told, fact("And", Count(more, "more", "more")) if more > 0 else fact()))


@answers(TimeLeft)
def _time_left(ask: TimeLeft, moment: TurnContext) -> Answered:
    """Return how long it is to the timers that run, the soonest first."""
    now = moment.now
    running = [one for one in awaited(moment.season, now)
               if one.is_timer and one.comes_up(now.tzinfo) > now]  # fmt: skip
    if not running:
        return answer("No timer is set. Say", Example("check the pan in ten minutes"))
    left = [(one.comes_up(now.tzinfo) - now, one.text) for one in running[:_MOST_REMINDERS]]
    return Answered(tuple(fact(_left(time), ":", text) for time, text in left))


def _left(time: timedelta) -> Segment:
    """Return how long a timer still runs: within an hour to the minute."""
    if time < timedelta(minutes=1):
        return Text("less than a minute")
    if time < timedelta(hours=1):
        return Count(round(time / timedelta(minutes=1)), "minute")
    return Span(time.total_seconds(), "work")
