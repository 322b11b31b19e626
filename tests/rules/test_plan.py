"""The boil plan: hours worked by hand, every order tried, and what moves a verdict.

The pan is that of trade facts' table 8.1: eight square feet at a gallon a square foot an hour, so
eight gallons of water an hour and 0.4 h to light it. Sap of 2 Brix leaves 1/43.4 of itself as syrup
(exact balance). Wearing is the square-root law: 40 °F wears 1.17 days a day, 50 °F 2.25, 32 °F 0.56
(trade facts, table 4.3). That two days are given, and who goes first, is this house's choice.
"""

from __future__ import annotations

import random
from datetime import datetime, timedelta, timezone
from itertools import permutations
from pathlib import Path

import pytest

from fieldvoice.errors import RangeError
from fieldvoice.rules.plan import LEAST_GAL, Pans, Stored, boil_plan, least_batch_gal
from fieldvoice.rules.sap_clock import SapLot, clock_of
from fieldvoice.rules.storage import spoilage_rate

FRIDAY = datetime(2027, 3, 5, 9, 10, tzinfo=timezone(timedelta(hours=-5)))
PANS = Pans(8.0, 0.4, 10.0)


def at(text: str) -> datetime:
    """Return a time of that week: "Sat 16:20"."""
    day, hour = text.split()
    days = ["Fri", "Sat", "Sun", "Mon", "Tue", "Wed", "Thu"].index(day)
    hours, minutes = map(int, hour.split(":"))
    return FRIDAY.replace(hour=hours, minute=minutes) + timedelta(days=days)


def held(
    name: str, gal: float | None = 40.0, came: datetime = FRIDAY, temp_f: float | None = 38.0,
    sap: str | None = "clear", **more: object,
) -> Stored:  # fmt: skip
    readings = () if temp_f is None else ((came, temp_f),)
    return Stored(name, (SapLot(came, readings, sap),), gal, sap, **more)  # type: ignore[arg-type]


def lasts(plan):
    return {step.name: step.by for step in plan.steps}


@pytest.mark.outside(
    "boil-order", by="Olley and Ratkowsky 1973 and the exact sugar balance, worked by hand"
)
def test_the_worked_example_that_is_printed():
    """Two tanks and one pan, by hand; the page on the ledger prints the same hours."""
    rate_40 = ((1 + 0.1 * (40 - 32) / 1.8) / (1 + 0.1 * (38 - 32) / 1.8)) ** 2
    assert rate_40 == pytest.approx(1.1736, abs=1e-4)
    tank_1_keeps = at("Fri 9:10") + timedelta(hours=48)
    tank_2_keeps = at("Fri 15:10") + timedelta(hours=48 / rate_40)
    assert tank_1_keeps == at("Sun 9:10")
    assert abs(tank_2_keeps - at("Sun 8:04")) < timedelta(minutes=1)
    # Of 40 gal 39.08 are water: 4.885 h; of 20 gal 19.54: 2.443 h. Sunday's fire boils from 8:24
    # on, so that tank 1 has 46 minutes there and 4.118 h before nine on Saturday evening.
    tank_1_h, tank_2_h = (gal * (1 - 1 / 43.4) / 8 for gal in (40, 20))
    begins_1 = at("Sat 21:00") - timedelta(hours=tank_1_h - 46 / 60)
    begins_2 = begins_1 - timedelta(hours=tank_2_h)
    lit = timedelta(hours=0.4)
    assert abs(begins_1 - lit - at("Sat 16:29")) < timedelta(minutes=1)
    assert abs(begins_2 - lit - at("Sat 14:02")) < timedelta(minutes=1)
    plan = boil_plan(
        [held("tank 1"), held("tank 2", 20, at("Fri 15:10"), None)], PANS, at("Fri 15:10")
    )
    assert [step.name for step in plan.steps] == ["tank 2", "tank 1"]
    assert lasts(plan) == {"tank 2": at("Sat 14:00"), "tank 1": at("Sat 16:20")}
    assert [step.verdict for step in plan.steps] == ["boil", "can wait"]
    page = (Path(__file__).parents[2] / "docs" / "ledger.md").read_text(encoding="utf-8")
    for printed in ("Sunday 9:10", "Sunday 8:04", "Saturday 2:00 pm", "Saturday 4:20 pm"):
        assert printed in page


