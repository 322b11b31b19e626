"""Boiling points and draw-off, against IAPWS check values, the ``chemicals`` package and tables."""

from __future__ import annotations

import math

import pytest
from chemicals.iapws import iapws95_Tsat

from fieldvoice.errors import RangeError
from fieldvoice.rules.finishing import draw_check, draw_off
from fieldvoice.rules.water import (
    brix_from_rise,
    pressure_at_inhg,
    pressure_from_boil_inhg,
    rise_f,
    saturation_kelvin,
    water_boils_f,
)


@pytest.mark.outside("draw-by-water", by="IAPWS-IF97 (2007 release), table 36")
@pytest.mark.parametrize(
    ("pressure_mpa", "kelvin"), [(0.1, 372.755919), (1.0, 453.035632), (10.0, 584.149488)]
)
def test_if97_check_values(pressure_mpa, kelvin):
    """IAPWS-IF97 (2007 release), table 36: check values of the backward equation."""
    assert saturation_kelvin(pressure_mpa) == pytest.approx(kelvin, abs=1e-6)


@pytest.mark.outside(
    "draw-by-water", by="IAPWS-95 as computed by the chemicals package", kind="library"
)
@pytest.mark.parametrize("hundredths", range(2400, 3101, 25))
def test_water_boils_where_iapws_95_says(hundredths):
    """IAPWS-95 as computed by the ``chemicals`` package: within 0.1 °F, 24 to 31 inHg."""
    inhg = hundredths / 100
    expected_f = (iapws95_Tsat(inhg * 3386.389) - 273.15) * 1.8 + 32
    assert water_boils_f(inhg) == pytest.approx(expected_f, abs=0.1)


@pytest.mark.parametrize("inhg", [25, 26, 27, 28, 28.5, 29, 29.5, 29.921, 30.5, 31])
def test_water_boils_near_the_handbook_fit(inhg):
    """Handbook fit 49.161 ln(P) + 44.932, good to 0.2 °F."""
    assert water_boils_f(inhg) == pytest.approx(49.161 * math.log(inhg) + 44.932, abs=0.2)


@pytest.mark.outside("draw-by-water", by="US standard atmosphere and IAPWS boiling points")
@pytest.mark.parametrize(
    ("feet", "boils_f"),
    [(0, 211.95), (500, 211.04), (1000, 210.13), (1500, 209.22), (2000, 208.31), (5000, 202.83)],
)
def test_elevation_on_a_standard_day(feet, boils_f):
    assert water_boils_f(pressure_at_inhg(feet)) == pytest.approx(boils_f, abs=0.03)


def test_elevation_agrees_with_glovers_regression():
    """FIN-10. Glover, Pocket Ref: 4.299969e-8 h² - 0.0035531324 h + 100.0049216 °C, h in metres.

    Within 0.3 °F up to 1,000 m; higher up the regression drops below the standard atmosphere.
    """
    for metres in range(0, 1001, 100):
        celsius = 4.299969e-8 * metres**2 - 0.0035531324 * metres + 100.0049216
        feet = metres / 0.3048
        assert water_boils_f(pressure_at_inhg(feet)) == pytest.approx(celsius * 1.8 + 32, abs=0.3)


def test_pressure_from_boil_turns_the_equation_round():
    for inhg in (22, 25, 28.3, 29.921, 31):
        assert pressure_from_boil_inhg(water_boils_f(inhg)) == pytest.approx(inhg, abs=1e-6)


@pytest.mark.outside("draw-check", by="Starzak and Peacock 1997, from their constants")
@pytest.mark.parametrize(
    ("brix", "degrees"),
    [
        # Starzak and Peacock's water activity, tabulated from their published constants.
        (2, 0.05), (10, 0.30), (20, 0.71), (40, 2.06), (50, 3.28), (60, 5.29), (65.5, 7.01),
        (66.0, 7.20), (66.9, 7.56), (68.9, 8.44), (70, 8.98), (80, 17.03),
    ],
)  # fmt: skip
def test_rise_table(brix, degrees):
    assert rise_f(brix) == pytest.approx(degrees, abs=0.03)


@pytest.mark.outside("draw-check", by="Starzak and Peacock 1997, from their constants")
@pytest.mark.parametrize(("degrees", "brix"), [(3.28, 50), (5.29, 60), (7.20, 66.0), (8.98, 70)])
def test_brix_of_a_rise_at_sea_level(degrees, brix):
    assert brix_from_rise(degrees) == pytest.approx(brix, abs=0.1)


@pytest.mark.outside(
    "draw-by-water", by="NIST SP 811 (3.386389 kPa an inch of mercury); chemicals", kind="library"
)
@pytest.mark.parametrize("kilopascals", [70.0, 85.0, 101.325])
def test_water_boils_by_inches_of_mercury(kilopascals):
    celsius = iapws95_Tsat(kilopascals * 1000) - 273.15
    assert water_boils_f(kilopascals / 3.386389) == pytest.approx(celsius * 1.8 + 32, abs=0.03)


