"""Fuel, batches, thinning, products, off-flavours, lot codes, washing and cautions."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldvoice.errors import RangeError
from fieldvoice.rules import CAUTIONS
from fieldvoice.rules.adjusting import sap_needed, to_density
from fieldvoice.rules.boiling import boil_time
from fieldvoice.rules.cleaning import cleaning
from fieldvoice.rules.flavour import FAULTS, off_flavour
from fieldvoice.rules.fuel import fuel_needed, least_batch_gal
from fieldvoice.rules.keeping import lot_code, lot_code_advice
from fieldvoice.rules.measures import measured_out
from fieldvoice.rules.packing import weight_of
from fieldvoice.rules.products import product_target
from fieldvoice.rules.sugar import blend, sap_per_syrup

# --- fuel and batches ----------------------------------------------------------------------------


@pytest.mark.outside(
    "fuel-needed", by="Ohio State Extension: 22 gal a cord; propane 10.9 gal a gallon at 40 %"
)
def test_fuel_for_a_gallon_of_syrup():
    sap_gal = sap_per_syrup(2.0)
    wood = fuel_needed(sap_gal, 2.0)
    assert 1 / wood.amount == pytest.approx(22, abs=1)
    assert wood.heat_btu == pytest.approx(404_700, rel=0.01)
    propane = fuel_needed(sap_gal, 2.0, "propane", efficiency=0.4)
    assert propane.amount == pytest.approx(10.9, rel=0.03)
    oil = fuel_needed(sap_gal, 2.0, "fuel oil", efficiency=0.5)
    assert oil.amount == pytest.approx(5.8, rel=0.02)


def test_pine_burns_faster_than_maple():
    """Wood heat table: white pine 14.3, sugar maple 24.0 million BTU a cord."""
    maple, pine = fuel_needed(40, 2), fuel_needed(40, 2, "white pine")
    assert pine.amount / maple.amount == pytest.approx(24.0 / 14.3)


def test_unknown_fuel_lists_the_known():
    with pytest.raises(RangeError, match="sugar maple, red oak"):
        fuel_needed(40, 2, "peat")


def test_least_batch():
    """231 in³ to the gallon: an inch on 6 ft² is 3.74 gal of syrup, 162 gal of 2 % sap."""
    assert least_batch_gal(6, 2.0) == pytest.approx(3.74 * 43.4, rel=0.01)
    made = boil_time(least_batch_gal(6, 2.0), 2.0, 6)
    assert made.syrup_depth_in == pytest.approx(1.0)


# --- bringing to density -------------------------------------------------------------------------


@given(st.floats(0.5, 50), st.floats(66.5, 75), st.floats(0.5, 4))
def test_thinned_syrup_comes_to_the_line(volume_gal, brix, sap_brix):
    """What is added, mixed by weight, gives a little more than the legal minimum."""
    thin = to_density(volume_gal, brix, thinner_brix=sap_brix)
    assert thin.doing == "thin"
    mixed = blend([(volume_gal, brix), (thin.add_gal, sap_brix)])
    assert mixed.brix == pytest.approx(66.3, abs=1e-6)


def test_light_syrup_is_boiled_on():
    """2 gal at 64 Brix weigh 21.87 lb; at 66 they must weigh 64/66 of it: 0.66 lb of water."""
    light = to_density(2, 64)
    assert light.doing == "boil"
    assert light.boil_off_gal * 8.33 == pytest.approx(21.87 * 2 / 66, abs=0.01)
    assert to_density(2, 65.9).doing == "leave"
    assert to_density(2, 66.0, jurisdiction_name="vermont").doing == "boil"


@pytest.mark.outside("sap-needed", by="University of New Hampshire Extension: 43 to 1 at 2 %")
def test_sap_needed():
    assert sap_needed(1, 2.0).ratio == pytest.approx(43, abs=0.5)
    assert sap_needed(1 / 8, 2.0).sap_gal == pytest.approx(43.4 / 8, abs=0.01)


# --- past syrup ----------------------------------------------------------------------------------


def test_products_shift_with_water():
    assert product_target("cream", 208).from_f == 230
    assert "Ontario" in product_target("hard sugar", 212).findings[0].why
    with pytest.raises(RangeError, match="not for fudge"):
        product_target("fudge", 212)


@pytest.mark.parametrize(
    ("taste", "fault"),
    [("cabbage", "buddy"), ("chocolate", "buddy"), ("cardboard", "metabolism"),
     ("popcorn", "metabolism"), ("ropey", "sour sap"), ("wine", "fermented"), ("burnt", "scorched"),
     ("soapy", "chemical"), ("woody", "woody"), ("oily", "defoamer")],
)  # fmt: skip
def test_off_flavours(taste, fault):
    assert off_flavour(taste).name == fault
    assert len(FAULTS[fault].text.split()) <= 16


def test_an_unknown_taste_lists_the_known():
    with pytest.raises(RangeError, match="buddy, cardboard"):
        off_flavour("strawberry")


# --- packing and keeping -------------------------------------------------------------------------


@pytest.mark.outside("pack-weight", by="NBS Circular C440: 11.03 lb a gallon at 66 Brix")
@pytest.mark.parametrize(
    ("gallons", "pounds"), [(1, 11.03), (0.5, 5.51), (0.25, 2.76), (0.125, 1.38), (5, 55.1)]
)
def test_weights(gallons, pounds):
    """PAC-05 and the table of container weights."""
    assert weight_of(gallons).pounds == pytest.approx(pounds, abs=0.05)


def test_lot_codes():
    """10 March 2027 is day 69 of its year."""
    assert lot_code(2027, 69, 1) == "27-069-1"
    assert "27-069-1" in lot_code_advice(2027, 69).findings[0].text
    with pytest.raises(RangeError, match="day of the year"):
        lot_code(2027, 400, 1)


# --- washing -------------------------------------------------------------------------------------


def _gallons(said):
    """Return a spoken measure in gallons, by the kitchen's own table (16 cups, 768 teaspoons)."""
    parts = {"a quarter cup": 1 / 64, "half a cup": 1 / 32, "three quarters of a cup": 3 / 64}
    if said in parts:
        return parts[said]
    count, unit = said.split()
    units = {"gal": 1, "quart": 1 / 4, "cup": 1 / 16, "tablespoon": 1 / 256, "teaspoon": 1 / 768}
    return (1 if count == "a" else float(count)) * units[unit.removesuffix("s")]


