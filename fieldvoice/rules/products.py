"""Products boiled past syrup, and what a thermometer's error means for the sugar."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.water import rise_f

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldvoice.rules.finding import Finding

PRODUCT = Rule(
    "product-target", ("note",), "How far past syrup sugar products are boiled",
    sources.PRODUCT_CHART,
)  # fmt: skip
THERMOMETER = Rule(
    "thermometer-error", ("note",), "What a thermometer's error means in Brix",
    sources.STARZAK_PEACOCK,
)  # fmt: skip

#: °F above water's boil, from and to.
PRODUCTS: Mapping[str, tuple[float, float]] = {
    "sugar on snow": (20, 22), "cream": (21, 24), "soft candy": (24, 28), "hard sugar": (33, 36),
}  # fmt: skip

#: The Ontario producers' figures for hard sugar, °F above water at sea level.
_ONTARIO_HARD_F = (38, 44)


@dataclass(frozen=True, slots=True)
class ProductTarget:
    """Temperatures to boil to, from and to, °F."""

    from_f: float
    to_f: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class ThermometerError:
    """Brix that the syrup is off by, with the thermometer off by ``error_f``."""

    error_f: float
    off_brix: float
    findings: tuple[Finding, ...]


def product_target(product: str, water_boils: float) -> ProductTarget:
    """Return how hot to boil a product where water boils at ``water_boils`` °F.

    Raises:
        RangeError: for another product, or water's boil outside 185 to 216 °F.
    """
    if product not in PRODUCTS:
        raise RangeError(f"Figures are known for {', '.join(PRODUCTS)}, not for {product}.")
    within(water_boils, 185, 216, "Water's boiling point", "°F")
    low, high = PRODUCTS[product]
    differ = (
        f" Ontario's producers say {_ONTARIO_HARD_F[0]} to {_ONTARIO_HARD_F[1]}."
        if product == "hard sugar"
        else ""
    )
    finding = PRODUCT.finding(
        "note",
        f"Boil to {water_boils + low:.0f} to {water_boils + high:.0f} °F.",
        f"{product.capitalize()} is {low:g} to {high:g} °F above water, which boils at "
        f"{water_boils:.0f} here.{differ} Sugar that hot burns deep.",
    )
    return ProductTarget(water_boils + low, water_boils + high, (finding,))


def thermometer_error(error_f: float, brix: float = 66.0) -> ThermometerError:
    """Return how far off syrup is that was drawn by a thermometer wrong by ``error_f``.

    Raises:
        RangeError: for an error outside -5 to 5 °F or syrup outside 55 to 72 Brix.
    """
    within(error_f, -5, 5, "A thermometer's error", "°F")
    within(brix, 55, 72, "Syrup", "Brix")
    degrees_per_brix = (rise_f(brix + 0.5) - rise_f(brix - 0.5)) / 1.0
    off = error_f / degrees_per_brix
    finding = THERMOMETER.finding(
        "note",
        f"{_degrees(error_f)} off is about {abs(off):.1f} Brix off.",
        f"Near syrup the boil rises {degrees_per_brix:.1f} °F a Brix. Check it in boiling water "
        "each day and let the hydrometer decide.",
    )
    return ThermometerError(error_f, off, (finding,))


def _degrees(error_f: float) -> str:
    size = abs(error_f)
    return "A degree" if size == 1 else "Half a degree" if size == 0.5 else f"{size:.1f} degrees"
