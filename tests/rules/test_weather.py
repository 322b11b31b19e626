"""Weather: published thresholds of sap flow, a published weekly model, degree-days to bloom."""

from __future__ import annotations

from datetime import date

import pytest

from fieldvoice.errors import RangeError
from fieldvoice.rules.weather import (
    Day,
    day_class,
    flow_outlook,
    production_week,
    time_to_tap,
)

STRONG, LOCKED, MILD, WARM = Day(24, 42), Day(10, 25), Day(35, 48), Day(42, 60)


@pytest.mark.outside(
    "flow", by="Cook: lows in the 20s, highs mid-30s to 40s; Mathews 2024; Skinner 2010"
)
@pytest.mark.parametrize(
    ("low_f", "high_f", "expected"),
    [
        # Good days: highs mid-30s to 40s, lows in the 20s (Cook, University of Vermont Extension).
        (24, 42, "strong"),
        (25, 41, "strong"),
        (20, 36, "strong"),
        (29, 50, "strong"),
        # Optimum for boxelder: -5 to 6 °C (Mathews et al., HortTechnology 34, 2024).
        (23, 42.8, "strong"),
        # Published sap day: low at most 30, high at least 36 (Skinner et al. 2010): it runs.
        (30, 36, "weak"),
        (31, 34, "weak"),
        (32, 40, "weak"),
        (28, 58, "weak"),
        (10, 38, "weak"),
        (10, 32, "locked"),
        (-5, 20, "locked"),
        (33, 45, "no freeze"),
        (41, 56, "warm"),
        (41, 50, "no freeze"),
    ],
)
def test_day_class(low_f, high_f, expected):
    assert day_class(low_f, high_f) == expected


@pytest.mark.parametrize(("low_f", "high_f"), [(50, 40), (-60, 10), (30, 140)])
def test_impossible_days(low_f, high_f):
    with pytest.raises(RangeError, match="must"):
        day_class(low_f, high_f)


@pytest.mark.outside(
    "flow-out",
    "season-end",
    "keep-cold",
    by="University of Vermont films: a fresh freeze within a day or two; common practice on warmth",
)
@pytest.mark.parametrize(
    ("days", "kind", "rules"),
    [
        ([STRONG], "strong", ["flow"]),
        ([LOCKED], "locked", ["flow"]),
        ([STRONG, MILD], "no freeze", ["flow", "keep-cold"]),
        # A fresh freeze is needed within a day or two (University of Vermont Extension).
        ([STRONG, MILD, MILD], "no freeze", ["flow", "flow-out", "keep-cold"]),
        ([MILD, MILD, STRONG], "strong", ["flow"]),
        ([WARM, WARM, WARM], "warm", ["flow", "season-end", "keep-cold"]),
    ],
)
def test_flow_outlook(days, kind, rules):
    outlook = flow_outlook(days)
    assert outlook.day_class == kind
    assert [finding.rule for finding in outlook.findings] == rules


def test_no_day_no_outlook():
    with pytest.raises(RangeError, match="a day's low and high"):
        flow_outlook([])


@pytest.mark.outside(
    "time-to-tap",
    by="Cook, University of Vermont Extension: good days; holes good for 4 to 8 weeks",
)
@pytest.mark.parametrize(
    ("coming", "verdict"),
    [
        ([], "unknown"),
        ([LOCKED, LOCKED], "wait"),
        ([LOCKED, STRONG], "tap"),
        ([Day(31, 34)], "wait"),
        ([Day(31, 34), Day(30, 35)], "tap"),
        ([MILD, MILD], "wait"),
        ([WARM, WARM, WARM], "late"),
    ],
)
def test_time_to_tap(coming, verdict):
    answer = time_to_tap(coming, date(2027, 2, 20))
    assert answer.verdict == verdict
    assert answer.findings[0].rule == "time-to-tap"


@pytest.mark.outside("sap-week", by="Houle et al. 2015, PLoS ONE 10, worked from its formula")
@pytest.mark.parametrize(
    ("freeze_thaws", "degree_days", "likelihood", "runs"),
    [
        # Houle et al. 2015, PLoS ONE 10, as re-told; worked by hand from its formula.
        pytest.param(0, 0, 0.006, False, id="FLOW-01"),
        pytest.param(8, 0, 0.448, False, id="FLOW-02"),
        pytest.param(10, 0, 0.675, True, id="FLOW-03"),
        pytest.param(15, 10, 0.869, True, id="FLOW-04"),
        pytest.param(20, 20, 0.913, True, id="FLOW-05"),
        pytest.param(25, 40, 0.804, True, id="FLOW-06"),
        pytest.param(25, 80, 0.199, False, id="FLOW-07"),
        pytest.param(30, 100, 0.046, False, id="FLOW-08"),
    ],
)
def test_production_week(freeze_thaws, degree_days, likelihood, runs):
    week = production_week(freeze_thaws, degree_days)
    assert week.likelihood == pytest.approx(likelihood, abs=0.02)
    assert week.runs is runs
