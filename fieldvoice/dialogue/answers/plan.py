"""Answers about the boil day: what first, how long, can it wait, and what it takes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from fieldvoice.dialogue import rule_inputs
from fieldvoice.dialogue.answers.answered import Answered, answer, answers, from_findings
from fieldvoice.dialogue.answers.vessels import NO_SAP, unknown_level
from fieldvoice.dialogue.boil_day import FROM_HOUR, BoilDay, boil_day, in_store, likely_brix
from fieldvoice.dialogue.context import by_rule, rule_text
from fieldvoice.dialogue.water_today import draw_off_today
from fieldvoice.nlg.written import sentence
from fieldvoice.rules.boiling import wood_in_words
from fieldvoice.rules.fuel import fuel_needed
from fieldvoice.rules.packing import containers_from
from fieldvoice.rules.plan import Step, boil_plan, least_batch_gal, loses_by_waiting
from fieldvoice.rules.sap import SAP_CLEAR, pour_check, spoils_others
from fieldvoice.rules.sugar import blend, sap_per_syrup, syrup_estimate
from fieldvoice.rules.weather import flow_outlook
from fieldvoice.schema.acts.pantry import containers
from fieldvoice.schema.asks import boiling as ask_of
from fieldvoice.schema.asks.sap import MixCheck
from fieldvoice.schema.asks.syrup import JarsNeeded
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

    from fieldvoice.book import VesselState
    from fieldvoice.dialogue.context import Moment
    from fieldvoice.rules.finding import Finding
    from fieldvoice.rules.plan import BoilPlan
    from fieldvoice.segments import Parts, Piece

#: About what a voice says in twenty seconds; a figure counts as two words. The first sentence of an
#: answer is never left out.
_MOST_WORDS = 52
#: What a tap may give on the day of a strong run, in gallons (the middle of 1 to 2).
_RUN_GAL_A_TAP = 1.5

_EMPTY = f"{NO_SAP}. Tell me what is in which tank"


@answers(ask_of.BoilPlan)
def _boil_plan(ask: ask_of.BoilPlan, moment: Moment) -> Answered:
    day = boil_day(moment.season, moment.settings, moment.now, _until(ask, moment.now))
    if not day.stored:
        return answer(_EMPTY)
    plan = day.plan
    if not plan.boiled:
        return Answered(_as_heard(_ruled(plan)), plan.findings)
    first, *never_boiled = _ruled(plan)  # that is said early, since a long answer is cut short
    not_now = _not_now(day)
    told = not_now or (first,)
    rest = () if not_now else _order(day, moment)
    told = (*told, *never_boiled, *rest, *_to_do(day, moment))
    return Answered(_as_heard(told), (*plan.findings, *_run_ahead(moment)))


def _ruled(plan: BoilPlan) -> tuple[Sentence, ...]:
    """Return the plan's own findings, what goes first and what must not go into the pan."""
    told = []
    if plan.boiled:
        first, *rest = plan.boiled
        order: list[Piece] = ["Boil", VesselRef(first.name), "first" if rest else None]
        order.append(", by itself" if first.action == "boil apart" else None)
        for step in rest:
            order += [", then", VesselRef(step.name)]
            order.append("by itself" if step.action == "boil apart" else None)
        told.append(Sentence("fact", rule_text(plan.findings[0], *order)))
    if plan.dumped:
        never = listed(VesselRef(step.name) for step in plan.dumped)
        dont = rule_text(plan.findings[-1], "Don't boil", never, ": dump and wash")
        told.append(Sentence("warning", dont))
    return tuple(told)


def _order(day: BoilDay, moment: Moment) -> tuple[Sentence, ...]:
    """Return why that goes first, what does not fit, and how long today's boil takes."""
    plan = day.plan
    told = [_reason(plan.boiled[0], moment), _left_over(day)]
    if plan.now_gal:
        syrup = Quantity(plan.now_syrup_gal, "syrup gal")
        took = parts(Span(plan.now_h * 3600, "work"), "with lighting")
        told.append(fact(took, ", done by", _at(plan.now_h, day), ", about", syrup, "of syrup"))
    if day.rate.source == "usual pan":
        area = Quantity(day.rate.ft2, "sq ft")
        told.append(fact("I took a pan of", area, "; tell me your pan's size"))
    return tuple(told)


