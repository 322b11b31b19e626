"""Days that are named, and readings that come to the same."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone

import pytest

from fieldvoice.dialogue.same import simplest
from fieldvoice.nlu.times import date_of
from fieldvoice.schema import meaning_from

NOW = datetime(2027, 3, 5, 9, 10, tzinfo=timezone(timedelta(hours=-5)))
FRIDAY = NOW.date()

DATES = [
    ("today", FRIDAY),
    ("yesterday", date(2027, 3, 4)),
    ("tomorrow", date(2027, 3, 6)),
    ("friday", FRIDAY),
    ("saturday", date(2027, 2, 27)),
    ("monday", date(2027, 3, 1)),
    ("week", date(2027, 3, 1)),
    ("season", date(2027, 1, 1)),
    ("2027-02-11", date(2027, 2, 11)),
]


@pytest.mark.parametrize(("said", "day"), DATES)
def test_dates(said: str, day: date) -> None:
    """From a Friday, 5 March 2027 by any calendar."""
    assert date_of(said, FRIDAY) == day


INSPECT = {"act": "inspect", "tree": 12}
LIT = {"act": "boil", "phase": "start"}
SAME = [
    ([{"mention": {"tree": 12}}, {**INSPECT, "fill": 1.0}], [{**INSPECT, "fill": 1.0}]),
    (
        [{**INSPECT, "fill": 1.0}, {**INSPECT, "sap": "clear"}],
        [{**INSPECT, "fill": 1.0, "sap": "clear"}],
    ),
    ([{"do": "confirm"}, {**INSPECT, "fill": 1.0}], [{**INSPECT, "fill": 1.0}]),
    ([LIT, {**LIT, "vessel": "tank 1"}], [{**LIT, "vessel": "tank 1"}]),
]
APART = [
    [{**INSPECT, "fill": 1.0}, {**INSPECT, "fill": 0.5}],
    [{**INSPECT, "fill": 1.0}, {"act": "inspect", "tree": 13, "sap": "clear"}],
    [{"act": "gather", "tree": 9, "volume_gal": 1.0}, {"act": "gather", "tree": 9, "fill": 0.5}],
    [{"mention": {"tree": 13}}, {**INSPECT, "fill": 1.0}],
    [{"do": "confirm"}],
    [LIT, {"act": "boil", "phase": "stop"}],
    [{**LIT, "vessel": "tank 1"}, {**LIT, "vessel": "tank 2"}],
    [{"act": "boil", "vessel": "tank 1", "volume_gal": 9.0}] * 2,
]


@pytest.mark.parametrize(("said", "simple"), SAME)
def test_readings_that_come_to_the_same(said: list[dict], simple: list[dict]) -> None:
    """Names repeated by the next note go, looks at one bucket are joined."""
    meanings = tuple(map(meaning_from, said))
    assert [one.json_fields() for one in simplest(meanings)] == simple


@pytest.mark.parametrize("said", APART)
def test_what_was_said_twice_stays_two(said: list[dict]) -> None:
    """Different trees, different values and two gatherings are not one."""
    meanings = tuple(map(meaning_from, said))
    assert simplest(meanings) == meanings