@pytest.mark.outside("draw-off", by="Vermont chart: 7.1 °F at 66.0; trade figure 7.5 at 66.9")
@pytest.mark.parametrize(
    ("brix", "published", "tolerance"),
    [
        # Vermont chart's instruction sheet: 7.1 °F at 66.0; trade figure 7.5 at 66.9.
        pytest.param(66.0, 7.1, 0.15, id="FIN-06"),
        pytest.param(66.9, 7.5, 0.2, id="FIN-07"),
    ],
)
def test_rise_of_syrup(brix, published, tolerance):
    assert rise_f(brix) == pytest.approx(published, abs=tolerance)


def test_rise_shrinks_with_altitude():
    assert rise_f(66, 28) == pytest.approx(7.13, abs=0.02)
    assert rise_f(66, 25) == pytest.approx(7.01, abs=0.02)


def test_brix_from_rise_turns_the_model_round():
    for brix in (20, 50, 66, 70, 80):
        assert brix_from_rise(rise_f(brix)) == pytest.approx(brix, abs=1e-3)


@pytest.mark.outside("draw-off", by="7.1 and 7.5 °F above water's boil; IAPWS boiling points")
@pytest.mark.parametrize(
    ("facts", "water_f", "us_f", "vermont_f", "tolerance"),
    [
        pytest.param({"water_boils": 212.0}, 212.0, 219.1, 219.5, 0.2, id="FIN-01"),
        pytest.param({"water_boils": 210.1}, 210.1, 217.2, 217.6, 0.2, id="FIN-02"),
        pytest.param({"water_boils": 208.3}, 208.3, 215.4, 215.8, 0.2, id="FIN-03"),
        pytest.param({"pressure_inhg": 28.50}, 209.5, 216.6, 217.0, 0.3, id="FIN-04"),
        pytest.param({"elevation_ft": 1500}, 209.2, 216.3, 216.7, 0.3, id="FIN-05"),
        pytest.param({"elevation_ft": 400 / 0.3048}, 209.5, 216.6, 217.0, 0.3, id="FIN-10"),
    ],
)
def test_draw_off(facts, water_f, us_f, vermont_f, tolerance):
    here = draw_off(**facts)
    assert here.water_f == pytest.approx(water_f, abs=tolerance)
    assert here.draw_f == pytest.approx(us_f, abs=tolerance)
    there = draw_off(**facts, jurisdiction_name="vermont")
    assert there.draw_f == pytest.approx(vermont_f, abs=tolerance)
    assert (here.brix, there.brix) == (66.0, 66.9)


def test_a_measured_boil_counts_before_pressure_and_elevation():
    assert draw_off(water_boils=210, pressure_inhg=29, elevation_ft=0).basis == "measured"
    assert draw_off(pressure_inhg=29, elevation_ft=0).basis == "pressure"
    assert draw_off(elevation_ft=0).basis == "elevation"


def test_the_answer_comes_first_and_the_hydrometer_last():
    answer, *_, last = draw_off(elevation_ft=1500).findings
    assert answer.text == "Draw at 216.3 °F."
    assert last.rule == "draw-hydrometer"


def test_water_is_boiled_first_unless_it_was():
    assert "draw-by-water" in [f.rule for f in draw_off(elevation_ft=900).findings]
    assert "draw-by-water" not in [f.rule for f in draw_off(water_boils=211).findings]


@pytest.mark.outside("draw-check", by="Starzak and Peacock 1997: rise by Brix")
@pytest.mark.parametrize(
    ("syrup_f", "water_f", "place", "stage", "brix"),
    [
        pytest.param(218.0, 211.0, "us", "light", 65.5, id="FIN-08"),
        pytest.param(220.0, 211.0, "us", "heavy", 70, id="FIN-09"),
        pytest.param(218.1, 211.0, "us", "right", 65.8, id="at-the-line"),
        pytest.param(218.1, 211.0, "vermont", "light", 65.8, id="not-in-vermont"),
        pytest.param(217.0, 211.0, "us", "light", 62.5, id="six-above"),
    ],
)
def test_draw_check(syrup_f, water_f, place, stage, brix):
    check = draw_check(syrup_f, water_f, jurisdiction_name=place)
    assert check.stage == stage
    assert check.brix == pytest.approx(brix, abs=0.5)


def test_light_by_a_tenth_says_so():
    """FIN-08."""
    assert draw_check(218.0, 211.0).findings[0].text == "Still 0.1 °F to go."


@pytest.mark.parametrize(
    ("facts", "match"),
    [
        ({"water_boils": 230}, "from 185 to 216 °F"),
        ({"pressure_inhg": 1013}, "from 18 to 32 inches of mercury"),
        ({"elevation_ft": 30_000}, "from -1000 to 12000 feet"),
    ],
)
def test_out_of_range(facts, match):
    with pytest.raises(RangeError, match=match):
        draw_off(**facts)


def test_nothing_given_is_no_question():
    with pytest.raises(ValueError, match="needs water's boil"):
        draw_off()
