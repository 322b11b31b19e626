"""Answers about the boil day: what first, how long, can it wait, and what it takes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from fieldvoice.book.movements import CARRIED
from fieldvoice.dialogue import rule_inputs
from fieldvoice.dialogue.answers.answered import Answered, answer, answers, from_findings
from fieldvoice.dialogue.answers.vessels import NO_SAP, unknown_level
from fieldvoice.dialogue.boil_day import (
    BoilDay,
    boil_day,
    in_store,
    likely_brix,
    plan_as_json,
    said_least_gal,
    step_of,
)
from fieldvoice.dialogue.context import by_rule
from fieldvoice.dialogue.plan_told import (
    all_of,
    jars_for,
    never_boiled,
    overdue,
    plan_told,
    reason,
    to_have_ready,
    usual_jars,
    what_fits,
)
from fieldvoice.dialogue.prompts import Prompt
from fieldvoice.dialogue.to_remind import awaited
from fieldvoice.dialogue.water_today import draw_off_today
from fieldvoice.nlg.written import sentence
from fieldvoice.rules.boiling import wood_in_words
from fieldvoice.rules.fuel import fuel_needed
from fieldvoice.rules.packing import containers_from
from fieldvoice.rules.plan import FROM_HOUR
from fieldvoice.rules.sap import SAP_CLEAR, pour_check, spoils_others
from fieldvoice.rules.sugar import blend, sap_per_syrup, syrup_estimate
from fieldvoice.rules.weather import flow_outlook
from fieldvoice.schema.acts import Store
from fieldvoice.schema.acts.pantry import containers
from fieldvoice.schema.acts.reminders import on_the_day
from fieldvoice.schema.asks import boiling as ask_of
from fieldvoice.schema.asks.sap import MixCheck
from fieldvoice.schema.asks.syrup import JarsNeeded
from fieldvoice.segments import (
    Condition,
    Count,
    Example,
    Quantity,
    Sentence,
    Span,
    VesselRef,
    When,
    fact,
    listed,
    parts,
    prompt,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldvoice.book import Season, VesselState
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.rules.finding import Finding
    from fieldvoice.rules.plan import Step
    from fieldvoice.segments import Parts

#: About what a voice says in twenty seconds; a figure counts as two words. The first sentence of an
#: answer is never left out.
_MOST_WORDS = 60
#: What a tap may give on the day of a strong run, in gallons (the middle of 1 to 2).
_RUN_GAL_A_TAP = 1.5
#: "For ten gallons" may mean syrup; more than that is sap.
_MAYBE_SYRUP_GAL = 10.0

_EMPTY = f"{NO_SAP}. Tell me what is in which tank"
_NEW = f"{NO_SAP} yet. Begin with your trees:"


#: Of more vessels than these the order is told without its times: nobody keeps them in mind.
_TIMES_TOLD = 4


@answers(ask_of.BoilPlan)
def _boil_plan(ask: ask_of.BoilPlan, moment: TurnContext) -> Answered:
    day = boil_day(moment.season, moment.settings, moment.now, _until(ask, moment.now))
    if not day.plan.steps:
        return Answered((_nothing(day, moment.season),), plan=())
    between = () if day.plan.is_small or not day.plan.boiled else (what_fits(day),)
    told = [*plan_told(day, *between)]
    if day.plan.boiled:
        told += [_ice(day), reason(day), _make_room(day, moment), _pan_taken(day)]
    told.append(_to_think_of(moment))
    findings = (*day.plan.findings, *_run_ahead(moment))
    question = _where_to(day)
    asks = question.asks if question else ()
    return Answered((*_as_heard(told, asks), *asks), findings, plan_as_json(day.plan), question)


def _to_think_of(moment: TurnContext) -> Sentence:
    """Return what is to be remembered today, the soonest."""
    today = [
        one for one in awaited(moment.season, moment.now)
        if one.comes_up(moment.now.tzinfo).date() == moment.now.date()
    ]  # fmt: skip
    if not today:
        return fact()
    return fact("Remember", *on_the_day(today[0].due, moment.now), ":", today[0].text)


def _nothing(day: BoilDay, season: Season) -> Sentence:
    """Return that nothing is in store, and what is on the fire; in a new book how to begin."""
    fire, done = day.fire, day.pans.busy_until
    if fire is None or not fire.sap_gal or done is None or done < day.now:
        if season.trees or season.vessels:
            return fact(_EMPTY)
        return fact(_NEW, Example("tree one is a maple twenty inches across"))
    sap = Quantity(round(fire.sap_gal, 1), "gal")
    return fact("All the sap is on the fire:", sap, ", done about", _coming(done, day))


def _where_to(day: BoilDay) -> Prompt | None:
    """Return the question into which vessel the sap went that was gathered and never poured."""
    step = step_of(day, CARRIED)
    if step is None or step.volume_gal is None:
        return None
    poured = Store(volume_gal=step.volume_gal)
    return Prompt("slot", (prompt("Which tank is the gathered sap in"),), ((poured,),), "vessel")


def _pan_taken(day: BoilDay) -> Sentence:
    if day.rate.source != "usual pan" or day.plan.is_small:
        return fact()
    return fact("I took", Quantity(day.rate.ft2, "sq ft"), "of pan; tell me yours")


def _coming(at: datetime, day: BoilDay) -> When:
    return When(at, day.now, "coming")


def _ice(day: BoilDay) -> Sentence:
    """Return that the ice comes out first: it is nearly all water."""
    frozen = listed(VesselRef(one.name) for one in day.stored if one.sap == "frozen")
    return fact("Lift the ice out of", frozen, "first") if frozen else fact()


def _make_room(day: BoilDay, moment: TurnContext) -> Sentence:
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


def _spare_gal(day: BoilDay, moment: TurnContext) -> float:
    """Return the room in vessels that hold no sap now."""
    used = {one.name for one in day.stored}
    return sum(
        vessel.capacity_gal or 0.0
        for name, vessel in moment.season.vessels.items()
        if name not in used
    )


def _run_ahead(moment: TurnContext) -> tuple[Finding, ...]:
    """Return the finding on tomorrow's weather, if a strong run is likely."""
    tomorrow = moment.now.date() + timedelta(days=1)
    days = rule_inputs.days(moment.season, until=tomorrow)
    if not days or not rule_inputs.days(moment.season, after=moment.now.date(), until=tomorrow):
        return ()
    outlook = flow_outlook(days)
    return outlook.findings[:1] if outlook.day_class == "strong" else ()


