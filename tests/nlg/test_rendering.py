"""Parts of a reply as they are read and as they are heard."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from fieldvoice import segments as s
from fieldvoice.nlg import wording as w
from fieldvoice.nlg.spoken import spoken
from fieldvoice.nlg.written import PLAIN, Style, written
from fieldvoice.schema import Names
from fieldvoice.segments import fact, listed, prompt, told_of, whether

NOW = datetime(2027, 3, 5, 9, 10, tzinfo=timezone(timedelta(hours=-5)))
METRIC = Style(metric=True)
NAMED = Style(names=Names({"big yard tree": 9}, {"bulk tank": "tank 2"}))

#: Each kind of part, in the style given, as it is read and as it is heard.
PARTS: list[tuple[s.Piece, Style, str, str]] = [
    ("words; and 2 more", PLAIN, "words; and 2 more", "words. And two more"),
    (s.TreeRef((105,)), PLAIN, "tree 105", "tree one oh five"),
    (s.TreeRef((3, 7, 9)), PLAIN, "trees 3, 7 and 9", "trees three, seven and nine"),
    (s.TreeRef((1, 110, 111, 112)), PLAIN, "trees 1 and 110 to 112",
     "trees one and one ten to one twelve"),
    (s.TreeRef((10, 11)), PLAIN, "trees 10 and 11", "trees ten and eleven"),
    (s.TreeRef(("old king", 7)), PLAIN, "tree 7 and old king", "tree seven and old king"),
    (s.TreeRef((9,)), NAMED, "big yard tree", "big yard tree"),
    # A list is walked by its numbers, and they are shorter than names.
    (s.TreeRef((9, 10)), NAMED, "trees 9 and 10", "trees nine and ten"),
    (s.VesselRef("tank 2"), PLAIN, "tank 2", "tank two"),
    (s.VesselRef("tank 2"), NAMED, "bulk tank", "bulk tank"),
    # 1 US gallon = 3.785411784 litres = 4 quarts, 1 inch = 2.54 cm (exact definitions).
    (s.Quantity(2.5, "gal"), PLAIN, "2.5 gal", "two and a half gallons"),
    (s.Quantity(0.25, "gal"), PLAIN, "1 qt", "one quart"),
    (s.Quantity(0.75, "gal"), PLAIN, "3 qt", "three quarts"),
    (s.Quantity(0.0469, "gal"), PLAIN, "6 oz", "six ounces"),
    (s.Quantity(0.1562, "gal"), PLAIN, "20 oz", "twenty ounces"),
    (s.Quantity(0.1, "gal"), PLAIN, "0.1 gal", "zero point one gallons"),
    (s.Quantity(0.5, "gal"), PLAIN, "0.5 gal", "half a gallon"),
    (s.Quantity(52.834, "gal"), PLAIN, "52.8 gal", "fifty two point eight gallons"),
    (s.Quantity(1.0, "gal"), METRIC, "3.8 L", "three point eight litres"),
    (s.Quantity(10.0, "gal"), METRIC, "38 L", "thirty eight litres"),
    (s.Quantity(11.84, "gal", 1), PLAIN, "11.8 gal", "eleven point eight gallons"),
    (s.Quantity(0.7, "syrup gal"), PLAIN, "2.8 qt", "two point eight quarts"),
    (s.Quantity(1.25, "syrup gal"), PLAIN, "1.2 gal", "one point two gallons"),
    (s.Quantity(18, "in"), PLAIN, "18 in", "eighteen inches"),
    (s.Quantity(18, "in"), METRIC, "45.7 cm", "forty five point seven centimetres"),
    (s.parts(s.Quantity(5 / 16, "bit in"), "bit"), PLAIN, "5/16 in bit",
     "five sixteenths inch bit"),
    (s.Quantity(3, "ft"), PLAIN, "3 ft", "three feet"),
    (s.Quantity(3, "ft"), METRIC, "91 cm", "ninety one centimetres"),
    (s.Quantity(219.1, "°F"), PLAIN, "219.1 °F", "two nineteen point one degrees"),
    (s.Quantity(-5, "°F"), PLAIN, "-5 °F", "minus five degrees"),
    (s.Quantity(50, "°F"), METRIC, "10 °C", "ten degrees Celsius"),
    (s.Quantity(2.25, "% sugar"), PLAIN, "2.2 % sugar", "two point two percent sugar"),
    (s.Quantity(66.9, "Brix"), PLAIN, "66.9 Brix", "sixty six point nine Brix"),
    (s.Quantity(30, "%"), PLAIN, "30 %", "thirty percent"),
    (s.Quantity(0.33, "cord"), PLAIN, "0.33 cords of wood", "a third of a cord of wood"),
    (s.Quantity(1, "cord"), PLAIN, "1 cord of wood", "one cord of wood"),
    (s.Quantity(12.5, "sq ft"), PLAIN, "12.5 square feet", "twelve and a half square feet"),
    (s.Quantity(29.4, "inHg"), PLAIN, "29.4 inHg", "twenty nine point four inches of mercury"),
    (s.Level(0.5), PLAIN, "half full", "half full"),
    (s.Level(0.37), PLAIN, "37 % full", "thirty seven percent full"),
    (s.Share(1 / 3), PLAIN, "a third", "a third"),
    (s.Condition("hazy"), PLAIN, "slightly cloudy", "slightly cloudy"),
    (s.Species("sugar"), PLAIN, "sugar maple", "sugar maple"),
    (s.When(NOW - timedelta(minutes=20), NOW, "ago"), PLAIN, "20 minutes ago",
     "twenty minutes ago"),
    (s.When(NOW + timedelta(hours=9), NOW, "coming"), PLAIN, "6:10 pm", "six ten p m"),
    (s.When(NOW - timedelta(hours=2), NOW, "past"), PLAIN, "at 7:10 am", "at seven ten a m"),
    (s.When(NOW + timedelta(days=1), NOW, "clock"), PLAIN, "9:10 am", "nine ten a m"),
    (s.Day(date(2027, 3, 5)), PLAIN, "Friday, March 5", "Friday, March fifth"),
    (s.Span(5 * 3600), PLAIN, "5 hours", "five hours"),
    (s.Span(2.5 * 3600, "work"), PLAIN, "2.5 hours", "two and a half hours"),
    (s.Count(1, "tap"), PLAIN, "1 tap", "one tap"),
    (s.Count(103, "tap"), PLAIN, "103 taps", "one hundred and three taps"),
    (s.Count(4, "of 250 ml", "of 250 ml"), PLAIN, "4 of 250 ml",
     "four of two hundred and fifty millilitres"),
    (s.Count(5, "", ""), PLAIN, "5", "five"),
    (s.Lot("27064-1430"), PLAIN, "27064-1430",
     "two seven zero six four, one four three zero"),
    (s.RuleText("a", "Draw at 219.1 °F; test it."), PLAIN, "Draw at 219.1 °F; test it.",
     "Draw at two nineteen point one degrees. Test it."),
    (s.RuleText("a", "Boil tank 2.", s.parts("boil", s.VesselRef("tank 2"))), NAMED,
     "boil bulk tank", "boil bulk tank"),
    (s.Example("tree nine"), PLAIN, '"tree nine"', '"tree nine"'),
    (s.Quote("nine two gallons"), METRIC, '"nine two gallons"', '"nine two gallons"'),
]  # fmt: skip


@pytest.mark.parametrize(("part", "style", "read", "heard"), PARTS)
def test_parts(part: s.Piece, style: Style, read: str, heard: str) -> None:
    """Inside a sentence, so that a part keeps its own first letter."""
    told = (fact("so:", part),)
    assert written(told, style).removeprefix("So: ").rstrip(".") == read.rstrip(".")
    assert spoken(told, style).removeprefix("So: ").rstrip(".") == heard.rstrip(".")


def test_every_kind_of_part_is_tried() -> None:
    tried = {type(one) for part, *_ in PARTS for one in s.parts(part)}
    assert tried == set(s.Segment.__args__)


def test_things_told_of_the_same_are_one_sentence() -> None:
    tree, other = s.TreeRef((9,)), s.TreeRef((10,))
    told = (told_of(tree, "full"), told_of(tree, "cloudy"), told_of(other, "full"), fact())
    assert written(told) == "Tree 9: full, cloudy. Tree 10: full."


def test_a_rule_after_what_it_is_about_begins_small() -> None:
    told = (told_of(s.TreeRef((7,)), s.RuleText("tap-limit", "One tap.")),)
    assert written(told) == "Tree 7: one tap."
    assert s.rules_told(told) == {("tap-limit", "One tap.")}


def test_a_question_ends_as_one() -> None:
    assert written((prompt("which tree"),)) == "Which tree?"
    assert written((whether("dump", s.VesselRef("tank 1")),)) == "Dump tank 1: yes or no?"


LISTS = [((), ""), (("a",), "a"), (("a", "b"), "a and b"), (("a", "b", "c"), "a, b and c")]


@pytest.mark.parametrize(("things", "told"), LISTS)
def test_lists(things: tuple[str, ...], told: str) -> None:
    assert written((s.Sentence("fact", listed(things), ""),)) == w.start(told)


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
