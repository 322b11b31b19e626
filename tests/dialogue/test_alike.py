"""Numbers and things that sound alike: taken where only one is known, else asked; amounts asked."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation
from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import NBestEntry, Transcript, Word, typed
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from fieldvoice.reply import Reply

NOW = datetime(2027, 3, 12, 14, 0, tzinfo=UTC)
INTERPRETER = Interpreter(GRAMMAR)

NINETY, NINETEEN = "tree ninety bucket half full", "tree nineteen bucket half full"
TANK, TOTE = "poured ten gallons into tank two", "poured ten gallons into tote two"


def heard(best: str, other: str, behind: float) -> Transcript:
    """Return one hearing, and another so far behind it as both listeners score it."""
    words = tuple(Word(word, float(at), at + 1.0, 0.9) for at, word in enumerate(best.split()))
    ranked = (NBestEntry(best, 0.0), NBestEntry(other, -behind))
    return Transcript(best, words, 0.9, ranked, 0.0005, "an engine")


def reply_to(sound: Transcript, *before: str) -> Reply:
    with Book.in_memory_copy(None) as book:
        talk = Conversation(book, INTERPRETER, clock=lambda: NOW)
        for note in before:
            assert talk.hear(typed(note)).outcome == "saved"
        return talk.hear(sound, source="memo")


def inspected(tree: int) -> dict[str, Any]:
    return {"act": "inspect", "tree": tree, "fill": 0.5}


@pytest.mark.parametrize(
    ("best", "other", "behind", "before", "means"),
    [
        (NINETEEN, NINETY, 1, ["tapped tree ninety"], inspected(90)),
        (NINETEEN, NINETY, 8, ["tapped tree ninety"], inspected(90)),
        (NINETEEN, NINETY, 1, ["tapped tree nineteen"], inspected(19)),
        ("tree forty bucket half full", "tree four bucket half full", 5, ["tapped tree four"],
         inspected(4)),
        (TOTE, TANK, 8, [TANK], {"act": "store", "vessel": "tank 2", "volume_gal": 10.0}),
        (TANK, TOTE, 1, [TANK], {"act": "store", "vessel": "tank 2", "volume_gal": 10.0}),
    ],
)  # fmt: skip
def test_where_one_of_two_is_known_it_is_taken_and_read_back(
    best: str, other: str, behind: float, before: list[str], means: dict[str, Any]
) -> None:
    reply = reply_to(heard(best, other, behind), *before)
    assert reply.outcome == "saved"
    assert [meaning.json_fields() for meaning in reply.meanings] == [means]
    name = str(means.get("tree", means.get("vessel"))).capitalize()
    assert name in reply.text


@pytest.mark.parametrize(
    ("best", "other", "before", "asks"),
    [
        (NINETEEN, NINETY, ["tapped tree ninety", "tapped tree nineteen"], "Tree 19 or tree 90?"),
        (NINETEEN, NINETY, [], "Tree 19 or tree 90?"),
        (TANK, TOTE, [TANK, TOTE], "Tank 2 or tote 2?"),
        (TANK, TOTE, [], "Tank 2 or tote 2?"),
        ("collected fifteen gallons from tree nine", "collected fifty gallons from tree nine",
         ["tapped tree nine"], "15 gal or 50 gal?"),
        ("poured fifteen gallons into tank two", "poured fifty gallons into tank two", [TANK],
         "15 gal or 50 gal?"),
        ("poured four gallons into tank two", "poured forty gallons into tank two", [TANK],
         "4 gal or 40 gal?"),
    ],
)  # fmt: skip
def test_where_both_may_be_and_of_amounts_always_it_is_asked(
    best: str, other: str, before: list[str], asks: str
) -> None:
    reply = reply_to(heard(best, other, 8), *before)
    assert reply.outcome == "asked"
    assert reply.text == asks


def test_what_was_heard_plainly_is_not_bent_to_what_is_known() -> None:
    """Far ahead, an unknown tree stands against its known twin: that is asked, not changed."""
    reply = reply_to(heard(NINETEEN, NINETY, 40), "tapped tree ninety")
    assert reply.outcome == "asked"
    assert reply.text == "Tree 19 or tree 90?"


@pytest.mark.parametrize(
    ("tapped", "outcome", "tells"),
    [
        ("tapped tree twelve", "asked", "Tree 312 or tree 12?"),
        ("tapped tree three hundred twelve", "saved", "Tree 312"),
    ],
)
def test_a_tree_said_twice_is_no_three_hundred(tapped: str, outcome: str, tells: str) -> None:
    """ "Tree … tree twelve" is heard as "tree three twelve"."""
    said = "tree three twelve bucket half full"
    sound = Transcript(said, (), 0.9, (NBestEntry(said, 0.0),), 0.0005, "an engine")
    reply = reply_to(sound, tapped)
    assert reply.outcome == outcome
    assert tells in reply.text
