"""Answers about the boil day: what first, how long, can it wait, and what it takes."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from fieldvoice.conversation import known
from fieldvoice.conversation.answers.answered import Answered, from_findings
from fieldvoice.conversation.boil_day import FROM_HOUR, BoilDay, boil_day, in_store, likely_brix
from fieldvoice.conversation.water_today import draw_off_today
from fieldvoice.nlg import wording as w
from fieldvoice.rules.boiling import hours_in_words
from fieldvoice.rules.fuel import fuel_needed, wood_in_words
from fieldvoice.rules.packing import containers_from
from fieldvoice.rules.plan import Step, boil_plan, least_batch_gal, loses_by_waiting
from fieldvoice.rules.sap import SAP_CLEAR, pour_check, spoils_others
from fieldvoice.rules.sugar import blend, sap_per_syrup, syrup_estimate
from fieldvoice.rules.weather import flow_outlook

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.book import VesselState
    from fieldvoice.conversation.turn import Moment
    from fieldvoice.meaning import Ask
    from fieldvoice.rules.finding import Finding

#: About what a voice says in twenty seconds; a figure counts as two words. The first sentence of an
#: answer is never left out.
_MOST_WORDS = 52
#: What a tap may give on the day of a strong run, in gallons (the middle of 1 to 2).
_RUN_GAL_A_TAP = 1.5

_EMPTY = "The book has no sap in store. Tell me what is in which tank."


def _boil_plan(ask: Ask, moment: Moment) -> Answered:
    day = boil_day(moment.season, moment.settings, moment.now, _until(ask, moment.now))
    if not day.stored:
        return Answered(_EMPTY)
    plan = day.plan
    if not plan.boiled:
        return Answered(_sentences([one.text for one in plan.findings]), plan.findings)
    not_now = _not_now(day, moment)
    first, *rest = [not_now] if not_now else _order(day, moment)
    told = [first, *_never_boiled(day), *rest, *_warned(day, moment)]
    return Answered(_sentences(told), (*plan.findings, *_run_ahead(moment)))


def _order(day: BoilDay, moment: Moment) -> list[str]:
    """Return what goes first and why, what does not fit, and how long today's boil takes."""
    plan = day.plan
    told = [plan.findings[0].text, _reason(plan.boiled[0], moment), _left_over(day, moment)]
    if plan.now_gal:
        done = w.when(day.at(plan.now_h), day.now)
        syrup = w.syrup(plan.now_syrup_gal, moment.settings.metric)
        took = w.start(hours_in_words(plan.now_h))
        told.append(f"{took} with lighting, done by {done}, about {syrup} of syrup.")
    if day.rate.source == "usual pan":
        told.append(f"I took a pan of {day.rate.ft2:g} square feet; tell me your pan's size.")
    return told


def _not_now(day: BoilDay, moment: Moment) -> str:
    """Return why nothing should be boiled today, where that is so: too little sap, or no time."""
    plan = day.plan
    held = [one.volume_gal for one in day.stored if one.sap not in ("sour", "ropey")]
    if any(gallons is None for gallons in held):
        return ""
    metric = moment.settings.metric
    total = sum(gallons or 0.0 for gallons in held)
    least = w.volume(round(plan.least_gal), metric)
    if total < plan.least_gal:
        have = w.volume(total, metric)
        if _waits(day):
            return f"Not yet: {have} won't cover the pan; that takes {least}. {_keeps(day)}"
        return (
            f"Boil {plan.boiled[0].name} today in a pot, outdoors: {have} won't cover the pan, "
            f"and it won't keep."
        )
    if plan.now_gal < min(plan.least_gal, total):
        until = w.when(day.until, day.now)
        return f"There's no time for a boil before {until}. {_keeps(day)}"
    return ""


def _waits(day: BoilDay) -> bool:
    """Whether it can all wait for the next day's hours, and lose nothing."""
    wait_h = day.plan.wait_h
    return wait_h is None or wait_h >= day.windows[1].begin_h


