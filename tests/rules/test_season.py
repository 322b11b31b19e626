"""The course of a season: freezes and thaws, degree-days, buds, and when to stop."""

from __future__ import annotations

import pytest

from fieldvoice.errors import RangeError
from fieldvoice.rules.season import (
    bud_outlook,
    degree_days_c,
    degree_days_f,
    freeze_thaws,
    sap_week,
    time_to_stop,
)
from fieldvoice.rules.weather import Day

FROST, THAW, STRONG, WARM = Day(10, 25), Day(38, 45), Day(24, 42), Day(42, 60)


@pytest.mark.outside("sap-week", by="Houle et al. 2015: crossings of 3 °C")
@pytest.mark.parametrize(
    ("days", "events"),
    [
        # Houle et al. 2015: counted when the temperature goes above 3 °C and comes back below it.
        ([], 0),
        ([FROST], 0),
        ([STRONG], 0),  # it has not come back yet
        ([STRONG, STRONG], 1),
        ([STRONG, FROST], 1),
        ([STRONG, THAW, THAW, STRONG], 1),  # two nights above 3 °C make no event
        ([STRONG, FROST, FROST, STRONG, FROST], 2),
        ([Day(20, 37.3), FROST], 0),  # 37.4 °F is 3 °C
    ],
)
def test_freezes_and_thaws(days, events):
    assert freeze_thaws(days) == events


@pytest.mark.outside("sap-week", by="Houle et al. 2015: base 5 °C")
@pytest.mark.parametrize(("high_f", "degree_days"), [(41, 0), (50, 5), (59, 10), (20, 0)])
def test_degree_days_of_the_weekly_model(high_f, degree_days):
    """Houle et al. 2015: base 5 °C (41 °F), from daily highs."""
    assert degree_days_c([Day(10, high_f)]) == pytest.approx(degree_days)


@pytest.mark.outside("sap-week", by="Houle et al. 2015, PLoS ONE 10: worked from its formula")
def test_weekly_model_from_daily_lows_and_highs():
    """FLOW-03: 10 freezes and thaws, no degree-days: 0.675. 39 °F is under 5 °C."""
    days = [Day(20, 39)] * 11
    week = sap_week(days, len(days))
    assert (week.freeze_thaws, week.degree_days_c) == (10, 0)
    assert week.likelihood == pytest.approx(0.675, abs=0.02)
    assert week.runs


def test_the_weekly_model_is_silent_where_too_many_days_are_unknown():
    with pytest.raises(RangeError, match="11 of 60 days are known"):
        sap_week([STRONG] * 11, 60)


@pytest.mark.outside("buds", by="Ohio State University Extension: base 50 °F")
@pytest.mark.parametrize(
    ("low_f", "high_f", "degree_days"), [(40, 60, 0), (44, 66, 5), (25, 45, 0)]
)
def test_degree_days_are_never_negative(low_f, high_f, degree_days):
    """Ohio State University Extension: base 50 °F, mean of low and high."""
    assert degree_days_f([Day(low_f, high_f)]) == degree_days


@pytest.mark.outside("buds", by="Ohio State University phenology: silver maple 34, red 44")
@pytest.mark.parametrize(
    ("species", "bloom_at", "warm_days", "level"),
    [
        ("silver maple", 34, 4, "care"),
        ("silver maple", 34, 3, "note"),
        ("Red", 44, 5, "care"),
        ("Red", 44, 4, "note"),
        # 54 to 99 in a hobby compilation: the early end is taken.
        ("sugar maple", 54, 6, "care"),
        ("sugar maple", 54, 5, "note"),
    ],
)
def test_bud_outlook(species, bloom_at, warm_days, level):
    outlook = bud_outlook([Day(44, 66)] * warm_days + [Day(20, 40)] * 30, species)
    assert outlook.bloom_at_f == bloom_at
    assert outlook.degree_days_f == 5 * warm_days
    assert outlook.findings[0].level == level


def test_no_figure_for_norway_maple():
    with pytest.raises(RangeError, match="silver maple, red maple, sugar maple"):
        bud_outlook([STRONG], "norway maple")


@pytest.mark.outside(
    "time-to-stop", by="Cook, University of Vermont Extension: 5 to 8 weeks; bud swell ends it"
)
@pytest.mark.parametrize(
    ("facts", "verdict"),
    [
        ({}, "unknown"),
        ({"coming": [STRONG, STRONG]}, "go on"),
        ({"recent": [WARM, WARM], "coming": [WARM]}, "soon"),
        ({"recent": [WARM, WARM, WARM], "coming": [STRONG]}, "go on"),
        ({"weeks_open": 7}, "unknown"),
        ({"weeks_open": 8}, "soon"),
        ({"weeks_open": 3, "buds_or_buddy": True}, "stop"),
    ],
)
def test_time_to_stop(facts, verdict):
    answer = time_to_stop(**facts)
    assert answer.verdict == verdict
    assert len(answer.findings[0].text.split()) <= 15
