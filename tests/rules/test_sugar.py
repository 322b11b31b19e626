"""Density, weight, yield and blending, against published tables and formulas."""

from __future__ import annotations

import pytest

from fieldvoice.errors import RangeError
from fieldvoice.rules.ice import ice_out
from fieldvoice.rules.sugar import (
    baume,
    blend,
    density_kg_m3,
    jones_ratio,
    sap_per_syrup,
    syrup_estimate,
    weight_lb_per_gal,
)


def icumsa_density_20c(brix):
    """ICUMSA SPS-4 polynomial at 20 °C, an independent fit of sucrose density (kg/m³)."""
    w = brix / 100
    terms = (385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890)
    return 998.2 + sum(term * w**power for power, term in enumerate(terms, 1))


def revised_jones(brix):
    """Perkins and Isselhardt 2013 (Proctor Maple Research Center): 87.1 / x - 0.32, to 66 Brix."""
    return 87.1 / brix - 0.32


@pytest.mark.parametrize(
    ("brix", "density", "tolerance"),
    [
        # CRC Handbook, aqueous sucrose at 20 °C.
        pytest.param(2, 1006.0, 0.2, id="DEN-01"),
        pytest.param(10, 1038.1, 0.2, id="DEN-02"),
        pytest.param(50, 1229.6, 0.3, id="DEN-03"),
        pytest.param(60, 1286.5, 0.3, id="DEN-04"),
        pytest.param(66, 1322.5, 0.4, id="DEN-05"),
        pytest.param(66.9, 1328.0, 0.4, id="DEN-06"),
        pytest.param(67, 1328.6, 0.4, id="DEN-07"),
        pytest.param(0, 998.2, 0.01, id="water"),
        pytest.param(80, 1411.7, 0.01, id="end-of-table"),
    ],
)
def test_density(brix, density, tolerance):
    assert density_kg_m3(brix) == pytest.approx(density, abs=tolerance)


@pytest.mark.outside("syrup-estimate", by="ICUMSA SPS-4 polynomial")
@pytest.mark.parametrize("tenths", range(0, 681, 7))
def test_density_between_the_rows_agrees_with_the_icumsa_polynomial(tenths):
    """ICUMSA SPS-4: within 0.35 kg/m³ of the CRC table to 68 Brix."""
    brix = tenths / 10
    assert density_kg_m3(brix) == pytest.approx(icumsa_density_20c(brix), abs=0.35)


@pytest.mark.outside("pack-weight", by="NBS Circular C440 (1942)")
@pytest.mark.parametrize(
    ("brix", "pounds"),
    [
        # NBS Circular C440 (1942): weight in air at 20 °C, lb a US gallon.
        (0, 8.322), (1.0, 8.354), (2.0, 8.387), (2.5, 8.403), (3.0, 8.419), (4.0, 8.452),
        (5.0, 8.486),
    ],
)  # fmt: skip
def test_weight_in_air(brix, pounds):
    assert weight_lb_per_gal(brix) == pytest.approx(pounds, abs=0.0015)


def test_weight_of_syrup():
    """DEN-08, DEN-09; and 11 lb at 65.5 Brix: US standards for table sirup, 1967."""
    assert weight_lb_per_gal(66.0) == pytest.approx(11.03, abs=0.02)
    assert weight_lb_per_gal(2.0) == pytest.approx(8.387, abs=0.005)
    assert weight_lb_per_gal(65.5) == pytest.approx(11.00, abs=0.005)


@pytest.mark.outside("density", by="Mohos 2010, Appendix 2; Vermont rule and chart")
@pytest.mark.parametrize(
    ("brix", "degrees"),
    [
        # Mohos 2010, Appendix 2; the last three from Vermont's rule and chart.
        (10, 5.6), (30, 16.6), (50, 27.28), (60, 32.5), (65, 35.04), (66.0, 35.6), (66.9, 36.0),
        (68.9, 37.0),
    ],
)  # fmt: skip
def test_baume(brix, degrees):
    """DEN-10 and its neighbours."""
    assert baume(brix) == pytest.approx(degrees, abs=0.15)


