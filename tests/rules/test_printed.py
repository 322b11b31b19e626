"""Values of the rules against printed tables and worked examples, row by row."""

from __future__ import annotations

import math
import re
from datetime import date
from itertools import pairwise

import pytest

from fieldvoice.rules.adjusting import to_density
from fieldvoice.rules.boiling import (
    FUELS,
    WHEELBARROW_FT3,
    boil_time,
    heat_per_gal_syrup_btu,
    heat_per_gal_water_btu,
)
from fieldvoice.rules.containers import container_advice
from fieldvoice.rules.finishing import draw_check
from fieldvoice.rules.flavour import off_flavour
from fieldvoice.rules.fuel import fuel_needed, least_batch_gal
from fieldvoice.rules.growth import growth_between, ring_width_in
from fieldvoice.rules.holes import hole_advice, hole_check
from fieldvoice.rules.hydrometer import density_check, hot_line_brix
from fieldvoice.rules.ice import ice_out
from fieldvoice.rules.jurisdictions import jurisdiction
from fieldvoice.rules.keeping import filtering
from fieldvoice.rules.packing import pack_check, shrink_share
from fieldvoice.rules.placing import place_hole
from fieldvoice.rules.products import product_target
from fieldvoice.rules.pulling import closure, pull_advice
from fieldvoice.rules.refractometer import correction_brix, refractometer_sugar
from fieldvoice.rules.spacing import OldHole, spacing_check
from fieldvoice.rules.species import species_advice, species_named
from fieldvoice.rules.sugar import syrup_estimate
from fieldvoice.rules.taps import check_taps, tap_limit
from fieldvoice.rules.weather import Day, time_to_tap

# --- trees and holes -----------------------------------------------------------------------------


@pytest.mark.outside(
    "hole-spacing", by="Maine 24 and 6 in; Cornell and Ontario 12; Ohio State and Vermont 2020: 6"
)
@pytest.mark.parametrize(
    ("sideways_in", "up_down_in", "spacing"),
    [
        (0, 13, "too close"), (0.9, 12, "too close"), (0.9, 23.5, "too close"), (0, 24, "clear"),
        (1, 11.5, "too close"), (1, 12, "clear"), (1.9, 5, "too close"), (2, 6, "clear"),
        (2, 5, "close"), (5.9, 5.9, "close"), (5.9, 6, "clear"), (6, 0, "clear"),
    ],
)  # fmt: skip
def test_distance_goes_sideways_and_up_or_down_together(sideways_in, up_down_in, spacing):
    assert spacing_check(sideways_in, up_down_in).spacing == spacing


@pytest.mark.parametrize("diameter_in", range(12, 41))
def test_the_place_proposed_is_never_called_too_close(diameter_in):
    """Above 20.4 in a hand is less than an eighth of the girth, so that both are of one side."""
    last = OldHole("south", 3, 2026)
    placed = place_hole(diameter_in, [last], 2027)
    noted = hole_check(
        side=placed.side, height_ft=placed.height_ft, diameter_in=diameter_in, old_holes=[last]
    )
    assert "stop" not in [finding.level for finding in noted.findings]


@pytest.mark.outside(
    "hole-place", by="Ohio State Extension: 2 to 4 in to the side, 6 or so up or down; Wild: a foot"
)
@pytest.mark.parametrize(
    ("diameter_in", "height_ft", "right_in", "up_in"),
    [(15, 3.0, 4, 12), (15, 4.0, 4, -12), (24, 3.5, 4, 12), (24, 3.6, 4, -12), (30, 2.0, 4, 12)],
)
def test_the_step_from_the_last_hole(diameter_in, height_ft, right_in, up_in):
    """A hand of four inches to the right; a foot up, as long as that is in reach (4.5 ft)."""
    placed = place_hole(diameter_in, [OldHole("south", height_ft, 2026)], 2027)
    assert (placed.right_in, placed.up_in) == (right_in, up_in)
    bearing = 180 - right_in / (math.pi * diameter_in) * 360
    nearest = min(
        {"south": 180, "southeast": 135, "east": 90}.items(), key=lambda one: abs(one[1] - bearing)
    )
    assert placed.side == nearest[0]


