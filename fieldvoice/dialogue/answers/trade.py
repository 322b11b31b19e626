"""Answers that need little of the book: sap's condition, finishing, gear, weather, help."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from fieldvoice.dialogue import rule_inputs, sayable
from fieldvoice.dialogue.answers.answered import Answered, answer, answers, from_findings
from fieldvoice.dialogue.context import rule_text
from fieldvoice.dialogue.water_today import draw_off_today, measured_today
from fieldvoice.handbook.card import finding_of
from fieldvoice.handbook.loader import shipped
from fieldvoice.rules.containers import container_advice
from fieldvoice.rules.finishing import draw_off
from fieldvoice.rules.grading import grade
from fieldvoice.rules.hydrometer import density_check, hot_line_brix
from fieldvoice.rules.jurisdictions import jurisdiction
from fieldvoice.rules.sap import sap_advice
from fieldvoice.rules.weather import Day, flow_outlook, time_to_tap
from fieldvoice.schema.asks.boiling import DrawOff
from fieldvoice.schema.asks.sap import SapAdvice
from fieldvoice.schema.asks.season import ContainerAdvice, FlowOutlook, TimeToTap, WhatCanISay
from fieldvoice.schema.asks.syrup import DensityCheck, Grade
from fieldvoice.segments import Quantity, Sentence, fact, parts

if TYPE_CHECKING:
    from fieldvoice.dialogue.context import TurnContext

#: How many days before the one asked about are looked at for the run's course.
_DAYS_BACK = 7
#: A reading up to here is of sap; syrup hydrometers begin far above.
_SAP_AT_MOST_BRIX = 20.0


#: Syrup in the cup, just drawn.
_HOT_OFF_THE_PAN_F = 211.0

#: How long after a note at the pan one is taken to be there still (a design choice).
_BOIL_LASTS = timedelta(hours=3)


@answers(SapAdvice)
def _sap_advice(ask: SapAdvice, moment: TurnContext) -> Answered:
    sap = ask.sap or _sap_in_hand(moment)
    if sap is None:
        return answer("Tell me how it looks: clear, cloudy, yellow, ropey, sour or frozen")
    where = "vessel" if moment.focus.vessel is not None else "bucket"
    return from_findings(sap_advice(sap, where=where).findings)  # type: ignore[arg-type]


def _sap_in_hand(moment: TurnContext) -> str | None:
    if moment.focus.tree is not None and moment.focus.tree in moment.season.trees:
        return moment.season.trees[moment.focus.tree].sap
    if moment.focus.vessel is not None and moment.focus.vessel in moment.season.vessels:
        return moment.season.vessels[moment.focus.vessel].sap
    return None


@answers(DrawOff)
def _draw_off(ask: DrawOff, moment: TurnContext) -> Answered:
    place = moment.settings.jurisdiction
    given = (ask.water_boils_f, ask.pressure_inhg, ask.elevation_ft)
    elevation_ft = ask.elevation_ft
    after = None
    if given == (None, None, None) and measured_today(moment) is not None:
        return from_findings(draw_off_today(moment).findings)
    if given == (None, None, None):
        elevation_ft = moment.settings.elevation_ft
        if elevation_ft is None:
            elevation_ft = 0.0
            rise = f"{jurisdiction(place).rise_f:g} degrees"
            after = parts("That is sea level; elsewhere", rise, "above where water boils")
    found = draw_off(
        water_boils=ask.water_boils_f,
        pressure_inhg=ask.pressure_inhg,
        elevation_ft=elevation_ft,
        jurisdiction_name=place,
    )
    then = [one for one in found.findings if one.rule == "draw-hydrometer"][:1]
    after = after or parts(*map(rule_text, then))
    return from_findings(found.findings, after=after)


@answers(DensityCheck)
def _density_check(ask: DensityCheck, moment: TurnContext) -> Answered:
    is_of_sap = ask.reading_brix is not None and ask.reading_brix <= _SAP_AT_MOST_BRIX
    if is_of_sap and ask.temp_f is None and (usual := shipped().card("usual-sap-sugar")):
        return from_findings((finding_of(usual, moment.settings.numbers),))
    if ask.reading_brix is None or ask.temp_f is None:
        return Answered((*_hot_line(ask, moment),))
    instruments = moment.settings
    if ask.reading_brix <= _SAP_AT_MOST_BRIX:
        return from_findings(rule_inputs.sugar_read(ask.reading_brix, ask.temp_f, instruments))
    checked = density_check(
        ask.reading_brix,
        ask.temp_f,
        jurisdiction_name=instruments.jurisdiction,
        made_for_f=instruments.syrup_hydrometer_f,
        reads_high_by=instruments.syrup_hydrometer_reads_high,
    )
    return from_findings(checked.findings)


def _hot_line(ask: DensityCheck, moment: TurnContext) -> tuple[Sentence, ...]:
    """Return what the hydrometer should read at the temperature asked about, else hot off the pan.

    Raises:
        RangeError: for a temperature that the chart does not have.
    """
    temp_f, own = ask.temp_f or _HOT_OFF_THE_PAN_F, moment.settings
    lightest = jurisdiction(own.jurisdiction).minimum_brix
    line = hot_line_brix(temp_f, lightest, own.syrup_hydrometer_f) + own.syrup_hydrometer_reads_high
    should = fact("At", Quantity(temp_f, "°F"), "it should read", Quantity(line, "Brix", 1))
    if ask.temp_f is not None:
        return (should,)
    reading = None if ask.reading_brix else "the hydrometer's reading and"
    return fact("Tell me", reading, "the syrup's temperature"), should


@answers(Grade)
def _grade(ask: Grade, moment: TurnContext) -> Answered:
    if ask.transmittance is None:
        return answer(
            "Tell me the light it lets through: golden from 75 %, amber from 50, dark from 25, "
            "very dark below"
        )
    return from_findings(grade(ask.transmittance).findings)


@answers(ContainerAdvice)
def _container_advice(ask: ContainerAdvice, moment: TurnContext) -> Answered:
    advice = container_advice(ask.material, item=ask.item, rust=ask.rust, heated=ask.heated)
    return from_findings(advice.findings, after=advice.question)


@answers(TimeToTap)
def _time_to_tap(ask: TimeToTap, moment: TurnContext) -> Answered:
    coming = rule_inputs.days(moment.season, after=moment.now.date() - timedelta(days=1))
    return from_findings(time_to_tap(coming, moment.now.date()).findings)


@answers(FlowOutlook)
def _flow_outlook(ask: FlowOutlook, moment: TurnContext) -> Answered:
    if ask.low_f is not None and ask.high_f is not None:
        return from_findings(flow_outlook([Day(ask.low_f, ask.high_f)]).findings)
    today = moment.now.date()
    weather = [
        day for day in moment.season.weather if day.day >= today - timedelta(days=_DAYS_BACK)
    ]
    usable = rule_inputs.days(moment.season, after=today - timedelta(days=_DAYS_BACK + 1))
    complete = [day.day for day in weather if day.low_f is not None and day.high_f is not None]
    if not usable or not complete or complete[-1] < today:
        return answer("I have no weather for today; tell me the low and the high")
    ahead = (complete[-1] - today).days
    when = {0: "today", 1: "tomorrow"}.get(ahead, f"on {complete[-1]:%A}")
    return from_findings(flow_outlook(usable).findings, about=when)


@answers(WhatCanISay)
def _what_can_i_say(ask: WhatCanISay, moment: TurnContext) -> Answered:
    if ask.subject is not None:
        return Answered(sayable.about(ask.subject))
    return Answered(sayable.for_the_moment(moment.focus, _at_the_pan(moment)))


def _at_the_pan(moment: TurnContext) -> bool:
    """Whether the last note was about the boil or the syrup, and not long ago."""
    last = next(iter(moment.book.newest_entries(1)), None)
    if last is None or not last.act.spec.at_the_pan:
        return False
    return moment.now - last.at < _BOIL_LASTS
