"""``fieldvoice today``: the board on the wall, plain when piped, as JSON for programs."""

from __future__ import annotations

import json
import os
import sys
from contextlib import suppress
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


def board_of(settings):
    with Book.in_memory_copy() as book:
        for hours_ago, fields in NOTES:
            act = meaning_from(fields)
            assert isinstance(act, Act)
            book.take(
                at=NOW - timedelta(hours=hours_ago), source="typed", heard=typed("words"),
                outcome="saved", meanings=[act], reply="", notes=[act],
            )  # fmt: skip
        return board(book.season(), settings, NOW)


@pytest.fixture
def shown():
    return board_of(Settings())


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


def test_the_jars_and_the_wood_are_told_as_by_voice(shown):
    """The same two sentences as the answer to "and then what" has."""
    fits = next(at for at, line in enumerate(shown.lines) if line.startswith("It all fits"))
    jars, wood = shown.lines[fits + 1 : fits + 3]
    assert jars == "Have 8 pints or 4 quarts ready."
    assert wood == "About a wheelbarrow of split wood."


def test_jars_are_metric_where_the_book_is():
    """4.1 L of syrup, which are 8 pints (0.473 L) to the nearest."""
    told = board_of(Settings(metric=True)).lines
    assert "Have 8 half-liter jars or 4 liter jars ready." in told


@pytest.mark.parametrize("metric", [False, True])
@pytest.mark.parametrize("width", [40, 50, 60, 80, 120, 200])
def test_it_fits_the_terminal_and_no_word_is_lost(width, metric):
    """No line is longer than the terminal is wide, colours apart."""
    import click

    shown = board_of(Settings(metric=metric))
    drawn = [click.unstyle(line) for line in lines(shown, width)]
    assert max(map(len, drawn)) <= width
    told = " ".join(drawn)
    for row in shown.rows:
        for word in (row.vessel, row.level, row.do, row.sap):
            assert word is None or word in told
    assert any("░" in line for line in drawn) == (width >= 80)
    assert (" L" in told) == metric


def test_q_leaves_the_board(program, tmp_path):
    """On a terminal, which is a pseudo-terminal here."""
    pty = pytest.importorskip("pty")
    book = str(tmp_path / "b.db")
    program("say", "poured forty gallons into tank one", "--book", book)
    told = bytearray()

    def read(terminal):
        data = os.read(terminal, 4096)
        told.extend(data)
        return data

    command = [sys.executable, "-m", "fieldvoice", "today", "--book", book]
    pid, terminal = pty.fork()
    if not pid:
        os.execv(sys.executable, command)
    with suppress(OSError):  # so a terminal ends that is closed at its other side
        while b"tank 1" not in told:
            read(terminal)
        os.write(terminal, b"q")
        while read(terminal):
            pass
    assert os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == 0


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


@pytest.mark.parametrize(("width", "high"), [(40, 7), (60, 3)])
def test_the_headline_is_in_big_letters_on_a_narrow_terminal_too(shown, width, high):
    """On two lines where one has no room, with an empty line between."""
    drawn = lines(shown, width)[3 : 3 + high]
    assert big("boil" if high > 3 else shown.headline)[0] in drawn[0]
    assert big("tank 1")[2][-3:] in drawn[-1]


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
