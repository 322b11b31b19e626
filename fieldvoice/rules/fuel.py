"""What a boil burns, what a pan has shown that it boils off, and whether a boil can be finished."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources
from fieldvoice.rules.boiling import (
    FUELS,
    LEAST_SYRUP_IN,
    START_UP_H,
    WOOD_EFFICIENCY,
    hours_in_words,
    syrup_per_fuel,
    wood_in_words,
)
from fieldvoice.rules.finding import COMMON_PRACTICE
from fieldvoice.rules.jurisdictions import DEFAULT_JURISDICTION
from fieldvoice.rules.limits import within
from fieldvoice.rules.measures import plain
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.sugar import sap_per_syrup, syrup_estimate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.rules.finding import Finding

#: What an open gas burner puts into the pan (from memory: 30 to 50 %).
GAS_EFFICIENCY = 0.40
DEFAULT_FUEL = "sugar maple"

_GASES = ("propane", "fuel oil", "natural gas")
_UNITS = {"propane": "gal", "fuel oil": "gal", "natural gas": "therms"}

FUEL_NEEDED = Rule(
    "fuel-needed", ("note",), "Fuel that a boil burns, by wood or gas", sources.WILMOT_ENERGY,
)  # fmt: skip
BOIL_FITS = Rule(
    "boil-fits", ("note", "care"), "Never start a boil that cannot be finished", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip
PAN_RATE = Rule(
    "pan-rate", ("note",), "What the pan boils off, learnt from its own boils", COMMON_PRACTICE,
    "design choice",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class FuelNeeded:
    """Fuel for a boil in its own ``unit``; ``heat_btu`` is what the pan must take up."""

    amount: float
    unit: str
    heat_btu: float
    syrup_gal: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class BoilFit:
    """Hours that a boil takes against those one has, and the sap that would fit into them."""

    needs_h: float
    fits: bool
    sap_gal: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class PanRate:
    """Gallons of water a square foot an hour, the middle one of so many boils."""

    rate_gal_ft2_h: float
    boils: int
    findings: tuple[Finding, ...]


def fuel_needed(
    volume_gal: float,
    brix: float,
    fuel: str = DEFAULT_FUEL,
    *,
    efficiency: float | None = None,
    jurisdiction_name: str = DEFAULT_JURISDICTION,
) -> FuelNeeded:
    """Return what boiling ``volume_gal`` of sap to syrup burns; the first finding is the answer.

    ``efficiency`` is the share of the fuel's heat that gets into the pan; left out it is what
    backyard wood fires and gas burners reach.

    Raises:
        RangeError: for an unknown fuel, an efficiency outside 0.05 to 1, or sap that
            ``syrup_estimate`` refuses.
    """
    if fuel not in FUELS:
        raise RangeError(f"No heat is known for {fuel}; there are {', '.join(FUELS)}.")
    gas = fuel in _GASES
    share = efficiency or (GAS_EFFICIENCY if gas else WOOD_EFFICIENCY)
    made = syrup_estimate(volume_gal, brix, jurisdiction_name=jurisdiction_name)
    per_unit = syrup_per_fuel(FUELS[fuel], share, brix, syrup_brix=made.syrup_brix)
    amount = made.syrup_gal / per_unit
    unit = _UNITS.get(fuel, "cords")
    heat_btu = amount * FUELS[fuel] * share
    text = f"About {_gas(amount, unit)} of {fuel}." if gas else f"About {wood_in_words(amount)}."
    finding = FUEL_NEEDED.finding(
        "note",
        text,
        f"{made.water_gal:.0f} gal of water to boil off take {heat_btu / 1e6:.2g} million BTU, and "
        f"about {share:.0%} of the fuel's heat reaches the pan. {_per_syrup(per_unit, fuel)} Your "
        "own boils tell better.",
    )
    return FuelNeeded(amount, unit, heat_btu, made.syrup_gal, (finding,))


def boil_fits(
    volume_gal: float, brix: float, pan_ft2: float, hours: float, *, rate_gal_ft2_h: float = 1.0
) -> BoilFit:
    """Say whether a boil can be finished in ``hours``, starting and heating up included.

    Raises:
        RangeError: for hours outside 0 to 48, a pan outside 0.25 to 500 ft², a rate outside 0.1 to
            5, or sap that ``syrup_estimate`` refuses.
    """
    within(hours, 0, 48, "The time there is", "hours")
    speed = within(pan_ft2, 0.25, 500, "A pan", "square feet") * within(
        rate_gal_ft2_h, 0.1, 5, "A boiling rate", "gallons a square foot an hour"
    )
    needs_h = START_UP_H + syrup_estimate(volume_gal, brix).water_gal / speed
    water_share = 1 - 1 / sap_per_syrup(brix)
    sap_gal = max(0.0, hours - START_UP_H) * speed / water_share
    fits = needs_h <= hours
    why = (
        f"{plain(volume_gal)} gal take {needs_h:.1f} hours with lighting up, and there are "
        f"{plain(hours)}. "
        f"In that time about {sap_gal:.0f} gal can be boiled down."
    )
    if fits:
        finding = BOIL_FITS.finding("note", "Yes, there is time.", why)
    else:
        text = f"Not all of it: it takes {hours_in_words(needs_h)}. Start about {sap_gal:.0f} gal."
        finding = BOIL_FITS.finding("care", text, why)
    return BoilFit(needs_h, fits, sap_gal, (finding,))


def least_batch_gal(pan_ft2: float, brix: float, depth_in: float = LEAST_SYRUP_IN) -> float:
    """Return the sap whose syrup would stand ``depth_in`` deep in the pan it is finished in.

    Raises:
        RangeError: for a pan outside 0.25 to 500 ft², a depth outside 0.1 to 6 in or sap outside
            0.2 to 60 Brix.
    """
    within(pan_ft2, 0.25, 500, "A pan", "square feet")
    within(depth_in, 0.1, 6, "A depth", "inches")
    return (
        pan_ft2 * 144 * depth_in / 231 * sap_per_syrup(within(brix, 0.2, 60, "Sap sugar", "Brix"))
    )


def rate_from_boils(boils: Sequence[tuple[float, float]], pan_ft2: float) -> PanRate:
    """Return a pan's own rate from (gallons of water boiled off, hours at the boil) of past boils.

    The middle value is taken, so that one boil written down wrong does not count.

    Raises:
        RangeError: for no boils, no time, or a pan outside 0.25 to 500 ft².
    """
    within(pan_ft2, 0.25, 500, "A pan", "square feet")
    within(len(boils), 1, 10_000, "A count of boils")
    rates = [
        water_gal / within(hours, 0.25, 48, "A boil", "hours") / pan_ft2
        for water_gal, hours in boils
    ]
    rate = within(median(rates), 0.05, 8, "A boiling rate", "gallons a square foot an hour")
    finding = PAN_RATE.finding(
        "note",
        f"Your pan boils off about {rate * pan_ft2:.1f} gal an hour.",
        f"The middle of {len(boils)} boils: {rate:.2f} gal a square foot an hour, from "
        f"{min(rates):.2f} to {max(rates):.2f}; the usual flat pan does 1.",
    )
    return PanRate(rate, len(boils), (finding,))


def _gas(amount: float, unit: str) -> str:
    return f"{amount:.0f} {unit}" if amount >= 10 else f"{amount:.1f} {unit}"


def _per_syrup(per_unit: float, fuel: str) -> str:
    if fuel in _GASES:
        return f"A gallon of syrup takes {1 / per_unit:.0f} {_UNITS[fuel]}."
    return f"A cord makes about {per_unit:.0f} gal of syrup from this sap."