@pytest.mark.outside(
    "hole-place", by="Maine bulletin 7036: at least 6 in to the side of an old hole"
)
@pytest.mark.parametrize(("diameter_in", "right_in"), [(16, 8), (24, 8), (36, 8)])
def test_a_hole_of_unknown_height_is_kept_six_inches_clear_of(diameter_in, right_in):
    """A hand aside is too near to it, two hands are not."""
    holes = [OldHole("south", 3, 2026), OldHole("south", None, 2020)]
    assert place_hole(diameter_in, holes, 2027).right_in == right_in


@pytest.mark.outside(
    "slow-growth", by="van den Berg et al. 2016: 1.4 square inches a year at 10 in, 2.6 at 18"
)
@pytest.mark.parametrize(("diameter_in", "least_in2"), [(10, 1.4), (14, 2.0), (18, 2.6)])
def test_the_least_growth_of_one_tap(diameter_in, least_in2):
    for share, enough in ((1.02, True), (0.98, False)):
        inner_in = math.sqrt(diameter_in**2 - 4 * least_in2 * share / math.pi)
        grown = growth_between(inner_in, diameter_in, 1)
        assert grown.least_basal_area_in2_per_year == pytest.approx(least_in2, abs=0.01)
        assert grown.basal_area_in2_per_year == pytest.approx(least_in2 * share, abs=0.01)
        assert grown.enough is enough


@pytest.mark.outside("over-tapped", by="conservative schedule: none under 12 in, 2 over 18 in")
@pytest.mark.parametrize(("diameter_in", "drilled", "over"), [
    (11, 1, True), (12, 1, False), (18, 2, True), (18.5, 2, False), (18.5, 3, True),
])  # fmt: skip
def test_taps_over_the_printed_number(diameter_in, drilled, over):
    assert bool(check_taps(drilled, tap_limit(diameter_in)).findings) is over


@pytest.mark.outside("tap-second", by="Wild (Cornell): a second tap only from 20 in")
@pytest.mark.parametrize(("diameter_in", "said"), [(18.5, True), (19.9, True), (20, False)])
def test_a_second_tap_between_the_two_guidelines(diameter_in, said):
    rules = [finding.rule for finding in tap_limit(diameter_in).findings]
    assert ("tap-second" in rules) is said


@pytest.mark.outside("tap-dieback", by="North American Maple Project 1998: 15 and 35 %")
@pytest.mark.parametrize(("percent", "taps"), [(15, 2), (15.5, 1), (35, 1), (35.5, 0)])
def test_edges_of_dieback(percent, taps):
    assert tap_limit(20, dieback_percent=percent).taps == taps


@pytest.mark.outside("hole-bit", by="cross-sections: 7/16 in is the old size, 5/16 today's")
@pytest.mark.parametrize(
    ("bit_in", "text"),
    [(0.3125, None), (0.32, "Next time"), (0.4375, "Next time"), (0.45, "too big")],
)
def test_bits(bit_in, text):
    found = hole_check(bit_in=bit_in).findings
    assert not found if text is None else text in found[0].text
    if bit_in == 0.4375:
        assert "2.0 times" in found[0].why, "(7 / 5) squared is 1.96"


@pytest.mark.outside("hole", by="Cook, University of Vermont Extension: 2 to 4 ft above the ground")
def test_where_holes_are_drilled():
    assert hole_advice(14).height_ft == (2.0, 4.0)
    assert hole_advice(14, [OldHole("south", 3, 2026)]).height_ft == (2.0, 4.0)


@pytest.mark.outside("hole-angle", by="leaflets: 5 to 15 degrees upward; level does not drain")
@pytest.mark.parametrize(("angle", "text"), [(0, "Slope"), (15, None), (20, None), (21, "steep")])
def test_angles(angle, text):
    found = hole_check(angle_deg=angle).findings
    assert not found if text is None else text in found[0].text


