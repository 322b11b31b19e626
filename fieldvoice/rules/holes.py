"""How to drill: depth, bit, height, slope, and what is to be said of a hole as it was drilled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fieldvoice.rules import sources
from fieldvoice.rules.finding import COMMON_PRACTICE, Finding
from fieldvoice.rules.limits import within
from fieldvoice.rules.measures import plain
from fieldvoice.rules.placing import HOLE_PLACE, place_hole
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.spacing import (
    HOLE_SPACING,
    OldHole,
    SpacingCheck,
    farthest_side,
    near_old,
    spacing_check,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = [
    "HoleAdvice",
    "HoleCheck",
    "OldHole",
    "SpacingCheck",
    "hole_advice",
    "hole_check",
    "spacing_check",
]

Bark = Literal["thin", "thick"]

STANDARD_BIT_IN = 5 / 16
STANDARD_DEPTH_IN = 1.5
DEEPEST_IN = 2.0
#: Trees thinner than this get shallower holes.
SMALL_TREE_IN = 12.0
#: Below these, bark and wood may split: air by rule of thumb, trunk as published (-5 °C).
COLDEST_AIR_F = 20.0
COLDEST_TRUNK_F = 23.0

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
HOLE_ANGLE = Rule(
    "hole-angle", ("care",), "Holes slope up a little so that they drain", sources.UMAINE_7036,
)  # fmt: skip
HOLE_SHAVINGS = Rule(
    "hole-shavings", ("stop",), "Brown shavings are dead or stained wood", sources.COOK,
)  # fmt: skip
HOLE_FROZEN = Rule(
    "hole-frozen", ("care", "stop"), "Trunks too frozen to drill", sources.ONTARIO_2015,
)  # fmt: skip


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


def hole_advice(
    diameter_in: float | None = None,
    old_holes: Sequence[OldHole] = (),
    *,
    bark: Bark | None = None,
    this_year: int | None = None,
) -> HoleAdvice:
    """Return how and where to drill the next hole; the first finding is the answer.

    Where an old hole is known by side and height, the place is told from it; where only sides are
    known, it is the side farthest round the trunk from them.

    Raises:
        RangeError: for a diameter outside 1 to 100 in, or a side that is no compass side.
    """
    if diameter_in is not None:
        within(diameter_in, 1, 100, "A trunk diameter", "inches")
    depth_in = right_depth_in(diameter_in, bark)
    how = f"Five-sixteenths bit, {_DEPTH_WORDS[depth_in]} deep"
    placed = None if diameter_in is None else place_hole(diameter_in, old_holes, this_year)
    if placed is not None:
        first = placed.findings[0]
        answer = HOLE_PLACE.finding("note", f"{first.text} {how}.", first.why)
        return HoleAdvice(
            depth_in, STANDARD_BIT_IN, (2.0, 4.0), placed.side, (answer, _slope(depth_in))
        )
    side = farthest_side(old_holes)
    place = f" on the {side} side," if side else ""
    known = (
        f" Known holes: {', '.join(sorted({hole.side for hole in old_holes if hole.side}))}."
        if side
        else " No side of an old hole is in the book; look for the scars."
    )
    answer = HOLE.finding("note", f"{how},{place} 2 to 4 feet up.", f"{_SLOPE_WHY}{known}")
    return HoleAdvice(depth_in, STANDARD_BIT_IN, (2.0, 4.0), side, (answer, _distance()))


def right_depth_in(diameter_in: float | None, bark: Bark | None = None) -> float:
    """Return how deep to drill, bark included: 1.25 in on small trees, 2 in through thick bark."""
    if diameter_in is not None and diameter_in < SMALL_TREE_IN:
        return 1.25
    return DEEPEST_IN if bark == "thick" else STANDARD_DEPTH_IN


_DEPTH_WORDS: Mapping[float, str] = {
    1.25: "one to one and a half inches", STANDARD_DEPTH_IN: "one and a half inches",
    DEEPEST_IN: "two inches",
}  # fmt: skip

_SLOPE_WHY = (
    "Holes go 1.5 in into white sapwood, 2 in through thick bark, nearer 1 in on small trees, "
    "sloping up 5 to 10 degrees so that they drain."
)


def _slope(depth_in: float) -> Finding:
    return HOLE.finding("note", "Slope it up a little, so that it drains.", _SLOPE_WHY)


def _distance() -> Finding:
    return HOLE_SPACING.finding(
        "note",
        "Stay 6 inches to the side of any old hole, or a foot above or below it.",
        "The Vermont tips ask for 2 to 4 in sideways and 6 to 12 in up or down; the older "
        "bucket rule for 6 in sideways or 24 in up or down.",
    )


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
    angle_deg: float | None = None,
) -> HoleCheck:
    """Return the findings on a hole as drilled; none when all that was said is right.

    Raises:
        RangeError: for depth outside 0.1 to 12 in, a bit outside 0.1 to 1 in, height outside 0 to
            12 ft, an angle outside -45 to 45 degrees, or a side that is no compass side.
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
    if angle_deg is not None:
        findings += _angle(within(angle_deg, -45, 45, "A hole's slope", "degrees"))
    for old in old_holes:
        findings += near_old(side, height_ft, diameter_in, old)
    return HoleCheck(tuple(findings))


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
        f"{plain(depth_in)} in; the most is {most:g} here. Beyond 2 in the wood gives a "
        "quarter of the "
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
        HOLE_HEIGHT.finding(
            "note", text, f"{plain(height_ft)} ft; height does not change the yield."
        )
    ]


def _angle(angle_deg: float) -> list[Finding]:
    if 0 < angle_deg <= 20:
        return []
    text = "Slope the hole up into the tree, so that it drains."
    if angle_deg > 20:
        text = "That's steep; 5 to 10 degrees up is enough."
    why = f"It slopes {angle_deg:g} degrees; 5 to 10 are usual, some leaflets say 10 to 15."
    return [HOLE_ANGLE.finding("care", text, why)]


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
