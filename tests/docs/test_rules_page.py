"""``docs/rules.md``: up to date, complete, and its charts drawn to scale."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree

import pytest

from docs.drawing import Axis, Line, chart
from docs.rules_page import HERE, charts, page
from fieldvoice.dialogue.settings import CHOICES
from fieldvoice.rules import RULES, SCHEDULES

SVG = "{http://www.w3.org/2000/svg}"


def test_the_page_is_up_to_date():
    """After a change of the rules: make docs."""
    assert (HERE / "rules.md").read_text("utf-8") == page()


@pytest.mark.parametrize("name", charts())
def test_each_chart_is_up_to_date_and_on_the_page(name):
    assert (HERE / "charts" / name).read_text("utf-8") == charts()[name]
    assert f"](charts/{name})" in page()


def test_no_chart_is_left_over():
    assert {path.name for path in (HERE / "charts").iterdir()} == set(charts())


def test_every_rule_schedule_and_setting_is_on_the_page():
    written = page()
    for rule in RULES.values():
        assert f"| `{rule.id}` | {rule.what} |" in written
    for name in SCHEDULES:
        assert f"| {name} |" in written
    for choice in CHOICES:
        assert f"| `{choice.name}` |" in written


def test_every_table_is_whole():
    """Each row has as many cells as its head."""
    for block in re.findall(r"(?:^\|.*\|\n)+", page(), re.MULTILINE):
        assert len({row.count("|") for row in block.strip().splitlines()}) == 1


def test_numbers_on_the_page_are_those_of_published_tables():
    """CRC density at 66 Brix, NBS weight at 2, IAPWS boil at 1,000 ft, sugar balance at 2 %."""
    written = page()
    assert "| 66 | 1322.4 | 11.0" in written
    assert "| 2 | 1006.0 | 8.387 |" in written
    assert "| 1000 | 28.86 | 210.1 |" in written
    assert "| 2 | 43.4 | 44.2 | 43.0 |" in written


def test_charts_tell_in_words_what_they_show():
    for drawn in charts().values():
        picture = ElementTree.fromstring(drawn)
        assert picture.find(f"{SVG}title").text
        assert len(picture.find(f"{SVG}desc").text.split()) > 8


def test_a_line_is_drawn_to_scale():
    """Corner to corner: from the lower left to the upper right of the field."""
    drawn = chart("t", "d", Axis("x", 0, 10, 5), Axis("y", 0, 2, 1), [Line("l", [(0, 0), (10, 2)])])
    (line,) = ElementTree.fromstring(drawn).findall(f"{SVG}polyline")
    (left, low), (right, high) = (map(float, one.split(",")) for one in line.get("points").split())
    assert (left, low) == (62, 360 - 52)
    assert (right, high) == (640 - 24, 46)
