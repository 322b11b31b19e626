"""``fieldvoice today``: the board on the wall, plain when piped, as JSON for programs."""

from __future__ import annotations

import json
from datetime import datetime, timedelta, timezone

import pytest

from fieldvoice.book import Book
from fieldvoice.cli.big_letters import big
from fieldvoice.cli.today import lines
from fieldvoice.dialogue import Settings
from fieldvoice.dialogue.board import board
from fieldvoice.schema import Act, meaning_from
from fieldvoice.transcript import typed

NOW = datetime(2027, 3, 5, 9, tzinfo=timezone(timedelta(hours=-5)))

NOTES = [
    (30, {"act": "vessel", "vessel": "tank 1", "capacity_gal": 50}),
    (30, {"act": "store", "vessel": "tank 1", "volume_gal": 25}),
    (4, {"act": "store", "vessel": "tank 2", "volume_gal": 20}),
    (3, {"act": "reading", "vessel": "tank 2", "temp_f": 38}),
    (2, {"act": "store", "vessel": "tote 1", "volume_gal": 9, "sap": "sour"}),
    (1, {"act": "reading", "vessel": "tank 3", "volume_gal": 0}),
]


@pytest.fixture
def shown():
    with Book.in_memory_copy() as book:
        for hours_ago, fields in NOTES:
            act = meaning_from(fields)
            assert isinstance(act, Act)
            book.take(
                at=NOW - timedelta(hours=hours_ago), source="typed", heard=typed("words"),
                outcome="saved", meanings=[act], reply="", notes=[act],
            )  # fmt: skip
        return board(book.season(), Settings(), NOW)


def test_what_spoils_first_is_on_top(shown):
    """Tank 1 came at three yesterday morning, tank 2 today; the sour tote and the empty tank last.

    40 °F is taken for tank 1: 40.9 h, until tonight at eight; 3.1 h at the boil before that.
    """
    assert [(row.vessel, row.order, row.do) for row in shown.rows] == [
        ("tank 1", 1, "by 4:20 pm"), ("tank 2", 2, "by Sat 6:00 pm"), ("tote 1", None, "dump"),
        ("tank 3", None, ""),
    ]  # fmt: skip
    assert shown.headline == "boil tank 1"
    assert shown.lines[0] == "Boil tank 1 first today: light the fire by 4:20 pm."
    assert "Don't boil tote 1: dump and wash." in shown.lines


@pytest.mark.parametrize("width", [40, 80, 120])
def test_it_fits_the_terminal(shown, width):
    """No line is longer than the terminal is wide, colours apart."""
    import click

    drawn = [click.unstyle(line) for line in lines(shown, width)]
    assert max(map(len, drawn)) <= width
    assert any("tank 1" in line and line.rstrip().endswith("4:20 pm") for line in drawn)
    assert any("25 of 50 gal" in line for line in drawn) == (width > 40)
    assert any("25 gal" in line for line in drawn) == (width == 40)
    assert any("██" in line for line in drawn) == (width > 40)


def test_a_fire_that_burns_need_not_be_lit(run):
    """While it boils the board says so, and not when to light the fire."""
    run("say", "poured forty gallons into tank one")
    assert "light the fire by" in run("today").out
    run("say", "lit the arch")
    told = run("today").out
    assert "Boiling since 9:10 am: no sap noted on it." in told
    assert "It all fits" not in told


def test_big_letters_stand_three_lines_high():
    assert big("L") == ["█", "█", "█▄▄"]
    assert len({len(line) for line in big("HHH")}) == 1


def test_piped_it_is_plain_and_as_json_it_has_its_values(run):
    """No colour in a pipe; the machine interface's units."""
    run("say", "poured eleven gallons into tank one")
    plain = run("today").out
    assert "\x1b[" not in plain
    assert "tank 1" in plain
    told = json.loads(run("today", "--json").out)
    assert set(told) == {"at", "plan"}
    (one,) = told["plan"]
    assert {key: one[key] for key in ("vessel", "verdict", "volume_gal", "age_h")} == {
        "vessel": "tank 1", "verdict": "can wait", "volume_gal": 11, "age_h": 0,
    }  # fmt: skip
    assert one["by"] == json.loads(run("say", "what should i boil", "--json").out)["plan"][0]["by"]


def test_a_forecast_from_a_file_makes_haste(run, tmp_path):
    """Warm days told by ``fieldvoice weather``: JSON and talk name the same, earlier hour."""
    run("say", "poured forty gallons into tank one")
    run("say", "tank one is at thirty four degrees")
    before = json.loads(run("today", "--json").out)["plan"][0]["by"]
    days = tmp_path / "week.csv"
    days.write_text("day,low_f,high_f\n2027-03-05,44,62\n2027-03-06,48,66\n2027-03-07,48,66\n")
    run("weather", str(days))
    after = json.loads(run("today", "--json").out)["plan"][0]["by"]
    assert after < before
    assert json.loads(run("say", "what should i boil", "--json").out)["plan"][0]["by"] == after