@pytest.mark.outside(
    "syrup-estimate",
    "jones-rule",
    "sap-needed",
    by="Jones; Perkins and Isselhardt 2013; sugar balance by hand",
)
@pytest.mark.parametrize(
    ("sap_brix", "jones", "revised", "exact_66", "exact_669"),
    [
        # Published: Jones 86/x; Perkins and Isselhardt 2013; sugar balance worked by hand.
        (1.0, 86.0, 86.8, 87.1, 88.7),
        (1.5, 57.3, 57.7, 58.0, 59.0),
        (2.0, 43.0, 43.2, 43.4, 44.2),
        (2.2, 39.1, 39.3, 39.4, 40.1),
        (2.5, 34.4, 34.5, 34.6, 35.3),
        (3.0, 28.7, 28.7, 28.8, 29.3),
        (4.0, 21.5, 21.5, 21.5, 21.9),
        (5.0, 17.2, 17.1, 17.2, 17.5),
        (8.0, 10.8, 10.6, 10.6, 10.8),
        (12, None, 6.94, 6.95, 7.07),
        (20, None, 4.04, 4.04, 4.11),
        (40, None, 1.86, 1.85, 1.89),
        (60, None, 1.13, 1.13, 1.15),
    ],
)
def test_ratio_table(sap_brix, jones, revised, exact_66, exact_669):
    assert revised_jones(sap_brix) == pytest.approx(revised, abs=0.06)
    assert sap_per_syrup(sap_brix) == pytest.approx(exact_66, abs=0.06)
    assert sap_per_syrup(sap_brix, 66.9) == pytest.approx(exact_669, abs=0.06)
    if jones is not None:
        assert jones_ratio(sap_brix) == pytest.approx(jones, abs=0.06)


@pytest.mark.outside("syrup-estimate", by="Perkins and Isselhardt 2013")
@pytest.mark.parametrize("tenths", range(5, 201, 5))
def test_exact_balance_stays_near_the_published_revision(tenths):
    """Perkins and Isselhardt 2013: within 0.7 % from 0.5 to 20 Brix."""
    brix = tenths / 10
    assert sap_per_syrup(brix) == pytest.approx(revised_jones(brix), rel=0.007)


@pytest.mark.outside(
    "jones-rule", by="Jones 1933 as given by the University of New Hampshire Extension"
)
@pytest.mark.parametrize(("brix", "published"), [(2.0, 43), (2.5, 34.4), (3.0, 28.7), (1.2, 72)])
def test_jones_against_extension_figures(brix, published):
    """YLD-01 and the University of New Hampshire Extension's figures."""
    assert jones_ratio(brix) == pytest.approx(published, rel=0.005)


@pytest.mark.parametrize("brix", [8.1, 18, 66])
def test_jones_is_refused_where_it_is_wrong(brix):
    """YLD-09: at 66 Brix the rule of 86 would ask 1.3 gallons of syrup for one."""
    with pytest.raises(RangeError, match=r"rule of 86 must be from 0.2 to 8 Brix"):
        jones_ratio(brix)


def test_syrup_makes_itself():
    """YLD-08."""
    assert sap_per_syrup(66) == pytest.approx(1.0)


@pytest.mark.outside("syrup-estimate", by="sugar balance with CRC densities, worked by hand")
@pytest.mark.parametrize(
    ("volume_gal", "brix", "syrup_gal", "tolerance"),
    [
        pytest.param(30, 2.0, 0.692, 0.01, id="YLD-04"),
        pytest.param(50, 2.2, 1.27, 0.02, id="YLD-05"),
        pytest.param(20, 1.5, 0.345, 0.005, id="YLD-06"),
    ],
)
def test_syrup_estimate(volume_gal, brix, syrup_gal, tolerance):
    made = syrup_estimate(volume_gal, brix)
    assert made.syrup_gal == pytest.approx(syrup_gal, abs=tolerance)
    assert made.syrup_gal + made.water_gal == pytest.approx(volume_gal)
    assert made.ratio == pytest.approx(volume_gal / made.syrup_gal)