def _keeps(day: BoilDay) -> str:
    """Return until when it keeps, or what is lost by waiting for the next day."""
    wait_h = day.plan.wait_h
    if wait_h is None:
        return "It keeps for days."
    if _waits(day):
        return f"Start by {w.when(day.at(wait_h), day.now)}."
    lost = loses_by_waiting(day.stored, day.pans, day.windows, day.windows[1].begin_h)
    return f"{w.start(w.joined(lost))} won't keep till tomorrow." if lost else ""


def _left_over(day: BoilDay, moment: Moment) -> str:
    """Return what today's hours have no room for, and until when it can wait."""
    late = [step for step in day.plan.boiled if step.now_share < 0.99 and step.volume_gal]
    if not late:
        return ""
    gallons = sum((step.volume_gal or 0.0) * (1 - step.now_share) for step in late)
    names = w.joined(step.name for step in late)
    amount = w.volume(round(gallons), moment.settings.metric)
    overdue = [step.name for step in late if step.end_h is None or step.end_h > step.hours_left]
    keeps = f"{w.joined(overdue)} won't keep till tomorrow" if overdue else "that can wait"
    return f"{amount} of {names} won't fit before {w.clock(day.until)}; {keeps}."


def _never_boiled(day: BoilDay) -> list[str]:
    """Return what must not go into the pan; it is said first, since a long answer is cut short."""
    return [one.text for one in day.plan.findings[1:] if one.level == "stop"]


def _warned(day: BoilDay, moment: Moment) -> list[str]:
    """Return what else must be done: ice to lift, room to make before a run."""
    told = [one.text for one in day.plan.findings[1:] if one.level != "stop"]
    frozen = [one.name for one in day.stored if one.sap == "frozen"]
    if frozen:
        told.append(f"Lift the ice out of {w.joined(frozen)} first; it's nearly all water.")
    told.append(_make_room(day, moment))
    return told


def _make_room(day: BoilDay, moment: Moment) -> str:
    """Return how much room the tanks have, when a strong run is to be expected."""
    if not _run_ahead(moment) or day.plan.room_gal is None:
        return ""
    room = day.plan.room_gal + _spare_gal(day, moment)
    taps = sum(tree.taps_in for tree in moment.season.trees.values())
    wanted = taps * _RUN_GAL_A_TAP
    metric = moment.settings.metric
    if wanted and room < wanted:
        return (
            f"A strong run is likely tomorrow: {w.volume(round(wanted), metric)}, and there's room "
            f"for {w.volume(round(room), metric)}; empty what you can tonight."
        )
    return f"A strong run is likely tomorrow; there's room for {w.volume(round(room), metric)}."


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
    days = known.days(moment.season, until=tomorrow)
    if not days or not known.days(moment.season, after=moment.now.date(), until=tomorrow):
        return ()
    outlook = flow_outlook(days)
    return outlook.findings[:1] if outlook.day_class == "strong" else ()


def _reason(step: Step, moment: Moment) -> str:
    """Return why a vessel comes first, in the book's facts."""
    vessel = moment.season.vessels.get(step.name) or moment.season.carried
    assert vessel is not None
    temp_f = step.age.temp_f if not step.age.assumed else None
    facts = [
        f"{w.age(step.age.age_h * 3600)} old",
        "" if temp_f is None else w.temperature(temp_f, moment.settings.metric),
        w.sap_words(vessel.sap) if vessel.sap else "",
        w.volume(round(vessel.volume_gal, 1), moment.settings.metric) if vessel.volume_gal else "",
    ]
    return f"{w.start(step.name)} is {', '.join(fact for fact in facts if fact)}."


def _plan_rest(ask: Ask, moment: Moment) -> Answered:
    day = boil_day(moment.season, moment.settings, moment.now)
    plan = day.plan
    if not plan.boiled:
        return Answered(_EMPTY if not day.stored else plan.findings[0].text, plan.findings)
    told = [_turns(day)]
    draw = draw_off_today(moment)
    told.append(draw.findings[0].text)
    if plan.now_syrup_gal:
        told.append(f"Have {_jars(plan.now_syrup_gal)} ready.")
        told.append(_fuel_of(day, moment))
    told.append(_make_room(day, moment))
    return Answered(_sentences(told), (*plan.findings, *draw.findings[:1]))


