"""Hydrometer readings against the Vermont chart and published calibrations."""

from __future__ import annotations

import pytest

from fieldvoice.errors import RangeError
from fieldvoice.rules.hydrometer import density_check, hot_line_brix, sap_sugar

# °F, Brix reading that means 66.9 (Vermont chart), and that means 66.0 (partial chart).
CHART = [
    (211, 59.05, None), (209, 59.2, None), (202, 59.6, 58.5), (193, 60.0, 59.0),
    (185, 60.4, 59.5), (180, None, 59.7), (176, 60.9, 60.0), (167, 61.4, 60.5),
    (158, 61.8, 61.0), (149, 62.3, 61.5), (140, 62.8, None), (130, 63.3, None),
    (120, 63.8, None), (110, 64.3, None), (100, 64.8, None), (90, 65.4, None),
    (80, 65.9, None), (70, 66.4, None), (60, 66.9, None), (50, 67.4, None),
]  # fmt: skip


@pytest.mark.outside("density", by="Vermont density chart, row by row")
@pytest.mark.parametrize(("temp_f", "for_669", "for_660"), CHART)
def test_lines_of_the_chart(temp_f, for_669, for_660):
    if for_669 is not None:
        assert hot_line_brix(temp_f) == pytest.approx(for_669, abs=0.05)
    if for_660 is not None:
        assert hot_line_brix(temp_f, 66.0) == pytest.approx(for_660, abs=0.2)


@pytest.mark.parametrize("temp_f", range(50, 212, 7))
def test_chart_falls_evenly(temp_f):
    """The chart's own straight line: 66.9 - 0.0530 (T - 60), within 0.25 Brix."""
    assert hot_line_brix(temp_f) == pytest.approx(66.9 - 0.0530 * (temp_f - 60), abs=0.25)


@pytest.mark.outside("density", by="Vermont density chart: worked readings")
@pytest.mark.parametrize(
    ("reading", "temp_f", "brix", "tolerance", "verdict"),
    [
        pytest.param(59.0, 211, 66.9, 0.2, "right", id="HYD-01"),
        pytest.param(59.5, 185, 66.0, 0.3, "right", id="HYD-02"),
        pytest.param(58.2, 193, 65.1, 0.3, "light", id="HYD-03"),
        pytest.param(62.0, 180, 68.2, 0.3, "heavy", id="HYD-04"),
        pytest.param(66.0, 60, 66.0, 0.01, "right", id="cold"),
        pytest.param(69.5, 60, 69.5, 0.01, "heavy", id="over-the-legal-maximum"),
    ],
)
def test_syrup_density(reading, temp_f, brix, tolerance, verdict):
    check = density_check(reading, temp_f)
    assert check.brix == pytest.approx(brix, abs=tolerance)
    assert check.verdict == verdict


def test_light_under_both_laws():
    """HYD-03."""
    for place in ("us", "vermont"):
        assert density_check(58.2, 193, jurisdiction_name=place).verdict == "light"


@pytest.mark.outside("density", by="Vermont rule: 66.9 Brix; federal 66.0")
def test_hot_line_for_66_is_light_in_vermont():
    assert density_check(58.1, 211).verdict == "right"
    assert density_check(58.1, 211, jurisdiction_name="vermont").verdict == "light"
    assert density_check(59.0, 211, jurisdiction_name="vermont").verdict == "right"


def test_a_hydrometer_for_68_degrees_reads_a_third_of_a_brix_high():
    by_60, by_68 = density_check(61, 176), density_check(61, 176, made_for_f=68)
    assert by_60.brix - by_68.brix == pytest.approx(0.34, abs=0.06)


@pytest.mark.outside(
    "density", by="Vermont density chart: 60.0 at 193 °F for 66.9 Brix, 59.0 for 66.0"
)
@pytest.mark.parametrize(
    ("reading", "level", "text"),
    [
        (58.2, "care", "Light: boil it a little more."),
        (59.9, "note", "It's syrup."),
        (61.4, "care", "Heavy: it may grow sugar crystals; thin it with a little sap."),
        (64.0, "care", "Too heavy to sell: thin it with sap or thin syrup."),
    ],
)
def test_what_is_said_at_193_degrees(reading, level, text):
    answer = density_check(reading, 193).findings[0]
    assert (answer.rule, answer.level, answer.text) == ("density", level, text)


@pytest.mark.outside(
    "density-close", by="Ohio State University: half of 75 to 90 hydrometers within 0.2 Brix"
)
@pytest.mark.parametrize(("reading", "close"), [(65.8, True), (66.2, True), (66.5, False)])
def test_readings_on_the_line_are_read_twice(reading, close):
    rules = [f.rule for f in density_check(reading, 60).findings]
    assert ("density-close" in rules) is close


@pytest.mark.outside(
    "sap-sugar", by="correction table for 2 Brix sap computed from the ICUMSA density"
)
@pytest.mark.parametrize(
    ("reading", "temp_f", "made_for_f", "brix", "tolerance"),
    [
        pytest.param(1.8, 60, 38, 2.0, 0.05, id="SAP-01"),
        pytest.param(2.2, 70, 60, 2.44, 0.06, id="SAP-02"),
        pytest.param(2.2, 38, 60, 2.0, 0.05, id="cold-sap-reads-a-tenth-high"),
        pytest.param(2.0, 38, 38, 2.0, 0.001, id="at-its-own-temperature"),
        pytest.param(2.0, 68, 68, 2.0, 0.03, id="at-its-own-temperature-68"),
    ],
)
def test_sap_sugar(reading, temp_f, made_for_f, brix, tolerance):
    assert sap_sugar(reading, temp_f, made_for_f=made_for_f).brix == pytest.approx(
        brix, abs=tolerance
    )


def test_water_never_has_less_than_no_sugar():
    assert sap_sugar(0.1, 38, made_for_f=68).brix == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: density_check(30, 200), "from 45 to 75 Brix"),
        (lambda: density_check(60, 300), "from 50 to 220 °F"),
        (lambda: density_check(60, 200, made_for_f=95), "from 50 to 80 °F"),
        (lambda: sap_sugar(2, 120), "from 32 to 80 °F"),
        (lambda: sap_sugar(2, 50, made_for_f=20), "from 32 to 80 °F"),
    ],
)
def test_out_of_range(call, match):
    with pytest.raises(RangeError, match=match):
        call()
