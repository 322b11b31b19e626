"""Pictures of trunks over the years: the bark rolled out with its holes, and how the tree did."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.paper import measures as m
from fieldvoice.paper.drawing import Axis, Picture, axis_to
from fieldvoice.paper.trunk import HIGH_FT, LETTERS, LOW_FT, Spot
from fieldvoice.rules.spacing import CLEAR_UP_IN
from fieldvoice.segments import Quantity

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from fieldvoice.paper.measures import Measures
    from fieldvoice.paper.trees import TreeRow
    from fieldvoice.paper.trunk import Trunk

_WIDTH, _HIGH = 240.0, 124.0
_LEFT, _RIGHT, _TOP = 30.0, 8.0, 6.0
#: Heights that are lettered, in feet.
_MARKED_FT = (2.0, 4.0)
#: The picture over the years: the trunk's size above, the sap below.
_SIZE_TO, _SAP_FROM, _SAP_TO = 40.0, 62.0, 100.0


def bark(trunk: Trunk, told: Measures, name: str, year: int) -> Picture:
    """Draw the bark rolled out: this year's holes, those still closing, older ones, the next."""
    noted = m.count(len(trunk.holes), "hole")
    picture = Picture(_WIDTH, _HIGH + 22, f"{name}: {noted} on the bark. {trunk.advice}".strip())
    picture.rect(_LEFT, _TOP, _WIDTH - _LEFT - _RIGHT, _HIGH - _TOP, "bark", 4)
    _lettered(picture, told)
    for hole in trunk.holes:
        if hole.sure and trunk.clear_across and hole.grown_out and hole.grown_out > year:
            for across in _seen_at(hole.spot.across, trunk.clear_across):
                _kept_clear(picture, Spot(across, hole.spot.height_ft), trunk.clear_across)
    for hole in sorted(trunk.holes, key=lambda one: one.year):
        kind = "hole old"
        if hole.year == year:
            kind = "hole new"
        elif hole.closing(year):
            kind = "hole closing"
        for across in _seen_at(hole.spot.across):
            x, y = _place(Spot(across, hole.spot.height_ft))
            picture.dot(x, y, 4 if hole.year == year else 3.4, kind)
    if trunk.next_spot is not None:
        x, y = _place(trunk.next_spot)
        picture.dot(x, y, 7, "next")
        picture.lines([[(x - 11, y), (x + 11, y)], [(x, y - 11), (x, y + 11)]], "cross")
    return picture


def _lettered(picture: Picture, told: Measures) -> None:
    """Letter the sides below, and the heights at the left."""
    ends = [_at(across, 0.0)[0] for _, across in LETTERS[1:-1]]
    picture.lines([[(x, _TOP), (x, _HIGH)] for x in ends], "grid")
    for letter, across in LETTERS:
        picture.text(letter, _at(across, 0.0)[0], _HIGH + 16, "a", "middle")
    heights = [(feet, _place(Spot(0.0, feet))[1]) for feet in _MARKED_FT]
    picture.lines([[(_LEFT, y), (_WIDTH - _RIGHT, y)] for _, y in heights], "grid")
    for feet, y in heights:
        picture.text(told.told(Quantity(feet, "ft")), _LEFT - 4, y + 4, "a small", "end")


def _seen_at(across: float, reach: float = 0.0) -> list[float]:
    """Return where a spot is seen: what lies at the picture's edge is seen at the other one too."""
    return [one for one in (across - 1, across, across + 1) if -reach <= one <= 1 + reach]


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
        _LEFT + 6 + across * (_WIDTH - _LEFT - _RIGHT - 12),
        _HIGH - 6 - up * (_HIGH - _TOP - 12),
    )


def years(row: TreeRow, told: Measures, name: str, year: int) -> Picture | None:
    """Draw how thick the trunk was and what sap it gave, year by year; None of a single year."""
    known = [*row.given, *(at.year for at, _ in row.sizes)]
    if len(set(known)) < 2:
        return None
    first = min(known)
    slot = (_WIDTH - _LEFT - _RIGHT) / (year - first + 1)
    picture = Picture(_WIDTH, _SAP_TO + 18, _years_in_words(row, told, name))
    if row.given:
        _sap(picture, row, told, first, slot)
    if row.sizes:
        _sizes(picture, row.sizes, told, first, slot)
    for one in {first, year}:
        x = _LEFT + (one - first + 0.5) * slot
        picture.text(str(one), x, _SAP_TO + 15, "a small", "start" if one == first else "end")
    picture.line([(_LEFT, _SAP_TO), (_WIDTH - _RIGHT, _SAP_TO)], "axis")
    return picture


def _sap(picture: Picture, row: TreeRow, told: Measures, first: int, slot: float) -> None:
    most = max(row.given.values())
    up = axis_to(told.volume.of(most), _SAP_TO, _SAP_FROM)
    bar = min(18.0, slot * 0.72)
    for one, gallons in row.given.items():
        y = up.at(told.volume.of(gallons))
        picture.rect(_LEFT + (one - first + 0.5) * slot - bar / 2, y, bar, _SAP_TO - y, "sap")
    picture.text("Sap", 0, _SAP_TO - 2, "a small")
    best = max(row.given, key=lambda one: row.given[one])
    x = _LEFT + (best - first + 0.5) * slot
    y = up.at(told.volume.of(most)) - 4
    anchor = "end" if x > _WIDTH * 0.7 else "start" if x < _WIDTH * 0.3 else "middle"
    picture.text(told.gallons(most), x, y, "a small", anchor)


def _sizes(
    picture: Picture,
    sizes: Sequence[tuple[datetime, float]],
    told: Measures,
    first: int,
    slot: float,
) -> None:
    low, high = min(size for _, size in sizes), max(size for _, size in sizes)
    up = Axis(low, max(high, low + 1.0), _SIZE_TO, _SIZE_TO - 22)
    points = [
        (_LEFT + (at.year - first + (at.timetuple().tm_yday - 1) / 366) * slot, up.at(size))
        for at, size in sizes
    ]
    picture.line(points, "trunk")
    for x, y in points:
        picture.dot(x, y, 2.8, "measured")
    picture.text("Across", 0, 12, "a small")
    ends = [(points[0], sizes[0][1], "start"), (points[-1], sizes[-1][1], "end")]
    for (x, y), size, anchor in ends[: len(points)]:
        picture.text(told.amount(size, "in"), x, y + 14 if anchor == "start" else y - 6, "a small",
                     anchor)  # fmt: skip


def _years_in_words(row: TreeRow, told: Measures, name: str) -> str:
    sizes = ", ".join(f"{told.amount(size, 'in')} across in {at.year}" for at, size in row.sizes)
    sap = ", ".join(f"{told.gallons(gallons)} in {one}" for one, gallons in row.given.items())
    return f"{name} over the years. {sizes or 'Never measured'}. Sap: {sap or 'none noted'}."
