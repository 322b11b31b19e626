"""The second reader as a whole: floors on lines it was not taught, and harmless on bad input."""

from __future__ import annotations

import random
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation
from fieldvoice.dialogue.proposals import BANDS, puts
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.normalise import words_of
from fieldvoice.nlu.second_reader import LONGEST, SecondReader
from fieldvoice.schema import Act
from fieldvoice.schema.asks.season import Advice
from fieldvoice.transcript import typed
from models.reader.corpus import part
from tests.handbook.other_mouths import held_out
from tests.nlu import tables
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from tests.nlu.tables import Saying

ROOT = Path(__file__).parents[2]
READER = SecondReader(GRAMMAR.words, lambda: shipped().cards)
UNDERSTANDER = Interpreter(GRAMMAR, second=READER)
NETWORKS = UNDERSTANDER.networks

SAYINGS = [*tables.UTTERANCES, *sorted((ROOT / "sayings/paraphrases").glob("*.txt"))]
NO_NOTES = [
    ROOT / "tests/nlu/not_records.txt",
    *sorted((ROOT / "sayings/none").glob("*.txt")),
]

#: So many lines are drawn of each sort, always the same; a reply may take so many seconds.
DRAWN, SEED, SOON_S = 150, 20261129, 1.0

#: Of talk among people so much is answered at most; of askings so many find their card.
ANSWERED, FIRST, THREE = 0.16, 0.78, 0.88


def not_taught(paths: Iterable[Path], source: str) -> list[Saying]:
    """Return the lines that were kept from teaching and from setting the bands."""
    found = [one for path in paths for one in tables.sayings(path, source != "none")]
    return [one for one in found if part(split(one.words), source) == "test"]


def split(text: str) -> tuple[str, ...]:
    return words_of(text, GRAMMAR.words, breaks=True)


def drawn(sayings: list[Saying]) -> list[Saying]:
    assert len(sayings) >= DRAWN
    return random.Random(SEED).sample(sayings, DRAWN)


def all_of(sort: str) -> list[Saying]:
    """Return untaught sayings that are notes ("act") or questions ("ask") and nothing else."""
    return [
        one
        for one in not_taught(SAYINGS, "saying")
        if not one.trees and not one.vessels and {want.sort for want in one.readings[0]} == {sort}
    ]


def share_right(sayings: list[Saying], least: float) -> float:
    """Return the share that is proposed, at a chance of ``least``, and right in every field."""
    right = 0
    for saying in sayings:
        reading = READER.read(saying.words, NETWORKS)
        if reading is not None and reading.chance >= least:
            right += saying.accepts([one.json_fields() for one in reading.meanings])
    return right / len(sayings)


@pytest.mark.long
def test_notes_in_own_words_are_mostly_proposed_right_in_all_fields() -> None:
    assert share_right(drawn(all_of("act")), BANDS.note) >= 0.65


@pytest.mark.long
def test_questions_in_own_words_are_mostly_taken_right_in_all_fields() -> None:
    assert share_right(drawn(all_of("ask")), BANDS.ask) >= 0.65


@pytest.mark.long
def test_what_is_no_note_is_hardly_ever_proposed_as_one() -> None:
    lines = drawn(not_taught(NO_NOTES, "none"))
    readings = [READER.read(one.words, NETWORKS) for one in lines]
    proposed = [
        one
        for one in readings
        if one is not None
        and puts(one)
        and any(isinstance(meaning, Act) for meaning in one.meanings)
    ]
    assert len(proposed) / len(lines) <= 0.08


@pytest.mark.long
def test_talk_among_people_is_seldom_answered() -> None:
    """Floors a little under what was measured, of lines that were taught to nobody."""
    lines = drawn(tables.sayings(ROOT / "tests/nlu/chatter.txt", with_meanings=False))
    readings = [READER.read(one.words, NETWORKS) for one in lines]
    answered = [
        one
        for one in readings
        if one is not None
        and any(isinstance(meaning, Advice) for meaning in one.meanings)
        and one.chance >= BANDS.card
    ]
    assert len(answered) / len(lines) <= ANSWERED


