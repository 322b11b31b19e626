"""Answers about stored sap: what to boil, how old, how full, how long, how much syrup."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.conversation import known
from fieldvoice.conversation.answers.answered import Answered, from_findings
from fieldvoice.conversation.boil_day import pan_rate
from fieldvoice.nlg import wording as w
from fieldvoice.rules.boiling import boil_time
from fieldvoice.rules.sap import sap_advice, spoils_others
from fieldvoice.rules.sugar import syrup_estimate

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.book import VesselState
    from fieldvoice.conversation.turn import Moment
    from fieldvoice.meaning import Ask


def _sap_age(ask: Ask, moment: Moment) -> Answered:
    if ask.vessel is None:
        return _all_ages(moment)
    vessel = moment.season.vessels.get(ask.vessel)
    name = w.start(ask.vessel)
    if vessel is None or not known.holds_sap(vessel):
        return Answered(f"The book has no sap in {ask.vessel}.")
    aged = known.age_of_sap(vessel, moment.now, moment.settings.sap_limit)
    if aged is None:
        return Answered(f"I don't know when the sap in {ask.vessel} came in.")
    age = f"{w.age(aged.age_h * 3600)} old"
    if spoils_others(vessel.sap):
        advice = sap_advice(vessel.sap, where="vessel")
        return from_findings(advice.findings, before=f"{name}: {w.sap_words(vessel.sap)}, {age}.")
    return from_findings(aged.findings, before=f"{name}: {age}.")


def _all_ages(moment: Moment) -> Answered:
    aged = [
        (vessel.name, age)
        for vessel in known.vessels_with_sap(moment.season)
        if (age := known.age_of_sap(vessel, moment.now, moment.settings.sap_limit)) is not None
    ]
    if not aged:
        return Answered("The book has no sap in store.")
    aged.sort(key=lambda pair: -pair[1].equivalent_days)
    told = w.joined(f"{name} {w.age(age.age_h * 3600)}" for name, age in aged)
    return from_findings(aged[0][1].findings, before=f"{w.start(told)}.")


def _vessel_level(ask: Ask, moment: Moment) -> Answered:
    if ask.vessel is not None:
        return Answered(_level(ask.vessel, moment))
    held = known.vessels_with_sap(moment.season)
    if not held:
        return Answered("The book has no sap in store.")
    return Answered(" ".join(_level(vessel.name, moment) for vessel in held))


def _level(name: str, moment: Moment) -> str:
    vessel = moment.season.vessels.get(name)
    if vessel is None:
        return f"{w.start(name)} isn't in the book."
    metric = moment.settings.metric
    parts = [
        "" if vessel.volume_gal is None else w.volume(vessel.volume_gal, metric),
        "" if vessel.fill is None else w.fill_words(vessel.fill),
        "" if vessel.brix is None else f"{w.figure(vessel.brix, 1)} % sugar",
        "" if vessel.sap in (None, "clear") else w.sap_words(vessel.sap),
        _room(vessel, moment),
    ]
    told = ", ".join(part for part in parts if part)
    return f"{w.start(name)}: {told or 'the book does not know how much; read its level'}."


def _room(vessel: VesselState, moment: Moment) -> str:
    capacity = vessel.capacity_gal
    if capacity is None or vessel.volume_gal is None:
        return ""
    return f"room for {w.volume(max(0.0, capacity - vessel.volume_gal), moment.settings.metric)}"


def _boil_time(ask: Ask, moment: Moment) -> Answered:
    volume_gal, brix, assumed, missing = _sap_meant(ask, moment)
    if volume_gal is None:
        return Answered(missing)
    pan = pan_rate(moment.season, moment.settings)
    timed = boil_time(
        volume_gal,
        brix,
        pan.ft2,
        rate_gal_ft2_h=pan.gal_h / pan.ft2,
        brix_assumed=assumed,
        jurisdiction_name=moment.settings.jurisdiction,
    )
    if pan.source == "own boils":
        after = f"That is your pan's own {w.figure(pan.gal_h, 1)} gal an hour."
    else:
        taken = " taken; set your own" if pan.source == "usual pan" else ""
        after = f"That is a pan of {pan.ft2:g} square feet{taken}."
    return from_findings(timed.findings, after=after)


def _syrup_estimate(ask: Ask, moment: Moment) -> Answered:
    volume_gal, brix, assumed, missing = _sap_meant(ask, moment)
    if volume_gal is None:
        return Answered(missing)
    made = syrup_estimate(volume_gal, brix, jurisdiction_name=moment.settings.jurisdiction)
    sugar = f"{w.figure(brix, 1)} % sugar"
    after = f"That takes {sugar}; test it to be surer." if assumed else f"From {sugar}."
    return from_findings(made.findings, after=after)


def _sap_meant(ask: Ask, moment: Moment) -> tuple[float | None, float, bool, str]:
    """Return gallons and Brix of the sap asked about, whether Brix was taken, and what is missing.

    Without a volume or a vessel, all the sap in store is meant.
    """
    vessel = moment.season.vessels.get(ask.vessel) if ask.vessel else None
    brix, assumed = known.sugar_of(vessel)
    said_brix: float | None = getattr(ask, "brix", None)
    if said_brix is not None:
        brix, assumed = said_brix, False
    if ask.volume_gal is not None:
        return ask.volume_gal, brix, assumed, ""
    if ask.vessel is not None:
        level = vessel.volume_gal if vessel else None
        return level, brix, assumed, f"I don't know how much is in {ask.vessel}; tell me that."
    held = [one for one in known.vessels_with_sap(moment.season) if one.volume_gal]
    total = sum(one.volume_gal or 0.0 for one in held)
    if not total:
        return None, brix, assumed, "I don't know how much sap there is; tell me the gallons."
    if said_brix is None:
        tested = [one for one in held if one.brix is not None]
        assumed = len(tested) < len(held)
        brix = sum((one.volume_gal or 0.0) * known.sugar_of(one)[0] for one in held) / total
    return total, brix, assumed, ""


ANSWERS: dict[str, Callable[[Ask, Moment], Answered]] = {
    "sap_age": _sap_age, "vessel_level": _vessel_level,
    "boil_time": _boil_time, "syrup_estimate": _syrup_estimate,
}  # fmt: skip