@pytest.mark.outside("pull-weeks", by="University of Vermont: a hole stays good 4 to 8 weeks")
@pytest.mark.parametrize(
    ("weeks", "verdict", "told"), [(3.9, "leave", False), (4.1, "leave", True), (8, "soon", True)]
)
def test_weeks_of_a_hole(weeks, verdict, told):
    answer = pull_advice(weeks_open=weeks)
    assert answer.verdict == verdict
    fresh = pull_advice(weeks_open=1).findings[0].text
    assert (answer.findings[0].text != fresh) is told


@pytest.mark.outside("hole-closure", by="Cook: a healthy tree closes a hole in two to three years")
@pytest.mark.parametrize(("years", "level"), [(2.9, "note"), (3.2, "care")])
def test_an_open_hole_after_three_years(years, level):
    assert closure(years, closed=False).findings[0].level == level


@pytest.mark.parametrize(("species", "early"), [("red", True), ("silver", True), ("sugar", False)])
def test_early_buds(species, early):
    rules = [one.rule for one in tap_limit(20, species=species_named(species).name).findings]
    assert ("tap-early-budding" in rules) is early


@pytest.mark.outside(
    "species", by="New Hampshire and Minnesota Extension; Mathews et al. 2024: sugar by kind"
)
@pytest.mark.parametrize(
    ("species", "low", "high"),
    [("sugar", 2.0, 2.5), ("black", 2.0, 2.5), ("red", 1.5, 1.7), ("silver", 1.5, 1.9),
     ("box elder", 1.0, 2.8), ("norway", 2.2, 2.8)],
)  # fmt: skip
def test_sugar_by_kind(species, low, high):
    assert species_named(species).sugar_brix == (low, high)
    assert f"{low:g} to {high:g} Brix" in species_advice(species).findings[0].why


@pytest.mark.outside(
    "time-to-tap", by="trade sheet 2.4: February to April; a bucket's hole 4 to 8 weeks"
)
@pytest.mark.parametrize(
    ("day", "verdict"),
    [
        (date(2026, 12, 10), "early"), (date(2026, 10, 20), "early"), (date(2027, 1, 10), "early"),
        (date(2027, 2, 20), "tap"), (date(2027, 3, 15), "tap"), (date(2027, 5, 10), "late"),
    ],
)  # fmt: skip
def test_the_same_weather_at_other_dates(day, verdict):
    assert time_to_tap([Day(25, 42)], day).verdict == verdict


# --- law and density -----------------------------------------------------------------------------


@pytest.mark.outside(
    "density", "draw-off", "draw-check",
    by="USDA 2015; Canada 2016; 6 V.S.A. 494; New Hampshire; New York; Maine: Brix and rise",
)  # fmt: skip
@pytest.mark.parametrize(
    ("place", "least", "most", "rise"),
    [("us", 66.0, 68.9, 7.1), ("canada", 66.0, 68.9, 7.1), ("new york", 66.0, 68.9, 7.1),
     ("maine", 66.0, 68.9, 7.1), ("vermont", 66.9, 68.9, 7.5), ("new hampshire", 66.9, 68.9, 7.5)],
)  # fmt: skip
def test_density_by_law(place, least, most, rise):
    law = jurisdiction(place)
    assert (law.minimum_brix, law.maximum_brix, law.rise_f) == (least, most, rise)
    assert density_check(least - 0.1, 60, jurisdiction_name=place).verdict == "light"
    assert density_check(least, 60, jurisdiction_name=place).verdict == "right"
    assert (
        "Too heavy to sell"
        in density_check(most + 0.1, 60, jurisdiction_name=place).findings[0].text
    )
    assert draw_check(212 + rise, 212, jurisdiction_name=place).stage == "right"
    assert draw_check(212 + rise - 0.1, 212, jurisdiction_name=place).stage == "light"


@pytest.mark.outside("density", by="saturated at 67.1 Brix at 68 °F; hot line of the Vermont chart")
def test_the_hot_line_falls_evenly_at_the_pan():
    line = [hot_line_brix(temp_f) for temp_f in range(50, 221)]
    assert all(later < earlier for earlier, later in pairwise(line))
    assert 0.05 <= hot_line_brix(209) - hot_line_brix(211) <= 0.15
    assert hot_line_brix(130) == pytest.approx(63.3, abs=0.05)
    assert density_check(67.4, 60).verdict == "right"
    assert density_check(67.6, 60).verdict == "heavy"


