"""Answers about stored sap: what to boil, how old, how full, how long, how much syrup."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue import rule_inputs
from fieldvoice.dialogue.answers.answered import Answered, answer, answers, from_findings, told_gal
from fieldvoice.dialogue.boil_day import (
    BoilDay,
    boil_day,
    going_boil,
    likely_brix,
    pan_rate,
    plan_as_json,
    step_of,
)
from fieldvoice.dialogue.plan_told import plan_told, step_told
from fieldvoice.rules.boiling import boil_time
from fieldvoice.rules.sap import sap_advice, spoils_others
from fieldvoice.rules.sugar import syrup_estimate
from fieldvoice.schema.asks.boiling import BoilTime, SyrupEstimate
from fieldvoice.schema.asks.sap import SapAge, SapStored, Sugar, VesselLevel
from fieldvoice.segments import (
    Condition,
    Level,
    Quantity,
    Span,
    TreeRef,
    VesselRef,
    fact,
    listed,
    parts,
    told_of,
)

if TYPE_CHECKING:
    from fieldvoice.book import VesselState
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.segments import Parts, Sentence

#: What sap of sugar maples mostly has, in Brix (common practice); one test beats it.
USUAL_RANGE_BRIX = (1.5, 2.5)

NO_SAP = "The book has no sap in store"


@answers(SapAge)
def _sap_age(ask: SapAge, moment: TurnContext) -> Answered:
    """Tell the age, and what the plan says of it; the rule's word on the age stays for "why"."""
    day = boil_day(moment.season, moment.settings, moment.now)
    plan = plan_as_json(day.plan)
    if ask.vessel is None:
        return _all_ages(day, moment)
    vessel, it = moment.season.vessels.get(ask.vessel), VesselRef(ask.vessel)
    step = step_of(day, ask.vessel)
    if vessel is None or not rule_inputs.holds_sap(vessel):
        return answer("The book has no sap in", it)
    if step is None:
        return answer("I don't know when the sap in", it, "came in")
    age = parts(Span(step.age_h * 3600), "old")
    if vessel.sap is not None and spoils_others(vessel.sap):
        advice = sap_advice(vessel.sap, where="vessel")
        return from_findings(advice.findings, before=told_of(it, Condition(vessel.sap), age))
    aged = rule_inputs.age_of_sap(vessel, moment)
    told = (told_of(it, age), fact(step_told(step, day)))
    return Answered(told, aged.findings if aged else (), plan)


def _all_ages(day: BoilDay, moment: TurnContext) -> Answered:
    if not day.plan.steps:
        return answer(NO_SAP)
    oldest = sorted(day.plan.steps, key=lambda step: -step.age_h)
    ages = listed(parts(VesselRef(step.name), Span(step.age_h * 3600)) for step in oldest)
    return Answered((fact(ages), *plan_told(day)), day.plan.findings, plan_as_json(day.plan))


@answers(VesselLevel)
def _vessel_level(ask: VesselLevel, moment: TurnContext) -> Answered:
    if ask.vessel is not None:
        return Answered((_level(ask.vessel, moment),))
    return _stored(moment)


@answers(SapStored)
def _sap_stored(ask: SapStored, moment: TurnContext) -> Answered:
    return _stored(moment)


def _stored(moment: TurnContext) -> Answered:
    """Return how much sap there is in all, and in each vessel."""
    held = rule_inputs.vessels_with_sap(moment.season)
    if not held:
        return answer(_carried(moment) or NO_SAP)
    whole = [vessel.volume_gal for vessel in held if vessel.volume_gal is not None]
    in_all = parts("In all", Quantity(round(sum(whole), 1), "gal")) if len(whole) > 1 else ()
    if len(held) == len(whole) > 1:
        return answer(in_all, ":", listed((_in_short(vessel) for vessel in held), "and"))
    return Answered((fact(in_all), *(_level(vessel.name, moment) for vessel in held)))


def _in_short(vessel: VesselState) -> Parts:
    """Return "31 gal in tank 1", with the condition of its sap where one was noted."""
    held = Quantity(round(vessel.volume_gal or 0.0, 1), "gal")
    sap = parts(",", Condition(vessel.sap)) if vessel.sap else None
    return parts(held, "in", VesselRef(vessel.name), sap)


def _carried(moment: TurnContext) -> Parts:
    """Return how much was gathered and not poured yet, where some was."""
    carried = moment.season.carried
    if carried is None or not carried.volume_gal:
        return ()
    return parts(told_gal(carried.volume_gal), "gathered; tell me which tank it went into")


@answers(Sugar)
def _sugar(ask: Sugar, moment: TurnContext) -> Answered:
    """Return what was tested last: of what was named, what is in hand, or all the sap in store."""
    tree = moment.focus.tree if ask.tree is None and ask.vessel is None else ask.tree
    if tree is not None:
        known, it = moment.season.trees.get(tree), TreeRef((tree,))
        if known is None or known.brix is None:
            return answer(it, "was not tested this season")
        return answer(it, ":", Quantity(known.brix, "% sugar"))
    held = rule_inputs.vessels_with_sap(moment.season)
    names = [ask.vessel] if ask.vessel else [vessel.name for vessel in held]
    if not names:
        return answer(NO_SAP)
    return Answered(tuple(_sweetness(name, moment) for name in names))


def _sweetness(name: str, moment: TurnContext) -> Sentence:
    vessel, it = moment.season.vessels.get(name), VesselRef(name)
    if vessel is None or vessel.brix is None:
        return fact(it, ": its sap was not tested; about 2 % is usual")
    return fact(it, ":", Quantity(vessel.brix, "% sugar"))