def _at(hours: float, day: BoilDay) -> When:
    return When(day.at(hours), day.now, "coming")


def _not_now(day: BoilDay) -> tuple[Sentence, ...]:
    """Return why nothing should be boiled today, where that is so: too little sap, or no time."""
    plan = day.plan
    held = [one.volume_gal for one in day.stored if one.sap not in ("sour", "ropey")]
    if any(gallons is None for gallons in held):
        return ()
    total = sum(gallons or 0.0 for gallons in held)
    if total < plan.least_gal:
        short = parts(Quantity(total, "gal"), "won't cover the pan")
        if _waits(day):
            least = Quantity(round(plan.least_gal), "gal")
            return fact("Not yet:", short, "; that takes", least), _keeps(day)
        first = VesselRef(plan.boiled[0].name)
        pot = "today in a pot, outdoors:"
        return (fact("Boil", first, pot, short, ", and it won't keep"),)
    if plan.now_gal < min(plan.least_gal, total):
        until = When(day.until, day.now, "coming")
        return fact("There's no time for a boil before", until), _keeps(day)
    return ()


def _waits(day: BoilDay) -> bool:
    """Whether it can all wait for the next day's hours, and lose nothing."""
    wait_h = day.plan.wait_h
    return wait_h is None or wait_h >= day.windows[1].begin_h


def _keeps(day: BoilDay) -> Sentence:
    """Return until when it keeps, or what is lost by waiting for the next day."""
    wait_h = day.plan.wait_h
    if wait_h is None:
        return fact("It keeps for days")
    if _waits(day):
        return fact("Start by", _at(wait_h, day))
    lost = loses_by_waiting(day.stored, day.pans, day.windows, day.windows[1].begin_h)
    return fact(_all(lost), "won't keep till tomorrow") if lost else fact()


def _all(vessels: Iterable[str]) -> Parts:
    return listed(map(VesselRef, vessels))


def _left_over(day: BoilDay) -> Sentence:
    """Return what today's hours have no room for, and until when it can wait."""
    late = [step for step in day.plan.boiled if step.now_share < 0.99 and step.volume_gal]
    if not late:
        return fact()
    gallons = sum((step.volume_gal or 0.0) * (1 - step.now_share) for step in late)
    amount = parts(Quantity(round(gallons), "gal"), "of", _all(step.name for step in late))
    overdue = [step.name for step in late if step.end_h is None or step.end_h > step.hours_left]
    keeps = parts(_all(overdue), "won't keep till tomorrow") if overdue else "that can wait"
    return fact(amount, "won't fit before", When(day.until, day.now, "clock"), ";", keeps)


def _to_do(day: BoilDay, moment: Moment) -> tuple[Sentence, ...]:
    """Return what else must be done: ice to lift, room to make before a run."""
    frozen = [one.name for one in day.stored if one.sap == "frozen"]
    ice = fact("Lift the ice out of", _all(frozen), "first; it's nearly all water")
    return (*((ice,) if frozen else ()), _make_room(day, moment))


def _make_room(day: BoilDay, moment: Moment) -> Sentence:
    """Return how much room the tanks have, when a strong run is to be expected."""
    if not _run_ahead(moment) or day.plan.room_gal is None:
        return fact()
    room = day.plan.room_gal + _spare_gal(day, moment)
    taps = sum(tree.taps_in for tree in moment.season.trees.values())
    wanted = taps * _RUN_GAL_A_TAP
    run, there = "A strong run is likely tomorrow", Quantity(round(room), "gal")
    if wanted and room < wanted:
        run_gal = parts(":", Quantity(round(wanted), "gal"), ", and there's room for", there)
        return fact(run, run_gal, "; empty what you can tonight")
    return fact(run, "; there's room for", there)


