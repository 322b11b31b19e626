"""Bringing syrup to density: how much to add to heavy syrup, how much to boil off light syrup."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fieldvoice.rules import sources
from fieldvoice.rules.jurisdictions import DEFAULT_JURISDICTION, jurisdiction
from fieldvoice.rules.limits import within
from fieldvoice.rules.measures import at_most, measured_out, plain
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.sugar import sap_per_syrup, weight_lb_per_gal

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding

Doing = Literal["thin", "boil", "leave"]

#: Nearer than this, in Brix, one does not meddle: hydrometers are no better.
NEAR_ENOUGH_BRIX = 0.2
#: Syrup is thinned to so much above the minimum, in Brix: what is too thin may not be sold.
ABOVE_BRIX = 0.3

ADJUST = Rule(
    "adjust-density", ("note", "care"), "How much to add to heavy syrup or boil off light syrup",
    sources.CRC_SUCROSE,
)  # fmt: skip
SAP_NEEDED = Rule(
    "sap-needed", ("note",), "Sap that a volume of syrup takes", sources.CRC_SUCROSE,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Adjustment:
    """What to do to ``target_brix``; ``add_gal`` (of the thinner) or ``boil_off_gal`` of water."""

    doing: Doing
    target_brix: float
    add_gal: float
    boil_off_gal: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class SapNeeded:
    """Gallons of sap for a volume of syrup; ``ratio`` to one of syrup."""

    sap_gal: float
    ratio: float
    findings: tuple[Finding, ...]


def to_density(
    volume_gal: float,
    brix: float,
    *,
    thinner_brix: float = 2.0,
    jurisdiction_name: str = DEFAULT_JURISDICTION,
) -> Adjustment:
    """Return how to bring ``volume_gal`` of syrup at ``brix`` to the legal minimum.

    Heavy syrup is thinned with sap (or whatever has ``thinner_brix``) to a little above it, light
    syrup is boiled on.
    Sugar and weight are kept in balance.

    Raises:
        RangeError: for a volume outside 0.01 to 10,000 gal, syrup outside 40 to 80 Brix, a thinner
            outside 0 to 50, or an unknown jurisdiction.
    """
    within(volume_gal, 0.01, 10_000, "A volume of syrup", "gallons")
    within(brix, 40, 80, "Syrup", "Brix")
    within(thinner_brix, 0, 50, "What syrup is thinned with", "Brix")
    target = jurisdiction(jurisdiction_name).minimum_brix
    pounds = volume_gal * weight_lb_per_gal(brix, in_air=False)
    if -NEAR_ENOUGH_BRIX <= brix - target <= ABOVE_BRIX:
        text = "Leave it; it's as near as a hydrometer can tell."
        why = f"{plain(brix)} Brix against {target:g}."
        return Adjustment("leave", target, 0.0, 0.0, (ADJUST.finding("note", text, why),))
    if brix > target:
        aim = min(brix, target + ABOVE_BRIX)
        add_lb = pounds * (brix - aim) / (aim - thinner_brix)
        add_gal = add_lb / weight_lb_per_gal(thinner_brix, in_air=False)
        return Adjustment(
            "thin", target, add_gal, 0.0, (_thin(volume_gal, brix, target, add_gal, thinner_brix),)
        )
    off_lb = pounds * (1 - brix / target)
    off_gal = off_lb / weight_lb_per_gal(0, in_air=False)
    return Adjustment("boil", target, 0.0, off_gal, (_boil(volume_gal, brix, target, off_gal),))


def sap_needed(
    syrup_gal: float, sap_brix: float, *, jurisdiction_name: str = DEFAULT_JURISDICTION
) -> SapNeeded:
    """Return the sap that ``syrup_gal`` of syrup takes.

    Raises:
        RangeError: for a volume outside 0 to 10,000 gal, sap outside 0.2 to 60 Brix, or an unknown
            jurisdiction.
    """
    within(syrup_gal, 0, 10_000, "A volume of syrup", "gallons")
    within(sap_brix, 0.2, 60, "Sap sugar", "Brix")
    target = jurisdiction(jurisdiction_name).minimum_brix
    ratio = sap_per_syrup(sap_brix, target)
    sap_gal = syrup_gal * ratio
    finding = SAP_NEEDED.finding(
        "note",
        f"About {few(sap_gal)} gal of sap.",
        f"At {plain(sap_brix)} Brix {ratio:.0f} gal of sap make one of syrup at {target:g} "
        "Brix, since all the sugar stays.",
    )
    return SapNeeded(sap_gal, ratio, (finding,))


def few(gallons: float) -> str:
    """Return a volume with no more figures than its grounds allow."""
    return f"{gallons:.0f}" if gallons >= 10 else f"{gallons:.1f}"


def _thin(volume_gal: float, brix: float, target: float, add_gal: float, thinner: float) -> Finding:
    what = "sap" if thinner else "water"
    return ADJUST.finding(
        "care" if brix > 68.9 else "note",
        f"Add {at_most(add_gal)} of {what}, hot; stir, and test again before more.",
        f"{plain(volume_gal)} gal at {plain(brix)} Brix with {measured_out(add_gal)} of "
        f"{what} of {plain(thinner)} comes to {plain(target + ABOVE_BRIX)}; the sugar stays. Less "
        "is added than that, for what is too thin must be boiled again. "
        "Bring it to a boil afterwards. Above 67.1 Brix at 68 °F it grows crystals.",
    )


def _boil(volume_gal: float, brix: float, target: float, off_gal: float) -> Finding:
    return ADJUST.finding(
        "care",
        f"Light: boil off about {measured_out(off_gal)} of water.",
        f"{plain(volume_gal)} gal at {plain(brix)} Brix must lose water to come to "
        f"{target:g}; light syrup "
        "ferments and moulds.",
    )
