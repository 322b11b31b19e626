"""Names, amounts and times as they stand in replies."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from fieldvoice.conversation.same import simplest
from fieldvoice.meaning import meaning_from
from fieldvoice.nlg import wording as w
from fieldvoice.understanding.dates import date_of

NOW = datetime(2027, 3, 5, 9, 10, tzinfo=timezone(timedelta(hours=-5)))
FRIDAY = NOW.date()

NUMBERS = [
    ([3], "3"),
    ([3, 7], "3 and 7"),
    ([3, 7, 9], "3, 7 and 9"),
    ([10, 11], "10 and 11"),
    ([10, 11, 12], "10 to 12"),
    ([1, 10, 11, 12, 20], "1, 10 to 12 and 20"),
]


@pytest.mark.parametrize(("numbers", "told"), NUMBERS)
def test_number_lists(numbers: list[int], told: str) -> None:
    """Runs of three and more are ranges."""
    assert w.number_list(numbers) == told


def test_named_trees_stand_by_their_names() -> None:
    """A list of names and numbers names each."""
    assert w.tree_names(["old king", 7]) == "tree 7 and old king"


# 1 US gallon = 3.785411784 litres = 4 quarts (exact definitions).
VOLUMES = [
    (2.5, False, "2.5 gal"),
    (0.25, False, "1 qt"),
    (0.75, False, "3 qt"),
    (0.5, False, "0.5 gal"),
    (52.834, False, "52.8 gal"),
    (1.0, True, "3.8 L"),
    (10.0, True, "38 L"),
]


@pytest.mark.parametrize(("gallons", "metric", "told"), VOLUMES)
def test_volumes(gallons: float, metric: bool, told: str) -> None:
    """No more figures than the amount deserves."""
    assert w.volume(gallons, metric) == told


AGO = [
    (timedelta(seconds=30), "just now"),
    (timedelta(minutes=20), "20 minutes ago"),
    (timedelta(hours=1), "an hour ago"),
    (timedelta(hours=5), "5 hours ago"),
    (timedelta(hours=14), "yesterday"),
    (timedelta(days=2), "2 days ago"),
]


@pytest.mark.parametrize(("passed", "told"), AGO)
def test_ago(passed: timedelta, told: str) -> None:
    """Days are counted by the calendar: last evening was yesterday."""
    assert w.ago(NOW - passed, NOW) == told


def test_ago_counts_days_where_the_listener_is() -> None:
    """A time written with another offset is the same moment."""
    assert w.ago((NOW - timedelta(hours=14)).astimezone(UTC), NOW) == "yesterday"


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
SAME = [
    ([{"mention": {"tree": 12}}, {**INSPECT, "fill": 1.0}], [{**INSPECT, "fill": 1.0}]),
    (
        [{**INSPECT, "fill": 1.0}, {**INSPECT, "sap": "clear"}],
        [{**INSPECT, "fill": 1.0, "sap": "clear"}],
    ),
    ([{"do": "confirm"}, {**INSPECT, "fill": 1.0}], [{**INSPECT, "fill": 1.0}]),
]
APART = [
    [{**INSPECT, "fill": 1.0}, {**INSPECT, "fill": 0.5}],
    [{**INSPECT, "fill": 1.0}, {"act": "inspect", "tree": 13, "sap": "clear"}],
    [{"act": "gather", "tree": 9, "volume_gal": 1.0}, {"act": "gather", "tree": 9, "fill": 0.5}],
    [{"mention": {"tree": 13}}, {**INSPECT, "fill": 1.0}],
    [{"do": "confirm"}],
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