def _level(name: str, moment: TurnContext) -> Sentence:
    vessel, it = moment.season.vessels.get(name), VesselRef(name)
    if vessel is None:
        return fact(it, "isn't in the book")
    held, brix = vessel.volume_gal, vessel.brix
    facts = (
        None if held is None or vessel.fill == 0 else Quantity(held, "gal"),
        None if vessel.fill is None else Level(vessel.fill),
        None if brix is None else Quantity(brix, "% sugar"),
        None if vessel.sap in (None, "clear") else Condition(vessel.sap or ""),
        _room(vessel),
    )
    if not any(facts) and not rule_inputs.holds_sap(vessel):
        return fact("The book has no sap in", it)
    is_known = held is not None or vessel.fill is not None
    return told_of(it, *facts, None if is_known else "how much it has isn't in the book")


def _room(vessel: VesselState) -> Parts:
    capacity = vessel.capacity_gal
    if capacity is None or vessel.volume_gal is None:
        return ()
    return parts("room for", Quantity(max(0.0, capacity - vessel.volume_gal), "gal"))


@answers(BoilTime)
def _boil_time(ask: BoilTime, moment: TurnContext) -> Answered:
    volume_gal, brix, assumed, missing = _sap_meant(ask, moment)
    if volume_gal is None:
        return answer(missing)
    pan = pan_rate(moment.season, moment.settings)
    area_ft2 = ask.area_sqft or pan.ft2
    rate = moment.settings.boil_rate_gal_ft2_h if ask.area_sqft else pan.gal_h / pan.ft2
    timed = boil_time(
        volume_gal,
        brix,
        area_ft2,
        rate_gal_ft2_h=rate,
        brix_assumed=assumed,
        jurisdiction_name=moment.settings.jurisdiction,
    )
    if ask.area_sqft:
        after = parts("That is a pan of", Quantity(area_ft2, "sq ft"))
    elif pan.source == "own boils":
        after = parts("That is your pan's own", Quantity(pan.gal_h, "gal", 1), "an hour")
    else:
        taken = "taken; set your own" if pan.source == "usual pan" else None
        after = parts("That is a pan of", Quantity(pan.ft2, "sq ft"), taken)
    return from_findings(timed.findings, after=after)


@answers(SyrupEstimate)
def _syrup_estimate(ask: SyrupEstimate, moment: TurnContext) -> Answered:
    volume_gal, brix, assumed, missing = _sap_meant(ask, moment)
    if volume_gal is None:
        return answer(missing)
    made = syrup_estimate(volume_gal, brix, jurisdiction_name=moment.settings.jurisdiction)
    sugar = Quantity(brix, "% sugar")
    after = _assumed(made.syrup_gal, moment) if assumed else parts("From", sugar)
    return from_findings(made.findings, after=after)


def _assumed(syrup_gal: float, moment: TurnContext) -> Parts:
    """Return the sugar that was taken, and what the usual range of it would make."""
    place = moment.settings.jurisdiction
    usual = syrup_estimate(1.0, rule_inputs.USUAL_BRIX, jurisdiction_name=place).syrup_gal
    low, high = (
        syrup_gal / usual * syrup_estimate(1.0, brix, jurisdiction_name=place).syrup_gal
        for brix in USUAL_RANGE_BRIX
    )
    took = Quantity(rule_inputs.USUAL_BRIX, "% sugar")
    if not syrup_gal:
        return parts("I took", took)
    of = parts(f"{USUAL_RANGE_BRIX[0]:g} to", Quantity(USUAL_RANGE_BRIX[1], "%"))
    made = parts(Quantity(low, "syrup gal"), "to", Quantity(high, "syrup gal"))
    return parts("I took", took, ";", of, "would make", made)


def _sap_meant(
    ask: BoilTime | SyrupEstimate, moment: TurnContext
) -> tuple[float | None, float, bool, Parts]:
    """Return gallons and Brix of the sap asked about, whether Brix was taken, and what is missing.

    Without a volume or a vessel, all the sap in store is meant; where none is left there, that on
    the fire.
    """
    vessel = moment.season.vessels.get(ask.vessel) if ask.vessel else None
    brix, assumed = rule_inputs.sugar_of(vessel)
    said_brix = ask.brix if isinstance(ask, SyrupEstimate) else None
    if said_brix is not None:
        brix, assumed = said_brix, False
    if ask.volume_gal is not None:
        return ask.volume_gal, brix, assumed, ()
    fire = going_boil(moment.season, moment.now)
    on_fire = fire if fire is not None and fire.sap_gal else None
    if ask.vessel is not None:
        level = vessel.volume_gal if vessel else None
        if level == 0 and on_fire is not None and ask.vessel in on_fire.vessels:
            return on_fire.sap_gal, likely_brix(on_fire.brix), on_fire.brix is None, ()
        return level, brix, assumed, unknown_level(ask.vessel)
    held = [one for one in rule_inputs.vessels_with_sap(moment.season) if one.volume_gal]
    total = sum(one.volume_gal or 0.0 for one in held)
    if not total and on_fire is not None:
        return on_fire.sap_gal, likely_brix(on_fire.brix), on_fire.brix is None, ()
    if not total:
        return None, brix, assumed, parts("I don't know how much sap there is; tell me the gallons")
    if said_brix is None:
        tested = [one for one in held if one.brix is not None]
        assumed = len(tested) < len(held)
        brix = sum((one.volume_gal or 0.0) * rule_inputs.sugar_of(one)[0] for one in held) / total
    return total, brix, assumed, ()


def unknown_level(vessel: str) -> Parts:
    """Return that nobody told how much is in a vessel."""
    return parts("I don't know how much is in", VesselRef(vessel), "; tell me that")
