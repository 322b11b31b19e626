"""Kinds of maple, gear, the place of holes, the tapping zone, pulling and healing."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldvoice.errors import RangeError
from fieldvoice.rules.holes import hole_advice, hole_check
from fieldvoice.rules.placing import place_hole
from fieldvoice.rules.pulling import closure, healing, pull_advice
from fieldvoice.rules.spacing import SIDES, OldHole, bearings_apart, spacing_check
from fieldvoice.rules.species import SPECIES, species_advice, species_named
from fieldvoice.rules.supplies import supplies
from fieldvoice.rules.tapping_zone import Assumptions, hole_volume_in3, tapping_zone
from fieldvoice.rules.taps import tap_limit


@pytest.mark.outside("tap-slow", by="van den Berg et al. 2016: too slow a trunk carries one tap")
def test_a_slow_tree_gets_one_tap():
    limit = tap_limit(22, growing_well=False)
    assert (limit.by_diameter, limit.taps) == (2, 1)
    assert "tap-slow" in [finding.rule for finding in limit.findings]


@pytest.mark.outside("tap-yard", by="common practice: trees kept for their looks are held back")
def test_a_yard_tree_is_held_back_to_one_tap():
    limit = tap_limit(26, yard=True, schedule="traditional")
    assert (limit.by_diameter, limit.taps) == (4, 1)
    assert "tap-yard" in [finding.rule for finding in limit.findings]
    assert tap_limit(14, yard=True).findings[0].text == "One tap, at 14 inches across."


@pytest.mark.parametrize(
    ("said", "name", "early"),
    [
        ("sugar", "sugar maple", False),
        ("Hard  maple", "sugar maple", False),
        ("red maple", "red maple", True),
        ("silver", "silver maple", True),
        ("boxelder", "box elder", True),
        ("norway", "norway maple", False),
    ],
)
def test_species(said, name, early):
    assert species_named(said).name == name
    assert species_named(said).buds_early is early
    assert species_advice(said).findings[0].text.startswith("Yes")


def test_utah_figures_for_box_elder_and_norway_maple():
    """Mathews et al., HortTechnology 34, 2024: 2.2 to 2.8 % in both."""
    assert SPECIES["norway maple"].sugar_brix == (2.2, 2.8)
    assert SPECIES["box elder"].sugar_brix[1] == 2.8


def test_no_figures_for_an_oak():
    with pytest.raises(RangeError, match="not for oak"):
        species_named("oak")


@pytest.mark.outside("supplies", by="common practice: a spile, a bucket and a lid for each tap")
def test_supplies():
    needed = supplies(40)
    assert (needed.buckets, needed.lids, needed.spiles, needed.drop_ft) == (40, 40, 42, 126)
    assert needed.findings[0].text == (
        "40 buckets with lids, 42 spiles, and 126 feet of drop tubing."
    )
    assert supplies(1, buckets_on_ground=False).findings[0].text == (
        "1 bucket with lids, 2 spiles."
    )


# --- where to drill ------------------------------------------------------------------------------


@pytest.mark.outside(
    "hole-place", by="Wild (Cornell) and Leuty 2014: to one side each year, a foot up or down"
)
@pytest.mark.parametrize(
    ("diameter_in", "holes", "said"),
    [
        # 4 in of a 47 in girth are 30 degrees: from south to south-southeast, noted as southeast.
        (15, [OldHole("south", 3, 2026)],
         "A hand to the right of last year's, a foot higher, on the southeast side."),
        (15, [OldHole("south", 4, 2026)],
         "A hand to the right of last year's, a foot lower, on the southeast side."),
        # A foot above is a hole already, so that it goes down; and with one there too, further on.
        (15, [OldHole("south", 3, 2026), OldHole("south", 4, 2025)],
         "A hand to the right of last year's, a foot lower, on the southeast side."),
        (15, [OldHole("south", 3, 2026), OldHole("south", 4, 2025), OldHole("south", 2, 2024)],
         "Two hands to the right of last year's, a foot higher, on the southeast side."),
        (15, [OldHole("south", 3, 2024)],
         "A hand to the right of the hole of 2024, a foot higher, on the southeast side."),
        (30, [OldHole("north", 2.5, 2027)],
         "A hand to the right of this year's hole, a foot higher, on the north side."),
    ],
)  # fmt: skip
def test_where_to_drill_this_year(diameter_in, holes, said):
    placed = place_hole(diameter_in, holes, this_year=2027)
    assert placed.findings[0].text == said


def test_facing_the_south_side_right_is_east():
    """Whoever looks at a tree's south side faces north, with the east at the right hand."""
    placed = place_hole(12, [OldHole("south", 3, 2026)])
    assert SIDES[placed.side] < SIDES["south"]


old_holes = st.lists(
    st.builds(
        OldHole,
        st.sampled_from(sorted(SIDES)),
        st.one_of(st.none(), st.floats(1.5, 5).map(lambda ft: round(ft, 1))),
        st.integers(2015, 2026),
    ),
    max_size=12,
)


