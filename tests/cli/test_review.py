"""``fieldvoice review``: listing, settling and dropping what was kept."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from fieldvoice.book import Book
from fieldvoice.cli.playback import Sounds
from fieldvoice.cli.review import _OneByOne
from fieldvoice.dialogue import Conversation
from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import typed
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.cli.conftest import Ran

AT = datetime.fromisoformat("2027-03-05T09:10:00-05:00")


@pytest.fixture
def kept(run: Callable[..., Ran]) -> None:
    """Words not understood, and a question passed over."""
    run("say", "--stdin", stdin="my dog ran down the hill\nhalf full\ntree nine is empty\n")


def test_nothing_waits_in_a_new_book(run: Callable[..., Ran]) -> None:
    """And that is said."""
    assert run("review").out == "Nothing waits for review.\n"
    assert run("review", "--json").out == ""


@pytest.mark.usefixtures("kept")
def test_what_waits_is_listed(run: Callable[..., Ran]) -> None:
    """With its id, when it was said, and what was asked."""
    first, second = run("review").out.splitlines()
    assert first.startswith("u1 ")
    assert first.endswith("my dog ran down the hill")
    assert second.startswith("u2 ")
    assert "half full  (asked: Which tree?)" in second


@pytest.mark.usefixtures("kept")
def test_the_list_as_json(run: Callable[..., Ran]) -> None:
    """One object for each."""
    answers = run("review", "--json").answers
    assert [(one["utterance"], one["outcome"], one["heard"]) for one in answers] == [
        ("u1", "kept", "my dog ran down the hill"),
        ("u2", "asked", "half full"),
    ]


@pytest.mark.usefixtures("kept")
def test_saying_what_it_was_settles_it(run: Callable[..., Ran]) -> None:
    """It becomes a note and waits no longer."""
    (answer,) = run("review", "u2", "tree", "seven", "half", "full", "--json").answers
    assert answer["outcome"] == "saved"
    assert answer["meanings"][0]["tree"] == 7
    assert [one["utterance"] for one in run("review", "--json").answers] == ["u1"]


@pytest.mark.usefixtures("kept")
def test_dropping_settles_it(run: Callable[..., Ran]) -> None:
    """It was no note."""
    assert run("review", "u1", "--drop").status == 0
    assert [one["utterance"] for one in run("review", "--json").answers] == ["u2"]


@pytest.mark.parametrize("name", ["u99", "x", "e1"])
@pytest.mark.usefixtures("kept")
def test_an_utterance_that_is_not_there(run: Callable[..., Ran], name: str) -> None:
    """Status 1 and a line that names it."""
    ran = run("review", name, "--drop")
    assert ran.status == 1
    assert name in ran.err
    assert len(ran.err.splitlines()) == 1


def test_by_voice_nothing_is_opened_when_nothing_waits(run: Callable[..., Ran]) -> None:
    """No microphone is needed to say so."""
    assert run("review", "--aloud").out == "Nothing waits for review.\n"


@pytest.mark.usefixtures("kept")
def test_by_voice_everything_is_gone_through(run: Callable[..., Ran]) -> None:
    """One utterance alone is settled by typing."""
    ran = run("review", "u1", "--aloud")
    assert ran.status == 2
    assert "everything that waits" in ran.err


@pytest.mark.usefixtures("kept")
def test_what_is_said_in_the_review_can_be_typed(run: Callable[..., Ran]) -> None:
    """ "Skip", "throw it away" and "keep it as a remark" are what they are by voice."""
    assert run("review", "u1", "skip").out == "Left for later.\n"
    assert len(run("review", "--json").answers) == 2
    (answer,) = run("review", "u1", "keep", "it", "as", "a", "remark", "--json").answers
    assert answer["meanings"][0]["text"] == "my dog ran down the hill"
    (answer,) = run("review", "u2", "throw", "it", "away", "--json").answers
    assert (answer["outcome"], answer["reply"]) == ("done", "Dropped.")
    assert run("review").out == "Nothing waits for review.\n"


def test_questions_are_listed_last_and_apart(run: Callable[..., Ran]) -> None:
    """They are no notes, whenever they were asked."""
    run("say", "--stdin", stdin="what is the capital of the country\nmy dog ran down the hill\n")
    first, apart, last = run("review").out.splitlines()
    assert first.endswith("my dog ran down the hill")
    assert apart == "Questions that were not understood:"
    assert last.endswith("what is the capital of the country")


@pytest.mark.usefixtures("kept")
def test_a_question_that_one_command_leaves_open(run: Callable[..., Ran]) -> None:
    """How it is answered is told."""
    ran = run("review", "u1", "half", "full")
    assert "Which tree?" in ran.out
    assert ran.err.rstrip().endswith("go through all: fieldvoice review")


def typed_in(said: list[str], kept: list[str], monkeypatch: pytest.MonkeyPatch) -> Book:
    """Go through the ``kept`` lines, typing ``said``; return the book."""
    book = Book.in_memory_copy()
    talk = Conversation(book, Interpreter(GRAMMAR), clock=lambda: AT)
    for line in kept:
        talk.hear(typed(line))
    lines = list(said)

    def prompt(*_: object, **__: object) -> str:
        if not lines:
            raise EOFError
        return lines.pop(0)

    monkeypatch.setattr("click.prompt", prompt)
    _OneByOne(talk, book.kept(), Sounds(book, Path(), ())).run()
    assert not lines
    return book


@pytest.mark.parametrize(
    ("said", "notes", "waiting"),
    [
        # Taken back, and told otherwise.
        (["tree nine is empty", "scratch that", "tree ten is empty"], ["10"], 1),
        # Nothing was settled just before: the note of before the review stays.
        (["scratch that", "skip"], [], 2),
        # No to a question about what was told anew: told once more.
        (["half full", "scratch that", "tree nine is empty"], ["9"], 1),
        (["tree 4 gave 900 gallons", "no", "tree 4 gave 2 gallons"], ["4"], 1),
        (["throw it away", "scratch that", "throw it away"], [], 0),
    ],
)
def test_typed_it_is_steered_as_by_voice(
    said: list[str], notes: list[str], waiting: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """ "Scratch that" goes back to the last one; a no leaves it where it is."""
    book = typed_in(said, ["my dog ran down the hill", "blue moon rising"], monkeypatch)
    with book:
        trees = [str(entry.act.model_dump()["tree"]) for entry in book.entries()]
        assert (trees, len(book.kept())) == (notes, waiting)