@answers(ask_of.PlanRest)
def _plan_rest(ask: ask_of.PlanRest, moment: TurnContext) -> Answered:
    day = boil_day(moment.season, moment.settings, moment.now)
    plan = day.plan
    if not plan.steps:
        return Answered((_nothing(day, moment.season),), plan.findings, ())
    if not plan.boiled:
        return Answered(plan_told(day), plan.findings, plan_as_json(plan))
    draw = draw_off_today(moment)
    told = [_turns(day), by_rule(draw.findings[0])]
    told += to_have_ready(day, moment.settings)
    told.append(_make_room(day, moment))
    found = (*plan.findings, *draw.findings[:1])
    return Answered(_as_heard(told), found, plan_as_json(plan))


def _turns(day: BoilDay) -> Sentence:
    """Return each vessel's turn, if one begins now, with the time at which it comes on."""
    boiled = day.plan.boiled
    turns = [
        parts(VesselRef(step.name), _coming(step.begin or step.by, day))
        for step in boiled[:_TIMES_TOLD]
    ]
    later = [parts(VesselRef(step.name)) for step in boiled[_TIMES_TOLD:]]
    return fact(
        "Begun now:", listed((turns[0], *(parts("then", one) for one in turns[1:] + later)), ",")
    )


@answers(ask_of.CanWait)
def _can_wait(ask: ask_of.CanWait, moment: TurnContext) -> Answered:
    """Say whether every last hour lies behind the time asked about; each is the plan's own."""
    day = boil_day(moment.season, moment.settings, moment.now)
    if lacking := _no_sap(ask, day, moment.season):
        return lacking
    until = _until(ask, moment.now) or _morning(moment.now, 1)
    steps = _meant_steps(ask, day)
    if not steps:
        return Answered((never_boiled(day),), day.plan.findings, plan_as_json(day.plan))
    told = _wait_told(steps, until, day)
    return Answered((told, reason(day, steps[0])), day.plan.findings, plan_as_json(day.plan))


