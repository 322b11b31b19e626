"""How long a boil takes, what it leaves in the pan, and what fuel it eats."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE, Finding
from fieldvoice.rules.jurisdictions import DEFAULT_JURISDICTION
from fieldvoice.rules.limits import within
from fieldvoice.rules.measures import plain
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.sugar import sap_per_syrup, syrup_estimate, weight_lb_per_gal

if TYPE_CHECKING:
    from collections.abc import Mapping

#: Gallons of water a square foot of flat pan boils off in an hour over a normal fire.
FLAT_PAN_RATE = 1.0
#: Hours from lighting the fire to a rolling boil.
START_UP_H = 0.4
#: Syrup stands at least this deep in a pan that it can be finished in.
LEAST_SYRUP_IN = 1.0
#: A boiling pan holds at least this; with less there is no time to fetch more.
LEAST_SAP_IN = 1.0
#: Share of a cord's heat that a small wood-fired pan puts into the sap; 22 gal of syrup a cord.
WOOD_EFFICIENCY = 0.37
#: Gallons of syrup a cord: what that comes to, and the least and most that was measured.
WOOD_GAL_A_CORD, WOOD_MEASURED = 22.0, (15.0, 25.0)

#: Stacked cubic feet in a cord, and in a heaped wheelbarrow of split wood (common practice: about
#: twenty loads to a cord).
CORD_FT3, WHEELBARROW_FT3 = 128.0, 6.0

_BTU_PER_LB_STEAM = 970.3
_CUBIC_IN_PER_GAL = 231.0
_LB_WATER_PER_GAL = 8.34

#: Heat in a unit of fuel, BTU: a cord of dry wood, a gallon, a therm.
FUELS: Mapping[str, float] = {
    "sugar maple": 24.0e6,
    "red oak": 24.0e6,
    "beech": 24.0e6,
    "red maple": 18.7e6,
    "box elder": 17.9e6,
    "white pine": 14.3e6,
    "propane": 91_500,
    "fuel oil": 138_500,
    "natural gas": 100_000,
}

BOIL_TIME = Rule(
    "boil-time", ("note",), "Hours to boil sap down in an open pan", sources.BOILING_DOWN,
)  # fmt: skip
PAN_SHALLOW = Rule(
    "pan-shallow", ("care",), "Too little syrup for the pan it is to be finished in",
    COMMON_PRACTICE, "common practice",
)  # fmt: skip
PAN_LOW = Rule(
    "pan-low", ("stop", "care"), "Too little sap left in the pan over the fire",
    sources.BOILING_DOWN,
)  # fmt: skip
BOIL_WOOD = Rule(
    "boil-wood", ("note",), "Wood that a boil will burn", sources.OSU_FUEL,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class BoilTime:
    """A boil: hours at the boil, hours to get there, what goes and what stays.

    ``syrup_depth_in`` is how deep the finished syrup would stand in the pan.
    """

    boil_h: float
    start_up_h: float
    water_gal: float
    syrup_gal: float
    syrup_depth_in: float
    wood_cords: float
    findings: tuple[Finding, ...]


def boil_time(
    volume_gal: float,
    brix: float,
    pan_ft2: float,
    *,
    rate_gal_ft2_h: float = FLAT_PAN_RATE,
    brix_assumed: bool = False,
    jurisdiction_name: str = DEFAULT_JURISDICTION,
) -> BoilTime:
    """Return how long ``volume_gal`` of sap takes in a pan of ``pan_ft2``; the answer comes first.

    ``rate_gal_ft2_h`` is the pan's own rate, best learnt from the user's own boils.

    Raises:
        RangeError: for sap outside 0 to 100,000 gal or 0.2 to 60 Brix, a pan outside 0.25 to
            500 ft², or a rate outside 0.1 to 5.
    """
    within(pan_ft2, 0.25, 500, "A pan", "square feet")
    within(rate_gal_ft2_h, 0.1, 5, "A boiling rate", "gallons a square foot an hour")
    made = syrup_estimate(volume_gal, brix, jurisdiction_name=jurisdiction_name)
    boil_h = made.water_gal / (pan_ft2 * rate_gal_ft2_h)
    depth_in = made.syrup_gal * _CUBIC_IN_PER_GAL / (pan_ft2 * 144)
    per_cord = syrup_per_fuel(
        FUELS["sugar maple"], WOOD_EFFICIENCY, brix, syrup_brix=made.syrup_brix
    )
    cords = made.syrup_gal / per_cord
    taken = " (taken, since none was measured)" if brix_assumed else ""
    answer = BOIL_TIME.finding(
        "note",
        f"About {hours_in_words(boil_h)} at the boil.",
        f"{made.water_gal:.0f} gal of water to boil off {plain(pan_ft2)} square feet at "
        f"{rate_gal_ft2_h:g} gal a square foot an hour is {boil_h:.1f} hours, and "
        f"{START_UP_H:g} more to get it rolling; sap at {plain(brix)} Brix{taken}.",
    )
    wood = BOIL_WOOD.finding(
        "note",
        f"About {wood_in_words(cords)}.",
        f"{cords:.2g} cords of dry hardwood, {cords * CORD_FT3:.0f} cubic feet stacked: about "
        f"{per_cord:.0f} gal of syrup a cord from {plain(brix)} Brix sap. A wheelbarrow of split "
        f"wood is about {WHEELBARROW_FT3:g} cubic feet stacked.",
    )
    findings = (answer, *_shallow(depth_in, made.syrup_gal), wood)
    return BoilTime(boil_h, START_UP_H, made.water_gal, made.syrup_gal, depth_in, cords, findings)


def heat_per_gal_water_btu(start_f: float = 40.0) -> float:
    """Return the heat to warm a gallon of water from ``start_f`` to 212 °F and boil it away.

    Raises:
        RangeError: outside 32 to 212 °F.
    """
    within(start_f, 32, 212, "The starting temperature", "°F")
    return _LB_WATER_PER_GAL * (212 - start_f + _BTU_PER_LB_STEAM)


def heat_per_gal_syrup_btu(
    brix: float, start_f: float = 40.0, *, syrup_brix: float = 66.0
) -> float:
    """Return the heat that goes into a gallon of syrup of ``syrup_brix`` from sap of ``brix``.

    Raises:
        RangeError: for sap outside 0.2 to 60 Brix or 32 to 212 °F, or syrup outside 60 to 70.
    """
    within(brix, 0.2, 60, "Sap sugar", "Brix")
    within(start_f, 32, 212, "The starting temperature", "°F")
    sap_lb = sap_per_syrup(brix, syrup_brix) * weight_lb_per_gal(brix, in_air=False)
    steam_lb = sap_lb - weight_lb_per_gal(syrup_brix, in_air=False)
    return sap_lb * (212 - start_f) + steam_lb * _BTU_PER_LB_STEAM


def syrup_per_fuel(
    heat_btu: float, efficiency: float, brix: float, *, syrup_brix: float = 66.0
) -> float:
    """Return gallons of syrup from fuel of ``heat_btu``, at ``efficiency`` 0.05 to 1.

    Raises:
        RangeError: for another efficiency, or sap outside 0.2 to 60 Brix.
    """
    within(efficiency, 0.05, 1, "An efficiency")
    return heat_btu * efficiency / heat_per_gal_syrup_btu(brix, syrup_brix=syrup_brix)


def hours_in_words(hours: float) -> str:
    """Return a length of time as it is spoken of: minutes under an hour, half hours above."""
    if hours < 0.9:
        return f"{max(5, round(hours * 12) * 5)} minutes"
    halves = round(hours * 2) / 2
    return "1 hour" if halves == 1 else f"{halves:g} hours"


def wood_in_words(cords: float, *, is_own: bool = False) -> str:
    """Return an amount of wood as one sees it: cords, or below a third of one wheelbarrows.

    It is a range, of what boils were measured to take, unless it is from one's own (``is_own``).
    """
    low, high = (cords * WOOD_GAL_A_CORD / most for most in reversed(WOOD_MEASURED))
    if is_own:
        low = high = cords
    if cords >= 1 / 3:
        told = [f"{one:.1f}" for one in (low, high)]
        return f"{' to '.join(dict.fromkeys(told))} cords of wood"
    loads = [max(1, round(one * CORD_FT3 / WHEELBARROW_FT3)) for one in (low, high)]
    if loads == [1, 1]:
        return "a wheelbarrow of split wood"
    return f"{' to '.join(map(str, dict.fromkeys(loads)))} wheelbarrows of split wood"


def _shallow(depth_in: float, syrup_gal: float) -> tuple[Finding, ...]:
    if depth_in >= LEAST_SYRUP_IN or syrup_gal == 0:
        return ()
    return (
        PAN_SHALLOW.finding(
            "care",
            "Take it off before it's syrup, and finish it in a pot.",
            f"The syrup would stand only {depth_in:.1f} in deep in this pan; under "
            f"{LEAST_SYRUP_IN:g} in it scorches.",
        ),
    )


def pan_check(depth_in: float) -> tuple[Finding, ...]:
    """Say that sap this deep in the pan is too little, where it is; in inches."""
    if depth_in >= LEAST_SAP_IN:
        return ()
    if depth_in == 0:
        return (
            PAN_LOW.finding(
                "stop",
                "Fire under it? Stand back, fire down, nothing cold into it.",
                "Anything cold on dry hot metal flashes to steam, spatters burning sugar and can "
                "split a seam.",
            ),
        )
    minutes = depth_in * 144 / _CUBIC_IN_PER_GAL / FLAT_PAN_RATE * 60
    return (
        PAN_LOW.finding(
            "care",
            "Slow the fire and flood it with sap now.",
            f"At {FLAT_PAN_RATE:g} gal a square foot an hour {depth_in:g} in is gone in "
            f"{minutes:.0f} minutes, and a dry pan burns. A dry spot or smoke: nothing cold.",
        ),
    )
