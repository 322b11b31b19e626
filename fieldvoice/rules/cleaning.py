"""Washing gear: what, how strong, and what never."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules import sources
from fieldvoice.rules.limits import within
from fieldvoice.rules.measures import measured_out
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding

#: Parts of clean water to one of unscented household bleach (5.25 %).
WATER_TO_BLEACH = 20.0

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
        measured = f"{measured_out(bleach_gal)} of bleach to {round(water_gal, 1):g} gal, no more. "
        measured = measured[:1].upper() + measured[1:]
    text = (
        f"{measured}Then rinse well with hot water."
        if measured
        else "Hot water and a brush; or bleach one to twenty, rinsed well."
    )
    wash = CLEANING.finding(
        "note",
        text,
        "One part of unscented household bleach (5.25 %) to 20 of clean water, then a thorough "
        "rinse; never stronger, and never left standing in galvanized gear.",
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
