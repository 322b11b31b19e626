"""Colour classes of syrup by the light it lets through (560 nm, 10 mm cell, glycerol = 100 %)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules import sources
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding

#: (least % transmittance, colour, taste), lightest first.
_CLASSES = (
    (75.0, "golden", "delicate"),
    (50.0, "amber", "rich"),
    (25.0, "dark", "robust"),
    (0.0, "very dark", "strong"),
)

GRADE = Rule(
    "grade", ("note",), "Colour class of Grade A syrup", sources.US_GRADES,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Grade:
    """Colour class and the taste word that goes with it."""

    colour: str
    taste: str
    findings: tuple[Finding, ...]


def grade(transmittance: float) -> Grade:
    """Return the colour class of syrup that lets through ``transmittance`` percent.

    Raises:
        RangeError: outside 0 to 100 %.
    """
    within(transmittance, 0, 100, "Transmittance", "percent")
    least, colour, taste = next(one for one in _CLASSES if transmittance >= one[0])
    finding = GRADE.finding(
        "note",
        f"{colour.capitalize()}, {taste} taste, if it is clear and tastes right.",
        f"{transmittance:g} % of light; {colour} is from {least:g} %. Grade A must also be clear, "
        "66 to 68.9 Brix and free of off-flavours.",
    )
    return Grade(colour, taste, (finding,))