@pytest.mark.outside(
    "draw-check", by="Starzak and Peacock: 67.5 Brix boils 7.8 °F above water, 68.9 boils 8.4"
)
@pytest.mark.parametrize(
    ("syrup_f", "water_f", "stage"),
    [(219.1, 212, "right"), (219.7, 212, "right"), (219.79, 212, "right"), (219.9, 212, "heavy"),
     (220, 212, "heavy"), (221, 212, "heavy"), (209.9, 202.8, "right")],
)  # fmt: skip
def test_one_scale_of_heavy(syrup_f, water_f, stage):
    checked = draw_check(syrup_f, water_f)
    assert checked.stage == stage
    if syrup_f == 220:
        assert "Past syrup, about 68" in checked.findings[0].text


#: CRC Handbook, kg/m³ at 20 °C: rows for mixing by hand.
_CRC = {2: 1006.0, 66: 1322.4, 68: 1334.8, 70: 1347.2, 72: 1359.9}
_MEASURES = {
    "a quarter cup": 1 / 64, "half a cup": 1 / 32, "three quarters of a cup": 3 / 64,
    "a cup": 1 / 16, "a quart": 1 / 4,
}  # fmt: skip
_UNITS = {"cup": 1 / 16, "quart": 1 / 4, "gal": 1.0, "tablespoon": 1 / 256, "teaspoon": 1 / 768}


def _spoken_gal(text):
    said = re.match(r"Add (.+?) of sap", text)[1]
    if said in _MEASURES:
        return _MEASURES[said]
    count, unit = said.split()
    return (1.0 if count == "a" else float(count)) * _UNITS[unit.removesuffix("s")]


@pytest.mark.outside("adjust-density", by="sugar balance by the printed CRC rows, spoken amounts")
@pytest.mark.parametrize("gallons", [0.25, 0.5, 1, 2, 3, 5, 10])
@pytest.mark.parametrize("brix", [68, 70, 72])
def test_syrup_thinned_with_what_is_said_stays_legal(gallons, brix):
    """Never under the minimum, and not so little that it stays heavy for ever."""
    told = to_density(gallons, brix)
    add_gal = _spoken_gal(told.findings[0].text)
    syrup, sap = gallons * _CRC[brix], add_gal * _CRC[2]
    mixed = (syrup * brix + sap * 2) / (syrup + sap)
    assert 66.0 - 0.05 <= mixed < brix
    exact = (syrup * brix + told.add_gal * _CRC[2] * 2) / (syrup + told.add_gal * _CRC[2])
    assert exact == pytest.approx(66.3, abs=0.01)


@pytest.mark.outside("adjust-density", by="worked by hand: a gallon at 68, a quart at 70.5 Brix")
@pytest.mark.parametrize(
    ("gallons", "brix", "said"), [(1, 68, "half a cup"), (0.25, 70.5, "a quarter cup")]
)
def test_two_thinnings_worked_by_hand(gallons, brix, said):
    assert f"Add {said} of sap" in to_density(gallons, brix).findings[0].text


@pytest.mark.outside(
    "adjust-density", by="Ohio State: hydrometers are good to 0.2 Brix; 68.9 by law"
)
def test_what_is_near_enough_is_left_alone():
    assert [to_density(1, one).doing for one in (65.7, 65.85, 66.0, 66.25, 66.5)] == [
        "boil", "leave", "leave", "leave", "thin",
    ]  # fmt: skip
    assert [to_density(1, one).findings[0].level for one in (68.8, 69.0)] == ["note", "care"]


@pytest.mark.outside("jones-rule", by="Jones 1933 against the exact balance: from -1.5 to +1.3 %")
@pytest.mark.parametrize(
    ("brix", "place", "told"),
    [(1, "us", "1 % too much"), (2, "us", "1 % too much"), (8, "us", "1 % too little"),
     (2, "vermont", "3 % too much"), (4, "us", "just what")],
)  # fmt: skip
def test_what_the_rule_of_86_promises(brix, place, told):
    assert told in syrup_estimate(40, brix, jurisdiction_name=place).findings[1].why