@pytest.mark.outside(
    "cleaning", "cleaning-never", "caution-bleach",
    by="Maine 7038: 1 to 20 of 5.25 %, no detergent; 8.25 % is stronger by 1.57 (1 to 31)",
)  # fmt: skip
@pytest.mark.parametrize("water_gal", [quarter / 4 for quarter in range(1, 201)])
def test_bleach_is_never_more_than_the_printed_strength(water_gal):
    told = cleaning(water_gal).findings
    said = _gallons(told[0].text.split(" of bleach")[0].lower())
    assert said / water_gal * 8.25 <= 5.25 / 20 * 1.01
    assert said / water_gal >= 1 / 100, "rounded down, but not to nothing"
    assert "poison gas" in told[0].text
    assert "Never soap" in told[1].text


@pytest.mark.parametrize(
    ("water_gal", "said"),
    [(0.5, "A quarter cup"), (1, "Half a cup"), (3, "1.5 cups"), (5, "2.5 cups"), (8, "A quart"),
     (10, "A quart"), (64, "2 gal"), (0.25, "2 tablespoons"), (0.1, "2 teaspoons")],
)  # fmt: skip
def test_bleach_is_measured_out_with_what_is_at_hand(water_gal, said):
    """Half a cup to a gallon, rounded down."""
    assert cleaning(water_gal).findings[0].text.startswith(f"{said} of bleach")


def test_alcohol_by_place():
    assert "isn't legal" in cleaning().findings[2].text
    assert "may be used" in cleaning(jurisdiction_name="canada").findings[2].text


@pytest.mark.parametrize(
    ("cups", "said"),
    [(1 / 16, "a tablespoon"), (0.125, "2 tablespoons"), (0.25, "a quarter cup"),
     (0.7, "three quarters of a cup"), (1, "a cup"), (1.6, "1.5 cups"), (4, "a quart"),
     (8, "2 quarts"), (40, "2.5 gal"), (400, "25 gal")],
)  # fmt: skip
def test_small_measures(cups, said):
    """16 tablespoons a cup, 4 cups a quart, 4 quarts a gallon."""
    assert measured_out(cups / 16) == said


# --- cautions ------------------------------------------------------------------------------------


def test_cautions_say_what_matters():
    told = {one.rule: f"{one.text} {one.why}" for one in CAUTIONS.values()}
    assert "vented sugarhouse" in told["caution-fumes"]
    assert "CO alarm" in told["caution-fumes"]
    assert "never in a garage" in told["caution-fumes"]
    assert "219" not in told["caution-burn"], "untrue at altitude"
    assert "children back" in told["caution-burn"]
    assert "Two hands on the drill, firm footing" in told["caution-drill"]
    assert "Never bleach with vinegar" in told["caution-bleach"]
    assert "2 inches of sap" in told["caution-fumes"]
    assert "180 °F" in told["caution-pack"]
    assert f"{5 * 8.387:.0f} pounds" in told["caution-ice"]
    assert "never alone" in told["caution-saw"]
    assert "telephone" in told["caution-ice"]
    assert "state or provincial food agency" in told["caution-sale"]


@pytest.mark.outside(
    "cleaning", by="UMaine 7038 (1:20 of 5.25 %); Water Quality and Health Council (8.25 %: 1:31)"
)
@pytest.mark.parametrize(
    ("strength", "water_to_one"), [(3.0, 20), (5.25, 20), (8.25, 31.4), (7.5, 28.6)]
)
def test_bleach_by_its_strength(strength, water_to_one):
    """A stronger bottle is thinned as much more; a weaker one no less than is printed."""
    washed = cleaning(10, strength=strength)
    assert 10 / washed.bleach_gal == pytest.approx(water_to_one, abs=0.05)