@pytest.mark.long
def test_askings_by_other_mouths_find_their_card() -> None:
    asked = random.Random(SEED).sample([*held_out()], DRAWN)
    readings = [READER.read(one.words, NETWORKS, cards_only=True) for one in asked]
    first = three = 0
    for one, reading in zip(asked, readings, strict=True):
        named = [kind for kind, _ in reading.nearest] if reading is not None else []
        right = {f"card={card}" for card in one.cards}
        first += not right.isdisjoint(named[:1])
        three += not right.isdisjoint(named)
    assert first / DRAWN >= FIRST
    assert three / DRAWN >= THREE


@pytest.mark.parametrize(
    ("words", "meaning"),
    [
        ("we hauled nine gallons off of tree fourteen", "gather tree=14 volume_gal=9"),
        ("tree twelve's pail looked about three quarters there", "inspect tree=12 fill=0.75"),
        ("how come my syrup went dark", "?advice topic=why-dark"),
    ],
)
def test_very_plain_words_are_understood(words: str, meaning: str) -> None:
    reading = READER.read(words, NETWORKS)
    assert reading is not None
    (said,) = reading.meanings
    assert tables.meaning(meaning).accepts(said.json_fields())


def test_a_day_that_is_found_and_not_taken_is_none() -> None:
    """The words were misheard, of "did we bring in fifty gallons today" as like as not."""
    assert READER.read("did we break to fifty gallons today", NETWORKS) is not None


@pytest.mark.parametrize(
    ("words", "gallons"),
    [
        ("two more quarts off tree nine", 0.5),
        ("five more liters from tree eight", 5 / 3.785411784),
        ("tree nine had three more pints", 0.375),
        ("two more gallons off tree nine", 2.0),
    ],
)
def test_so_much_more_is_in_the_unit_that_was_said(words: str, gallons: float) -> None:
    reading = READER.read(words, NETWORKS)
    assert reading is not None
    assert reading.meanings[0].json_fields()["volume_gal"] == pytest.approx(gallons, abs=0.005)


@pytest.fixture
def talk() -> Iterator[tuple[Conversation, Book]]:
    READER.read("tree nine's pail is about full", NETWORKS)  # so that the net is there
    now = datetime(2027, 3, 5, 9, 10, tzinfo=UTC)
    with Book.in_memory_copy() as book:
        yield Conversation(book, UNDERSTANDER, clock=lambda: now), book


NONSENSE = {
    "nothing": "",
    "spaces": " \t\n ",
    "ten thousand words": "the sap ran well and we carried it all " * 1112,
    "one word ten thousand times": "tree " * 10_000,
    "just too many words": "tree nine gave two gallons " * (LONGEST // 5 + 1),
    "French": "le seau de l'érable douze est presque plein",
    "German": "dreizehn Eimer voll Saft gestern Abend",
    "Russian": "дерево девять полное",
    "Chinese": "樹九滿了",
    "Arabic": "شجرة تسعة ممتلئة",
    "emoji": "🍁🍁🍁 💧",
    "emoji among words": "🍁 bucket 🙂 full 💧",
    "numbers without words": "12 14 7 9 3.5",
    "spelled numbers": "forty two seven nine thirty",
    "a number of many digits": "9" * 5000,
    "a word of many letters": "x" * 50_000,
    "signs": "\x00\x07\x1b[31m %% \u202e",
    "a table": "name,volume\n12,3.5\n13,2.25\n" * 300,
    "a short table": "tree,gal\n12,3.5\n13,2.25\n14,1",
    "this project's settings": (ROOT / "pyproject.toml").read_text(encoding="utf-8"),
    "a program": Path(__file__).read_text(encoding="utf-8"),
}


@pytest.mark.parametrize("text", NONSENSE.values(), ids=NONSENSE.keys())
def test_bad_input_has_a_plain_reply_at_once_and_saves_nothing(
    talk: tuple[Conversation, Book], text: str
) -> None:
    conversation, book = talk
    began = time.process_time()
    reply = conversation.hear(typed(text), source="typed")
    assert time.process_time() - began < SOON_S
    assert reply.outcome in ("kept", "asked")
    assert 10 <= len(reply.text) <= 300
    assert list(book.entries()) == []


@pytest.mark.parametrize("text", ["", " \n", "sap " * (LONGEST + 1), "🍁"])
def test_no_words_or_too_many_are_not_read(text: str) -> None:
    assert READER.read(text, NETWORKS) is None


def test_a_pan_of_which_nothing_is_told_is_no_note() -> None:
    reading = READER.read("it's climbing out of the pan", NETWORKS)
    told = [one.json_fields() for one in reading.meanings] if reading is not None else []
    assert {"act": "pan"} not in told