@pytest.mark.outside("refractometer", by="makers: ATC 10 to 30 °C; ICUMSA table at 20 °C zero")
@pytest.mark.parametrize(
    ("reading", "temp_f", "how", "brix"),
    [(2.2, 55, {"compensates": True}, 2.2), (2.2, 60, {"compensates": True}, 2.2),
     (2.2, 55, {}, 1.8), (2.2, 55, {"zeroed_here": True}, 2.2), (2.2, 68, {}, 2.2)],
)  # fmt: skip
def test_three_kinds_of_refractometer(reading, temp_f, how, brix):
    assert refractometer_sugar(reading, temp_f, **how).brix == pytest.approx(brix, abs=0.05)


@pytest.mark.outside("refractometer", by="makers' instructions: right from 50 to 86 °F")
@pytest.mark.parametrize(
    ("temp_f", "text"), [(45, "Warm the"), (50, "2.2"), (86, "2.2"), (90, "cool")]
)
def test_a_refractometer_too_cold_or_too_warm(temp_f, text):
    assert text in refractometer_sugar(2.2, temp_f, compensates=True).findings[0].text


@pytest.mark.outside("refractometer", by="ICUMSA corrections at 2.5 and 67.5 Brix, halfway between")
@pytest.mark.parametrize(
    ("reading", "celsius", "added"),
    [(2.5, 15, -0.27), (67.5, 15, -0.39), (2.5, 25, 0.31), (35, 10, -0.6475), (35, 30, 0.7475),
     (5, 10, -0.534), (60, 10, -0.742)],
)  # fmt: skip
def test_corrections_between_weak_and_strong(reading, celsius, added):
    assert correction_brix(reading, celsius * 1.8 + 32) == pytest.approx(added, abs=0.002)


@pytest.mark.outside(
    "ice-out", by="community tests: ice of 0 to 1 Brix; up to a third is thrown out"
)
def test_ice_of_the_middle_sugar():
    """Half a Brix in a third of the weight: (2 - 0.5 / 3) / (2 / 3) = 2.75."""
    left = ice_out(2.0, 1 / 3)
    assert left.brix == pytest.approx(2.75)
    assert [ice_out(2.0, share).findings[0].level for share in (0.33, 0.36)] == ["note", "care"]


# --- the boil and its fuel -----------------------------------------------------------------------

#: Million BTU of a cord, air dry, as the wood heat tables print them; gallons and a therm of gas.
HEAT = {
    "sugar maple": 24.0e6, "red oak": 24.0e6, "beech": 24.0e6, "red maple": 18.7e6,
    "box elder": 17.9e6, "white pine": 14.3e6, "propane": 91_500, "fuel oil": 138_500,
    "natural gas": 100_000,
}  # fmt: skip


@pytest.mark.outside("fuel-needed", by="wood heat tables; 91,500 BTU a gallon of propane, a therm")
@pytest.mark.parametrize(("fuel", "heat"), HEAT.items())
def test_heat_of_fuels(fuel, heat):
    assert FUELS[fuel] == heat
    needed = fuel_needed(400, 2.0, fuel, efficiency=0.5)
    assert needed.amount == pytest.approx(needed.heat_btu / (heat * 0.5), rel=1e-6)


@pytest.mark.outside("fuel-needed", by="heat balance by steam tables: 405,300 and 412,700 BTU")
def test_vermont_takes_as_much_fuel_for_sap_and_more_for_syrup():
    assert heat_per_gal_syrup_btu(2.0) == pytest.approx(405_300, rel=0.001)
    assert heat_per_gal_syrup_btu(2.0, syrup_brix=66.9) == pytest.approx(412_700, rel=0.001)
    here, there = (fuel_needed(400, 2.0, jurisdiction_name=one) for one in ("us", "vermont"))
    assert there.amount >= here.amount
    ratio = there.heat_btu / there.syrup_gal / (here.heat_btu / here.syrup_gal)
    assert ratio == pytest.approx(1.018, abs=0.003)


