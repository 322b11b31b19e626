"""Tapping schedules against their printed tables.

The tables are those of the publications named in ``fieldvoice.rules.sources``; TAP-… numbers are
the cases of the project's trade sheet, worked from the same publications.
"""

from __future__ import annotations

import pytest

from fieldvoice.errors import RangeError
from fieldvoice.rules.growth import growth_between, ring_width_in
from fieldvoice.rules.taps import SCHEDULES, check_taps, diameter_from_girth, tap_limit

# (diameter, conservative, traditional, University of Maine)
TAP_VECTORS = [
    pytest.param(9.5, 0, 0, 0, id="TAP-01"),
    pytest.param(10.0, 0, 1, 1, id="TAP-02-schedules-disagree"),
    pytest.param(11.9, 0, 1, 1, id="TAP-03"),
    pytest.param(12.0, 1, 1, 1, id="TAP-04-minimum-is-inclusive"),
    pytest.param(16.0, 1, 2, 1, id="TAP-05"),
    pytest.param(18.0, 1, 2, 1, id="TAP-06-edge-belongs-to-lower-count"),
    pytest.param(18.5, 2, 2, 1, id="TAP-07"),
    pytest.param(22.0, 2, 3, 2, id="TAP-08"),
    pytest.param(26.0, 2, 4, 3, id="TAP-09"),
    pytest.param(diameter_from_girth(38), 1, 1, 1, id="TAP-10-girth-38"),
    pytest.param(diameter_from_girth(31), 0, 0, 0, id="TAP-11-girth-31"),
    pytest.param(45 / 2.54, 1, 2, 1, id="TAP-12-45-cm"),
]

# Printed tables: schedule, then (diameter, taps) inside each class and at each of its edges.
PRINTED = {
    "traditional": [(9.9, 0), (10, 1), (15, 1), (15.1, 2), (20, 2), (20.1, 3), (25, 3), (25.1, 4)],
    "conservative": [(11.99, 0), (12, 1), (18, 1), (18.01, 2), (40, 2)],
    "umaine": [(9.9, 0), (10, 1), (20, 1), (20.1, 2), (25, 2), (25.1, 3), (40, 3)],
    "state-leaflets": [(9.9, 0), (10, 1), (18, 1), (18.1, 2), (24, 2), (25, 3), (40, 3)],
    "vermont-organic": [(9.9, 0), (10, 1), (15, 1), (15.1, 2), (21, 2), (21.1, 3)],
    "cornell": [(11.9, 0), (12, 1), (19.9, 1), (30, 1)],
    "cornell-growth": [(11.9, 0), (12, 1), (30, 1)],
    "ontario": [(29.9 / 2.54, 0), (30 / 2.54, 1), (60 / 2.54, 1), (60.1 / 2.54, 2)],
    "usda-1976": [(9, 0), (10, 1), (14, 1), (15, 2), (19, 2), (20, 3), (24, 3), (25, 4)],
    "forest-service-1990": [(11.9, 0), (12, 1), (18, 1), (18.1, 2)],
}

# Girths of round trunks, arithmetic (diameter in, girth in) as printed to one decimal.
GIRTHS = [
    (8, 25.1), (9, 28.3), (10, 31.4), (12, 37.7), (14, 44.0), (15, 47.1),
    (18, 56.5), (20, 62.8), (21, 66.0), (24, 75.4), (25, 78.5), (30, 94.2),
]  # fmt: skip


@pytest.mark.parametrize(("diameter_in", "conservative", "traditional", "umaine"), TAP_VECTORS)
def test_taps_by_diameter(diameter_in, conservative, traditional, umaine):
    assert tap_limit(diameter_in).taps == conservative
    assert tap_limit(diameter_in, schedule="traditional").taps == traditional
    assert tap_limit(diameter_in, schedule="umaine").taps == umaine