def _fuel_of(day: BoilDay, moment: Moment) -> str:
    needed = fuel_needed(day.plan.now_gal, _brix_of(day), moment.settings.fuel)
    return needed.findings[0].text


def _turns(day: BoilDay) -> str:
    """Return each vessel's turn with the time at which it comes on."""
    several = len(day.pans) > 1
    parts = []
    for step in day.plan.boiled:
        on = f" on the {step.pan}" if several else ""
        begins = "left over" if step.begin_h is None else w.when(day.at(step.begin_h), day.now)
        parts.append(f"{step.name}{on} {begins}")
    return f"{w.start(', then '.join(parts))}."


def _can_wait(ask: Ask, moment: Moment) -> Answered:
    day = boil_day(moment.season, moment.settings, moment.now)
    if lacking := _no_sap(ask, day):
        return lacking
    until = _until(ask, moment.now) or _morning(moment.now, 1)
    until_h = (until - moment.now).total_seconds() / 3600
    of_it = _only(ask.vessel, moment, day)
    findings = of_it.plan.findings
    if not of_it.plan.boiled:
        return Answered(_sentences([one.text for one in findings]), findings)
    lost = loses_by_waiting(of_it.stored, of_it.pans, of_it.windows, until_h)
    over = [step for step in of_it.plan.boiled if step.name in lost]
    told = w.when(until, moment.now)
    if not over:
        overdue = [step.name for step in of_it.plan.boiled if step.hours_left == 0]
        if overdue:
            names = w.joined(overdue)
            text = f"Not really: {names} is past its two days already; every hour makes it darker."
        else:
            text = f"Yes, till {told}, if it stays cold. {_keeps_till(of_it)}"
        return Answered(text, findings)
    names = w.joined(step.name for step in over)
    spoilt = any(step.hours_left < until_h for step in over)
    why = f"won't keep till {told}" if spoilt else "wouldn't be done in time"
    return Answered(f"No: {names} {why}. {_keeps_till(of_it)}", findings)


def _no_sap(ask: Ask, day: BoilDay) -> Answered | None:
    """Return the answer where there is no sap, or none in the vessel that was asked about."""
    if not day.stored:
        return Answered(_EMPTY)
    if ask.vessel is not None and ask.vessel not in {one.name for one in day.stored}:
        return Answered(f"The book has no sap in {ask.vessel}.")
    return None


def _keeps_till(day: BoilDay) -> str:
    wait_h = day.plan.wait_h
    if wait_h is None:
        return ""
    if wait_h < 0.5:
        return "Start now."
    return f"Start by {w.when(day.at(wait_h), day.now)}."


def _only(name: str | None, moment: Moment, day: BoilDay) -> BoilDay:
    """Return the boil day as if there were only one vessel; with no name, the whole of it."""
    if name is None:
        return day
    stored = tuple(one for one in day.stored if one.name == name)
    plan = boil_plan(stored, day.pans, day.windows, pan_ft2=day.rate.ft2)
    return replace(day, stored=stored, plan=plan)


def _start_by(ask: Ask, moment: Moment) -> Answered:
    whole = boil_day(moment.season, moment.settings, moment.now)
    if lacking := _no_sap(ask, whole):
        return lacking
    day = _only(ask.vessel, moment, whole)
    plan = day.plan
    if not plan.boiled:
        return Answered(_sentences([one.text for one in plan.findings]), plan.findings)
    overdue = [step.name for step in plan.boiled if step.hours_left == 0]
    if overdue:
        text = f"Now: {w.joined(overdue)} is past its two days."
    elif plan.wait_h is None:
        text = "It can wait for days, if it stays this cold."
    elif plan.wait_h < 0.5:
        text = "Now, or some of it won't be done in time."
    else:
        text = f"By {w.when(day.at(plan.wait_h), day.now)} at the latest; sooner is better."
    return Answered(_sentences([text, _reason(plan.boiled[0], moment)]), plan.findings)