def finishes(order, begin, boil_h):
    """Return when each of an order is boiled, begun at ``begin``; worked hour by hour of a day."""
    now, lit, found = begin, False, {}
    for name in order:
        left = boil_h[name]
        while left > 1e-9:
            opens, shuts = now.replace(hour=8, minute=0), now.replace(hour=21, minute=0)
            if now >= shuts:
                now, lit = opens + timedelta(days=1), False
                continue
            if not lit:
                now, lit = max(now, opens) + timedelta(hours=0.4), True
            took = min(left, max(0.0, (shuts - now) / timedelta(hours=1)))
            now, left = now + timedelta(hours=took), left - took
            if left > 1e-9:
                now, lit = opens + timedelta(days=1), False
        found[name] = now
    return found


@pytest.mark.parametrize("seed", range(25))
def test_the_last_hour_against_every_order(seed):
    """Lit by the first last hour all is boiled in time; ten minutes more and no order does it."""
    chance = random.Random(seed)
    stored = [
        held(f"tank {n}", chance.uniform(15, 90), FRIDAY + timedelta(hours=chance.uniform(0, 8)),
             chance.uniform(33, 46))
        for n in range(chance.randint(1, 4))
    ]  # fmt: skip
    plan = boil_plan(stored, PANS, FRIDAY + timedelta(hours=8))
    first = min(plan.steps, key=lambda step: step.by)
    if first.by <= FRIDAY + timedelta(hours=8):
        return  # more than can be boiled: nothing is promised
    boil_h = {step.name: step.boil_h for step in plan.steps}
    ends = {step.name: step.keeps_until + timedelta(seconds=1) for step in plan.steps}

    def all_in_time(order, begin):
        return all(end <= ends[name] for name, end in finishes(order, begin, boil_h).items())

    assert all_in_time([step.name for step in plan.steps], first.by)
    too_late = first.by + timedelta(minutes=11)
    if first.by.hour < 20:
        assert not any(all_in_time(order, too_late) for order in permutations(boil_h))


@pytest.mark.parametrize("hours", [0, 3, 20, 47.9, 48.1, 95.9, 96.1, 167.9, 168.1, 400])
def test_the_hour_of_asking_moves_nothing(hours):
    """N2 of the trade corrections: nothing jumps at two, four or seven days."""
    stored = [held("tank 1"), held("tank 2", 20, temp_f=None)]
    early = boil_plan(stored, PANS, FRIDAY)
    late = boil_plan(stored, PANS, FRIDAY + timedelta(hours=hours))
    assert lasts(late) == lasts(early)
    assert all(step.verdict != "dump" for step in late.steps)


@pytest.mark.parametrize("temp_f", [38.0, 39.9, 40.0, 44.9, 45.0, 50.0])
def test_a_tenth_of_a_degree_moves_it_by_minutes(temp_f):
    """A reading is no better than a degree or two, so that no step hangs on a tenth."""
    cold, warm = (
        boil_plan([held("tank 1", temp_f=one)], PANS, FRIDAY).steps[0]
        for one in (temp_f, temp_f + 0.1)
    )
    assert timedelta(0) <= cold.keeps_until - warm.keeps_until <= timedelta(minutes=45)


def test_more_sap_and_signs_bring_it_nearer_and_never_put_it_off():
    """Fresh sap on old, a second tank, a cloudy sample: no last hour gets later."""
    now = at("Fri 20:00")
    (alone,) = boil_plan([held("tank 1")], PANS, now).steps
    both = boil_plan([held("tank 1"), held("tank 2", 60, at("Fri 19:00"))], PANS, now)
    assert lasts(both)["tank 1"] <= alone.by
    old, new = SapLot(FRIDAY, ((FRIDAY, 38.0),)), SapLot(now, ((now, 38.0),))
    (mixed,) = boil_plan([Stored("tank 1", (old, new), 60.0)], PANS, now).steps
    assert mixed.by < alone.by
    assert mixed.keeps_until == alone.keeps_until
    for seen in ("Fri 20:00", "Sat 18:00", "Mon 9:00"):
        turned = SapLot(FRIDAY, ((FRIDAY, 38.0),), "cloudy", at(seen))
        (cloudy,) = boil_plan([Stored("tank 1", (turned,), 40.0, "cloudy")], PANS, at(seen)).steps
        assert cloudy.by <= max(alone.by, at("Fri 20:00"))
        assert cloudy.verdict == "boil"
        assert cloudy.apart


