"""``fieldvoice say``: the machine interface, one utterance or a conversation."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from tests.cli.conftest import NOW

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.cli.conftest import Ran

NOTE = "tree twelve bucket nearly full sap cloudy"


def test_one_utterance_is_one_json_object(run: Callable[..., Ran]) -> None:
    """With the fields and the names of the machine interface."""
    ran = run("say", NOTE, "--json")
    assert ran.status == 0
    assert ran.err == ""
    (answer,) = ran.answers
    assert answer["heard"] == NOTE
    assert answer["outcome"] == "saved"
    assert answer["meanings"] == [{"act": "inspect", "tree": 12, "fill": 0.9, "sap": "cloudy"}]
    assert answer["reply"] == "Tree 12: nearly full, cloudy. Keep it out of the tank."
    assert 0.9 < answer["confidence"] <= 1
    assert answer["records"] == ["e1"]
    assert "audio" not in answer
    (finding,) = answer["findings"]
    assert finding["rule"] == "sap-cloudy"
    assert finding["level"] == "stop"
    assert finding["source"] == "common practice"
    assert finding["text"]
    assert finding["why"]


def test_the_words_need_no_quotes(run: Callable[..., Ran]) -> None:
    """Words given one by one are one utterance."""
    assert run("say", *NOTE.split(), "--json").answers[0]["heard"] == NOTE


def test_what_is_saved_is_in_the_book(run: Callable[..., Ran], book_path: Path) -> None:
    """The file is an SQLite database that anything can read."""
    run("say", NOTE)
    with sqlite3.connect(book_path) as book:
        assert book.execute("SELECT count(*) FROM entries").fetchone() == (1,)


def test_people_get_lines_with_marks(run: Callable[..., Ran]) -> None:
    """Heard, record, reply and warning, without colours where there is no terminal."""
    ran = run("say", NOTE)
    assert [line.split()[0] for line in ran.out.splitlines()] == [
        "heard", "record", "reply", "stop",
    ]  # fmt: skip
    assert "\x1b" not in ran.out


def test_a_conversation_over_standard_input(run: Callable[..., Ran]) -> None:
    """One utterance a line in, one object a line out; focus, correction and undo carry over."""
    said = "tree twelve\nhalf full\n\nno i meant tree sixteen\nscratch that\nhow full is tank one\n"
    ran = run("say", "--stdin", "--json", stdin=said)
    assert ran.status == 0
    assert [answer["outcome"] for answer in ran.answers] == [
        "done", "saved", "done", "done", "answered",
    ]  # fmt: skip
    assert ran.answers[1]["meanings"] == [{"act": "inspect", "tree": 12, "fill": 0.5}]
    assert ran.answers[2]["meanings"] == [{"do": "correct", "tree": 16}]


def test_the_conversation_goes_on_in_the_next_process(run: Callable[..., Ran]) -> None:
    """The tree in hand and an open question are in the book."""
    run("say", "tree twelve is full")
    assert run("say", "sap cloudy", "--json").answers[0]["meanings"][0]["tree"] == 12
    run("say", "poured eleven gallons")
    (answer,) = run("say", "tank one", "--json").answers
    assert answer["meanings"] == [{"act": "store", "vessel": "tank 1", "volume_gal": 11.0}]


def test_what_is_not_understood_is_handled(run: Callable[..., Ran]) -> None:
    """It is kept for review, and that is no failure."""
    ran = run("say", "my dog ran down the hill", "--json")
    assert ran.status == 0
    assert ran.answers[0]["outcome"] == "kept"
    assert ran.answers[0]["meanings"] == []
    assert ran.answers[0]["records"] == []


def test_a_line_that_is_no_text_is_passed_over(run: Callable[..., Ran]) -> None:
    """The lines around it are handled, and the exit status tells."""
    ran = run("say", "--stdin", "--json", stdin=b"tree nine is full\n\xff\xfe\ntree ten is full\n")
    assert ran.status == 1
    assert [answer["meanings"][0]["tree"] for answer in ran.answers] == [9, 10]
    assert ran.err == "fieldvoice: line 2 of standard input is no text; it was passed over.\n"


def test_no_input_at_all_is_no_fault(run: Callable[..., Ran]) -> None:
    """Nothing said, nothing printed."""
    ran = run("say", "--stdin", "--json", stdin="")
    assert (ran.status, ran.out, ran.err) == (0, "", "")


def test_settings_beside_the_book(run: Callable[..., Ran], book_path: Path) -> None:
    """A metric household is answered in litres; the JSON keeps gallons."""
    book_path.with_suffix(".toml").write_text("metric = true\n", encoding="utf-8")
    (answer,) = run("say", "tree nine two gallons", "--json").answers
    assert answer["reply"] == "Tree 9: 7.6 L."
    assert answer["meanings"][0]["volume_gal"] == 2.0


@pytest.mark.parametrize("offset", ["-05:00", "+13:00"])
def test_a_given_offset_is_the_clock_that_people_speak_by(
    run: Callable[..., Ran], book_path: Path, offset: str
) -> None:
    """Four o'clock is four o'clock where ``--now`` is, whatever the machine's own zone."""
    said = "poured forty gallons into tank two yesterday at four"
    at = ("--book", str(book_path), "--now", f"2026-03-10T15:00:00{offset}")
    (answer,) = run("say", said, "--json", *at, bare=True).answers
    assert answer["meanings"][0]["at"] == f"2026-03-09T16:00:00{offset}"


def test_a_plain_note_loads_no_net_and_no_answers(run: Callable[..., Ran], book_path: Path) -> None:
    """What a line does not need is not loaded for it: that is most of the time it takes.

    A new book is made with more; this is any line after the first.
    """
    run("say", "tree nine is empty")
    said = ["say", "tree nine two gallons", "--book", str(book_path), "--now", NOW]
    heavy = ["numpy", "onnxruntime", "fieldvoice.nlg.spoken", "fieldvoice.dialogue.answers.plan"]
    code = (
        "import sys\n"
        "from click.testing import CliRunner\n"
        "from fieldvoice.cli.main import cli\n"
        f"told = CliRunner().invoke(cli, {said!r})\n"
        f"print('Tree 9: 2 gal' in told.output, sorted({{*{heavy!r}}} & sys.modules.keys()))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.stdout == "True []\n", done.stderr
