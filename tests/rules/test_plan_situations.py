"""Ten boil days worked by hand, and what the plan makes of them.

The pan is the one of trade facts' table 8.1: eight square feet at a gallon a square foot an hour,
so eight gallons of water an hour and 0.4 h to light it. Sap of 2 Brix leaves 1/43.4 of itself as
syrup (exact balance), so that 40 gal have 39.1 gal to lose: 4.9 h at the boil. Wearing is the
square-root law of ``rules.storage``: 40 °F wears 1.17 days a day, 50 °F 2.25, 55 °F 2.92, 32 °F
0.56 (trade facts, table 4.3).
"""

from __future__ import annotations

import pytest

from fieldvoice.rules.plan import Stored, boil_plan, least_batch_gal, loses_by_waiting
from fieldvoice.rules.schedule import Pan, Window

PAN = (Pan("pan", 8.0),)
#: Nine in the morning: till nine at night, then from eight to nine on four more days.
DAYS = (Window(0, 12), Window(23, 36), Window(47, 60), Window(71, 84), Window(95, 108))


def held(name, gal=40.0, age_h=6.0, temp_f=38.0, sap="clear", **more):
    return Stored(name, age_h, ((0.0, temp_f),), sap, gal, **more)


def order(plan):
    return [(step.name, step.action) for step in plan.steps]


def test_fresh_against_old():
    """30 h against 4 h: the old tank first; both are done in 0.4 + 2 × 4.9 h, within the day."""
    plan = boil_plan([held("tank 1", age_h=4), held("tank 2", age_h=30)], PAN, DAYS)
    assert order(plan) == [("tank 2", "boil"), ("tank 1", "boil")]
    assert plan.now_h == pytest.approx(0.4 + 2 * 4.885, abs=0.02)
    assert plan.now_syrup_gal == pytest.approx(2 * 0.92, abs=0.01)
    assert all(step.left_share == 0 for step in plan.steps)


def test_cloudy_goes_at_once_and_by_itself():
    """Cloudy has three days used up beside its age; it costs half an hour to boil it apart."""
    plan = boil_plan([held("tank 1", age_h=24), held("tank 2", 10, 5, sap="cloudy")], PAN, DAYS)
    assert order(plan) == [("tank 2", "boil apart"), ("tank 1", "boil")]
    assert plan.boiled[0].end_h == pytest.approx(0.4 + 9.77 / 8 + 0.5, abs=0.02)


def test_a_small_batch_waits():
    """8 ft² two inches deep are 8 × 144 × 2 / 231 = 10 gal; five fresh ones keep for 42 h."""
    plan = boil_plan([held("tank 1", 5, age_h=6)], PAN, DAYS)
    assert plan.least_gal == pytest.approx(9.97, abs=0.01)
    assert plan.now_gal < plan.least_gal
    # At 38 °F two days less six hours are left, less the 36 minutes that five gallons take; but
    # nobody boils at three in the morning, so that it is the second day's evening.
    assert plan.wait_h is not None
    assert 35 - 0.4 - 0.7 <= plan.wait_h <= 36 - 0.4 - 0.6


def test_no_time():
    """One hour till they must leave: 0.6 h at the boil are 4.8 gal of water, of 40 gal a ninth."""
    hours = (Window(0, 1), *DAYS[1:])
    plan = boil_plan([held("tank 1", age_h=4)], PAN, hours)
    assert plan.boiled[0].now_share == pytest.approx(0.6 * 8 / 39.08, abs=0.002)
    assert plan.now_gal < plan.least_gal
    assert loses_by_waiting([held("tank 1", age_h=4)], PAN, hours, 23) == ()


