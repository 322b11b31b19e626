"""Sap's age at 38 °F: the published square-root law, and this house's advice levels on it."""

from __future__ import annotations

import pytest

from fieldvoice.errors import RangeError
from fieldvoice.rules.storage import BOIL_BY_DAYS, spoilage_rate, storage_age

# °F, rate against 0 °C, rate against 38 °F: r(T) = (1 + 0.1 T)², Olley and Ratkowsky 1973,
# tabulated by hand; then life in days for 7 and for 2 days at 38 °F.
RATES = [
    (32, 1.000, 0.562, 12.4, 3.6),
    (35, 1.361, 0.766, 9.1, 2.6),
    (38, 1.778, 1.000, 7.0, 2.0),
    (40, 2.086, 1.174, 6.0, 1.7),
    (45, 2.966, 1.668, 4.2, 1.2),
    (50, 4.000, 2.250, 3.1, 0.9),
    (55, 5.188, 2.918, 2.4, 0.7),
    (60, 6.531, 3.674, 1.9, 0.5),
    (70, 9.679, 5.444, 1.3, 0.4),
]


@pytest.mark.outside(
    "storage-age", by="Olley and Ratkowsky 1973: (1 + 0.1 T)², worked by hand at nine temperatures"
)
@pytest.mark.parametrize(("temp_f", "against_0c", "against_38f", "life_7", "life_2"), RATES)
def test_rate_table(temp_f, against_0c, against_38f, life_7, life_2):
    rate = spoilage_rate(temp_f)
    assert rate == pytest.approx(against_38f, abs=0.001)
    assert rate / spoilage_rate(32) == pytest.approx(against_0c, abs=0.001)
    assert 7 / rate == pytest.approx(life_7, abs=0.06)
    assert 2 / rate == pytest.approx(life_2, abs=0.06)


def test_a_day_at_38_is_a_day():
    assert storage_age(24, [(0, 38)]).equivalent_days == pytest.approx(1.0)


def test_three_days_in_the_shed_at_forty():
    age = storage_age(72, [(10, 40)])
    assert age.equivalent_days == pytest.approx(3 * 1.174, abs=0.005)
    assert age.level == "boil now"


def test_evenly_changing_temperature_matches_a_fine_sum():
    """The exact integral of the law against adding up 10,000 short steps of it."""
    steps = 10_000
    total = sum(spoilage_rate(34 + 16 * (n + 0.5) / steps) for n in range(steps)) / steps
    assert storage_age(24, [(24, 34), (0, 50)]).equivalent_days == pytest.approx(total, rel=1e-6)


def test_readings_hold_before_the_first_and_after_the_last():
    """Steady 50 °F for the first day, an even fall to 38 in six hours, then 38 to the end."""
    age = storage_age(48, [(24, 50), (18, 38)])
    falling = storage_age(6, [(6, 50), (0, 38)]).equivalent_days
    assert age.equivalent_days == pytest.approx(2.25 + falling + 18 / 24, abs=1e-3)


def test_order_of_readings_does_not_matter():
    assert storage_age(48, [(0, 50), (30, 35)]) == storage_age(48, [(30, 35), (0, 50)])


def test_readings_from_before_the_sap_came_in_count_only_from_then():
    """A vessel read 34 °F yesterday and 40 °F now: half a day ago it is taken to be at 37 °F."""
    age = storage_age(12, [(24, 34), (0, 40)])
    assert age.equivalent_days == pytest.approx(
        storage_age(12, [(12, 37), (0, 40)]).equivalent_days
    )


def test_sap_just_poured_in_takes_the_last_temperature_read():
    age = storage_age(0, [(30, 35), (5, 41)])
    assert (age.equivalent_days, age.temp_f) == (0, 41)
    assert storage_age(3, [(30, 35), (20, 38), (5, 41)]).equivalent_days == pytest.approx(
        3 / 24 * spoilage_rate(41)
    )
    assert storage_age(10, [(12, 35), (8, 41)]).equivalent_days == pytest.approx(
        storage_age(10, [(10, 38), (8, 41)]).equivalent_days
    )


@pytest.mark.parametrize(
    ("days", "level", "loudness"),
    [
        (0.5, "fresh", "note"),
        (1.5, "boil next", "note"),
        (1.9, "due", "care"),
        (2.1, "due", "care"),
        (3.0, "boil now", "care"),
        (5.0, "clear only", "care"),
        (20.0, "clear only", "care"),
    ],
)
def test_advice_levels(days, level, loudness):
    """Levels on days at 38 °F are this house's choice (1, 2 and 4 days, words over a tenth)."""
    age = storage_age(days * 24, [(0, 38)])
    assert age.level == level
    assert (age.findings[0].rule, age.findings[0].level) == ("storage-age", loudness)


