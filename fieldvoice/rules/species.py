"""The maples that are tapped: how sweet, and how early in bud."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldvoice.rules.finding import Finding

SPECIES_RULE = Rule(
    "species", ("note",), "Which maples are tapped, how sweet and how early in bud",
    sources.UMN_HOMEMADE,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Species:
    """A maple. ``sugar_brix`` is what is usual (from memory but for box elder and Norway maple)."""

    name: str
    sugar_brix: tuple[float, float]
    buds_early: bool
    remark: str
    source: str = sources.UMN_HOMEMADE


#: Maples by the name they go by here.
SPECIES: Mapping[str, Species] = {
    one.name: one
    for one in (
        Species("sugar maple", (2.0, 2.5), False, "The sweetest, and the last to bud."),
        Species("black maple", (2.0, 2.5), False, "As good as sugar maple."),
        Species(
            "red maple", (1.5, 1.7), True, "Less sweet, and it buds before sugar maple.",
            sources.UNH_FORESTRY,
        ),
        Species("silver maple", (1.5, 1.9), True, "Less sweet, and the earliest of all to bud."),
        Species(
            "box elder", (1.0, 2.8), True,
            "Reports differ: 2.2 to 2.8 Brix in Utah, the poorest of maples elsewhere; so test it.",
            sources.MATHEWS_2024,
        ),
        Species(
            "norway maple", (2.2, 2.8), False,
            "Sweet enough in Utah, but it gave a third of box elder's sap.",
            sources.MATHEWS_2024,
        ),
    )
}  # fmt: skip

#: Other names in use.
_ALSO: Mapping[str, str] = {
    "sugar": "sugar maple", "hard maple": "sugar maple", "rock maple": "sugar maple",
    "black": "black maple", "red": "red maple", "soft maple": "red maple",
    "swamp maple": "red maple", "silver": "silver maple", "boxelder": "box elder",
    "boxelder maple": "box elder", "box elder maple": "box elder", "manitoba maple": "box elder",
    "ashleaf maple": "box elder", "norway": "norway maple",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class SpeciesAdvice:
    """A species and what is to be known of it; the first finding is the answer."""

    species: Species
    findings: tuple[Finding, ...]


def species_named(name: str) -> Species:
    """Return the maple that goes by ``name``.

    Raises:
        RangeError: it is none of ``SPECIES``.
    """
    plain = " ".join(name.lower().split())
    plain = _ALSO.get(plain, plain)
    if plain not in SPECIES:
        raise RangeError(f"Figures are known for {', '.join(SPECIES)}, not for {name}.")
    return SPECIES[plain]


def species_advice(name: str) -> SpeciesAdvice:
    """Return whether a maple is worth tapping.

    Raises:
        RangeError: it is none of ``SPECIES``.
    """
    found = species_named(name)
    low, high = found.sugar_brix
    finding = SPECIES_RULE.finding(
        "note",
        f"Yes, {found.name} can be tapped. {found.remark}",
        f"Usual sugar is {low:g} to {high:g} Brix, but trees differ more than kinds do; "
        "measure yours. Minnesota's list of maples to tap has sugar, red, silver and box elder.",
        source=found.source,
    )
    return SpeciesAdvice(found, (finding,))
