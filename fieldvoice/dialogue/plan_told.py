"""The boil plan in sentences: the same for the spoken answer, the board and the reminders."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.book.movements import PAN
from fieldvoice.dialogue import rule_inputs
from fieldvoice.dialogue.context import by_rule, rule_text
from fieldvoice.rules.fuel import fuel_needed
from fieldvoice.rules.packing import container_gal, containers_from
from fieldvoice.rules.sugar import blend
from fieldvoice.segments import (
    Condition,
    Count,
    Quantity,
    Sentence,
    Span,
    VesselRef,
    When,
    fact,
    listed,
    parts,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldvoice.dialogue.boil_day import BoilDay
    from fieldvoice.dialogue.settings import Settings
    from fieldvoice.rules.plan import Step
    from fieldvoice.segments import Parts

#: Sap read colder than this is told to keep only while it stays so (what is taken for unread sap).
_COOL_F = 40.0
#: What jars of a size are called beside their number.
_CALLED = {"pint": "pint", "quart": "quart", "500 ml": "half-liter jar", "1 liter": "liter jar"}
#: Words about old sap change over a tenth of its days, as in ``rules.storage``.
_ABOUT_DUE, _PAST, _LONG_PAST = 0.9, 1.8, 2.2


def plan_told(day: BoilDay, *between: Sentence) -> tuple[Sentence, ...]:
    """Return what is to be done with each lot, in the order of the plan.

    ``between`` is told before what can wait longer than the first.
    """
    plan = day.plan
    if not plan.boiled:
        return (never_boiled(day),) if plan.dumped else ()
    if plan.is_small:
        return (*_too_little(day), never_boiled(day), *between)
    first, *rest = plan.boiled
    told = [_ruled(day, parts(step_told(first, day, is_first=bool(rest))))]
    due = [step for step in rest if step.verdict == "boil"]
    if due:
        told.append(fact("Then", listed((_then(step, day) for step in due), ", then")))
    waiting = _waiting(day, rest, first.verdict == "can wait")
    return (told[0], never_boiled(day), *told[1:], *between, *waiting)


def step_told(step: Step, day: BoilDay, *, is_first: bool = False) -> Parts:
    """Return what is to be done with one vessel that is boiled, and by when."""
    vessel = _ref(step)
    alone = ", by itself" if step.apart else None
    if step.verdict == "can wait":
        return parts(vessel, "can wait: light the fire by", _coming(step, day), alone)
    cloudy = step.sap == "cloudy"
    if day.fire is None and (cloudy or step.by < day.now):
        was = parts("is cloudy") if cloudy else parts("was due", _due(step, day))
        return parts(vessel, was, ":", *_overdue(step, is_first), alone)
    if day.fire is not None:
        fire = "the fire is burning"
        late = parts("was due", _due(step, day), ";", fire) if step.by < day.now else fire
        return parts("Put", vessel, "on next", alone, ":", late)
    first = "first" if is_first else None
    told = parts("Boil", vessel, first, "today", alone)
    if _is_today(step, day):
        return parts(told, ": light the fire by", _coming(step, day))
    late = parts("light the fire by", _coming(step, day), "at the latest")
    return parts(told, ", there's a lot to boil:", late)


def never_boiled(day: BoilDay) -> Sentence:
    """Return what must not go into the pan."""
    if not day.plan.dumped:
        return fact()
    dont = parts("Don't boil", all_of(day.plan.dumped), ": dump and wash")
    return Sentence("warning", rule_text(day.plan.findings[-1], dont))


def reason(day: BoilDay, step: Step | None = None) -> Sentence:
    """Return why a vessel, the first where none is named, has its turn: the book's facts."""
    step = step or day.plan.boiled[0]
    stored = next(one for one in day.stored if one.name == step.name)
    taken = "taken as" if step.assumed else None
    holds = (
        step.verdict == "can wait" and step.is_held and not step.assumed and step.temp_f < _COOL_F
    )
    if_so = "if it stays so" if holds else None
    facts = (
        parts(Span(step.age_h * 3600), "old"),
        parts(taken, Quantity(step.temp_f, "°F", 0), if_so),
        Condition(stored.sap) if stored.sap else None,
        _gallons(step.volume_gal) if step.volume_gal else None,
    )
    return fact(_ref(step), "is", listed(filter(None, facts), ","))


def what_fits(day: BoilDay) -> Sentence:
    """Return in one sentence what today's hours have room for, and what they have not."""
    plan = day.plan
    until = When(plan.until, day.now, "coming")
    left = [step for step in plan.boiled if step.now_share < 0.99]
    held = plan.held_gal
    if plan.until <= day.now:
        return fact("It's too late to begin today")
    if plan.now_end is None or (held and left and plan.now_gal < min(plan.least_gal, held)):
        return fact("There's no time for a boil before", until, _left_over(left))
    if left and held is not None:
        fits = parts(Quantity(plan.now_gal, "gal", 0), "of", Quantity(held, "gal", 0))
        return fact("About", fits, "fit before", until, _left_over(left))
    if left:
        return fact("Not all of it fits before", until, _left_over(left))
    took = Span((plan.now_end - day.now).total_seconds(), "work")
    done = parts(took, ", done by", When(plan.now_end, day.now, "coming"))
    syrup = Quantity(plan.now_syrup_gal, "syrup gal")
    if plan.due:
        return fact("It all fits:", done, ", about", syrup, "of syrup")
    begun = "Begun now" if day.fire is None else "Put on today's fire"
    return fact(begun, "it takes", done, ", for about", syrup, "of lighter syrup")


