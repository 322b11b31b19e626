"""Where and how to drill: depth, bit, height, and the distance from old holes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE, Finding, Level
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Spacing = Literal["clear", "close", "too close"]

STANDARD_BIT_IN = 5 / 16
STANDARD_DEPTH_IN = 1.5
DEEPEST_IN = 2.0
#: Trees thinner than this get shallower holes.
SMALL_TREE_IN = 12.0
#: Below these, bark and wood may split: air by rule of thumb, trunk as published (-5 °C).
COLDEST_AIR_F = 20.0
COLDEST_TRUNK_F = 23.0

#: Compass degrees of each side, in the order they are proposed when nothing else decides.
SIDES: Mapping[str, float] = {
    "south": 180, "southeast": 135, "southwest": 225, "east": 90,
    "west": 270, "northeast": 45, "northwest": 315, "north": 0,
}  # fmt: skip

HOLE = Rule("hole", ("note",), "How and where to drill the next hole", sources.COOK)
HOLE_DEPTH = Rule(
    "hole-depth", ("care",), "Holes deeper than the wood that gives sap", sources.CHABOT,
)  # fmt: skip
HOLE_BIT = Rule(
    "hole-bit", ("care",), "Bit size: five-sixteenths is today's standard", sources.COOK,
)  # fmt: skip
HOLE_HEIGHT = Rule(
    "hole-height", ("note",), "Holes at a height that is handy to work at", COMMON_PRACTICE,
    "common practice",
)  # fmt: skip
HOLE_SHAVINGS = Rule(
    "hole-shavings", ("stop",), "Brown shavings are dead or stained wood", sources.COOK,
)  # fmt: skip
HOLE_SPACING = Rule(
    "hole-spacing", ("note", "care", "stop"), "Distance from old holes", sources.PMRC_YIELD_2020,
)  # fmt: skip
HOLE_FROZEN = Rule(
    "hole-frozen", ("care", "stop"), "Trunks too frozen to drill", sources.ONTARIO_2015,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class OldHole:
    """A known hole: compass side and height above ground, where they were noted."""

    side: str | None = None
    height_ft: float | None = None


@dataclass(frozen=True, slots=True)
class HoleAdvice:
    """How to drill the next hole; ``side`` is None when nothing is known of the old ones."""

    depth_in: float
    bit_in: float
    height_ft: tuple[float, float]
    side: str | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class HoleCheck:
    """What is to be said of a hole as it was drilled."""

    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class SpacingCheck:
    """How a new hole lies to an old one."""

    spacing: Spacing
    findings: tuple[Finding, ...]


def hole_advice(diameter_in: float | None = None, old_holes: Sequence[OldHole] = ()) -> HoleAdvice:
    """Return how to drill the next hole; the first finding is the answer.

    The side proposed is the one farthest round the trunk from every known hole.

    Raises:
        RangeError: for a diameter outside 1 to 100 in, or a side that is no compass side.
    """
    if diameter_in is not None:
        within(diameter_in, 1, 100, "A trunk diameter", "inches")
    depth_in = _right_depth(diameter_in)
    side = _farthest_side(old_holes)
    depth = (
        "one to one and a half inches"
        if depth_in < STANDARD_DEPTH_IN
        else ("one and a half inches")
    )
    place = f" on the {side} side," if side else ""
    known = (
        f" Known holes: {', '.join(sorted({hole.side for hole in old_holes if hole.side}))}."
        if side
        else " No side of an old hole is in the book; look for the scars."
    )
    findings = (
        HOLE.finding(
            "note",
            f"Five-sixteenths bit, {depth} deep,{place} 2 to 4 feet up.",
            "Holes go 1.5 to 2 in into white sapwood, nearer 1 in on small trees, sloping up a "
            f"little so that they drain.{known}",
        ),
        HOLE_SPACING.finding(
            "note",
            "Stay 6 inches to the side of any old hole, or a foot above or below it.",
            "The Vermont tips ask for 2 to 4 in sideways and 6 to 12 in up or down; the older "
            "bucket rule for 6 in sideways or 24 in up or down.",
        ),
    )
    return HoleAdvice(depth_in, STANDARD_BIT_IN, (2.0, 4.0), side, findings)


def hole_check(
    *,
    depth_in: float | None = None,
    bit_in: float | None = None,
    height_ft: float | None = None,
    shavings: str | None = None,
    diameter_in: float | None = None,
    side: str | None = None,
    old_holes: Sequence[OldHole] = (),
    air_f: float | None = None,
    trunk_f: float | None = None,
) -> HoleCheck:
    """Return the findings on a hole as drilled; none when all that was said is right.

    Raises:
        RangeError: for depth outside 0.1 to 12 in, a bit outside 0.1 to 1 in, height outside 0 to
            12 ft, or a side that is no compass side.
    """
    findings: list[Finding] = []
    if shavings == "brown":
        findings.append(_brown())
    if trunk_f is not None or air_f is not None:
        findings += _frozen(air_f, trunk_f)
    if depth_in is not None:
        findings += _depth(within(depth_in, 0.1, 12, "A hole's depth", "inches"), diameter_in)
    if bit_in is not None:
        findings += _bit(within(bit_in, 0.1, 1, "A bit", "inches"))
    if height_ft is not None:
        findings += _height(within(height_ft, 0, 12, "A hole's height", "feet"))
    for old in old_holes:
        findings += _near_old(side, height_ft, diameter_in, old)
    return HoleCheck(tuple(findings))


def spacing_check(sideways_in: float, up_down_in: float) -> SpacingCheck:
    """Say whether a new hole keeps its distance from an old one.

    Too close: within 2 in sideways and 12 in up or down. Close: under 6 in sideways and under
    12 in up or down.

    Raises:
        RangeError: for distances outside 0 to 200 in.
    """
    within(sideways_in, 0, 200, "The distance sideways", "inches")
    within(up_down_in, 0, 200, "The distance up or down", "inches")
    why = f"It is {sideways_in:.0f} in sideways and {up_down_in:.0f} in up or down from an old hole"
    if sideways_in <= 2 and up_down_in <= 12:
        text = "Too close to an old hole: move to fresh wood."
        spacing: Spacing = "too close"
        level: Level = "stop"
        why += "; the least is 2 in sideways, or 12 in up or down."
    elif sideways_in < 6 and up_down_in < 12:
        text = "Close to an old hole; 6 inches sideways is better."
        spacing, level = "close", "care"
        why += "; 2 to 4 in is the least, 6 in is advised."
    else:
        return SpacingCheck("clear", _older_rule(sideways_in, up_down_in, why))
    return SpacingCheck(spacing, (HOLE_SPACING.finding(level, text, why),))


def _older_rule(sideways_in: float, up_down_in: float, why: str) -> tuple[Finding, ...]:
    if sideways_in >= 6 or up_down_in >= 24:
        return ()
    text = "That keeps its distance, though the older rule asks for 6 inches."
    return (
        HOLE_SPACING.finding(
            "note",
            text,
            f"{why}; enough for small holes, but the older bucket rule asks for 6 in sideways or "
            "24 in up or down.",
            source=sources.UMAINE_7036,
        ),
    )


def _right_depth(diameter_in: float | None) -> float:
    small = diameter_in is not None and diameter_in < SMALL_TREE_IN
    return 1.25 if small else STANDARD_DEPTH_IN


def _depth(depth_in: float, diameter_in: float | None) -> list[Finding]:
    small = diameter_in is not None and diameter_in < SMALL_TREE_IN
    most = STANDARD_DEPTH_IN if small else DEEPEST_IN
    if depth_in <= most:
        return []
    text = (
        "Too deep for a small tree: stop at an inch and a half."
        if small
        else "Too deep: stop at 2 inches."
    )
    why = (
        f"{depth_in:g} in; the most is {most:g} here. Beyond 2 in the wood gives a quarter of the "
        "sap or less."
    )
    return [HOLE_DEPTH.finding("care", text, why)]


def _bit(bit_in: float) -> list[Finding]:
    if bit_in <= STANDARD_BIT_IN + 0.005:
        return []
    area = (bit_in / STANDARD_BIT_IN) ** 2
    if bit_in <= 7 / 16 + 0.005:
        text = "Next time a five-sixteenths bit; it wounds half as much."
    else:
        text = "That bit is too big: use five-sixteenths."
    why = f"{bit_in:.3f} in opens {area:.1f} times the wood of 5/16; 7/16 is the old size."
    return [HOLE_BIT.finding("care", text, why)]


def _height(height_ft: float) -> list[Finding]:
    if 1 <= height_ft <= 6:
        return []
    text = "2 to 4 feet up is handier."
    return [
        HOLE_HEIGHT.finding("note", text, f"{height_ft:g} ft; height does not change the yield.")
    ]


def _brown() -> Finding:
    return HOLE_SHAVINGS.finding(
        "stop",
        "Brown shavings mean dead wood: leave that hole and drill elsewhere.",
        "A hole should be in clean white sapwood; stained wood beside an old hole gives no sap.",
    )


def _frozen(air_f: float | None, trunk_f: float | None) -> list[Finding]:
    if trunk_f is not None and trunk_f < COLDEST_TRUNK_F:
        why = f"The trunk is at {trunk_f:.0f} °F; below 23 (-5 °C) bark and wood may split."
        return [HOLE_FROZEN.finding("stop", "Too frozen to drill: wait for a milder day.", why)]
    if air_f is not None and air_f < COLDEST_AIR_F:
        return [
            HOLE_FROZEN.finding(
                "care",
                "It's cold for drilling; the bark may split.",
                f"It is {air_f:.0f} °F; the rule of thumb is 20 or warmer.",
                source=sources.MAINE_SUGARMAKERS,
            )
        ]
    return []


def _near_old(
    side: str | None, height_ft: float | None, diameter_in: float | None, old: OldHole
) -> list[Finding]:
    """Judge the distance to one old hole where both places are known well enough."""
    if side is None or old.side is None:
        return []
    angle = _angle(side, old.side)
    if angle == 0 and (height_ft is None or old.height_ft is None):
        return [
            HOLE_SPACING.finding(
                "care",
                f"There is an old hole on the {side} side; stay 6 inches from it.",
                "Both are noted on one side, without heights to tell them apart.",
            )
        ]
    if diameter_in is None or height_ft is None or old.height_ft is None:
        return []
    sideways_in = math.pi * diameter_in * angle / 360
    return list(spacing_check(sideways_in, abs(height_ft - old.height_ft) * 12).findings)


def _farthest_side(old_holes: Sequence[OldHole]) -> str | None:
    used = [hole.side for hole in old_holes if hole.side is not None]
    if not used:
        return None
    return max(SIDES, key=lambda side: min(_angle(side, other) for other in used))


def _angle(one: str, other: str) -> float:
    for side in (one, other):
        if side not in SIDES:
            raise RangeError(f"A side is one of {', '.join(SIDES)}, not {side}.")
    apart = abs(SIDES[one] - SIDES[other])
    return min(apart, 360 - apart)