def _spare_gal(day: BoilDay, moment: Moment) -> float:
    """Return the room in vessels that hold no sap now."""
    used = {one.name for one in day.stored}
    return sum(
        vessel.capacity_gal or 0.0
        for name, vessel in moment.season.vessels.items()
        if name not in used
    )


def _run_ahead(moment: Moment) -> tuple[Finding, ...]:
    """Return the finding on tomorrow's weather, if a strong run is likely."""
    tomorrow = moment.now.date() + timedelta(days=1)
    days = rule_inputs.days(moment.season, until=tomorrow)
    if not days or not rule_inputs.days(moment.season, after=moment.now.date(), until=tomorrow):
        return ()
    outlook = flow_outlook(days)
    return outlook.findings[:1] if outlook.day_class == "strong" else ()


def _reason(step: Step, moment: Moment) -> Sentence:
    """Return why a vessel comes first, in the book's facts."""
    vessel = moment.season.vessels.get(step.name) or moment.season.carried
    assert vessel is not None
    temp_f = step.age.temp_f if not step.age.assumed else None
    facts = (
        parts(Span(step.age.age_h * 3600), "old"),
        None if temp_f is None else Quantity(temp_f, "°F"),
        Condition(vessel.sap) if vessel.sap else None,
        Quantity(round(vessel.volume_gal, 1), "gal") if vessel.volume_gal else None,
    )
    return fact(VesselRef(step.name), "is", listed(filter(None, facts), ","))


@answers(ask_of.PlanRest)
def _plan_rest(ask: ask_of.PlanRest, moment: Moment) -> Answered:
    day = boil_day(moment.season, moment.settings, moment.now)
    plan = day.plan
    if not day.stored:
        return answer(_EMPTY, findings=plan.findings)
    if not plan.boiled:
        return Answered(_ruled(plan), plan.findings)
    draw = draw_off_today(moment)
    told = [_turns(day), by_rule(draw.findings[0])]
    if plan.now_syrup_gal:
        told.append(fact("Have", _jars(plan.now_syrup_gal), "ready"))
        needed = fuel_needed(plan.now_gal, _brix_of(day), moment.settings.fuel)
        told.append(by_rule(needed.findings[0]))
    told.append(_make_room(day, moment))
    return Answered(_as_heard(told), (*plan.findings, *draw.findings[:1]))


def _turns(day: BoilDay) -> Sentence:
    """Return each vessel's turn with the time at which it comes on."""
    turns = []
    for step in day.plan.boiled:
        on = f"on the {step.pan}" if len(day.pans) > 1 else None
        begins = "left over" if step.begin_h is None else _at(step.begin_h, day)
        turns.append(parts(VesselRef(step.name), on, begins))
    return fact(listed((turns[0], *(parts("then", turn) for turn in turns[1:])), ","))


@answers(ask_of.CanWait)
def _can_wait(ask: ask_of.CanWait, moment: Moment) -> Answered:
    day = boil_day(moment.season, moment.settings, moment.now)
    if lacking := _no_sap(ask, day):
        return lacking
    until = _until(ask, moment.now) or _morning(moment.now, 1)
    until_h = (until - moment.now).total_seconds() / 3600
    of_it = _only(ask.vessel, moment, day)
    plan = of_it.plan
    if not plan.boiled:
        return Answered(_as_heard(_ruled(plan)), plan.findings)
    lost = loses_by_waiting(of_it.stored, of_it.pans, of_it.windows, until_h)
    over = [step for step in plan.boiled if step.name in lost]
    told = When(until, moment.now, "coming")
    if not over:
        overdue = [step.name for step in plan.boiled if step.hours_left == 0]
        if overdue:
            late = "is past its two days already; every hour makes it darker"
            return answer("Not really:", _all(overdue), late, findings=plan.findings)
        yes = fact("Yes, till", told, ", if it stays cold")
        return Answered((yes, _keeps_till(of_it)), plan.findings)
    spoilt = any(step.hours_left < until_h for step in over)
    why = parts("won't keep till", told) if spoilt else "wouldn't be done in time"
    no = fact("No:", _all(step.name for step in over), why)
    return Answered((no, _keeps_till(of_it)), plan.findings)