def _fuel_needed(ask: Ask, moment: Moment) -> Answered:
    """Return the fuel for what is named, else for all that is in store; by own boils if noted."""
    fuel = ask.fuel or moment.settings.fuel
    place = moment.settings.jurisdiction
    meant = _meant(ask, moment)
    if isinstance(meant, str) and ask.vessel is not None:
        return Answered(meant)
    if isinstance(meant, str):
        needed = fuel_needed(sap_per_syrup(known.USUAL_BRIX), known.USUAL_BRIX, fuel)
        return from_findings(needed.findings, after="That is for a gallon of syrup.")
    volume_gal, brix, about = meant
    needed = fuel_needed(volume_gal, brix, fuel, jurisdiction_name=place)
    own = _own_fuel(moment)
    if own is not None and needed.unit == "cords":
        told = f"About {wood_in_words(own * volume_gal)} for {about}, by your own boils."
        return Answered(told, needed.findings)
    return from_findings(needed.findings, after=f"That is for {about}.")


def _own_fuel(moment: Moment) -> float | None:
    """Return the cords that a gallon of sap took in the boils whose wood was noted."""
    noted = [boil for boil in moment.season.boilings if boil.cords and boil.sap_gal]
    if not noted:
        return None
    return sum(boil.cords or 0.0 for boil in noted) / sum(boil.sap_gal for boil in noted)


def _jars_needed(ask: Ask, moment: Moment) -> Answered:
    meant = _meant(ask, moment)
    if isinstance(meant, str):
        return Answered(meant)
    volume_gal, brix, about = meant
    syrup_gal = syrup_estimate(volume_gal, brix).syrup_gal
    if ask.size is not None:
        found = containers_from(syrup_gal, ask.size)
        more = f" and {w.syrup(found.left_gal)} over" if found.left_gal > 0.02 else ""
        return Answered(
            f"{found.findings[0].text.rstrip('.')}{more}, from {about}.", found.findings
        )
    pints = containers_from(syrup_gal, "pint")
    told = f"{w.start(_jars(syrup_gal))}: {w.syrup(syrup_gal)} of syrup from {about}."
    return Answered(told, pints.findings)


def _least_batch(ask: Ask, moment: Moment) -> Answered:
    day = boil_day(moment.season, moment.settings, moment.now)
    metric = moment.settings.metric
    least = least_batch_gal(day.rate.ft2)
    held = sum(one.volume_gal or 0.0 for one in day.stored)
    enough = "enough" if held >= least else "not enough"
    text = f"{w.start(w.volume(round(least), metric))} covers the pan two inches deep."
    if day.stored:
        text += f" You have {w.volume(round(held, 1), metric)}: {enough}."
    return Answered(_sentences([text, _pan_told(day)]), day.plan.findings)


def _mix_check(ask: Ask, moment: Moment) -> Answered:
    """Say before it is poured what a mixture would be: tainted, how sweet, how old."""
    source = moment.season.vessels.get(ask.vessel or "")
    target = moment.season.vessels.get(ask.into or "")
    if source is None or not known.holds_sap(source):
        return Answered(f"The book has no sap in {ask.vessel}.")
    empty = target is None or not known.holds_sap(target)
    tainted = pour_check(source.sap, target.sap if target else None, vessel_is_empty=empty).findings
    if tainted:
        return Answered(
            f"No. {w.start(ask.vessel or '')} is {source.sap}: {_lower(tainted[0].text)}", tainted
        )
    told = [f"Yes{'' if empty else f', {_mixture(source, target, moment)}'}."]
    told.append(_no_room(source, target, moment))
    if not empty and target is not None and spoils_others(target.sap):
        told[0] = f"Better not: {ask.into} is {target.sap}, and would spoil it."
    return Answered(_sentences(told), (_clear_finding(),))


def _clear_finding() -> Finding:
    return SAP_CLEAR.finding(
        "note", "Sap of the same kind may be mixed; the oldest of it sets the age.",
        "Sugar is weighed by mass; the mixture spoils as fast as the oldest sap in it.",
    )  # fmt: skip


