"""What a boil burns, and the least sap that is worth a fire."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources
from fieldvoice.rules.boiling import (
    FUELS,
    LEAST_SYRUP_IN,
    WOOD_EFFICIENCY,
    syrup_per_fuel,
    wood_in_words,
)
from fieldvoice.rules.jurisdictions import DEFAULT_JURISDICTION
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.sugar import sap_per_syrup, syrup_estimate

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding

#: What an open gas burner puts into the pan (from memory: 30 to 50 %).
GAS_EFFICIENCY = 0.40
DEFAULT_FUEL = "sugar maple"

_GASES = ("propane", "fuel oil", "natural gas")
_UNITS = {"propane": "gal", "fuel oil": "gal", "natural gas": "therms"}

FUEL_NEEDED = Rule(
    "fuel-needed", ("note",), "Fuel that a boil burns, by wood or gas", sources.WILMOT_ENERGY,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class FuelNeeded:
    """Fuel for a boil in its own ``unit``; ``heat_btu`` is what the pan must take up."""

    amount: float
    unit: str
    heat_btu: float
    syrup_gal: float
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


def _gas(amount: float, unit: str) -> str:
    return f"{amount:.0f} {unit}" if amount >= 10 else f"{amount:.1f} {unit}"


def _per_syrup(per_unit: float, fuel: str) -> str:
    if fuel in _GASES:
        return f"A gallon of syrup takes {1 / per_unit:.0f} {_UNITS[fuel]}."
    return f"A cord makes about {per_unit:.0f} gal of syrup from this sap."
