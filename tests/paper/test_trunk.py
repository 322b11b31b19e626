"""The bark rolled out: where holes are, and where to drill next."""

from __future__ import annotations

import math
from datetime import datetime

import pytest

from fieldvoice.book import TapHole, TreeState
from fieldvoice.nlg.written import Style
from fieldvoice.paper import trunks
from fieldvoice.paper.measures import Measures
from fieldvoice.paper.trunk import Trunk, trunk_of
from fieldvoice.rules.tapping_zone import tapping_zone
from fieldvoice.rules.taps import tap_limit
from tests.paper.conftest import LOCAL

DIAMETER = 16.0
TOLD = Measures(Style())


def trunk(*sides: tuple[str | None, float | None], limit=None, year: int = 2028) -> Trunk:
    """The picture of a trunk with a hole of 2027 at each side and height."""
    at = datetime(2027, 3, 1, tzinfo=LOCAL)
    holes = tuple(TapHole(at, side=side, height_ft=height) for side, height in sides)
    return trunk_of(TreeState(1, diameter_in=DIAMETER, taps=holes), limit, year)


@pytest.mark.parametrize(
    ("side", "across"), [("north", 0.0), ("west", 0.25), ("south", 0.5), ("east", 0.75)]
)
def test_sides_lie_as_one_sees_them_walking_round(side, across):
    """Facing the south side from the south, west is left of it and east right."""
    assert trunk((side, 3.0)).holes[0].spot.across == pytest.approx(across)


def test_the_next_place_is_a_hand_to_the_right_and_a_foot_higher():
    """As the rule says it: four inches round the trunk, twelve up."""
    drawn = trunk(("south", 3.0))
    assert drawn.next_spot is not None
    assert drawn.next_spot.across - 0.5 == pytest.approx(4.0 / (math.pi * DIAMETER))
    assert drawn.next_spot.height_ft == pytest.approx(4.0)
    assert drawn.advice.startswith("A hand to the right of last year's, a foot higher")


def test_without_heights_it_is_the_side_farthest_from_all():
    """Two sides noted: the one opposite to both."""
    drawn = trunk(("south", None), ("southeast", None))
    assert drawn.next_spot is not None
    assert "north" in drawn.advice
    assert not any(hole.sure for hole in drawn.holes)


def test_a_hole_without_a_side_is_counted_and_not_drawn():
    """It may be anywhere."""
    assert trunk((None, 3.0)).holes == ()
    assert trunk((None, 3.0)).unplaced == 1


def test_a_tree_that_should_rest_is_shown_no_place():
    """No tap, no next hole: the limit's own words stand there."""
    drawn = trunk(("south", 3.0), limit=tap_limit(DIAMETER, condition="damaged"))
    assert drawn.next_spot is None
    assert drawn.advice


def test_holes_close_in_three_years():
    """As the handbook has it; this year's is open."""
    hole = trunk(("south", 3.0)).holes[0]
    assert [hole.closing(year) for year in (2027, 2028, 2030, 2031)] == [False, True, True, False]


def test_wood_is_spent_until_growth_has_covered_the_hole():
    """Rings of a sixteenth of an inch bury an inch and a half in 24 years."""
    at = datetime(2027, 3, 1, tzinfo=LOCAL)
    tree = TreeState(1, diameter_in=DIAMETER, taps=(TapHole(at, side="south", height_ft=3.0),))
    zone = tapping_zone(DIAMETER, 1, 1 / 16)
    drawn = trunk_of(tree, None, 2028, zone)
    assert drawn.holes[0].grown_out == 2027 + 24
    assert drawn.clear_across == pytest.approx(2.0 / (math.pi * DIAMETER))
    shaded = [
        trunks.bark(drawn, TOLD, "tree 1", year).svg().count("spent") for year in (2028, 2050, 2051)
    ]
    assert shaded == [1, 1, 0]


def test_wood_of_a_trunk_never_measured_is_not_shaded():
    """Nobody knows how wide two inches are on it."""
    at = datetime(2027, 3, 1, tzinfo=LOCAL)
    tree = TreeState(1, taps=(TapHole(at, side="south", height_ft=3.0),))
    drawn = trunk_of(tree, None, 2028)
    assert "spent" not in trunks.bark(drawn, TOLD, "tree 1", 2028).svg()


def test_a_hole_at_the_edge_is_seen_at_both():
    """North is left and right; the wood that is spent round it goes on at the other edge."""
    at = datetime(2027, 3, 1, tzinfo=LOCAL)
    tree = TreeState(1, diameter_in=DIAMETER, taps=(TapHole(at, side="north", height_ft=3.0),))
    drawn = trunk_of(tree, None, 2028, tapping_zone(DIAMETER, 1, 1 / 16))
    picture = trunks.bark(drawn, TOLD, "tree 1", 2028).svg()
    assert picture.count("hole closing") == 2
    assert picture.count("spent") == 2