def _wait_told(steps: tuple[Step, ...], until: datetime, day: BoilDay) -> Sentence:
    """Return whether steps can wait, and until when."""
    last = min(step.by for step in steps)
    missed = overdue(steps, day)
    if missed:
        was = When(missed[0].by, day.now, "due")
        due = parts("was due" if len(missed) == 1 else "were due, the first", was)
        return fact("No:", all_of(missed), due, "; every hour makes it darker")
    light = "put it on" if day.fire is not None else "light the fire"
    by = parts(light, "by", _coming(last, day))
    late = [step for step in steps if step.by < until]
    if late:
        return fact("No, not till", _coming(until, day), ": for", all_of(late), by)
    if until.date() > day.now.date() and any(step.verdict == "boil" for step in steps):
        return fact("Better not, there's a lot to boil: at the latest", by)
    return fact("Yes, till", _coming(until, day), ":", by)


def _no_sap(ask: ask_of.CanWait | ask_of.StartBy, day: BoilDay, season: Season) -> Answered | None:
    """Return the answer where there is no sap, or none in the vessel that was asked about."""
    if not day.plan.steps:
        return Answered((_nothing(day, season),), plan=())
    if ask.vessel is not None and step_of(day, ask.vessel) is None:
        return answer("The book has no sap in", VesselRef(ask.vessel))
    return None


def _meant_steps(ask: ask_of.CanWait | ask_of.StartBy, day: BoilDay) -> tuple[Step, ...]:
    """Return the steps asked about that are no dumping."""
    return tuple(step for step in day.plan.boiled if ask.vessel in (None, step.name))


@answers(ask_of.StartBy)
def _start_by(ask: ask_of.StartBy, moment: TurnContext) -> Answered:
    day = boil_day(moment.season, moment.settings, moment.now)
    if lacking := _no_sap(ask, day, moment.season):
        return lacking
    steps = _meant_steps(ask, day)
    if not steps:
        return Answered((never_boiled(day),), day.plan.findings, plan_as_json(day.plan))
    first = min(steps, key=lambda step: step.by)
    if first.by < day.now:
        told = fact("Now:", VesselRef(first.name), "was due", When(first.by, day.now, "due"))
    else:
        told = fact("By", _coming(first.by, day), "at the latest; sooner is better")
    return Answered((told, reason(day, first)), day.plan.findings, plan_as_json(day.plan))


@answers(ask_of.FuelNeeded)
def _fuel_needed(ask: ask_of.FuelNeeded, moment: TurnContext) -> Answered:
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
    found = from_findings(needed.findings, after=parts("That is for", meant.called, took))
    if not ask.volume_gal or ask.volume_gal > _MAYBE_SYRUP_GAL:
        return found
    sap_gal = meant.volume_gal * sap_per_syrup(meant.brix)
    more = fuel_needed(sap_gal, meant.brix, fuel, jurisdiction_name=place)
    as_syrup = from_findings(more.findings, about="For so much syrup")
    return replace(found, told=(*found.told, *as_syrup.told))


def _own_fuel(moment: TurnContext) -> float | None:
    """Return the cords that a gallon of sap took in the boils whose wood was noted."""
    noted = [boil for boil in moment.season.boilings if boil.cords and boil.sap_gal]
    if not noted:
        return None
    return sum(boil.cords or 0.0 for boil in noted) / sum(boil.sap_gal for boil in noted)


@answers(JarsNeeded)
def _jars_needed(ask: JarsNeeded, moment: TurnContext) -> Answered:
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
    metric = moment.settings.metric
    found = containers_from(syrup_gal, usual_jars(metric=metric)[0])
    of_syrup = parts(Quantity(syrup_gal, "syrup gal"), "of syrup from", meant.called)
    return answer(jars_for(syrup_gal, metric=metric), ":", of_syrup, findings=found.findings)