def to_have_ready(day: BoilDay, settings: Settings) -> tuple[Sentence, ...]:
    """Return the jars and the fuel that what fits today takes; nothing where nothing fits."""
    plan = day.plan
    if not plan.now_syrup_gal:
        return ()
    needed = fuel_needed(plan.now_gal, _brix_of(day), settings.fuel)
    jars = jars_for(plan.now_syrup_gal, metric=settings.metric)
    return fact("Have", jars, "ready"), by_rule(needed.findings[0])


def jars_for(syrup_gal: float, *, metric: bool) -> Parts:
    """Return how many jars hold so much syrup: "6 pints or 3 quarts"."""
    small, large = usual_jars(metric=metric)
    more = Count(max(1, _nearest(syrup_gal, small)), _CALLED[small])
    fewer = _nearest(syrup_gal, large)
    return parts(more, parts("or", Count(fewer, _CALLED[large])) if fewer else None)


def usual_jars(*, metric: bool) -> tuple[str, str]:
    """Return the sizes of jars that are told where none was named."""
    return ("500 ml", "1 liter") if metric else ("pint", "quart")


def _nearest(syrup_gal: float, size: str) -> int:
    """Return how many jars of a size come nearest to so much syrup."""
    return containers_from(syrup_gal + 0.499 * container_gal(size), size).count


def _brix_of(day: BoilDay) -> float:
    parts = [(one.volume_gal, one.brix) for one in day.stored if one.volume_gal]
    return (
        blend([(gal or 0.0, brix) for gal, brix in parts]).brix if parts else rule_inputs.USUAL_BRIX
    )


def all_of(steps: Iterable[Step]) -> Parts:
    """Return the vessels of steps: "tank 1 and tank 2"."""
    return listed(_ref(step) for step in steps)


def overdue(steps: Iterable[Step], day: BoilDay) -> tuple[Step, ...]:
    """Return the steps whose last hour is past."""
    return tuple(step for step in steps if step.by < day.now)


def _ruled(day: BoilDay, told: Parts) -> Sentence:
    return Sentence("fact", rule_text(day.plan.findings[0], told))


def _then(step: Step, day: BoilDay) -> Parts:
    alone = ", by itself" if step.apart else None
    if step.by < day.now:
        return parts(_ref(step), ", due", _due(step, day), alone)
    return parts(_ref(step), "by", _coming(step, day), alone)


def _waiting(day: BoilDay, rest: list[Step], all_wait: bool) -> list[Sentence]:
    """Return until when the others can wait."""
    waiting = [step for step in rest if step.verdict == "can wait"]
    if not waiting:
        return []
    first, *others = (parts("till", _coming(step, day)) for step in waiting)
    names = [_ref(step) for step in waiting]
    ends = [parts(names[0], "can wait", first)]
    ends += [parts(name, end) for name, end in zip(names[1:], others, strict=True)]
    return [fact("Then", listed(ends)) if all_wait else fact(listed(ends))]


def _too_little(day: BoilDay) -> tuple[Sentence, ...]:
    """Return what to wait for and until when, where there is too little for a fire."""
    plan, first = day.plan, day.plan.boiled[0]
    held = plan.held_gal or 0.0
    vessels = all_of(plan.boiled)
    amount = _gallons(held)
    if first.verdict == "can wait":
        more = Quantity(max(1.0, plan.least_gal - held), "gal", 0)
        wait = parts("Wait for", more, "more, till", _coming(first, day), "at the latest")
        little = parts(vessels, "can wait:", amount, "is too little for a fire")
        return (_ruled(day, little), fact(wait))
    pot = parts("in a pot, outdoors")
    if first.by < day.now:
        told = parts(
            vessels, "was due", _due(first, day), ": boil", amount, "now", pot, _dark(first)
        )
    else:
        late = parts(", lit by", _coming(first, day), ": it won't keep, and", amount)
        told = parts("Boil", vessels, "today", pot, late, "won't cover the pan")
    return (_ruled(day, told),)


def _overdue(step: Step, is_first: bool) -> tuple[Parts, ...]:
    now = "boil it first" if is_first else "boil it now"
    if step.worn > _LONG_PAST:
        return (parts("smell and taste it;", now, "if it's clear and clean, for dark syrup"),)
    return (parts(now), _dark(step))


def _dark(step: Step) -> Parts:
    if step.worn < _ABOUT_DUE:
        return ()
    if step.worn < _PAST:
        return parts(", expect dark syrup")
    return parts("if it smells and tastes clean, expect dark syrup")


def _left_over(left: list[Step]) -> Parts:
    """Return what becomes of what does not fit."""
    late = [step for step in left if step.is_late]
    if late:
        return parts("; the rest of", all_of(late), "will be late")
    return parts("; the rest can wait till tomorrow") if left else ()


def _is_today(step: Step, day: BoilDay) -> bool:
    return step.by.astimezone(day.now.tzinfo).date() <= day.now.date()


def _ref(step: Step) -> Parts:
    return parts("the sap in the pan") if step.name == PAN else (VesselRef(step.name),)


def _gallons(volume_gal: float) -> Quantity:
    return Quantity(volume_gal, "gal", 1 if volume_gal >= 1 else 2)


def _coming(step: Step, day: BoilDay) -> When:
    return When(step.by, day.now, "coming")


def _due(step: Step, day: BoilDay) -> When:
    return When(step.by, day.now, "due")
