"""Wordings are learnt: by a yes, in the review; and they are unlearnt. With the real net."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation
from fieldvoice.errors import BookError
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.nlu.wordings import Wording
from tests.dialogue.conftest import MORNING, Talk
from tests.dialogue.script import misses, read
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from fieldvoice.book import LearntWording
    from fieldvoice.nlu.parser import Networks
    from fieldvoice.nlu.second_reader import SecondReading

SCRIPTS = sorted((Path(__file__).parent / "own_words").glob("*.txt"))

ASKED = "fourteen was good to us today, a gallon and a half and then some"
ALIKE = "nine was good to us today, two gallons and then some"
KEPT = "number nine coughed up two gallons for the cause"


class Unsure(SecondReader):
    """The second reader, never so sure that a note is saved without a yes."""

    def read(
        self, text: str, networks: Networks, *, cards_only: bool = False, asks_only: bool = False
    ) -> SecondReading | None:
        reading = super().read(text, networks, cards_only=cards_only, asks_only=asks_only)
        return None if reading is None else replace(reading, chance=min(reading.chance, 0.55))


class Silent(SecondReader):
    """A second reader that makes nothing of anything."""

    def read(self, *_: object, **__: object) -> None:
        return None


@pytest.fixture(scope="session")
def reader() -> Interpreter:
    grammar = GRAMMAR
    return Interpreter(grammar, second=Unsure(grammar.words, lambda: shipped().cards))


@pytest.fixture(scope="session")
def deaf_reader() -> Interpreter:
    grammar = GRAMMAR
    return Interpreter(grammar, second=Silent(grammar.words))


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.stem)
def test_script_comes_out_as_written(path: Path, reader: Interpreter) -> None:
    """Every line of the script brings what it says it brings, and nothing else."""
    wrong: list[str] = []
    with Book.in_memory_copy() as book:
        for line in read(path):
            talk = Conversation(book, reader, clock=lambda at=line.clock: at)
            wrong += [f"{line.where} {line.words!r}: {miss}" for miss in misses(line, talk, book)]
    assert not wrong, "\n".join(wrong)


def test_two_books_do_not_share(reader: Interpreter) -> None:
    with Book.in_memory_copy() as one, Book.in_memory_copy() as other:
        Talk(one, reader).say(ASKED, "yes")
        assert Talk(one, reader).say(ALIKE).outcome == "saved"
        assert Talk(other, reader).say(ALIKE).outcome == "asked"


def test_another_program_goes_on_with_what_was_learnt(
    reader: Interpreter, deaf_reader: Interpreter, tmp_path: Path
) -> None:
    """The book alone remembers; no second reader is needed for what was learnt."""
    with Book.open(tmp_path / "season.db") as book:
        Talk(book, reader).say(ASKED, "yes")
    with Book.open(tmp_path / "season.db") as book:
        reply = Talk(book, deaf_reader).say(ALIKE)
        assert (reply.outcome, [one.json_fields() for one in reply.meanings]) == (
            "saved",
            [{"act": "gather", "tree": 9, "volume_gal": 2.0}],
        )
        assert reply.confidence == 1.0


def test_a_kept_note_told_anew_teaches(book: Book, deaf_reader: Interpreter) -> None:
    talk = Talk(book, deaf_reader)
    kept = talk.say(KEPT)
    assert kept.outcome == "kept"
    talk.wait(hours=3)
    told = talk.conversation.review(book.kept()[0], "tree nine two gallons")
    assert told.outcome == "saved"
    assert [one.masked for one in book.wordings()] == ["<tree> coughed up <volume> for the cause"]
    talk.wait(hours=20)
    reply = talk.say("number eleven coughed up three quarts for the cause")
    assert reply.outcome == "saved"
    assert talk.notes[-1] == {"act": "gather", "tree": 11, "volume_gal": 0.75}
    assert book.entries()[-1].at == talk.now


@pytest.mark.parametrize(
    "told",
    [
        "tree nine three gallons",  # another amount than was said
        "tree nine two gallons cloudy",  # more than was said
        "tree nine half full",  # the two gallons are left over
    ],
)
def test_what_the_kept_words_do_not_say_teaches_nothing(
    book: Book, deaf_reader: Interpreter, told: str
) -> None:
    talk = Talk(book, deaf_reader)
    talk.say(KEPT)
    assert talk.conversation.review(book.kept()[0], told).outcome == "saved"
    assert book.wordings() == []


def test_a_yes_in_the_review_teaches_as_well(book: Book, reader: Interpreter) -> None:
    talk = Talk(book, reader)
    talk.say(ASKED)
    talk.wait(minutes=30)
    talk.say("tree twelve half full")
    assert talk.conversation.review(book.kept()[0], "yes").outcome == "saved"
    assert talk.say(ALIKE).outcome == "saved"


def test_forgotten_by_its_number(book: Book, reader: Interpreter) -> None:
    talk = Talk(book, reader)
    talk.say(ASKED, "yes")
    assert "asked about again" in talk.conversation.forget("w1").text
    assert not book.wordings()[0].counts
    assert talk.say(ALIKE).outcome == "asked"
    for wrong in ("w1", "w2", "e1"):
        with pytest.raises(BookError):
            talk.conversation.forget(wrong)
    assert len(book.entries()) == 1


def test_what_is_read_by_a_wording_is_known_to_be(book: Book, reader: Interpreter) -> None:
    talk = Talk(book, reader)
    talk.say(ASKED, "yes", ALIKE)
    assert book.read_by_wordings() == {"u3": "w1"}
    wording = book.wordings()[0]
    assert (wording.utterance_id, wording.settled_by, wording.used_by) == ("u1", "u2", "u3")
    assert wording.at == datetime.fromisoformat(MORNING.isoformat())


def test_sap_thrown_away_is_asked_about_each_time(book: Book, reader: Interpreter) -> None:
    """However often it was said and meant: it cannot be had back."""
    talk = Talk(book, reader)
    talk.say("tank one has forty gallons")
    line = "had to let all of it out of {} onto the ground, gone off"
    for tank in ("tank one", "tank two"):
        reply = talk.say(line.format(tank))
        assert reply.outcome == "asked", reply.text
        assert talk.say("yes").outcome == "saved"
        talk.wait(hours=1)
    assert [one["act"] for one in talk.notes].count("dump") == 2


def test_a_yes_to_the_whole_is_none_to_an_unlikely_value(book: Book, reader: Interpreter) -> None:
    talk = Talk(book, reader)
    reply = talk.say("emptied the big pail on nine, call it two hundred gallons")
    assert reply.outcome == "asked"
    again = talk.say("yes")
    assert again.outcome == "asked", again.text
    assert talk.notes == []
    assert talk.say("yes").outcome == "saved"


class TestComeAlong:
    """A wording that came along becomes the book's with its first use."""

    @pytest.fixture
    def told(self, reader: Interpreter) -> Interpreter:
        with Book.in_memory_copy() as book:
            Talk(book, reader).say(ASKED, "yes")
            wordings = [come_along(one) for one in book.wordings()]
        return Interpreter(GRAMMAR, wordings=lambda: wordings)

    def test_it_saves_at_once(self, book: Book, told: Interpreter) -> None:
        talk = Talk(book, told)
        assert talk.say(ALIKE).outcome == "saved"
        assert talk.say(ALIKE).outcome == "saved"
        assert [(one.settled_by, one.used_by) for one in book.wordings()] == [("u1", "u2")]

    def test_it_is_unlearnt_like_any(self, book: Book, told: Interpreter) -> None:
        talk = Talk(book, told)
        talk.say(ALIKE, "scratch that")
        talk.wait(minutes=5)
        assert talk.say(ALIKE).outcome != "saved"


def come_along(learnt: LearntWording) -> Wording:
    """Return a wording as it comes along, in no book."""
    return Wording(learnt.masked, learnt.shape)


def test_the_review_takes_own_words_too(reader: Interpreter) -> None:
    """At the time when those that waited were said; the question tells no time that nobody told."""
    now = MORNING
    with Book.in_memory_copy() as book:
        Talk(book, reader).say("the kids were out at the creek")
        (kept,) = book.kept()
        later = Conversation(book, reader, clock=lambda: now + timedelta(hours=1))
        asked = later.review(kept, "tank one has got some nine gallons sloshing about")
        assert asked.text == "Tank 1 holds 9 gal. Save that?"
        saved = later.review(kept, "yes", asked.pending)
        assert saved.text == "Tank 1: 9 gal."
        assert [one.at for one in book.entries()] == [now]
