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
    "sugar on snow": (20, 22), "cream": (22, 24), "soft candy": (32, 34), "hard sugar": (33, 36),
    "granulated sugar": (40, 45),
}  # fmt: skip

#: What else is printed of a product.
_ELSEWHERE: Mapping[str, str] = {
    "hard sugar": " Ontario's producers say 38 to 44 above.",
    "soft candy": " Other lists say 24 to 28 above, Quebec 26.",
    "granulated sugar": " Many go on to 48.",
}


@dataclass(frozen=True, slots=True)
class ProductTarget:
    """Temperatures to boil to, from and to, °F."""

    from_f: float
    to_f: float
    findings: tuple[Finding, ...]


def product_target(product: str, water_boils: float) -> ProductTarget:
    """Return how hot to boil a product where water boils at ``water_boils`` °F.

    "Maple sugar" alone may be granulated or in blocks: both are told.

    Raises:
        RangeError: for another product, or water's boil outside 185 to 216 °F.
    """
    if product == "maple sugar":
        return _either_sugar(water_boils)
    if product not in PRODUCTS:
        raise RangeError(f"Figures are known for {', '.join(PRODUCTS)}, not for {product}.")
    within(water_boils, 185, 216, "Water's boiling point", "°F")
    low, high = PRODUCTS[product]
    finding = PRODUCT.finding(
        "note",
        f"Boil to {water_boils + low:.0f} to {water_boils + high:.0f} °F.",
        f"{product.capitalize()} is {low:g} to {high:g} °F above water, which boils at "
        f"{water_boils:.0f} here.{_ELSEWHERE.get(product, '')} Sugar that hot burns deep.",
    )
    return ProductTarget(water_boils + low, water_boils + high, (finding,))


def _either_sugar(water_boils: float) -> ProductTarget:
    """Return both sugars that "maple sugar" may be."""
    within(water_boils, 185, 216, "Water's boiling point", "°F")
    (block, _), (low, high) = PRODUCTS["hard sugar"], PRODUCTS["granulated sugar"]
    finding = PRODUCT.finding(
        "note",
        f"Granulated: {water_boils + low:.0f} to {water_boils + high:.0f} °F. "
        f"In blocks: from {water_boils + block:.0f}.",
        f"Granulated sugar is {low:g} to {high:g} °F above water, which boils at "
        f"{water_boils:.0f} here, and is stirred till it is dry; block sugar is {block:g} to "
        f"{PRODUCTS['hard sugar'][1]:g} above. Sugar that hot burns deep.",
    )
    return ProductTarget(water_boils + block, water_boils + high, (finding,))