@pytest.mark.outside("fuel-needed", by="steam tables: 8.34 lb a gallon, 1 BTU a pound and degree")
@pytest.mark.parametrize(("start_f", "btu"), [(40, 9526.8), (212, 8092.3), (32, 9593.5)])
def test_heat_of_a_gallon_of_water(start_f, btu):
    assert heat_per_gal_water_btu(start_f) == pytest.approx(btu, rel=1e-4)
    assert heat_per_gal_water_btu() == pytest.approx(9526.8, rel=1e-4)


@pytest.mark.outside(
    "boil-wood", "fuel-needed", by="Erie 2013: 21 gal a cord and four 20-lb cylinders; S121: 15"
)
def test_what_was_measured_of_wood_and_gas():
    """Backyard boils: 15 to 25 gal a cord; four cylinders of 4.7 gal for a gallon of syrup."""
    assert 15 <= 1 / boil_time(43.4, 2.0, 8).wood_cords <= 25
    assert 1 / boil_time(43.4, 2.0, 8).wood_cords == pytest.approx(21, rel=0.1)
    gas = fuel_needed(43.4, 2.0, "propane").amount
    assert gas == pytest.approx(11.1, rel=0.05)
    assert 0.5 <= gas / (4 * 4.7) <= 1.0


@pytest.mark.outside("boil-time", by="Cornell Small Farms 2017: 2 % took 8 h, 4 to 5 % took 4")
def test_sweeter_sap_takes_half_the_time():
    """The same syrup, so the same sugar: hours go as the water."""
    weak, strong = boil_time(40, 2.0, 8), boil_time(40 * 2.0 / 4.5, 4.5, 8)
    assert 0.38 <= strong.boil_h / weak.boil_h <= 0.52


@pytest.mark.outside("boil-time", by="one gallon a square foot an hour: three pans of 40 gal")
@pytest.mark.parametrize(("area_ft2", "hours"), [(6, 6.5), (8, 4.9), (15, 2.6)])
def test_pans_of_three_sizes(area_ft2, hours):
    boil = boil_time(40, 2.0, area_ft2)
    assert boil.boil_h == pytest.approx(hours, abs=0.05)
    assert boil.start_up_h == pytest.approx(0.4)


@pytest.mark.outside("scorching", "pan-shallow", by="144 square inches a foot, 231 cubic a gallon")
def test_an_inch_of_pan_is_six_tenths_of_a_gallon():
    from fieldvoice.rules import advice  # the value, as it stands when the check runs

    assert pytest.approx(0.6234, abs=1e-4) == advice._INCH_OF_SAP_GAL
    assert "0.62 gal" in advice.advice("scorching")[0].why
    assert least_batch_gal(8, 2.0) == pytest.approx(8 * 0.6234 * 43.4, rel=0.002)
    assert boil_time(43.38, 2.0, 1).syrup_depth_in == pytest.approx(231 / 144, rel=0.002)


@pytest.mark.outside("boil-wood", by="a cord is 4 by 4 by 8 feet")
def test_wood_one_can_see():
    """A sixth of a cord is 21 cubic feet stacked."""
    wood = fuel_needed(43.4 * 22 / 6, 2.0).findings[0].text
    low, high = map(int, re.search(r"(\d+) to (\d+) wheelbarrows", wood).groups())
    # Measured were 15 to 25 gallons a cord: 18.8 to 31.3 cubic feet for the syrup of 22 / 6.
    assert low == round(128 / 6 * 22 / 25 / WHEELBARROW_FT3)
    assert high == round(128 / 6 * 22 / 15 / WHEELBARROW_FT3)
    assert "cords" in fuel_needed(43.4 * 22, 2.0).findings[0].text


# --- products, packing and flavours --------------------------------------------------------------


