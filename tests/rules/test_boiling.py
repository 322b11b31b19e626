"""Boil times, heat and fuel, against Ohio State University Extension figures and arithmetic."""

from __future__ import annotations

import pytest

from fieldvoice.errors import RangeError
from fieldvoice.rules.boiling import (
    FUELS,
    boil_time,
    heat_per_gal_syrup_btu,
    heat_per_gal_water_btu,
    hours_in_words,
    pan_check,
    syrup_per_fuel,
)


@pytest.mark.outside("boil-time", by="worked examples at one gallon a square foot an hour")
@pytest.mark.parametrize(
    ("sap_gal", "brix", "pan_ft2", "rate", "hours", "syrup_gal", "tolerance"),
    [
        # Gallons to boil off over pan area times rate, worked by hand.
        pytest.param(30, 2.0, 6, 1.0, 4.9, 0.69, 0.1, id="EVP-01"),
        pytest.param(40, 2.0, 4, 1.0, 9.8, 0.92, 0.1, id="EVP-02"),
        pytest.param(50, 2.2, 8, 1.2, 5.1, 1.27, 0.1, id="EVP-03"),
        pytest.param(100, 2.0, 16, 2.0, 3.05, 2.3, 0.1, id="EVP-04"),
        pytest.param(20, 1.5, 3, 0.9, 7.3, 0.35, 0.2, id="EVP-05"),
    ],
)
def test_boil_time(sap_gal, brix, pan_ft2, rate, hours, syrup_gal, tolerance):
    boil = boil_time(sap_gal, brix, pan_ft2, rate_gal_ft2_h=rate)
    assert boil.boil_h == pytest.approx(hours, abs=tolerance)
    assert boil.syrup_gal == pytest.approx(syrup_gal, abs=0.01)
    assert boil.water_gal == pytest.approx(sap_gal - syrup_gal, abs=0.1)


def test_the_answer_is_in_half_hours():
    assert boil_time(30, 2.0, 6).findings[0].text == "About 5 hours at the boil."


@pytest.mark.outside("pan-shallow", by="231 cubic inches to the gallon")
def test_a_quart_on_a_square_foot_is_four_tenths_of_an_inch_deep():
    """1 qt = 0.0334 ft³: 0.40 in on 1 ft²."""
    boil = boil_time(0.25 * 43.38, 2.0, 1)
    assert boil.syrup_depth_in == pytest.approx(0.40, abs=0.005)
    assert "pan-shallow" in [f.rule for f in boil.findings]


@pytest.mark.outside("pan-low", by="231 cubic inches to the gallon")
def test_an_inch_over_the_fire_is_gone_in_thirty_seven_minutes():
    """1 in on 1 ft² is 144/231 gal, at a gallon an hour 37.4 minutes."""
    (found,) = pan_check(0.5)
    assert (found.level, "gone in 19 minutes" in found.why) == ("care", True)
    assert pan_check(1.0) == ()


def test_nothing_cold_goes_into_a_dry_pan():
    (found,) = pan_check(0.0)
    assert found.level == "stop"
    assert "nothing cold" in found.text


def test_a_deep_enough_pan_is_not_warned_of():
    assert "pan-shallow" not in [f.rule for f in boil_time(400, 2.0, 6).findings]


@pytest.mark.parametrize(
    ("hours", "text"), [(0.5, "30 minutes"), (1.1, "1 hour"), (4.9, "5 hours"), (3.3, "3.5 hours")]
)
def test_hours_in_words(hours, text):
    assert hours_in_words(hours) == text


@pytest.mark.outside("fuel-needed", by="steam tables: 970.3 BTU a pound at 212 °F")
def test_heat_to_boil_off_a_gallon():
    """NRG-01. Steam tables: 8.34 lb, 172 °F of warming, 970.3 BTU a pound."""
    assert heat_per_gal_water_btu(40) == pytest.approx(9530, abs=100)


@pytest.mark.outside(
    "fuel-needed", by="Ohio State University Extension: 400,000 BTU from 2 Brix sap"
)
def test_heat_of_a_gallon_of_syrup():
    """NRG-02. Ohio State University Extension: 400,000 BTU from 2 Brix sap."""
    assert heat_per_gal_syrup_btu(2.0) == pytest.approx(400_000, rel=0.015)


@pytest.mark.parametrize(
    ("brix", "thousands"),
    [(1, 820), (1.5, 543), (2, 405), (2.5, 322), (3, 266), (4, 197), (5, 155), (8, 93)],
)
def test_heat_by_sugar(brix, thousands):
    assert heat_per_gal_syrup_btu(brix) == pytest.approx(thousands * 1000, rel=0.01)


@pytest.mark.outside(
    "boil-wood", "fuel-needed", by="Ohio State University Extension: 22 gal a cord"
)
@pytest.mark.parametrize(
    ("efficiency", "syrup_gal", "tolerance"),
    [
        pytest.param(0.50, 29.8, 1, id="NRG-03"),
        # Ohio State University Extension: 22 gal of syrup a cord.
        pytest.param(0.37, 22, 1, id="NRG-04"),
        pytest.param(0.30, 18, 0.5, id="thirty-percent"),
        pytest.param(0.60, 36, 0.5, id="sixty-percent"),
    ],
)
def test_syrup_from_a_cord_of_sugar_maple(efficiency, syrup_gal, tolerance):
    made = syrup_per_fuel(FUELS["sugar maple"], efficiency, 2.0)
    assert made == pytest.approx(syrup_gal, abs=tolerance)


def test_a_small_propane_tank():
    """NRG-05: 20 lb at 21,600 BTU and 40 %: 18.2 gal of water, 0.43 gal of syrup."""
    heat = 20 * 21_600
    assert heat * 0.4 / heat_per_gal_water_btu() == pytest.approx(18.2, rel=0.05)
    assert syrup_per_fuel(heat, 0.4, 2.0) == pytest.approx(0.43, rel=0.05)


@pytest.mark.outside("boil-wood", by="Ohio State University Extension: 22 gal of syrup a cord")
def test_wood_for_a_boil_is_a_cord_for_22_gallons():
    """Ohio State University Extension: 22 gal of syrup a cord from 2 Brix sap."""
    assert boil_time(22 * 43.38, 2.0, 16).wood_cords == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize(
    ("args", "rate", "match"),
    [
        ((30, 2, 0), 1.0, "A pan must be"),
        ((30, 2, 6), 20, "A boiling rate must be"),
        ((-5, 2, 6), 1.0, "A volume of sap must be"),
        ((30, 0, 6), 1.0, "Sap sugar must be"),
    ],
)
def test_out_of_range(args, rate, match):
    with pytest.raises(RangeError, match=match):
        boil_time(*args, rate_gal_ft2_h=rate)


def test_efficiency_out_of_range():
    with pytest.raises(RangeError, match=r"An efficiency must be from 0.05 to 1"):
        syrup_per_fuel(24e6, 50, 2.0)