@pytest.mark.parametrize("hours", [23.9, 24, 47.9, 95.9, 167.9])
@pytest.mark.parametrize("limit", ["quality", "practice", "week"])
def test_nothing_jumps_at_a_whole_day(hours, limit):
    """N2 of the trade corrections: 47.9 and 48.1 h are told alike, and no clock says stop."""
    before, after = (
        storage_age(h, [(0, 38)], limit_name=limit).findings[0] for h in (hours, hours + 0.2)
    )
    assert (before.text, before.level) == (after.text, after.level)
    assert after.level != "stop"


@pytest.mark.parametrize("temp_f", [40.0, 45.0, 50.0])
def test_nothing_jumps_at_a_whole_degree(temp_f):
    """N2: 45.0 and 45.1 °F are told alike, for thermometers are off by a degree or two."""
    told = [
        [(f.level, f.text) for f in storage_age(1, [(0, one)]).findings if "warm" in f.rule]
        for one in (temp_f, temp_f + 0.1)
    ]
    assert told[0] == told[1]
    assert all(level != "stop" for level, _ in told[1])


def test_hours_left_use_the_temperature_now():
    age = storage_age(24, [(0, 38)])
    assert age.hours_left == pytest.approx((BOIL_BY_DAYS - 1) * 24)
    assert storage_age(24, [(24, 38), (0.001, 38), (0, 50)]).hours_left == pytest.approx(
        24 / 2.25, rel=1e-3
    )
    assert storage_age(96, [(0, 38)]).hours_left == 0


def test_frozen_sap_has_the_time_left_that_it_has_at_the_freezing_point():
    assert storage_age(0, [(0, 5)]).hours_left == storage_age(0, [(0, 32)]).hours_left


@pytest.mark.outside(
    "storage-warm", by="town programme: treat sap like milk, under 40 °F; above 45 °F it spoils"
)
@pytest.mark.parametrize(
    ("temp_f", "level"), [(38, None), (40, "note"), (42, "care"), (45, "care"), (50, "care")]
)
def test_warm_sap_is_said(temp_f, level):
    found = [f.level for f in storage_age(1, [(0, temp_f)]).findings if f.rule == "storage-warm"]
    assert found == ([level] if level else [])


@pytest.mark.outside(
    "storage-temperature-unknown", by="town programme: treat sap like milk, keep it under 40 °F"
)
def test_unread_temperature_is_taken_as_forty_and_said():
    age = storage_age(24)
    assert age.assumed
    assert age.equivalent_days == pytest.approx(1.174, abs=0.001)
    assert "storage-temperature-unknown" in [f.rule for f in age.findings]
    assert not storage_age(24, [(0, 40)]).assumed


@pytest.mark.parametrize("age_h", [0, 12, 40, 90, 150, 400])
@pytest.mark.parametrize("temp_f", [33, 40, 55])
def test_never_calls_sap_safe(age_h, temp_f):
    for finding in storage_age(age_h, [(0, temp_f)]).findings:
        assert "safe" not in finding.text + finding.why


def test_older_or_warmer_sap_is_never_fresher():
    by_age = [storage_age(h, [(0, 41)]).equivalent_days for h in range(0, 200, 5)]
    by_warmth = [storage_age(48, [(0, t)]).equivalent_days for t in range(20, 80)]
    assert by_age == sorted(by_age)
    assert by_warmth == sorted(by_warmth)


@pytest.mark.parametrize(
    ("age_h", "readings"), [(-1, ()), (3000, ()), (5, [(0, 130)]), (5, [(0, float("nan"))])]
)
def test_out_of_range(age_h, readings):
    with pytest.raises(RangeError, match="must be from 0 to"):
        storage_age(age_h, readings)


@pytest.mark.parametrize(
    ("limit", "days", "level"),
    [
        # Common practice: 3 to 5 days, sooner when warm. Repeated: 38 °F and 7 days.
        ("quality", 2.5, "boil now"), ("practice", 2.5, "boil next"), ("practice", 4, "boil now"),
        ("practice", 6, "clear only"), ("week", 2.5, "fresh"), ("week", 6, "boil next"),
        ("week", 7.5, "due"), ("week", 8, "clear only"), ("practice", 7.5, "clear only"),
    ],
)  # fmt: skip
def test_limits_of_others(limit, days, level):
    aged = storage_age(days * 24, [(0, 38)], limit_name=limit)
    assert aged.level == level
    assert "limit in force" in aged.findings[0].why


def test_an_unknown_limit_lists_the_known():
    with pytest.raises(RangeError, match="quality, practice, week"):
        storage_age(10, limit_name="mine")