@pytest.mark.outside(
    "tap-limit", by="printed classes of the ten schedules, each named in the table above"
)
@pytest.mark.parametrize(
    ("schedule", "diameter_in", "taps"),
    [(name, diameter, taps) for name, rows in PRINTED.items() for diameter, taps in rows],
)
def test_printed_classes_and_their_edges(schedule, diameter_in, taps):
    assert tap_limit(diameter_in, schedule=schedule).taps == taps


def test_every_schedule_has_its_printed_table_here():
    assert set(PRINTED) == set(SCHEDULES)


@pytest.mark.outside("tap-limit", by="Cornell: a second tap from 20 in on trees that grow well")
def test_cornell_allows_a_second_tap_from_20_inches_only_on_trees_that_grow_well():
    assert tap_limit(20, schedule="cornell", growing_well=True).taps == 2
    assert tap_limit(19.9, schedule="cornell", growing_well=True).taps == 1


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_a_thicker_tree_never_carries_fewer_taps(schedule):
    counts = [tap_limit(tenth / 10, schedule=schedule).taps for tenth in range(10, 600)]
    assert counts == sorted(counts)
    assert counts[0] == 0
    assert counts[-1] >= 1


@pytest.mark.parametrize(("diameter_in", "girth_in"), GIRTHS)
def test_girth_to_diameter(diameter_in, girth_in):
    assert diameter_from_girth(girth_in) == pytest.approx(diameter_in, abs=0.02)


def test_string_of_57_inches_marks_12_and_18_inches():
    """Teaching slides, Maple syrup in the classroom: the last 19 in of a 57-in string coloured."""
    assert diameter_from_girth(57) == pytest.approx(18.1, abs=0.05)
    assert diameter_from_girth(57 - 19) == pytest.approx(12.1, abs=0.05)


@pytest.mark.outside(
    "tap-dieback",
    "tap-stressed",
    "tap-damaged",
    "tap-dying",
    by="Maple Project 1998: 15 and 35 %; Northern Woodlands; one class lower in stress",
)
@pytest.mark.parametrize(
    ("diameter_in", "facts", "taps", "rule"),
    [
        # North American Maple Project: healthy to 15 %, reduce at 20-35 %, over 35 % leave alone.
        pytest.param(20, {"dieback_percent": 40}, 0, "tap-dieback", id="TAP-13"),
        pytest.param(20, {"dieback_percent": 35}, 1, "tap-dieback", id="dieback-35"),
        pytest.param(20, {"dieback_percent": 20}, 1, "tap-dieback", id="dieback-20"),
        # Common practice: one class lower under stress; none after damage or when dying.
        pytest.param(20, {"condition": "stressed"}, 1, "tap-stressed", id="stressed"),
        pytest.param(14, {"condition": "stressed"}, 0, "tap-stressed", id="stressed-small"),
        pytest.param(26, {"condition": "damaged"}, 0, "tap-damaged", id="damaged"),
        pytest.param(26, {"condition": "dying"}, 0, "tap-dying", id="dying"),
        pytest.param(
            20, {"condition": "stressed", "dieback_percent": 25}, 1, "tap-stressed", id="not-twice"
        ),
    ],
)
def test_health_lowers_the_limit(diameter_in, facts, taps, rule):
    limit = tap_limit(diameter_in, **facts)
    assert limit.taps == taps
    assert limit.by_diameter > taps
    assert rule in [finding.rule for finding in limit.findings]
    assert f"takes it from {limit.by_diameter} to {taps}" in limit.findings[0].why


@pytest.mark.parametrize("facts", [{"condition": "sound"}, {"dieback_percent": 15}])
def test_a_healthy_tree_keeps_its_taps(facts):
    limit = tap_limit(20, **facts)
    assert limit.taps == 2
    assert [finding.rule for finding in limit.findings] == ["tap-limit"]


def test_dieback_overrides_under_every_schedule():
    """TAP-13: over 35 % dieback no schedule allows a tap."""
    assert {tap_limit(40, dieback_percent=40, schedule=name).taps for name in SCHEDULES} == {0}


