"""``fieldvoice history``: every note, with what became of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.cli.conftest import Ran

SAID = """\
tree nine two gallons
make it three gallons
call tree nine the gate tree
poured four gallons into tank one
"""


@pytest.fixture
def told(run: Callable[..., Ran]) -> None:
    """A note put right, a name, and a tank."""
    run("say", "--stdin", stdin=SAID)


@pytest.mark.usefixtures("told")
def test_all_notes_with_what_was_put_right(run: Callable[..., Ran]) -> None:
    """The old note stands there, with the words that took it back."""
    lines = run("history").out.splitlines()
    assert lines[0].endswith("Tree 9: 2 gal.  taken back: 'make it three gallons'")
    assert [line.split()[0] for line in lines] == ["e1", "e2", "e3", "e4"]


@pytest.mark.parametrize(
    ("what", "records"),
    [
        (["tree", "9"], ["e1", "e2", "e3"]),
        (["9"], ["e1", "e2", "e3"]),
        (["the", "gate", "tree"], ["e1", "e2", "e3"]),
        (["tank", "one"], ["e4"]),
        (["tree", "4"], []),
        (["--last", "1"], ["e4"]),
        (["tree", "nine", "--last", "2"], ["e2", "e3"]),
    ],
)
@pytest.mark.usefixtures("told")
def test_of_one_thing(run: Callable[..., Ran], what: list[str], records: list[str]) -> None:
    """By number, in words, or by the name it was given."""
    answers = run("history", *what, "--json").answers
    assert [one["record"] for one in answers] == records


@pytest.mark.usefixtures("told")
def test_a_note_as_json(run: Callable[..., Ran]) -> None:
    """What was heard, what it means, and which utterance took it back."""
    first = run("history", "--json").answers[0]
    assert first["meaning"] == {"act": "gather", "tree": 9, "volume_gal": 2.0}
    assert first["heard"] == "tree nine two gallons"
    assert (first["utterance"], first["taken_back_by"]) == ("u1", "u2")


def test_an_empty_book(run: Callable[..., Ran]) -> None:
    """And that is said."""
    assert run("history").out == "No notes.\n"


def test_what_names_nothing(run: Callable[..., Ran]) -> None:
    """Wrong usage, with what would be right."""
    ran = run("history", "dog")
    assert ran.status == 2
    assert "fieldvoice history tree 9" in ran.err
