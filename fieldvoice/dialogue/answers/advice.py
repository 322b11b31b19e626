"""Answers of the trade that need a rule and few facts: why, passing advice, gear, mixing, syrup."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue import reasons, rule_inputs
from fieldvoice.dialogue.answers.answered import Answered, answer, answers, from_findings
from fieldvoice.dialogue.sums import totals
from fieldvoice.dialogue.water_today import water_boils_today_f
from fieldvoice.handbook.card import finding_of
from fieldvoice.handbook.loader import shipped
from fieldvoice.rules.adjusting import sap_needed, to_density
from fieldvoice.rules.cleaning import cleaning
from fieldvoice.rules.finishing import draw_check
from fieldvoice.rules.flavour import off_flavour
from fieldvoice.rules.ice import TYPICAL_ICE_BRIX, ice_out
from fieldvoice.rules.keeping import lot_code_advice
from fieldvoice.rules.packing import container_gal, containers_from, weight_of
from fieldvoice.rules.products import product_target
from fieldvoice.rules.species import species_advice
from fieldvoice.rules.storage import sap_limit, storage_age
from fieldvoice.rules.sugar import blend
from fieldvoice.rules.water import pressure_at_inhg, water_boils_f
from fieldvoice.schema.asks.boiling import DrawCheck
from fieldvoice.schema.asks.sap import IceSugar, Mix, SapKeeps, SapNeeded
from fieldvoice.schema.asks.season import Advice, Before, Cleaning, Why
from fieldvoice.schema.asks.syrup import (
    AdjustDensity,
    JarsFilled,
    OffFlavour,
    ProductTarget,
    Weight,
)
from fieldvoice.schema.asks.trees import SpeciesAdvice
from fieldvoice.segments import Count, Example, Quantity, Span, fact, parts

if TYPE_CHECKING:
    from fieldvoice.dialogue.context import TurnContext

#: So far back one looks for what "why?" is about.
_LOOK_BACK = 8
#: Ice as deep as this is asked about most (a third of the bucket is where throwing it ends).
_USUAL_ICE = 1 / 3


@answers(Why)
def _why(ask: Why, moment: TurnContext) -> Answered:
    meant = reasons.utterance_in_question(moment.book.utterances(_LOOK_BACK))
    if meant is None:
        return answer("Nothing has been said yet")
    found = reasons.reasons(meant)
    if not found:
        return answer(reasons.WITHOUT_A_RULE[meant.outcome])
    return answer(reasons.in_sentences(found), findings=found)


@answers(Advice)
def _advice(ask: Advice, moment: TurnContext) -> Answered:
    if ask.topic == "lot-code":
        today = moment.now.timetuple()
        return from_findings(lot_code_advice(today.tm_year, today.tm_yday).findings)
    if ask.topic == "switch-units":
        return answer(_units(moment.settings.metric))
    if ask.topic == "new-batch":
        return answer(*_NEW_BATCH)
    card = shipped().card(ask.topic or "")
    if card is not None:
        return from_findings((finding_of(card, moment.settings.numbers),))
    return answer("The handbook has no card on that")


@answers(Before)
def _before(ask: Before, moment: TurnContext) -> Answered:
    """What is to be minded comes with it, once a day."""
    return answer("All right")


#: Nobody said that the fire is lit, so that no boil is noted.
_NEW_BATCH = ("Is the fire lit? Then say", Example("started boiling"), ", and the tank")


def _units(metric: bool) -> str:
    """Return what answers are told in, and how that is changed; notes may be in any unit."""
    now, other = (
        ("litres and Celsius", "gallons") if metric else ("gallons and Fahrenheit", "liters")
    )
    return f"Answers are in {now}. To change that, say: I count in {other}"


@answers(SpeciesAdvice)
def _species_advice(ask: SpeciesAdvice, moment: TurnContext) -> Answered:
    if ask.species is None:
        return answer("Which maple: sugar, black, red, silver, Norway or box elder?")
    return from_findings(species_advice(ask.species).findings)


@answers(Cleaning)
def _cleaning(ask: Cleaning, moment: TurnContext) -> Answered:
    place = moment.settings.jurisdiction
    washed = cleaning(ask.volume_gal, strength=ask.strength, jurisdiction_name=place)
    return from_findings(washed.findings)


@answers(IceSugar)
def _ice_sugar(ask: IceSugar, moment: TurnContext) -> Answered:
    brix = ask.brix or _brix_in_hand(moment)[0]
    share = ask.ice_share or _USUAL_ICE
    found = ice_out(brix, share, min(brix, TYPICAL_ICE_BRIX))
    left = Quantity(found.brix, "%", 1)
    return from_findings(found.findings, after=parts("What's left is about", left))


@answers(SapKeeps)
def _sap_keeps(ask: SapKeeps, moment: TurnContext) -> Answered:
    if ask.temp_f is None:
        return _advice(Advice(topic="keep-sap"), moment)
    aged = storage_age(
        (ask.days or 0) * 24, [(0, ask.temp_f)], limit_name=moment.settings.sap_limit
    )
    if ask.days is not None:
        return from_findings(aged.findings, more=0)
    limit = sap_limit(moment.settings.sap_limit)
    left = Span(aged.hours_left * 3600)
    within = fact("At", Quantity(ask.temp_f, "°F", 0), "boil it within", left)
    return Answered((within, fact("That goes by", limit.told)), aged.findings)


@answers(Mix)
def _mix(ask: Mix, moment: TurnContext) -> Answered:
    parts = ((ask.volume_gal, ask.brix), (ask.other_gal, ask.other_brix))
    known_parts = [(gal, brix) for gal, brix in parts if gal is not None and brix is not None]
    if len(known_parts) < len(parts):
        return answer("Tell me both: how many gallons at what percent, and the other")
    mixed = blend(known_parts)
    return from_findings(mixed.findings, about=Quantity(mixed.volume_gal, "gal"))


@answers(SapNeeded)
def _sap_needed(ask: SapNeeded, moment: TurnContext) -> Answered:
    brix, assumed = (ask.brix, False) if ask.brix is not None else _brix_in_hand(moment)
    place = moment.settings.jurisdiction
    after = parts("I took", Quantity(brix, "% sugar")) if assumed else None
    syrup_gal = ask.volume_gal
    if syrup_gal is None and ask.size is not None:
        syrup_gal = container_gal(ask.size)
    if syrup_gal is None:
        needed = sap_needed(1, brix, jurisdiction_name=place)
        ours = totals(moment.season).sap_to_one
        own = fact("Yours so far:", Count(ours, "to one", "to one")) if ours else fact()
        by_sugar = parts("by the sugar") if ours else None
        ratio = fact("About", Count(round(needed.ratio), "to one", "to one"), by_sugar)
        return Answered((own, ratio, fact(after)), needed.findings)
    needed = sap_needed(syrup_gal, brix, jurisdiction_name=place)
    held = sum(one.volume_gal or 0.0 for one in rule_inputs.vessels_with_sap(moment.season))
    there = parts("There's", Quantity(round(held, 1), "gal"), "in store") if held else None
    return from_findings(needed.findings, after=after or there)


def _brix_in_hand(moment: TurnContext) -> tuple[float, bool]:
    """Return the sugar of the vessel in hand or of all that is stored, and whether it was taken."""
    vessel = moment.season.vessels.get(moment.focus.vessel or "")
    if vessel is not None and vessel.brix is not None:
        return vessel.brix, False
    tested = [
        one.brix for one in rule_inputs.vessels_with_sap(moment.season) if one.brix is not None
    ]
    return (sum(tested) / len(tested), False) if tested else (rule_inputs.USUAL_BRIX, True)


@answers(DrawCheck)
def _draw_check(ask: DrawCheck, moment: TurnContext) -> Answered:
    if ask.temp_f is None:
        return answer("Tell me the temperature in the pan")
    water_f, taken = _water_boils(ask.water_boils_f, moment)
    checked = draw_check(ask.temp_f, water_f, jurisdiction_name=moment.settings.jurisdiction)
    after = parts("I took water's boil as", Quantity(round(water_f), "°F")) if taken else None
    is_short = checked.stage == "light" and checked.above_water_f >= 0
    return from_findings(
        checked.findings, before=fact("Not yet") if is_short else None, after=after
    )


def _water_boils(said_f: float | None, moment: TurnContext) -> tuple[float, bool]:
    """Return where water boils, and whether it was taken rather than told or known of today."""
    known_f = said_f if said_f is not None else water_boils_today_f(moment)
    if known_f is not None:
        return known_f, False
    return water_boils_f(pressure_at_inhg(0.0)), True


@answers(AdjustDensity)
def _adjust_density(ask: AdjustDensity, moment: TurnContext) -> Answered:
    if ask.brix is None:
        return answer("Tell me how many gallons and what Brix")
    place = moment.settings.jurisdiction
    adjusted = to_density(ask.volume_gal or 1.0, ask.brix, jurisdiction_name=place)
    after = "That is for a gallon" if ask.volume_gal is None else None
    return from_findings(adjusted.findings, after=after)


@answers(ProductTarget)
def _product_target(ask: ProductTarget, moment: TurnContext) -> Answered:
    water_f, unsure = _water_boils(None, moment)
    found = product_target(ask.product or "", water_f)
    after = "That is at sea level; boil water first and shift it" if unsure else None
    return from_findings(found.findings, after=after)


@answers(JarsFilled)
def _jars_filled(ask: JarsFilled, moment: TurnContext) -> Answered:
    if ask.volume_gal is None or ask.size is None:
        return answer("Tell me the gallons of syrup, and the size")
    filled = containers_from(ask.volume_gal, ask.size)
    return from_findings(filled.findings)


@answers(Weight)
def _weight(ask: Weight, moment: TurnContext) -> Answered:
    volume_gal = ask.volume_gal
    if volume_gal is None:
        volume_gal = container_gal(ask.size or "gallon")
    return from_findings(weight_of(volume_gal).findings)


@answers(OffFlavour)
def _off_flavour(ask: OffFlavour, moment: TurnContext) -> Answered:
    return from_findings(off_flavour(ask.taste or "").findings)