@pytest.mark.parametrize(
    ("diameter_in", "text", "level"),
    [
        (16, "One tap, at 16 inches across.", "note"),
        (22, "Two taps at most, at 22 inches across.", "note"),
        (11, "No tap: 11 inches is under the 12 inches it needs.", "stop"),
        (11.97, "No tap: 11.97 inches is under the 12 inches it needs.", "stop"),
    ],
)
def test_the_answer_is_short_and_says_the_schedule(diameter_in, text, level):
    answer = tap_limit(diameter_in).findings[0]
    assert (answer.rule, answer.text, answer.level) == ("tap-limit", text, level)
    assert "Conservative schedule: none under 12 in" in answer.why
    assert "guideline" in answer.source


@pytest.mark.outside(
    "tap-second",
    by="Wild, Cornell University: a second tap only from 20 in and on trees that grow well",
)
def test_second_tap_between_18_and_20_inches_carries_a_caution():
    assert "tap-second" in [finding.rule for finding in tap_limit(19).findings]
    assert "tap-second" not in [finding.rule for finding in tap_limit(20).findings]


@pytest.mark.parametrize("species", ["red maple", "Silver maple", "box elder", "red"])
def test_early_budding_species_are_named(species):
    assert "tap-early-budding" in [f.rule for f in tap_limit(16, species=species).findings]


def test_sugar_maple_needs_no_word_on_budding():
    assert [f.rule for f in tap_limit(16, species="sugar maple").findings] == ["tap-limit"]


@pytest.mark.parametrize(
    ("diameter_in", "drilled", "level"),
    [
        (16, 1, None),
        (16, 2, "care"),
        (22, 2, None),
        (22, 3, "care"),
        (10, 1, "stop"),
        (10, 0, None),
    ],
)
def test_over_tapping(diameter_in, drilled, level):
    check = check_taps(drilled, tap_limit(diameter_in))
    assert [(f.rule, f.level) for f in check.findings] == (
        [("over-tapped", level)] if level else []
    )


def test_over_tapping_says_both_counts():
    (finding,) = check_taps(3, tap_limit(16)).findings
    assert finding.text == "That's 3 taps; it should carry 1. Drill no more."


@pytest.mark.parametrize("diameter_in", [0, -3, 101, float("nan"), float("inf")])
def test_diameter_out_of_range_says_the_range(diameter_in):
    with pytest.raises(RangeError, match="from 1 to 100 inches"):
        tap_limit(diameter_in)


def test_unknown_schedule_lists_the_known_ones():
    with pytest.raises(RangeError, match="conservative, traditional"):
        tap_limit(14, schedule="mine")


@pytest.mark.parametrize(
    ("diameter_in", "basal_area", "ring_in", "diameter_growth"),
    [
        # Minimum growth for one tap: van den Berg et al. 2016 (1.4 in² at 10 in, 2.6 at 18 in).
        pytest.param(10, 1.4, 0.0448, 0.090, id="TAP-14"),
        pytest.param(18, 2.6, 0.046, 0.092, id="minimum-at-18"),
    ],
)
def test_ring_width(diameter_in, basal_area, ring_in, diameter_growth):
    ring = ring_width_in(diameter_in, basal_area)
    assert ring == pytest.approx(ring_in, abs=0.0005)
    assert 2 * ring == pytest.approx(diameter_growth, abs=0.001)


@pytest.mark.outside(
    "slow-growth", by="van den Berg et al. 2016: 1.4 square inches a year at 10 in, 2.6 at 18"
)
@pytest.mark.parametrize(
    ("earlier_in", "later_in", "enough", "level"),
    [(9.5, 10.0, True, "note"), (9.8, 10.0, False, "care")],
)
def test_growth_between_two_measures(earlier_in, later_in, enough, level):
    """Van den Berg et al. 2016: about 0.09 in of diameter a year is the least for one tap."""
    growth = growth_between(earlier_in, later_in, years=5)
    assert growth.enough is enough
    assert growth.findings[0].level == level


def test_a_trunk_does_not_shrink():
    with pytest.raises(RangeError, match="later diameter"):
        growth_between(12, 11, 2)