@answers(ask_of.LeastBatch)
def _least_batch(ask: ask_of.LeastBatch, moment: TurnContext) -> Answered:
    day = boil_day(moment.season, moment.settings, moment.now)
    least = day.pans.least_gal
    held = sum(one.volume_gal or 0.0 for one in day.stored)
    settled = said_least_gal(moment.season, moment.settings) is not None
    why = "is what you light a fire for" if settled else "covers the pan two inches deep"
    told = [fact(Quantity(round(least), "gal"), why)]
    if day.stored:
        enough = "enough" if held >= least else "not enough"
        told.append(fact("You have", Quantity(round(held, 1), "gal"), ":", enough))
    return Answered(_as_heard((*told, _pan_told(day))), day.plan.findings)


@answers(MixCheck)
def _mix_check(ask: MixCheck, moment: TurnContext) -> Answered:
    """Say before it is poured what a mixture would be: tainted, how sweet, how old."""
    from_ = VesselRef(ask.vessel or _only_other(ask.into, moment))
    into = VesselRef(ask.into or _only_other(ask.vessel, moment))
    source = moment.season.vessels.get(from_.name)
    target = moment.season.vessels.get(into.name)
    if from_.name and (source is None or not rule_inputs.holds_sap(source)):
        return answer("The book has no sap in", from_)
    if source is None or not into.name:
        return answer("Say into which:", Example("can I pour tank two into tank one"))
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


def _only_other(vessel: str | None, moment: TurnContext) -> str:
    """Return the one other vessel with sap in it; nothing where there are several, or none."""
    held = [one.name for one in rule_inputs.vessels_with_sap(moment.season)]
    others = [name for name in held if vessel not in (None, name)]
    return others[0] if len(others) == 1 else ""


def _clear_finding() -> Finding:
    return SAP_CLEAR.finding(
        "note", "Sap of the same kind may be mixed; the oldest of it sets the age.",
        "Sugar is weighed by mass; the mixture spoils as fast as the oldest sap in it.",
    )  # fmt: skip


def _mixture(source: VesselState, target: VesselState | None, moment: TurnContext) -> Parts:
    held = [one for one in (source, target) if one is not None and one.volume_gal]
    total = sum(one.volume_gal or 0.0 for one in held)
    told = parts(",", Quantity(round(total, 1), "gal"), "together")
    if len(held) == 2 and all(one.brix is not None for one in held):
        mixed = blend([(one.volume_gal or 0.0, one.brix or 0.0) for one in held])
        told = parts(told, ",", Quantity(mixed.brix, "% sugar", 2))
    oldest = min((one.oldest_at for one in held if one.oldest_at), default=None)
    if oldest is not None:
        told = parts(told, ",", Span((moment.now - oldest).total_seconds()), "old")
    return told


def _no_room(source: VesselState, target: VesselState | None) -> Sentence:
    if target is None or target.capacity_gal is None or source.volume_gal is None:
        return fact()
    room = target.capacity_gal - (target.volume_gal or 0.0)
    if room >= source.volume_gal:
        return fact()
    return fact("There's room for", Quantity(round(max(0.0, room), 1), "gal"), "only")


@answers(ask_of.PanRate)
def _pan_rate(ask: ask_of.PanRate, moment: TurnContext) -> Answered:
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


def _meant(ask: ask_of.FuelNeeded | JarsNeeded, moment: TurnContext) -> Sap | Parts:
    """Return the sap asked about, today's plan where nothing is named; else what is not known."""
    if ask.volume_gal is not None:
        called = parts(Quantity(ask.volume_gal, "gal"), "of sap")
        return Sap(ask.volume_gal, rule_inputs.USUAL_BRIX, called)
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


def _as_heard(told: Iterable[Sentence], then: Iterable[Sentence] = ()) -> tuple[Sentence, ...]:
    """Return sentences, as many as twenty seconds take before ``then``; the first always."""
    kept: list[Sentence] = []
    words = sum(map(_spoken_length, then))
    for one in told:
        words += _spoken_length(one)
        if kept and words > _MOST_WORDS:
            break
        kept.append(one)
    return tuple(kept)


def _spoken_length(one: Sentence) -> int:
    """Return the words of a sentence; a figure counts as two."""
    return sum(2 if any(map(str.isdigit, word)) else 1 for word in sentence(one).split())