def test_a_warm_spell_makes_haste():
    """38 °F now, 55 from tonight on: 12 h at 1 and then 2.92 a day; 1.5 days are gone in 24.3 h."""
    warm = ((0.0, 38.0), (12.0, 55.0))
    plan = boil_plan([held("tank 1", age_h=12, ahead=warm)], PAN, DAYS)
    assert plan.boiled[0].hours_left == pytest.approx(12 + (1.5 - 0.5) / 2.918 * 24, abs=0.1)
    # Tomorrow at eight (23 h) it is too late by then: 0.4 + 4.9 h at the boil end after 28 h.
    assert loses_by_waiting([held("tank 1", age_h=12, ahead=warm)], PAN, DAYS, 23) == ("tank 1",)
    steady = held("tank 1", age_h=12)
    assert loses_by_waiting([steady], PAN, DAYS, 23) == ()


def test_a_cold_spell_gives_time():
    """32 °F wears 0.56 days a day: of 1.5 days left, 64 h."""
    cold = ((0.0, 32.0),)
    plan = boil_plan([held("tank 1", age_h=12, ahead=cold)], PAN, DAYS)
    assert plan.boiled[0].hours_left == pytest.approx(1.5 / 0.5625 * 24, abs=0.3)
    assert loses_by_waiting([held("tank 1", age_h=12, ahead=cold)], PAN, DAYS, 47) == ()
    assert loses_by_waiting([held("tank 1", age_h=12, ahead=cold)], PAN, DAYS, 71) == ("tank 1",)


def test_two_pans_share_the_work():
    """60 and 30 gal, pans of 8 and 4 gal an hour: the bigger to the faster, 7.7 and 7.7 h."""
    pans = (Pan("big pan", 8.0), Pan("small pan", 4.0))
    plan = boil_plan([held("tank 1", 60, 20), held("tank 2", 30, 20)], pans, DAYS)
    assert {step.name: step.pan for step in plan.boiled} == {
        "tank 1": "big pan", "tank 2": "small pan",
    }  # fmt: skip
    assert plan.now_h == pytest.approx(0.4 + 30 * (1 - 1 / 43.4) / 4, abs=0.05)


def test_full_tanks_before_a_run():
    """50 of 55 gal: room for 5. Boiled tonight there is room for 55 in the morning."""
    tank = held("tank 1", 50, age_h=6, capacity_gal=55)
    assert boil_plan([tank], PAN, DAYS).room_gal == pytest.approx(55)
    short = boil_plan([tank], PAN, (Window(0, 2), *DAYS[1:]))
    # 1.6 h at the boil: 12.8 gal of water, of 48.85 in all 26 %, so that 36.9 gal stay.
    assert short.room_gal == pytest.approx(55 - 50 * (1 - 12.8 / 48.85), abs=0.1)


def test_frozen_sap_waits_for_the_rest():
    """At 32 °F it wears half as fast; the younger but thawed tank goes first."""
    plan = boil_plan(
        [held("tank 1", age_h=30, temp_f=32, sap="frozen"), held("tank 2", age_h=28, temp_f=40)],
        PAN, DAYS,
    )  # fmt: skip
    assert order(plan) == [("tank 2", "boil"), ("tank 1", "boil")]


def test_nothing_to_boil():
    """An empty sugarhouse, and one with nothing but sour sap."""
    assert boil_plan([], PAN, DAYS).findings[0].text == "Nothing is stored."
    plan = boil_plan([held("tank 1", sap="sour")], PAN, DAYS)
    assert order(plan) == [("tank 1", "dump")]
    assert plan.now_gal == 0
    assert plan.wait_h is None


def test_what_cannot_all_be_kept_keeps_the_most():
    """Two overdue tanks and five hours: the one that would be lost is boiled, though the smaller.

    Tank 1 is 3 days old and reaches four in a day; tank 2 is 6.8 and is lost in five hours.
    """
    plan = boil_plan(
        [held("tank 1", 40, 72), held("tank 2", 30, 163)], PAN, (Window(0, 5), Window(48, 60))
    )
    assert order(plan)[0] == ("tank 2", "boil")


def test_least_batch():
    """Two inches on 12 ft²: 12 × 144 × 2 / 231."""
    assert least_batch_gal(12) == pytest.approx(14.96, abs=0.01)