def test_sugar_in_equals_sugar_out():
    made = syrup_estimate(40, 2.3, jurisdiction_name="vermont")
    before = 40 * density_kg_m3(2.3) * 2.3
    after = made.syrup_gal * density_kg_m3(66.9) * 66.9
    assert after == pytest.approx(before)


def test_jones_stands_beside_the_answer_only_up_to_eight_brix():
    """YLD-04: 30 gal at 2 Brix are 0.698 gal by the rule of 86."""
    weak, strong = syrup_estimate(30, 2.0), syrup_estimate(30, 12)
    assert weak.jones_gal == pytest.approx(0.698, abs=0.001)
    assert [f.rule for f in weak.findings] == ["syrup-estimate", "jones-rule"]
    assert strong.jones_gal is None
    assert [f.rule for f in strong.findings] == ["syrup-estimate"]


@pytest.mark.parametrize(
    ("volume_gal", "brix", "text"),
    [
        (30, 2.0, "About 0.69 gal, 2.8 quarts."),
        (50, 2.2, "About 1.27 gal."),
        (5, 2.0, "About 0.12 gal, 0.9 pints."),
        (1000, 2.0, "About 23.1 gal."),
    ],
)
def test_estimate_is_said_in_gallons_and_small_measures(volume_gal, brix, text):
    assert syrup_estimate(volume_gal, brix).findings[0].text == text


@pytest.mark.parametrize(("volume_gal", "brix"), [(-1, 2), (30, 0), (30, 90), (30, float("nan"))])
def test_estimate_out_of_range(volume_gal, brix):
    with pytest.raises(RangeError, match="must be from"):
        syrup_estimate(volume_gal, brix)


def test_unknown_jurisdiction_lists_the_known():
    with pytest.raises(RangeError, match="us, canada"):
        syrup_estimate(30, 2, jurisdiction_name="atlantis")


def test_blend_weighs_by_mass():
    """YLD-07."""
    mixed = blend([(10, 2.0), (15, 2.6)])
    assert mixed.brix == pytest.approx(2.36, abs=0.01)
    assert mixed.volume_gal == 25


@pytest.mark.outside("blend", by="Pearson square")
def test_blend_agrees_with_pearsons_square():
    """68.5 and 64.0 Brix to 66.9: 64.4 % of the thick by weight (Pearson square)."""
    thick_share, pounds = 0.644, 100.0
    thick_gal = pounds * thick_share / weight_lb_per_gal(68.5)
    thin_gal = pounds * (1 - thick_share) / weight_lb_per_gal(64.0)
    assert blend([(thick_gal, 68.5), (thin_gal, 64.0)]).brix == pytest.approx(66.9, abs=0.01)


def test_nothing_cannot_be_blended():
    with pytest.raises(RangeError, match="A blend"):
        blend([])


@pytest.mark.outside("ice-out", by="balance of sugar, worked by hand")
@pytest.mark.parametrize(
    ("brix", "ice_share", "ice_brix", "liquid", "lost"),
    [
        # Balance of sugar, worked by hand.
        pytest.param(2.0, 0.25, 0.0, 2.67, 0.0, id="ICE-01"),
        pytest.param(2.0, 0.25, 0.5, 2.50, 0.062, id="ICE-02"),
        pytest.param(2.0, 0.50, 0.5, 3.50, 0.125, id="ICE-03"),
        pytest.param(2.0, 0.333, 0.4, 2.80, 0.067, id="ICE-04"),
        pytest.param(3.0, 0.20, 1.0, 3.50, 0.067, id="ICE-05"),
    ],
)
def test_ice_out(brix, ice_share, ice_brix, liquid, lost):
    left = ice_out(brix, ice_share, ice_brix)
    assert left.brix == pytest.approx(liquid, abs=0.02)
    assert left.sugar_lost == pytest.approx(lost, abs=0.002)


@pytest.mark.parametrize(("ice_share", "level"), [(0.25, "note"), (1 / 3, "note"), (0.5, "care")])
def test_a_lot_of_ice_is_better_half_melted(ice_share, level):
    """Common practice: throw ice up to a third of the bucket."""
    assert ice_out(2.0, ice_share).findings[0].level == level
