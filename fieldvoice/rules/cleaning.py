"""Washing gear: what, how strong, and what never."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules import sources
from fieldvoice.rules.limits import within
from fieldvoice.rules.measures import at_most
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding

#: Parts of clean water to one of unscented household bleach. 1:20 is printed for bleach of 5.25 %;
#: most bottles now have 7.5 to 8.25 %, for which that is 1:31. This is half a cup to a gallon.
WATER_TO_BLEACH = 32.0
#: As printed: parts of water to bleach of that strength, in percent.
_PRINTED_PARTS, _PRINTED_STRENGTH = 20.0, 5.25

CLEANING = Rule(
    "cleaning", ("note",), "Bleach for gear: how strong, and rinsed how", sources.UMAINE_7038,
)  # fmt: skip
CLEANING_NEVER = Rule(
    "cleaning-never", ("care",), "What sap gear is never washed with", sources.UMAINE_7038,
)  # fmt: skip
CLEANING_ALCOHOL = Rule(
    "cleaning-alcohol", ("care",), "Isopropyl alcohol is not legal for tubing in the US",
    sources.ISOPROPYL,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cleaning:
    """Bleach for a volume of water; the first finding is the answer."""

    bleach_gal: float | None
    findings: tuple[Finding, ...]


def cleaning(
    water_gal: float | None = None,
    *,
    strength: float | None = None,
    jurisdiction_name: str = "us",
) -> Cleaning:
    """Return how to wash sap gear, with the bleach that ``water_gal`` of water takes.

    ``strength`` is what the bottle says, in percent; left out, it may be as strong as they come.

    Raises:
        RangeError: for water outside 0.1 to 2,000 gal, or bleach outside 2 to 12.5 %.
    """
    bleach_gal = None
    measured = ""
    if water_gal is not None:
        within(water_gal, 0.1, 2000, "Water to wash with", "gallons")
        bleach_gal = water_gal / _parts_of_water(strength)
        measured = (
            f"{at_most(bleach_gal)} of bleach to {math.ceil(water_gal * 10) / 10:g} gal, no more. "
        )
        measured = measured[:1].upper() + measured[1:]
    text = (
        f"{measured}Never with vinegar or cleaner: poison gas. Rinse well."
        if measured
        else "Hot water and a brush; or half a cup of bleach a gallon, never with vinegar; rinse."
    )
    wash = CLEANING.finding(
        "note",
        text,
        "Printed is 1 to 20 for bleach of 5.25 %; most bottles now have 7.5 to 8.25 %, so half a "
        "cup a gallon, 1 to 32. Plain, unscented, mixed fresh in cold water, flushed well; never "
        "left in galvanized gear. Filters: hot water alone. Acid or ammonia with bleach is gas.",
    )
    never = CLEANING_NEVER.finding(
        "care",
        "Never soap, scent or dairy iodine.",
        "Household detergent, perfumed soap and iodine dairy sanitizer stay in plastic and wood "
        "and come out in the syrup.",
    )
    return Cleaning(bleach_gal, (wash, never, _alcohol(jurisdiction_name)))


def _parts_of_water(strength: float | None) -> float:
    """Return the parts of water to one of bleach, never fewer than printed."""
    if strength is None:
        return WATER_TO_BLEACH
    within(strength, 2, 12.5, "Bleach", "percent")
    return _PRINTED_PARTS * max(1.0, strength / _PRINTED_STRENGTH)


def _alcohol(jurisdiction_name: str) -> Finding:
    canada = jurisdiction_name == "canada"
    text = (
        "Alcohol may be used on tubing in Canada; flush it out."
        if canada
        else "No isopropyl alcohol on tubing: it isn't legal in the US."
    )
    why = (
        "Isopropyl alcohol as a sanitizer of tubing is used in Canada and not permitted in the US."
    )
    return CLEANING_ALCOHOL.finding("care", text, why)
