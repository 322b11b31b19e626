"""Products boiled past syrup, and what a thermometer's error means for the sugar."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldvoice.rules.finding import Finding

PRODUCT = Rule(
    "product-target", ("note",), "How far past syrup sugar products are boiled",
    sources.PRODUCT_CHART,
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