def _mixture(source: VesselState, target: VesselState | None, moment: Moment) -> str:
    held = [one for one in (source, target) if one is not None and one.volume_gal]
    total = sum(one.volume_gal or 0.0 for one in held)
    parts = [f"{w.volume(round(total, 1), moment.settings.metric)} together"]
    if len(held) == 2 and all(one.brix is not None for one in held):
        mixed = blend([(one.volume_gal or 0.0, one.brix or 0.0) for one in held])
        parts.append(f"{w.figure(mixed.brix, 2)} % sugar")
    oldest = min((one.oldest_at for one in held if one.oldest_at), default=None)
    if oldest is not None:
        parts.append(f"as old as {w.age((moment.now - oldest).total_seconds())}")
    return ", ".join(parts)


def _no_room(source: VesselState, target: VesselState | None, moment: Moment) -> str:
    if target is None or target.capacity_gal is None or source.volume_gal is None:
        return ""
    room = target.capacity_gal - (target.volume_gal or 0.0)
    if room >= source.volume_gal:
        return ""
    return f"There's room for {w.volume(round(max(0.0, room), 1), moment.settings.metric)} only."


def _pan_rate(ask: Ask, moment: Moment) -> Answered:
    day = boil_day(moment.season, moment.settings, moment.now)
    return Answered(_pan_told(day))


def _pan_told(day: BoilDay) -> str:
    """Return the pan's rate and where it is known from."""
    rate = w.figure(day.rate.gal_h, 1)
    if day.rate.source == "own boils":
        boils = "boil" if day.rate.boils == 1 else f"{day.rate.boils} boils"
        return f"Your pan boils off {rate} gal an hour, by your last {boils}."
    area = w.figure(day.rate.ft2, 1)
    taken = "; tell me your pan's size" if day.rate.source == "usual pan" else ""
    return f"About {rate} gal an hour, taken from a pan of {area} square feet{taken}."


def _meant(ask: Ask, moment: Moment) -> tuple[float, float, str] | str:
    """Return gallons, Brix and name of the sap asked about; today's plan where nothing is named."""
    metric = moment.settings.metric
    if ask.volume_gal is not None:
        brix = known.USUAL_BRIX
        return ask.volume_gal, brix, w.volume(ask.volume_gal, metric)
    if ask.vessel is not None:
        vessel = moment.season.vessels.get(ask.vessel)
        if vessel is None or not vessel.volume_gal:
            return f"I don't know how much is in {ask.vessel}; tell me that."
        return vessel.volume_gal, likely_brix(vessel.brix), ask.vessel
    held = [one for one in in_store(moment.season) if one.volume_gal]
    if not held:
        return _EMPTY
    total = sum(one.volume_gal or 0.0 for one in held)
    mixed = blend([(one.volume_gal or 0.0, likely_brix(one.brix)) for one in held])
    return total, mixed.brix, f"the {w.volume(round(total), metric)} in store"


def _brix_of(day: BoilDay) -> float:
    parts = [(one.volume_gal, one.brix) for one in day.stored if one.volume_gal]
    return blend([(gal or 0.0, brix) for gal, brix in parts]).brix if parts else known.USUAL_BRIX


def _jars(syrup_gal: float) -> str:
    pints = max(1, containers_from(syrup_gal + 0.0624, "pint").count)
    quarts = containers_from(syrup_gal + 0.1249, "quart").count
    return (
        f"{w.counted(pints, 'pint')} or {w.counted(quarts, 'quart')}"
        if quarts
        else w.counted(pints, "pint")
    )


def _until(ask: Ask, now: datetime) -> datetime | None:
    hours: float | None = getattr(ask, "hours", None)
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


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _sentences(told: list[str]) -> str:
    """Return sentences as they are said, as many as twenty seconds take; the first always."""
    kept: list[str] = []
    words = 0
    for sentence in (part for part in told if part):
        words += sum(2 if any(sign.isdigit() for sign in word) else 1 for word in sentence.split())
        if kept and words > _MOST_WORDS:
            break
        kept.append(sentence)
    return " ".join(kept)


ANSWERS: dict[str, Callable[[Ask, Moment], Answered]] = {
    "boil_plan": _boil_plan, "plan_rest": _plan_rest, "can_wait": _can_wait,
    "start_by": _start_by, "fuel_needed": _fuel_needed, "jars_needed": _jars_needed,
    "least_batch": _least_batch, "mix_check": _mix_check, "pan_rate": _pan_rate,
}  # fmt: skip
