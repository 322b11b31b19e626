"""Pictures of trunks over the years: the bark rolled out with its holes, and the trunk's growth."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.paper import measures as m
from fieldvoice.paper.drawing import Picture
from fieldvoice.paper.trunk import HIGH_FT, LETTERS, LOW_FT
from fieldvoice.rules.spacing import CLEAR_UP_IN

if TYPE_CHECKING:
    from fieldvoice.paper.trunk import Spot, Trunk

_WIDTH, _HIGH = 210.0, 104.0
_EDGE, _TOP = 10.0, 6.0


def bark(trunk: Trunk, name: str, year: int) -> Picture:
    """Draw the bark rolled out: this year's holes, those still closing, older ones, the next."""
    noted = m.count(len(trunk.holes), "hole")
    picture = Picture(_WIDTH, _HIGH + 26, f"{name}: {noted} on the bark. {trunk.advice}".strip())
    picture.rect(_EDGE, _TOP, _WIDTH - 2 * _EDGE, _HIGH - _TOP, "bark", 4)
    sides = [_at(across, 0.0) for _, across in LETTERS[1:-1]]
    picture.lines([[(x, _TOP), (x, _HIGH)] for x, _ in sides], "grid")
    for letter, across in LETTERS:
        picture.text(letter, _at(across, 0.0)[0], _HIGH + 16, "a", "middle")
    for hole in trunk.holes:
        if hole.sure and trunk.clear_across and hole.grown_out and hole.grown_out > year:
            _kept_clear(picture, hole.spot, trunk.clear_across)
    for hole in trunk.holes:
        kind = "hole old"
        if hole.year == year:
            kind = "hole new"
        elif hole.closing(year):
            kind = "hole closing"
        x, y = _place(hole.spot)
        picture.dot(x, y, 4 if hole.year == year else 3.4, kind)
    if trunk.next_spot is not None:
        x, y = _place(trunk.next_spot)
        picture.dot(x, y, 7, "next")
        picture.lines([[(x - 11, y), (x + 11, y)], [(x, y - 11), (x, y + 11)]], "cross")
    return picture


def _kept_clear(picture: Picture, spot: Spot, across: float) -> None:
    """Shade the wood round a hole that is spent: no other hole may be drilled there."""
    foot = CLEAR_UP_IN / 12 / (HIGH_FT - LOW_FT)
    left, top = _at(max(0.0, spot.across - across), min(1.0, spot.up + foot))
    right, bottom = _at(min(1.0, spot.across + across), max(0.0, spot.up - foot))
    picture.rect(left, top, right - left, bottom - top, "spent", 2)


def _place(spot: Spot) -> tuple[float, float]:
    return _at(spot.across, spot.up)


def _at(across: float, up: float) -> tuple[float, float]:
    return (
        _EDGE + 6 + across * (_WIDTH - 2 * _EDGE - 12),
        _HIGH - 6 - up * (_HIGH - _TOP - 12),
    )
