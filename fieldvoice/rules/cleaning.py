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


def cleaning(water_gal: float | None = None, *, jurisdiction_name: str = "us") -> Cleaning:
    """Return how to wash sap gear, with the bleach that ``water_gal`` of water takes.

    Raises:
        RangeError: for water outside 0.1 to 2,000 gal.
    """
    bleach_gal = None
    measured = ""
    if water_gal is not None:
        within(water_gal, 0.1, 2000, "Water to wash with", "gallons")
        bleach_gal = water_gal / WATER_TO_BLEACH
        measured = (
            f"{at_most(bleach_gal)} of bleach to {math.ceil(water_gal * 10) / 10:g} gal, no more. "
        )
        measured = measured[:1].upper() + measured[1:]
    text = (
        f"{measured}Never with vinegar or cleaner: poison gas. Then rinse well."
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