def test_signs_dump_and_the_clock_does_not():
    """Sour and ropey go first and out; clear sap of three weeks is boiled after a smell."""
    later = FRIDAY + timedelta(days=21)
    plan = boil_plan(
        [held("tank 1"), held("tank 2", sap="ropey"), held("tank 3", sap="sour")], PANS, later
    )
    assert [(step.name, step.verdict) for step in plan.steps] == [
        ("tank 1", "boil"), ("tank 2", "dump"), ("tank 3", "dump"),
    ]  # fmt: skip
    assert [one.level for one in plan.findings] == ["care", "stop"]


def test_budding_sap_keeps_no_good_sap_waiting():
    """It is boiled last and by itself, and does not bring the other's last hour nearer."""
    alone = boil_plan([held("tank 1")], PANS, FRIDAY)
    plan = boil_plan([held("tank 1"), held("tank 2", 60, temp_f=45, sap="buddy")], PANS, FRIDAY)
    assert [step.name for step in plan.steps] == ["tank 1", "tank 2"]
    assert plan.steps[0].by == alone.steps[0].by
    assert plan.steps[1].apart


def test_half_a_days_work_is_not_left_to_wait():
    """6.5 h may wait: 50 gal are 6.1 h at the boil, 60 gal 7.3."""
    assert boil_plan([held("tank 1", 50)], PANS, FRIDAY).steps[0].verdict == "can wait"
    assert boil_plan([held("tank 1", 60)], PANS, FRIDAY).steps[0].verdict == "boil"
    two = boil_plan([held("tank 1", 30), held("tank 2", 45, at("Fri 9:40"))], PANS, FRIDAY)
    assert [step.verdict for step in two.steps] == ["boil", "can wait"]


def test_what_fits_today():
    """From 9:10 to noon are 2.43 h at the boil: 19.5 gal of water, half of the 39.1 in 40 gal."""
    plan = boil_plan([held("tank 1")], PANS, FRIDAY, until=at("Fri 12:00"))
    assert plan.now_gal == pytest.approx(2.433 * 8 / 39.08 * 40, abs=0.05)
    assert plan.steps[0].by == boil_plan([held("tank 1")], PANS, FRIDAY).steps[0].by
    whole = boil_plan([held("tank 1")], PANS, FRIDAY)
    assert whole.now_end is not None
    assert abs(whole.now_end - at("Fri 14:27")) < timedelta(minutes=1)
    assert whole.now_syrup_gal == pytest.approx(40 / 43.4, abs=0.005)


def test_a_fire_that_burns_has_its_own_sap_first():
    """Busy till noon and lit: 4.885 h from noon on."""
    busy = Pans(8.0, 0.4, 10.0, at("Fri 12:00"))
    (step,) = boil_plan([held("tank 1")], busy, FRIDAY).steps
    assert step.begin == at("Fri 12:00")
    assert step.end is not None
    assert abs(step.end - at("Fri 16:53")) < timedelta(minutes=1)


def test_two_pans_do_the_work_of_both():
    """12 gal an hour instead of 8: 3.26 h, so that Saturday's fire may be lit later."""
    one = boil_plan([held("tank 1")], PANS, FRIDAY).steps[0]
    two = boil_plan([held("tank 1")], Pans(12.0, 0.4, 10.0), FRIDAY).steps[0]
    assert two.boil_h == pytest.approx(one.boil_h * 8 / 12)
    assert two.by > one.by


@pytest.mark.parametrize(
    ("air_f", "keeps_h"),
    [
        # From noon of a day on as warm as that: 38 °F falling or rising evenly till then. By hand
        # with the mean of root squares; 32 °F wears 0.5625 days a day, 55 °F 2.918.
        (32.0, 2 * 24 / 0.5625), (55.0, 2 * 24 / 2.918),
    ],
)  # fmt: skip
def test_weather_told_moves_it(air_f, keeps_h):
    """Days told for the whole week, of sap of which nothing was read and that came at noon."""
    noon = at("Fri 12:00")
    air = tuple((noon + timedelta(days=day), air_f) for day in range(8))
    (step,) = boil_plan([held("tank 1", came=noon, temp_f=None)], PANS, noon, air=air).steps
    assert (step.keeps_until - noon) / timedelta(hours=1) == pytest.approx(keeps_h, abs=0.1)
    (inside,) = boil_plan(
        [held("tank 1", came=noon, temp_f=None, outdoors=False)], PANS, noon, air=air
    ).steps
    assert (inside.keeps_until - noon) / timedelta(hours=1) == pytest.approx(48 / 1.1736, abs=0.1)


