"""Holes: depth, bit, spacing and frost, against the rules of extension services."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from fieldvoice.errors import RangeError
from fieldvoice.rules.holes import (
    STANDARD_BIT_IN,
    OldHole,
    hole_advice,
    hole_check,
    spacing_check,
)
from fieldvoice.rules.placing import place_hole
from fieldvoice.rules.spacing import SIDES, bearings_apart, least_up_down_in, near_old


def rules(check):
    return [(finding.rule, finding.level) for finding in check.findings]


def test_standard_bit_in_millimetres():
    """HOLE-01."""
    millimetres = STANDARD_BIT_IN * 25.4
    assert millimetres == pytest.approx(7.94, abs=0.01)


@pytest.mark.outside(
    "hole-depth",
    "hole-bit",
    "hole-height",
    "hole-shavings",
    "hole-frozen",
    by="Cook and Chabot on depth; Ontario 2015: -5 °C; Maine: 20 °F; 5/16 is standard",
)
@pytest.mark.parametrize(
    ("facts", "expected"),
    [
        # Depth: Cook (University of Vermont Extension) 1.5-2 in; Chabot (Cornell) nearer 1 in and
        # never over 2 in on small trees.
        pytest.param({"depth_in": 2.5, "diameter_in": 11}, [("hole-depth", "care")], id="HOLE-04"),
        pytest.param({"depth_in": 2.5}, [("hole-depth", "care")], id="too-deep-anywhere"),
        pytest.param({"depth_in": 2.0, "diameter_in": 16}, [], id="two-inches-in-a-grown-tree"),
        pytest.param({"depth_in": 2.0, "diameter_in": 11}, [("hole-depth", "care")], id="small"),
        pytest.param({"depth_in": 1.5, "diameter_in": 11}, [], id="small-and-right"),
        # Trunk: Ontario 2015, not below -5 °C. Air: Maine sugarmakers, 20 °F or warmer.
        pytest.param(
            {"trunk_f": -8 * 1.8 + 32}, [("hole-frozen", "stop")], id="HOLE-07-trunk-at-8-below"
        ),
        pytest.param({"trunk_f": 24}, [], id="trunk-just-warm-enough"),
        pytest.param({"air_f": 15}, [("hole-frozen", "care")], id="cold-air"),
        pytest.param({"air_f": 20}, [], id="twenty-is-warm-enough"),
        # Bit: 5/16 in is standard, 7/16 the retired size.
        pytest.param({"bit_in": 5 / 16}, [], id="standard-bit"),
        pytest.param({"bit_in": 1 / 4}, [], id="quarter-inch-bit"),
        pytest.param({"bit_in": 7 / 16}, [("hole-bit", "care")], id="old-bit"),
        pytest.param({"bit_in": 0.5}, [("hole-bit", "care")], id="half-inch-bit"),
        pytest.param({"shavings": "brown"}, [("hole-shavings", "stop")], id="brown-shavings"),
        pytest.param({"shavings": "white"}, [], id="white-shavings"),
        pytest.param({"height_ft": 3}, [], id="waist-high"),
        pytest.param({"height_ft": 8}, [("hole-height", "note")], id="over-the-head"),
        pytest.param({}, [], id="nothing-said"),
    ],
)
def test_hole_as_drilled(facts, expected):
    assert rules(hole_check(**facts)) == expected


def test_old_bit_opens_twice_the_wood():
    """HOLE-03: the cross-sections are as 1.96 to 1."""
    ratio = (7 / 16 / STANDARD_BIT_IN) ** 2
    assert ratio == pytest.approx(1.96, abs=0.01)
    assert "2.0 times" in hole_check(bit_in=7 / 16).findings[0].why


@pytest.mark.outside(
    "hole-spacing",
    by="Vermont yield tips 2020: 2 to 4 in, 6 to 12 in; Maine 7036: 6 or 24 in",
)
@pytest.mark.parametrize(
    ("sideways_in", "up_down_in", "spacing", "level"),
    [
        # Vermont tips 2020: 2-4 in sideways, 6-12 in up or down; older rule 6 in or 24 in.
        pytest.param(1, 2, "too close", "stop", id="HOLE-05"),
        pytest.param(3, 12, "clear", "note", id="HOLE-06-fails-only-the-older-rule"),
        pytest.param(2, 12, "clear", "note", id="edge-of-too-close"),
        pytest.param(3, 6, "clear", "note", id="as-ohio-has-it"),
        pytest.param(6, 0, "clear", None, id="six-inches-sideways"),
        pytest.param(0, 24, "clear", None, id="two-feet-up"),
    ],
)
def test_spacing(sideways_in, up_down_in, spacing, level):
    check = spacing_check(sideways_in, up_down_in)
    assert check.spacing == spacing
    assert [finding.level for finding in check.findings] == ([level] if level else [])


@pytest.mark.outside("hole-spacing", by="geometry of a round trunk")
def test_distance_round_the_trunk_is_counted_from_the_sides():
    """South to southwest is an eighth of the girth: 4.7 in at 12 in across, 7.9 in at 20."""
    assert math.pi * 12 / 8 == pytest.approx(4.71, abs=0.01)
    near = {"side": "southwest", "height_ft": 3, "old_holes": [OldHole("south", 3.2)]}
    assert rules(hole_check(**near, diameter_in=12)) == [("hole-spacing", "care")]
    assert rules(hole_check(**near, diameter_in=20)) == []


@pytest.mark.outside("hole-spacing", by="geometry of a round trunk and the eight-point compass")
def test_sides_are_an_eighth_of_the_girth_apart():
    """Eight points of 45 degrees; on a girth of 40 in neighbours are 5 in apart."""
    round_the_compass = "north northeast east southeast south southwest west northwest".split()
    for one, other in pairwise(round_the_compass):
        assert SIDES[other] - SIDES[one] == 45
    assert bearings_apart(SIDES["northwest"], SIDES["north"]) == 45
    assert bearings_apart(350, 20) == 30
    for feet, told_in in ((0.375, 4), (0.46, 6), (0.1, 1)):
        found = near_old("south", 3.0, 40 / math.pi, OldHole("southwest", 3.0 + feet))
        assert f"5 in sideways and {told_in} in up or down" in found[0].why
    same = near_old("south", 3.0, 80 / math.pi, OldHole("south", 3.5))
    assert "which is 10 in wide here" in same[0].why


@pytest.mark.outside("hole-spacing", by="Cornell and Ontario 12 in; Maine 24 in straight above")
def test_least_distance_up_or_down():
    assert [least_up_down_in(sideways) for sideways in (0, 0.9, 1, 1.9, 2, 5.9, 6)] == [
        24, 24, 12, 12, 6, 6, 0,
    ]  # fmt: skip


@pytest.mark.outside("hole-place", by="geometry of a round trunk: 4 in of its girth in degrees")
@pytest.mark.parametrize(
    ("degrees", "side"), [(22.4, "south"), (22.6, "southeast"), (30, "southeast")]
)
def test_a_hand_to_the_right_on_the_compass(degrees, side):
    """South ends halfway to southeast, 22.5 degrees on."""
    across_in = 4 * 360 / degrees / math.pi
    placed = place_hole(across_in, [OldHole("south", 3.0, 2026)], 2027)
    assert (placed.side, placed.right_in, placed.height_ft) == (side, 4.0, 4.0)


def test_same_side_without_heights_is_only_cautioned():
    check = hole_check(side="south", old_holes=[OldHole("south")])
    assert rules(check) == [("hole-spacing", "care")]


def test_unknown_girth_leaves_other_sides_unjudged():
    check = hole_check(side="southwest", height_ft=3, old_holes=[OldHole("south", 3)])
    assert rules(check) == []


def test_same_side_two_feet_higher_keeps_its_distance():
    check = hole_check(side="south", height_ft=4, diameter_in=14, old_holes=[OldHole("south", 2)])
    assert rules(check) == []


def test_old_holes_of_unknown_place_say_nothing():
    assert (
        rules(hole_check(side="south", height_ft=3, old_holes=[OldHole(), OldHole(None, 3)])) == []
    )


@pytest.mark.parametrize(
    ("sides", "proposed"),
    [
        (["north"], "south"),
        (["south"], "north"),
        (["north", "south"], "east"),
        (["north", "east"], "southwest"),
        ([], None),
        ([None], None),
    ],
)
def test_the_side_farthest_from_old_holes_is_proposed(sides, proposed):
    assert hole_advice(14, [OldHole(side) for side in sides]).side == proposed


@pytest.mark.outside(
    "hole",
    by="Cook, University of Vermont Extension: 1.5 to 2 in; Chabot: nearer 1 in on small trees",
)
@pytest.mark.parametrize(
    ("diameter_in", "depth_in", "said"),
    [(14, 1.5, "one and a half inches deep"), (11, 1.25, "one to one and a half inches deep")],
)
def test_advice_on_depth(diameter_in, depth_in, said):
    advice = hole_advice(diameter_in)
    assert advice.depth_in == depth_in
    assert advice.bit_in == 0.3125
    assert said in advice.findings[0].text


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: hole_check(depth_in=30), "hole's depth"),
        (lambda: hole_check(bit_in=5), "A bit must be"),
        (lambda: hole_check(height_ft=40), "hole's height"),
        (lambda: hole_check(side="up", old_holes=[OldHole("south")]), "not up"),
        (lambda: spacing_check(-1, 0), "sideways"),
        (lambda: hole_advice(0.2), "trunk diameter"),
    ],
)
def test_out_of_range(call, match):
    with pytest.raises(RangeError, match=match):
        call()
