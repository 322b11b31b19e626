"""Ice in the bucket: what taking it out does to the sugar."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules import sources
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding, Level

ICE_OUT = Rule(
    "ice-out", ("note", "care"), "Whether to throw the ice away", sources.ICE_TESTS,
)  # fmt: skip

#: Sugar left in the ice, a middle value of community tests (0 to 1 Brix).
TYPICAL_ICE_BRIX = 0.5


@dataclass(frozen=True, slots=True)
class IceOut:
    """Sugar of the liquid left, and the share of all sugar that goes with the ice (0 to 1)."""

    brix: float
    sugar_lost: float
    findings: tuple[Finding, ...]


def ice_out(brix: float, ice_share: float, ice_brix: float = TYPICAL_ICE_BRIX) -> IceOut:
    """Return what is left when the ice, ``ice_share`` (0 to 0.9) of the weight, is thrown out.

    Raises:
        RangeError: for sap outside 0.2 to 20 Brix, a share outside 0 to 0.9, or ice sweeter than
            the sap.
    """
    within(brix, 0.2, 20, "Sap sugar", "Brix")
    within(ice_share, 0, 0.9, "The share of ice")
    within(ice_brix, 0, brix, "The ice's sugar", "Brix")
    left = (brix - ice_share * ice_brix) / (1 - ice_share)
    lost = ice_share * ice_brix / brix
    level: Level = "note" if ice_share <= 0.34 else "care"
    if level == "note":
        text = "Throw the ice out; it's nearly all water."
    else:
        text = "That's a lot of ice: let it half melt before you throw it."
    why = (
        f"With {ice_share:.0%} ice at {ice_brix:g} Brix, the liquid is {left:.1f} Brix and "
        f"{lost:.0%} of the sugar goes with the ice."
    )
    return IceOut(left, lost, (ICE_OUT.finding(level, text, why),))