def _no_sap(ask: ask_of.CanWait | ask_of.StartBy, day: BoilDay) -> Answered | None:
    """Return the answer where there is no sap, or none in the vessel that was asked about."""
    if not day.stored:
        return answer(_EMPTY)
    if ask.vessel is not None and ask.vessel not in {one.name for one in day.stored}:
        return answer("The book has no sap in", VesselRef(ask.vessel))
    return None


def _keeps_till(day: BoilDay) -> Sentence:
    wait_h = day.plan.wait_h
    if wait_h is None:
        return fact()
    return fact("Start now") if wait_h < 0.5 else fact("Start by", _at(wait_h, day))


def _only(name: str | None, moment: Moment, day: BoilDay) -> BoilDay:
    """Return the boil day as if there were only one vessel; with no name, the whole of it."""
    if name is None:
        return day
    stored = tuple(one for one in day.stored if one.name == name)
    plan = boil_plan(stored, day.pans, day.windows, pan_ft2=day.rate.ft2)
    return replace(day, stored=stored, plan=plan)


@answers(ask_of.StartBy)
def _start_by(ask: ask_of.StartBy, moment: Moment) -> Answered:
    whole = boil_day(moment.season, moment.settings, moment.now)
    if lacking := _no_sap(ask, whole):
        return lacking
    day = _only(ask.vessel, moment, whole)
    plan = day.plan
    if not plan.boiled:
        return Answered(_as_heard(_ruled(plan)), plan.findings)
    overdue = [step.name for step in plan.boiled if step.hours_left == 0]
    if overdue:
        told = fact("Now:", _all(overdue), "is past its two days")
    elif plan.wait_h is None:
        told = fact("It can wait for days, if it stays this cold")
    elif plan.wait_h < 0.5:
        told = fact("Now, or some of it won't be done in time")
    else:
        told = fact("By", _at(plan.wait_h, day), "at the latest; sooner is better")
    return Answered(_as_heard((told, _reason(plan.boiled[0], moment))), plan.findings)


@answers(ask_of.FuelNeeded)
def _fuel_needed(ask: ask_of.FuelNeeded, moment: Moment) -> Answered:
    """Return the fuel for what is named, else for all that is in store; by own boils if noted."""
    fuel = ask.fuel or moment.settings.fuel
    place = moment.settings.jurisdiction
    meant = _meant(ask, moment)
    if not isinstance(meant, Sap) and ask.vessel is not None:
        return answer(meant)
    if not isinstance(meant, Sap):
        needed = fuel_needed(sap_per_syrup(rule_inputs.USUAL_BRIX), rule_inputs.USUAL_BRIX, fuel)
        return from_findings(needed.findings, after="That is for a gallon of syrup")
    needed = fuel_needed(meant.volume_gal, meant.brix, fuel, jurisdiction_name=place)
    own = _own_fuel(moment)
    if own is not None and needed.unit == "cords":
        wood = wood_in_words(own * meant.volume_gal, is_own=True)
        told = parts("About", wood, "for", meant.called, ", by your own boils")
        return answer(told, findings=needed.findings)
    took = parts("; I took", Quantity(meant.brix, "% sugar")) if ask.volume_gal else None
    return from_findings(needed.findings, after=parts("That is for", meant.called, took))


def _own_fuel(moment: Moment) -> float | None:
    """Return the cords that a gallon of sap took in the boils whose wood was noted."""
    noted = [boil for boil in moment.season.boilings if boil.cords and boil.sap_gal]
    if not noted:
        return None
    return sum(boil.cords or 0.0 for boil in noted) / sum(boil.sap_gal for boil in noted)


