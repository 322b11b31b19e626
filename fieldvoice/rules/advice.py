"""Advice that needs no facts, by topic: the short things people ask in passing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.errors import RangeError
from fieldvoice.rules import hazards, sources
from fieldvoice.rules.cleaning import cleaning
from fieldvoice.rules.containers import LEAD_LIMITS, TEST_KIT
from fieldvoice.rules.finding import COMMON_PRACTICE
from fieldvoice.rules.holes import old_holes, seating
from fieldvoice.rules.jurisdictions import DEFAULT_JURISDICTION
from fieldvoice.rules.keeping import filtering, label, mould, opened, shelf_life
from fieldvoice.rules.packing import filling
from fieldvoice.rules.products import thermometer_error
from fieldvoice.rules.pulling import healing
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.sugar import JONES, jones_ratio
from fieldvoice.rules.water import pressure_at_inhg, water_boils_f

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from fieldvoice.rules.finding import Finding

APRONING = Rule(
    "aproning", ("note",), "Syrup that sheets off the scoop", COMMON_PRACTICE, "common practice",
)  # fmt: skip
ALTITUDE = Rule(
    "altitude", ("note",), "What elevation does to boiling points", sources.IF97,
)  # fmt: skip
LIGHT_SYRUP = Rule(
    "light-syrup", ("care",), "Syrup that is too thin does not keep", sources.US_GRADES,
)  # fmt: skip
CRYSTALS = Rule(
    "crystals", ("note",), "Crystals in syrup that is too dense", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip
BRIX = Rule("brix", ("note",), "What degrees Brix are", sources.US_GRADES)
DEFOAMER = Rule(
    "defoamer", ("note",), "How much against the foam", COMMON_PRACTICE, "common practice",
)  # fmt: skip
OLD_BUCKET = Rule(
    "old-bucket", ("care",), "What to ask before trusting an old bucket", sources.ONTARIO_LEAD,
)  # fmt: skip
LEAD = Rule(
    "lead", ("care",), "Lead in syrup: limits, and where it comes from", sources.IMSI_LEAD,
)  # fmt: skip
KEEPING_SAP = Rule(
    "keeping-sap", ("note",), "How long sap keeps: what is said, and by whom", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip
STRAINING = Rule(
    "straining", ("note",), "Bark, moths and ants in the sap", COMMON_PRACTICE, "common practice",
)  # fmt: skip
SCORCHING = Rule(
    "scorching", ("care",), "A pan that runs low or burns", COMMON_PRACTICE, "common practice",
)  # fmt: skip
FILTER_CARE = Rule(
    "filter-care", ("note",), "How a filter is washed", COMMON_PRACTICE, "common practice",
)  # fmt: skip
#: What a square foot of pan holds an inch deep: 144 in³, and 231 in³ are a gallon.
_INCH_OF_SAP_GAL = 144 / 231
RAIN = Rule("rain", ("note",), "Rain in the bucket", COMMON_PRACTICE, "common practice")
SPECIES_MIX = Rule(
    "species-mix", ("note",), "Other kinds of tree in a sugarbush", sources.ONTARIO_2018,
)  # fmt: skip


def topics() -> tuple[str, ...]:
    """Return the topics that ``advice`` knows."""
    return tuple(sorted(_TOPICS))


def advice(topic: str, *, jurisdiction_name: str = DEFAULT_JURISDICTION) -> tuple[Finding, ...]:
    """Return the findings on a topic, the answer first.

    Raises:
        RangeError: for a topic that is not one of ``topics()``.
    """
    if topic not in _TOPICS:
        raise RangeError(f"I have advice on {', '.join(topics())}, not on {topic}.")
    return _TOPICS[topic](jurisdiction_name)


def _water_f(feet: float) -> float:
    return water_boils_f(pressure_at_inhg(feet))


def _told(rule: Rule, text: str, why: str) -> Callable[[str], tuple[Finding, ...]]:
    return lambda _: (rule.finding(rule.levels[0], text, why),)


def _warned(*rules: Rule) -> Callable[[str], tuple[Finding, ...]]:
    said = {one.rule: one for group in hazards.CAUTIONS.values() for one in group}
    return lambda _: tuple(said[rule.id] for rule in rules)


#: What is said on a topic without looking at anything else: the rule, the answer and its reason.
_SAID: Mapping[str, tuple[Rule, str, str]] = {
    "aproning": (
        APRONING,
        "When it sheets off the scoop it's near syrup; then the hydrometer decides.",
        "Aproning, drops joining into a sheet, is the old test by eye; it shows that syrup is "
        "near, not how dense it is.",
    ),
    "altitude": (
        ALTITUDE,
        "Everything boils about a degree lower for each 550 feet; syrup stays 7 above water.",
        f"By the steam tables water boils at {_water_f(0):.1f} °F at sea level and "
        f"{_water_f(2000):.1f} at 2,000 ft on an average day; weather moves it by another degree.",
    ),
    "light syrup": (
        LIGHT_SYRUP,
        "Boil it a little more before you pack it; light syrup ferments and moulds.",
        "Under 66 Brix syrup does not keep, and may not be sold as syrup. Above 67.1 at 68 °F it "
        "is saturated and grows crystals.",
    ),
    "crystals": (
        CRYSTALS,
        "It's too dense: warm the jar in hot water to melt them, and draw off sooner next time.",
        "Above 67.1 Brix at 68 °F syrup holds more sugar than it can, and grows crystals.",
    ),
    "brix": (
        BRIX,
        "Degrees Brix are percent of sugar by weight; sap has about 2, syrup 66.",
        "Grams of sugar in a hundred grams. Syrup has 66 or more by the grade standards.",
    ),
    "rule of 86": (
        JONES,
        f"Divide 86 by the percent of sugar: at 2, {jones_ratio(2):.0f} gallons of sap to one.",
        "A rule of thumb for sap up to 8 Brix, about 1 % generous.",
    ),
    "defoamer": (
        DEFOAMER,
        "A drop or two of defoamer, no more; butter must go on the label.",
        "Only food-grade defoamer or a trace of fat. Too much tastes through, and butter is milk, "
        "an allergen.",
    ),
    "old bucket": (
        OLD_BUCKET,
        "Ask four things: what metal, soldered or not, what year, and what it held.",
        "Galvanized gear of before 1994 and anything soldered before 1995 may carry lead; brass, "
        f"bronze and old milk cans do. {TEST_KIT} Rust, paint or chemicals rule it out.",
    ),
    "lead": (
        LEAD,
        "Keep sap and hot syrup away from solder, brass and galvanized metal.",
        f"{LEAD_LIMITS} The longer and warmer the contact the more lead; clear filtering takes out "
        "only what is not dissolved.",
    ),
    "keeping sap": (
        KEEPING_SAP,
        "Boil it the same day or the next; in the cold two or three days at most.",
        "Sugarmakers say three to five days cold, sooner when warm. Seven days at 38 °F is often "
        "repeated, with no research found behind it. Extension bodies say only: as soon as you "
        "can. Look and smell count for more than any number.",
    ),
    "straining": (
        STRAINING,
        "Strain it cold through cloth or mesh at every pour.",
        "Bark, moths and ants are normal; what stays in the sap darkens the syrup.",
    ),
    "scorching": (
        SCORCHING,
        "Dry or smoking: fire down, stand back, add nothing cold. Still wet: slow the fire and "
        "flood it with sap now.",
        f"An inch of sap is {_INCH_OF_SAP_GAL:.2f} gal a square foot, gone in "
        f"{60 * _INCH_OF_SAP_GAL:.0f} minutes at a gallon an hour. On dry hot metal anything "
        "cold bursts into steam and throws burning sugar. A burnt batch is thrown out; boil plain "
        "water before the next.",
    ),
    "filter care": (
        FILTER_CARE,
        "Hot water only: no soap, no bleach, no wringing. Dry it fully.",
        "Inside out, until it runs clear; no brush. Felt keeps soap, bleach and mold and gives "
        "them to every batch. Damp it with hot water before use.",
    ),
    "rain": (
        RAIN,
        "Test the sugar; under one percent it isn't worth the wood.",
        "Rain thins sap and brings dirt: at 1 Brix a gallon of syrup takes 87 gal of sap. Use "
        "lids.",
    ),
    "other trees": (
        SPECIES_MIX,
        "Leave some other kinds standing: one tree in five or six.",
        "Ontario advises 15 to 20 % of other native species, for the health of the sugarbush.",
    ),
}

_TOPICS: Mapping[str, Callable[[str], tuple[Finding, ...]]] = {
    "burns": lambda _: hazards.BURN_NOW,
    "fire": lambda _: (hazards.FIRE_NOW,),
    "cleaning": lambda place: cleaning(jurisdiction_name=place).findings,
    "felling": _warned(hazards.CAUTION_SAW),
    "filling": lambda _: filling(),
    "filtering": lambda _: filtering().findings,
    "foam": _warned(hazards.CAUTION_FOAM),
    "fumes": _warned(hazards.CAUTION_FUMES),
    "healing": lambda _: healing().findings,
    "label": lambda place: label(canada=place == "canada").findings,
    "lifting": _warned(hazards.CAUTION_LIFT),
    "mould": lambda _: mould().findings,
    "old holes": lambda _: old_holes().findings,
    "opened": lambda _: opened().findings,
    "seating": lambda _: seating().findings,
    "selling": _warned(hazards.CAUTION_SALE),
    "shelf life": lambda _: shelf_life().findings,
    "thermometer": lambda _: thermometer_error(1.0).findings,
    **{topic: _told(*said) for topic, said in _SAID.items()},
}