def test_weather_told_colours_no_day_before_it():
    """Told on Sunday of Sunday: what was used up by the end of Saturday is the same."""
    lot = SapLot(FRIDAY, ((FRIDAY, 38.0),))
    alone = clock_of(lot)
    for mean_f in (20.0, 60.0):
        told = clock_of(lot, ((at("Sun 12:00"), mean_f),))
        for hours in (10.0, 30.0, 38.8):
            assert told.worn_at(hours) == pytest.approx(alone.worn_at(hours), abs=1e-12)
    # A cold day told makes no later day cold that was not: back at 38 °F within the hour.
    cold = clock_of(lot, ((at("Sat 12:00"), 20.0),))
    assert cold.temp_at(24 + 2) < 38
    assert cold.temp_at(24 + 24) == 38


def test_a_clock_against_a_fine_sum():
    """Readings, a day told and one not told: the exact integral against 20,000 short steps."""
    lot = SapLot(FRIDAY, ((FRIDAY, 36.0), (at("Fri 18:00"), 41.0)))
    clock = clock_of(lot, ((at("Sat 12:00"), 48.0), (at("Mon 12:00"), 33.0)))
    steps = 20_000
    total = sum(spoilage_rate(clock.temp_at(96 * (n + 0.5) / steps)) for n in range(steps))
    assert clock.worn_at(96) == pytest.approx(total * 96 / steps / 24, rel=1e-4)
    for days in (0.1, 0.5, 1.0, 2.0, 4.0, 9.0):
        assert clock.worn_at(clock.reaches(days)) == pytest.approx(days, abs=1e-9)


def test_concentrate_spoils_sooner():
    """Twice as fast at 4 Brix (told to be boiled the same day), no faster at 3 than at 2."""
    keeps = {
        brix: boil_plan([held("tank 1", brix=brix)], PANS, FRIDAY).steps[0].keeps_until - FRIDAY
        for brix in (2.0, 3.0, 4.0)
    }
    assert keeps[3.0] == keeps[2.0] == 2 * keeps[4.0]


def test_room_in_the_tanks_after_today():
    """50 of 55 gal: boiled tonight there is room for 55."""
    tank = held("tank 1", 50, capacity_gal=55)
    assert boil_plan([tank], PANS, FRIDAY).room_gal == pytest.approx(55)


def test_least_batch():
    """Two inches on 12 ft²: 12 × 144 × 2 / 231; ten gallons where no pan was told."""
    assert least_batch_gal(12) == pytest.approx(14.96, abs=0.01)
    assert LEAST_GAL == 10
    plan = boil_plan([held("tank 1", 5)], PANS, FRIDAY)
    assert plan.is_small
    assert not boil_plan([held("tank 1", None)], PANS, FRIDAY).is_small


def test_nothing_to_boil_and_what_is_misheard():
    assert boil_plan([], PANS, FRIDAY).findings[0].text == "Nothing is stored."
    (huge,) = boil_plan([held("tank 1", 1e5)], PANS, FRIDAY).steps
    assert huge.by <= FRIDAY
    with pytest.raises(RangeError, match="No limit"):
        boil_plan([held("tank 1")], PANS, FRIDAY, limit_name="mine")


@pytest.mark.parametrize(
    ("stored", "texts"),
    [
        ([held("tank 1")], ["It can wait."]),
        ([held("tank 1"), held("tank 2", 10, at("Sat 9:00"))],
         ["All of it can wait; tank 1 goes first, then tank 2."]),
        ([held("tank 1", 60), held("tank 2", 10, sap="sour")],
         ["Boil tank 1.", "Don't boil tank 2: dump and wash."]),
        ([held("tank 1", 60), held("tank 2", sap="cloudy")],
         ["Boil tank 2 first, by itself, then tank 1."]),
    ],
)  # fmt: skip
def test_what_is_said(stored, texts):
    assert [finding.text for finding in boil_plan(stored, PANS, FRIDAY).findings] == texts