@answers(JarsNeeded)
def _jars_needed(ask: JarsNeeded, moment: Moment) -> Answered:
    meant = _meant(ask, moment)
    if not isinstance(meant, Sap):
        return answer(meant)
    syrup_gal = syrup_estimate(meant.volume_gal, meant.brix).syrup_gal
    if ask.size is not None:
        found = containers_from(syrup_gal, ask.size)
        over = parts("and", Quantity(found.left_gal, "syrup gal"), "over")
        jars = containers(found.count, ask.size)
        more = over if found.left_gal > 0.02 else None
        return answer(jars, more, ", from", meant.called, findings=found.findings)
    pints = containers_from(syrup_gal, "pint")
    of_syrup = parts(Quantity(syrup_gal, "syrup gal"), "of syrup from", meant.called)
    return answer(_jars(syrup_gal), ":", of_syrup, findings=pints.findings)


@answers(ask_of.LeastBatch)
def _least_batch(ask: ask_of.LeastBatch, moment: Moment) -> Answered:
    day = boil_day(moment.season, moment.settings, moment.now)
    least = least_batch_gal(day.rate.ft2)
    held = sum(one.volume_gal or 0.0 for one in day.stored)
    told = [fact(Quantity(round(least), "gal"), "covers the pan two inches deep")]
    if day.stored:
        enough = "enough" if held >= least else "not enough"
        told.append(fact("You have", Quantity(round(held, 1), "gal"), ":", enough))
    return Answered(_as_heard((*told, _pan_told(day))), day.plan.findings)


@answers(MixCheck)
def _mix_check(ask: MixCheck, moment: Moment) -> Answered:
    """Say before it is poured what a mixture would be: tainted, how sweet, how old."""
    from_, into = VesselRef(ask.vessel or ""), VesselRef(ask.into or "")
    source = moment.season.vessels.get(from_.name)
    target = moment.season.vessels.get(into.name)
    if source is None or not rule_inputs.holds_sap(source):
        return answer("The book has no sap in", from_)
    empty = target is None or not rule_inputs.holds_sap(target)
    tainted = pour_check(source.sap, target.sap if target else None, vessel_is_empty=empty).findings
    if tainted:
        about = parts(from_, "is", Condition(source.sap or ""))
        return from_findings(tainted, before=fact("No"), about=about, more=0)
    if not empty and target is not None and spoils_others(target.sap):
        told = fact("Better not:", into, "is", Condition(target.sap), ", and would spoil it")
    else:
        told = fact("Yes", None if empty else _mixture(source, target, moment))
    return Answered(_as_heard((told, _no_room(source, target))), (_clear_finding(),))


def _clear_finding() -> Finding:
    return SAP_CLEAR.finding(
        "note", "Sap of the same kind may be mixed; the oldest of it sets the age.",
        "Sugar is weighed by mass; the mixture spoils as fast as the oldest sap in it.",
    )  # fmt: skip


def _mixture(source: VesselState, target: VesselState | None, moment: Moment) -> Parts:
    held = [one for one in (source, target) if one is not None and one.volume_gal]
    total = sum(one.volume_gal or 0.0 for one in held)
    told = parts(",", Quantity(round(total, 1), "gal"), "together")
    if len(held) == 2 and all(one.brix is not None for one in held):
        mixed = blend([(one.volume_gal or 0.0, one.brix or 0.0) for one in held])
        told = parts(told, ",", Quantity(mixed.brix, "% sugar", 2))
    oldest = min((one.oldest_at for one in held if one.oldest_at), default=None)
    if oldest is not None:
        told = parts(told, ", as old as", Span((moment.now - oldest).total_seconds()))
    return told


def _no_room(source: VesselState, target: VesselState | None) -> Sentence:
    if target is None or target.capacity_gal is None or source.volume_gal is None:
        return fact()
    room = target.capacity_gal - (target.volume_gal or 0.0)
    if room >= source.volume_gal:
        return fact()
    return fact("There's room for", Quantity(round(max(0.0, room), 1), "gal"), "only")


