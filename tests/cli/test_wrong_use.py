"""Every wrong use says in plain words what to do next; nothing ends in a traceback."""

from __future__ import annotations

import os
import sqlite3
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.cli.conftest import Ran

WRONG = [
    pytest.param([], "fieldvoice say", id="nothing"),
    pytest.param(["sya", "hello"], "Did you mean: fieldvoice say?", id="a slip in the command"),
    pytest.param(["dance"], "See: fieldvoice --help", id="no such command"),
    pytest.param(["say"], "For example: fieldvoice say", id="nothing said"),
    pytest.param(["say", "  "], "For example: fieldvoice say", id="only blanks said"),
    pytest.param(["say", "hello", "--stdin"], "not both", id="words and standard input"),
    pytest.param(["say", "hello", "--now", "noon"], "2027-03-05T09:10", id="no time"),
    pytest.param(["say", "hello", "--jsn"], "fieldvoice say --help", id="no such option"),
    pytest.param(["memos"], "fieldvoice memos --help", id="no recordings named"),
    pytest.param(["transcribe"], "fieldvoice transcribe --help", id="no files named"),
    pytest.param(["review", "u1"], "fieldvoice review u1", id="review without words"),
    pytest.param(["review", "--drop"], "fieldvoice review u12 --drop", id="drop what?"),
    pytest.param(["demo", "no_such"], "first_round", id="no such demo"),
    pytest.param(["phone", "--port", "80x"], "'80x' is not a whole number.", id="no number"),
    pytest.param(["check", "--seconds", "long"], "'long' is not a number.", id="no seconds"),
]


@pytest.mark.parametrize(("args", "told"), WRONG)
def test_wrong_use(run: Callable[..., Ran], args: list[str], told: str) -> None:
    """Status 2, one or two lines on standard error, nothing on standard output."""
    ran = run(*args, bare=True)
    assert ran.status == 2
    assert ran.out == ""
    assert told in ran.err
    assert len(ran.err.splitlines()) <= 2


def _a_folder(path: Path) -> None:
    path.mkdir()


def _no_database(path: Path) -> None:
    path.write_bytes(b"this is no database, it only has the name of one\n" * 40)


def _another_database(path: Path) -> None:
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE shopping (item TEXT)")


def _wrong_settings(path: Path) -> None:
    path.with_suffix(".toml").write_text("metrik = true\n", encoding="utf-8")


def _wrong_value(path: Path) -> None:
    path.with_suffix(".toml").write_text("pan_ft2 = 'big'\n", encoding="utf-8")


def _broken_settings(path: Path) -> None:
    path.with_suffix(".toml").write_text("metric = \n", encoding="utf-8")


UNREADABLE = [
    pytest.param(_no_database, "not a season book", id="no database"),
    pytest.param(_another_database, "is not a season book", id="another program's"),
]


@pytest.mark.parametrize(("make", "told"), UNREADABLE)
def test_what_cannot_be_read(
    run: Callable[..., Ran], book_path: Path, make: Callable[[Path], None], told: str
) -> None:
    """Status 1 and one line that says what is wrong with which file."""
    make(book_path)
    ran = run("say", "tree nine is full", "--json")
    assert ran.status == 1
    assert ran.out == ""
    assert told in ran.err
    assert len(ran.err.splitlines()) == 1


SETTINGS = [
    pytest.param(_wrong_settings, "no setting is called metrik", id="an unknown setting"),
    pytest.param(_wrong_value, "pan_ft2 cannot be 'big'", id="a setting of the wrong kind"),
    pytest.param(_broken_settings, "cannot be read", id="settings that are no TOML"),
]


@pytest.mark.parametrize(("make", "told"), SETTINGS)
def test_settings_that_cannot_be_read_have_their_usual_value(
    run: Callable[..., Ran], book_path: Path, make: Callable[[Path], None], told: str
) -> None:
    """One line says so, and the note is taken; the other settings in the file hold."""
    make(book_path)
    ran = run("say", "tree nine is full", "--json")
    assert (ran.status, ran.answers[0]["outcome"]) == (0, "saved")
    assert told in ran.err
    assert len(ran.err.splitlines()) == 1


def test_one_bad_setting_leaves_the_others(run: Callable[..., Ran], book_path: Path) -> None:
    text = "metric = true\npan_ft2 = 'big'\nno_such = 1\n[live]\npace = 'fast'\n"
    book_path.with_suffix(".toml").write_text(text, encoding="utf-8")
    run("say", "tank one has ten gallons")
    ran = run("say", "how much is in tank one")
    assert " L" in ran.out


def test_names_that_would_steer_the_terminal_are_shown_harmless(run: Callable[..., Ran]) -> None:
    """Escape sequences, also those of one byte, and turns of the direction of writing."""
    for words in ("make a note \x1b[31mred\x07", "make a note \x9b31mred \u202etxt.exe"):
        for more in ((), ("--json",)):
            ran = run("say", words, *more)
            assert not any(sign in ran.out + ran.err for sign in "\x1b\x07\x9b")
    assert "\x1b" not in run("history").out


def test_a_folder_is_no_book(run: Callable[..., Ran], book_path: Path) -> None:
    """Named as the book, it is wrong use."""
    _a_folder(book_path)
    ran = run("say", "tree nine is full")
    assert ran.status == 2
    assert "is a directory" in ran.err


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_book_that_may_not_be_written(run: Callable[..., Ran], book_path: Path) -> None:
    """The note is not lost silently: status 1, and a line that says why."""
    run("say", "tree nine is full")
    book_path.chmod(0o444)
    ran = run("say", "tree ten is full")
    assert ran.status == 1
    assert "Nothing was saved" in ran.err
    asked = run("say", "which buckets are full")
    assert asked.status == 0
    assert "tree 9" in asked.out


def test_a_folder_that_cannot_be(run: Callable[..., Ran], tmp_path: Path) -> None:
    """The book's folder would stand where a file is."""
    (tmp_path / "file").write_text("", encoding="utf-8")
    ran = run("say", "hello", "--book", str(tmp_path / "file" / "season.db"), bare=True)
    assert ran.status == 1
    assert len(ran.err.splitlines()) == 1


def test_help_names_every_command(run: Callable[..., Ran]) -> None:
    """The help is there without a book."""
    ran = run("--help", bare=True)
    assert ran.status == 0
    for command in ("say", "chat", "memos", "transcribe", "review", "demo", "help"):
        assert f"\n  {command} " in ran.out


def test_what_can_be_said(run: Callable[..., Ran]) -> None:
    """One example of each note, question and command, from the grammar."""
    told = run("help", bare=True).out
    assert "Tree twelve, bucket nearly full, sap cloudy." in told
    assert "What should I boil today?" in told
    assert "Scratch that." in told
