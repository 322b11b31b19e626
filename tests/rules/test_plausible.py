"""Unlikely values are asked back. The ranges are this house's choice, from the trade's figures."""

from __future__ import annotations

import pytest

from fieldvoice.rules.plausible import FIELDS, sound_alike, unlikely


@pytest.mark.parametrize(
    ("field", "fine", "strange"),
    [
        ("diameter_in", 48, 48.5),
        ("diameter_in", 12, 2),
        ("girth_in", 57, 200),
        ("sap_brix", 0.5, 0.4),
        ("sap_brix", 6, 6.1),
        ("syrup_brix", 66.9, 20),
        ("sap_temp_f", 38, 120),
        ("syrup_temp_f", 230, 231),
        ("syrup_temp_f", 219, 129),
        ("pack_temp_f", 185, 85),
        ("filter_temp_f", 190, 88),
        ("gauge_brix", 59, 160),
        ("gauge_temp_f", 211, 10),
        ("pan_temp_f", 217, 18),
        ("pan_depth_in", 2, 144),
        ("pressure_inhg", 29.5, 20.95),
        ("water_boils_f", 210.5, 99),
        ("low_f", 24, 80),
        ("high_f", 42, 100),
        ("taps", 2, 7),
        ("depth_in", 1.5, 15),
        ("bit_in", 0.3125, 5),
        ("height_ft", 3, 30),
        ("bucket_gal", 4, 40),
        ("vessel_gal", 275, 5000),
        ("syrup_gal", 0.5, 90),
        ("containers", 12, 900),
    ],
)
def test_likely_and_unlikely(field, fine, strange):
    assert unlikely(**{field: fine}).likely
    (finding,) = unlikely(**{field: strange}).findings
    assert (finding.rule, finding.level) == ("unlikely-value", "care")
    assert finding.text.endswith("?")
    assert f"{strange:g}" in finding.text


def test_every_field_is_tested_on_both_sides():
    mark = test_likely_and_unlikely.pytestmark[0]
    assert {row[0] for row in mark.args[1]} == FIELDS


@pytest.mark.parametrize(
    ("number", "twin"), [(13, 30), (30, 13), (15, 50), (90, 19), (20, None), (12, None)]
)
def test_numbers_that_sound_alike(number, twin):
    assert sound_alike(number) == twin


def test_a_likely_twin_is_offered():
    assert unlikely(diameter_in=50).findings[0].text == "15 inches, or 50?"
    assert unlikely(diameter_in=50).twin == 15
    assert unlikely(sap_temp_f=13).findings[0].text == "Sap at 30 °F, or 13?"
    assert unlikely(diameter_in=55).findings[0].text == "Did you say 55 inches across?"


def test_what_was_not_said_is_not_asked():
    assert unlikely(diameter_in=None, sap_brix=None).likely


def test_a_field_without_a_range_is_a_mistake_of_the_caller():
    with pytest.raises(TypeError, match="no likely range for colour"):
        unlikely(colour=3)


def test_a_lost_point_is_offered():
    assert unlikely(sap_brix=22).findings[0].text == "2.2 Brix in the sap, or 22?"
    assert unlikely(depth_in=15).findings[0].text == "A hole 1.5 inches deep, or 15?"
    assert unlikely(sap_brix=22).twin == pytest.approx(2.2)


@pytest.mark.parametrize(
    ("field", "value", "metric", "as_f"),
    [
        ("pack_temp_f", 85, False, (185, 85)),
        ("pack_temp_f", 365, True, (365, 185)),  # "185 degrees" said in a metric book
        ("sap_temp_f", 100.4, True, (100.4, 38)),
        ("sap_temp_f", 5, False, (41, 5)),
    ],
)
def test_the_other_degrees_are_offered_where_they_make_sense(field, value, metric, as_f):
    """By the exact definition of the two scales: F = 1.8 C + 32."""
    judged = unlikely(metric=metric, **{field: value})
    assert judged.findings[0].text.endswith("degrees: Celsius or Fahrenheit?")
    assert judged.degrees == pytest.approx(as_f)
    assert unlikely(metric=metric, unit_said=True, **{field: value}).degrees is None


def test_a_metric_book_is_asked_in_its_own_units():
    text = unlikely(sap_temp_f=167, metric=True).findings[0].text
    assert text == "Did you say sap at 75 °C?"
    assert unlikely(diameter_in=60, metric=True).findings[0].text.startswith("Did you say 152.4 cm")