@pytest.mark.outside(
    "product-target", by="Ohio State F-46-02; Ontario producers; county producers: °F above water"
)
@pytest.mark.parametrize("water_f", [212, 208])
@pytest.mark.parametrize(
    ("product", "low", "high"),
    [("sugar on snow", 20, 22), ("cream", 22, 24), ("soft candy", 32, 34), ("hard sugar", 33, 36),
     ("granulated sugar", 40, 45)],
)  # fmt: skip
def test_products_above_water(product, low, high, water_f):
    target = product_target(product, water_f)
    assert (target.from_f, target.to_f) == (water_f + low, water_f + high)
    assert f"{water_f + low} to {water_f + high} °F" in target.findings[0].text


@pytest.mark.outside("product-target", by="Ohio State F-46-02: granulated 252 to 257, blocks 245")
def test_maple_sugar_is_either():
    text = product_target("maple sugar", 212).findings[0].text
    assert "252 to 257" in text
    assert "245" in text


@pytest.mark.outside("pack-fill", by="syrup of 185 °F shrinks by 2.9 % to 68 °F, of 190 by 3.0")
@pytest.mark.parametrize(
    ("temp_f", "share"), [(180, 0.028), (182.5, 0.0285), (185, 0.029), (190, 0.030)]
)
def test_shrinking(temp_f, share):
    assert shrink_share(temp_f) == pytest.approx(share, abs=1e-4)


@pytest.mark.outside("pack-weight", by="NBS Circular C440: 11.03 lb a gallon of 66 Brix")
def test_what_is_packed_weighs():
    assert pack_check(count=4, size="gallon").weight_lb == pytest.approx(44.1, abs=0.05)


@pytest.mark.outside("filtering", by="Michigan State Extension: 185 to 190 °F")
@pytest.mark.parametrize(("temp_f", "level"), [(178, "care"), (181, "note"), (187, "note")])
def test_filtered_hot(temp_f, level):
    told = filtering(temp_f).findings[0]
    assert told.level == level
    assert "At 185 to 190 °F" in told.why


@pytest.mark.outside(
    "container-galvanized", "container-solder", by="Ontario ministry and CFIA: 1994 and 1995"
)
@pytest.mark.parametrize(
    ("said", "verdict"),
    [({"material": "galvanized", "made_year": 1993}, "do not use"),
     ({"material": "galvanized", "made_year": 1995}, "ask"),
     ({"material": "stainless", "solder": True, "made_year": 1994}, "do not use"),
     ({"material": "stainless", "solder": True, "made_year": 1996}, "ask")],
)  # fmt: skip
def test_years_of_lead(said, verdict):
    assert container_advice(**said).verdict == verdict


@pytest.mark.parametrize(
    ("taste", "fault"),
    [("butterscotch", "ordinary"), ("butter", "defoamer"), ("bitter burnt", "scorched"),
     ("bitter", "bitter"), ("root beer", "ordinary"), ("beer", "fermented"),
     ("burnt popcorn", "scorched"), ("caramel", "ordinary")],
)  # fmt: skip
def test_whole_words_of_taste(taste, fault):
    """The words of the published sets of faults; ordinary flavours from memory."""
    assert off_flavour(taste).name == fault


@pytest.mark.outside("slow-growth", by="geometry: a ring of 1.4 square inches round 10 in")
def test_the_ring_that_an_area_makes():
    """The outer circle less the ring's area is the inner one: 5 - sqrt(25 - 1.4 / pi)."""
    assert ring_width_in(10, 1.4) == pytest.approx(5 - math.sqrt(25 - 1.4 / math.pi), abs=1e-6)


@pytest.mark.outside("hole-bit", by="today's bit is stamped 5/16 in, the old one 7/16")
def test_bits_a_hair_over_their_size():
    """A caliper shows 0.313 and 0.438 of them."""
    assert not hole_check(bit_in=0.3135).findings
    assert hole_check(bit_in=0.319).findings
    assert "too big" not in hole_check(bit_in=0.4385).findings[0].text


@pytest.mark.outside("filtering", by="Michigan State Extension: 185 °F, less five")
def test_filtered_a_little_under_the_print():
    assert [filtering(one).findings[0].level for one in (179.4, 180.4)] == ["care", "note"]