@given(st.floats(12, 36), old_holes)
def test_the_place_keeps_its_distance_from_every_remembered_hole(diameter_in, holes):
    """Vermont yield tips 2020: never within 2 in sideways and 12 in up or down."""
    placed = place_hole(diameter_in, holes, this_year=2027)
    if placed is None:
        return
    bearing = SIDES[placed.beside.side] - placed.right_in / (math.pi * diameter_in) * 360
    assert 2 <= placed.height_ft <= 4.5
    for hole in holes:
        apart = bearings_apart(SIDES[hole.side], bearing % 360)
        sideways_in = math.pi * diameter_in * apart / 360
        if hole.height_ft is None:
            assert sideways_in > 5.9
        else:
            up_down_in = abs(placed.height_ft - hole.height_ft) * 12
            check = spacing_check(round(sideways_in, 3), round(up_down_in, 3))
            assert check.spacing == "clear"


def test_where_nothing_is_known_no_place_is_made_up():
    assert place_hole(15, []) is None
    assert place_hole(15, [OldHole("south", None, 2026)]) is None
    assert hole_advice(15, [OldHole("south", None, 2026)], this_year=2027).side == "north"


@pytest.mark.parametrize(
    ("diameter_in", "bark", "depth_in"),
    [(16, None, 1.5), (16, "thin", 1.5), (16, "thick", 2.0), (11, "thick", 1.25)],
)
def test_depth_by_bark_and_size(diameter_in, bark, depth_in):
    """Common practice: 1.5 to 2 in by the bark; Chabot: nearer 1 in on small trees."""
    assert hole_advice(diameter_in, bark=bark).depth_in == depth_in


@pytest.mark.parametrize(
    ("angle_deg", "warned"), [(-5, True), (0, True), (7, False), (15, False), (30, True)]
)
def test_slope(angle_deg, warned):
    assert bool(hole_check(angle_deg=angle_deg).findings) is warned


# --- the wood that taps use up -------------------------------------------------------------------


@pytest.mark.outside("tapping-zone", by="volume of a cylinder: 0.115 and 0.301 cubic inches")
def test_volume_of_a_hole():
    """HOLE-02: a 5/16 in hole 1.5 in deep; and the old 7/16 in hole 2 in deep, 0.301 in³."""
    assert hole_volume_in3(5 / 16, 1.5) == pytest.approx(0.1150, abs=0.0005)
    assert hole_volume_in3(7 / 16, 2) == pytest.approx(0.301, abs=0.0005)


@pytest.mark.outside(
    "tapping-zone", by="example worked by hand from Perkins's description: 4.8 and 19 %"
)
@pytest.mark.parametrize(
    ("taps", "ring_in", "share", "sustainable"), [(1, 0.06, 0.048, True), (2, 0.03, 0.19, False)]
)
def test_tapping_zone(taps, ring_in, share, sustainable):
    zone = tapping_zone(12, taps, ring_in)
    assert zone.zone_in3 == pytest.approx(2969, abs=1)
    assert zone.dead_in3_per_year == pytest.approx(5.75 * taps, abs=0.01)
    assert zone.dead_share == pytest.approx(share, abs=0.005)
    assert zone.sustainable is sustainable


def test_what_the_zone_assumes_is_told_and_can_be_changed():
    """Ontario news quotes far shorter damage: with a tenth of it, a tenth of the share."""
    usual, short = (
        tapping_zone(12, 2, 0.03),
        tapping_zone(12, 2, 0.03, Assumptions(column_factor=5)),
    )
    assert short.dead_share == pytest.approx(usual.dead_share / 10)
    assert "50 times the hole" in usual.findings[0].why
    assert "5 times the hole" in short.findings[0].why


# --- pulling and healing -------------------------------------------------------------------------


@pytest.mark.outside(
    "pull-buds", "pull-weeks", "pull-low-flow", "pull-damage",
    by="New Hampshire Extension on buds; 4 to 8 weeks; Northern Woodlands on storm damage",
)  # fmt: skip
@pytest.mark.parametrize(
    ("facts", "verdict", "rule"),
    [
        ({}, "leave", "pull-weeks"),
        ({"weeks_open": 2}, "leave", "pull-weeks"),
        ({"weeks_open": 5}, "leave", "pull-weeks"),
        ({"weeks_open": 8}, "soon", "pull-weeks"),
        ({"weeks_open": 3, "buds_swelling": True}, "pull", "pull-buds"),
        ({"weeks_open": 3, "damaged": True}, "pull", "pull-damage"),
        ({"weeks_open": 3, "share_of_neighbours": 0.1}, "soon", "pull-low-flow"),
        ({"weeks_open": 3, "share_of_neighbours": 0.6}, "leave", "pull-weeks"),
    ],
)
def test_when_to_pull(facts, verdict, rule):
    answer = pull_advice(**facts)
    assert answer.verdict == verdict
    assert answer.findings[0].rule == rule


@pytest.mark.outside("hole-closure", by="Cook, University of Vermont Extension: 2 to 3 years")
def test_healing():
    assert "two to three years" in healing().findings[0].text
    assert closure(2, closed=False).findings[0].level == "note"
    assert closure(4, closed=False).findings[0].level == "care"
    assert closure(4, closed=True).findings[0].level == "note"
