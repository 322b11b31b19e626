"""How far a hole lies from the old ones, round the trunk and up and down."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fieldvoice.errors import RangeError
from fieldvoice.rules import sources
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldvoice.rules.finding import Finding, Level

Spacing = Literal["clear", "close", "too close"]

#: Compass degrees of each side, in the order they are proposed when nothing else decides.
SIDES: Mapping[str, float] = {
    "south": 180, "southeast": 135, "southwest": 225, "east": 90,
    "west": 270, "northeast": 45, "northwest": 315, "north": 0,
}  # fmt: skip

#: A new hole nearer than this to the side is too close, and not only close; so near to the side it
#: needs this much up or down.
CLEAR_SIDE_IN, CLEAR_UP_IN = 2.0, 12.0
#: (under so many inches sideways, least inches up or down): Maine; Cornell and Ontario; Ohio State
#: and Vermont 2020; Maine.
_LEAST_UP_DOWN_IN: tuple[tuple[float, float], ...] = (
    (1, 24), (CLEAR_SIDE_IN, CLEAR_UP_IN), (6, 6), (math.inf, 0),
)  # fmt: skip

HOLE_SPACING = Rule(
    "hole-spacing", ("note", "care", "stop"), "Distance from old holes", sources.PMRC_YIELD_2020,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class OldHole:
    """A known hole: compass side, height above ground and year, where they were noted."""

    side: str | None = None
    height_ft: float | None = None
    year: int | None = None


@dataclass(frozen=True, slots=True)
class SpacingCheck:
    """How a new hole lies to an old one."""

    spacing: Spacing
    findings: tuple[Finding, ...]


def spacing_check(sideways_in: float, up_down_in: float) -> SpacingCheck:
    """Say whether a new hole keeps its distance from an old one.

    What is wanted goes sideways and up or down together (``least_up_down_in``). Too close is what
    falls short of it within 2 in sideways, close what does so beyond.

    Raises:
        RangeError: for distances outside 0 to 200 in.
    """
    within(sideways_in, 0, 200, "The distance sideways", "inches")
    within(up_down_in, 0, 200, "The distance up or down", "inches")
    least_in = least_up_down_in(sideways_in)
    why = f"It is {sideways_in:.0f} in sideways and {up_down_in:.0f} in up or down from an old hole"
    if up_down_in >= least_in:
        return SpacingCheck("clear", _older_rule(sideways_in, up_down_in, why))
    why += f"; so near to the side the least is {least_in:g} in up or down."
    text = "Too close to an old hole: move to fresh wood."
    spacing: Spacing = "too close"
    level: Level = "stop"
    if sideways_in >= CLEAR_SIDE_IN:
        text = "Close to an old hole; 6 inches sideways is better."
        spacing, level = "close", "care"
    return SpacingCheck(spacing, (HOLE_SPACING.finding(level, text, why),))


def least_up_down_in(sideways_in: float) -> float:
    """Return how far above or below an old hole a new one must be, so far to its side, in inches.

    Straight above it the stained column reaches farthest.
    """
    return next(least for most, least in _LEAST_UP_DOWN_IN if sideways_in < most)


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


def near_old(
    side: str | None, height_ft: float | None, diameter_in: float | None, old: OldHole
) -> list[Finding]:
    """Return the findings on the distance to one old hole, where both places are known."""
    if side is None or old.side is None:
        return []
    angle = _sides_apart(side, old.side)
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
    up_down_in = abs(height_ft - old.height_ft) * 12
    if angle == 0:
        return _on_one_eighth(side, diameter_in, up_down_in)
    return list(spacing_check(sideways_in, up_down_in).findings)


def _on_one_eighth(side: str, diameter_in: float, up_down_in: float) -> list[Finding]:
    """Return what to ask of two holes noted on one eighth of a trunk: up to that wide apart."""
    if up_down_in >= least_up_down_in(0):
        return []
    eighth_in = math.pi * diameter_in / 8
    return [
        HOLE_SPACING.finding(
            "care",
            f"The {side} side has an old hole: is it a hand over?",
            f"Both are noted on one side, which is {eighth_in:.0f} in wide here: they may be that "
            f"far apart or one above the other, {up_down_in:.0f} in up or down.",
        )
    ]


def farthest_side(old_holes: Sequence[OldHole]) -> str | None:
    """Return the side farthest round the trunk from every known hole; None when none is known."""
    used = [hole.side for hole in old_holes if hole.side is not None]
    if not used:
        return None
    return max(SIDES, key=lambda side: min(_sides_apart(side, other) for other in used))


def bearings_apart(one: float, other: float) -> float:
    """Return the smaller angle in degrees between two compass bearings."""
    apart = abs(one - other) % 360
    return min(apart, 360 - apart)


def _sides_apart(one: str, other: str) -> float:
    for side in (one, other):
        if side not in SIDES:
            raise RangeError(f"A side is one of {', '.join(SIDES)}, not {side}.")
    return bearings_apart(SIDES[one], SIDES[other])