@answers(ask_of.PanRate)
def _pan_rate(ask: ask_of.PanRate, moment: Moment) -> Answered:
    day = boil_day(moment.season, moment.settings, moment.now)
    return Answered((_pan_told(day),))


def _pan_told(day: BoilDay) -> Sentence:
    """Return the pan's rate and where it is known from."""
    rate = parts(Quantity(day.rate.gal_h, "gal", 1), "an hour,")
    if day.rate.source == "own boils":
        boils = "boil" if day.rate.boils == 1 else Count(day.rate.boils, "boil")
        return fact("Your pan boils off", rate, "by your last", boils)
    taken = "; tell me your pan's size" if day.rate.source == "usual pan" else None
    return fact("About", rate, "taken from a pan of", Quantity(day.rate.ft2, "sq ft"), taken)


@dataclass(frozen=True, slots=True)
class Sap:
    """Sap that is asked about, and what it is called."""

    volume_gal: float
    brix: float
    called: Parts


def _meant(ask: ask_of.FuelNeeded | JarsNeeded, moment: Moment) -> Sap | Parts:
    """Return the sap asked about, today's plan where nothing is named; else what is not known."""
    if ask.volume_gal is not None:
        return Sap(ask.volume_gal, rule_inputs.USUAL_BRIX, parts(Quantity(ask.volume_gal, "gal")))
    if ask.vessel is not None:
        vessel = moment.season.vessels.get(ask.vessel)
        if vessel is None or not vessel.volume_gal:
            return unknown_level(ask.vessel)
        return Sap(vessel.volume_gal, likely_brix(vessel.brix), parts(VesselRef(ask.vessel)))
    held = [one for one in in_store(moment.season) if one.volume_gal]
    if not held:
        return parts(_EMPTY)
    total = sum(one.volume_gal or 0.0 for one in held)
    mixed = blend([(one.volume_gal or 0.0, likely_brix(one.brix)) for one in held])
    called = parts("the", Quantity(round(total), "gal"), "in store")
    return Sap(total, mixed.brix, called)


def _brix_of(day: BoilDay) -> float:
    parts = [(one.volume_gal, one.brix) for one in day.stored if one.volume_gal]
    return (
        blend([(gal or 0.0, brix) for gal, brix in parts]).brix if parts else rule_inputs.USUAL_BRIX
    )


def _jars(syrup_gal: float) -> Parts:
    pints = max(1, containers_from(syrup_gal + 0.0624, "pint").count)
    quarts = containers_from(syrup_gal + 0.1249, "quart").count
    return parts(Count(pints, "pint"), parts("or", Count(quarts, "quart")) if quarts else None)


def _until(ask: ask_of.BoilPlan | ask_of.CanWait, now: datetime) -> datetime | None:
    hours = ask.hours if isinstance(ask, ask_of.BoilPlan) else None
    if hours is not None:
        return now + timedelta(hours=max(0.0, hours))
    if ask.until is None:
        return None
    until = datetime.fromisoformat(ask.until)
    if "T" not in ask.until:
        until = until.replace(hour=FROM_HOUR)
    return until if until.tzinfo else until.replace(tzinfo=now.tzinfo)


def _morning(now: datetime, days: int) -> datetime:
    there = now + timedelta(days=days)
    return there.replace(hour=FROM_HOUR, minute=0, second=0, microsecond=0)


def _as_heard(told: Iterable[Sentence]) -> tuple[Sentence, ...]:
    """Return sentences, as many as twenty seconds take; the first always."""
    kept: list[Sentence] = []
    words = 0
    for one in told:
        written = sentence(one).split()
        words += sum(2 if any(sign.isdigit() for sign in word) else 1 for word in written)
        if kept and words > _MOST_WORDS:
            break
        kept.append(one)
    return tuple(kept)
