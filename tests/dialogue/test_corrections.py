"""Undo and correct: nothing is erased, and only what was meant is changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.dialogue.conftest import Talk

CORRECTED = [
    ("tree fifteen two gallons clear", "no i meant tree sixteen", {"tree": 16, "volume_gal": 2.0}),
    ("tree nine two gallons", "make that three gallons", {"tree": 9, "volume_gal": 3.0}),
    ("tree nine is full", "i meant half full", {"tree": 9, "fill": 0.5}),
    ("poured ten gallons into tank one", "no i meant tank two", {"vessel": "tank 2"}),
    ("tree nine two gallons into tank one", "no i meant tank two", {"vessel": "tank 2", "tree": 9}),
    ("trees ten through twelve are empty", "no i meant tree nine", {"tree": 9, "fill": 0.0}),
    ("drew off three quarts at two nineteen", "make that two gallons", {"syrup_gal": 2.0}),
    ("tree nine is full", "no ten", {"tree": 10, "fill": 1.0}),
]


@pytest.mark.parametrize(("said", "correction", "fields"), CORRECTED)
def test_a_correction_changes_the_last_note(
    talk: Talk, said: str, correction: str, fields: dict[str, object]
) -> None:
    """A new note takes the place of the old one, which stays in the history."""
    talk.say(said)
    reply = talk.say(correction)
    assert reply.outcome == "done", reply.text
    (note,) = talk.notes
    assert fields.items() <= note.items()
    assert "trees" not in note
    assert len(talk.book.entries(include_void=True)) == 2


def test_a_corrected_note_keeps_its_time(talk: Talk) -> None:
    """The sap was in the bucket when it was first said."""
    talk.say("tree fifteen is full")
    said_at = talk.now
    talk.wait(minutes=5)
    talk.say("no i meant tree sixteen")
    assert [entry.at for entry in talk.book.entries()] == [said_at]


def test_after_words_not_understood_nothing_is_corrected(talk: Talk) -> None:
    """The note before them was not meant."""
    talk.say("tree fifteen is full", "my dog ran down the hill")
    assert talk.say("no i meant tree sixteen").outcome == "kept"
    assert talk.notes == [{"act": "inspect", "tree": 15, "fill": 1.0}]


def test_a_correction_that_fits_nothing_in_the_note_is_kept(talk: Talk) -> None:
    """A full bucket has no temperature to change."""
    talk.say("tree fifteen is full")
    assert talk.say("make that two nineteen degrees").outcome == "kept"
    assert talk.notes == [{"act": "inspect", "tree": 15, "fill": 1.0}]


def test_a_question_is_asked_again_as_it_was_meant(talk: Talk) -> None:
    """Correcting a question answers the right one."""
    talk.say("tree sixteen is fourteen inches across")
    talk.say("how many taps can tree fifteen take")
    reply = talk.say("no i meant tree sixteen")
    assert reply.outcome == "answered"
    assert reply.text.startswith("Tree 16: one tap")


def test_a_tree_named_wrongly_is_named_again(talk: Talk) -> None:
    """The tree in hand changes; no note does."""
    talk.say("tree nine is full", "tree fifteen", "no i meant tree sixteen", "half full")
    assert [note["tree"] for note in talk.notes] == [9, 16]


def test_undo_takes_back_one_utterance_at_a_time(talk: Talk) -> None:
    """With all its notes, and no further than the beginning."""
    talk.say("tree nine is full", "tree ten is full and tree eleven is empty")
    talk.say("scratch that")
    assert [note["tree"] for note in talk.notes] == [9]
    talk.say("scratch that")
    assert talk.notes == []
    assert talk.say("scratch that").text == "Nothing to take back."
    assert len(talk.book.entries(include_void=True)) == 3


def test_undoing_a_correction_brings_the_old_note_back(talk: Talk) -> None:
    """At the time that it had; undone again, that goes too."""
    talk.say("tree fifteen is full")
    said_at = talk.now
    talk.wait(minutes=1)
    talk.say("no i meant tree sixteen", "scratch that")
    assert talk.notes == [{"act": "inspect", "tree": 15, "fill": 1.0}]
    assert [entry.at for entry in talk.book.entries()] == [said_at]
    talk.say("scratch that")
    assert talk.notes == []


def test_undo_drops_words_kept_before_it_reaches_a_note(talk: Talk) -> None:
    """What was just said is meant, and that was not the note."""
    talk.say("tree nine is full", "my dog ran down the hill")
    assert talk.say("scratch that").text == "Dropped."
    assert len(talk.notes) == 1
    assert talk.book.kept() == []


def test_undo_forgets_a_tree_just_named(talk: Talk) -> None:
    """And leaves the note before it alone."""
    talk.say("tree nine is full", "tree fifteen", "scratch that")
    assert len(talk.notes) == 1
    assert talk.say("half full").outcome == "asked"


def test_undo_names_what_it_took_back(talk: Talk) -> None:
    """So that a wrong undo is heard."""
    assert talk.say("tree nine is full", "scratch that").text == "Took back: Tree 9: full."


def test_words_just_kept_become_a_remark(talk: Talk) -> None:
    """ "Keep it as a remark", right after they were not understood."""
    talk.say("the neighbors were here about the fence")
    reply = talk.say("keep it as a remark")
    assert reply.outcome == "saved"
    assert talk.notes == [{"act": "remark", "text": "the neighbors were here about the fence"}]
    assert talk.book.kept() == []


def test_words_just_kept_are_thrown_away_and_a_note_is_not(talk: Talk) -> None:
    talk.say("my dog ran down the hill", "throw it away")
    assert talk.book.kept() == []
    reply = talk.say("tree nine is full", "throw it away")
    assert reply.text == 'Say "scratch that" to take back the last note.'
    assert talk.notes == [{"act": "inspect", "tree": 9, "fill": 1.0}]


@pytest.mark.parametrize(
    ("before", "said", "told"),
    [
        ((), "keep it as a remark", "There are no words to keep. Say: make a note, and the words."),
        ((), "stop", "Stop what? Say it whole."),
        (("tree nine is full", "scratch that"), "no", 'Say "put it back" to have it again.'),
    ],
)
def test_commands_with_nothing_to_act_on_say_so(
    talk: Talk, before: tuple[str, ...], said: str, told: str
) -> None:
    assert talk.say(*before, said).text == told


#: What was said of tree nine the day before (two gallons, and two taps) and of tree eight (one
#: gallon), put right the day after.
OF_YESTERDAY = [
    ("it was three, not two, on nine yesterday", 9, 3.0),
    ("yesterday nine was three, not two", 9, 3.0),
    ("nine was three gallons yesterday, not two", 9, 3.0),
    ("it was not two but three on nine yesterday", 9, 3.0),
    ("three gallons, not one, from tree eight yesterday", 8, 3.0),
    ("change tree nine yesterday to three gallons", 9, 3.0),
    ("correct yesterday's tree nine to four gallons", 9, 4.0),
    ("tree nine yesterday should be two and a half gallons", 9, 2.5),
    ("the two gallons on nine yesterday was wrong, it was one", 9, 1.0),
]


@pytest.mark.parametrize(("said", "tree", "gallons"), OF_YESTERDAY)
def test_a_note_of_yesterday_is_put_right(talk: Talk, said: str, tree: int, gallons: float) -> None:
    """It takes the old note's place, at its time, and is no second gathering."""
    talk.say("tapped tree nine with two taps", "tree nine two gallons", "tree eight one gallon")
    gathered_at = talk.book.entries()[1].at
    talk.wait(hours=24)
    talk.say("tree ten one gallon")
    reply = talk.say(said)
    assert reply.outcome == "done", reply.text
    assert "yesterday" in reply.text
    given = {"act": "gather", "tree": tree, "volume_gal": gallons}
    of_tree = [one for one in talk.book.entries() if one.act.json_fields().items() >= given.items()]
    assert len(of_tree) == 1
    assert len(talk.book.entries()) == 4
    if tree == 9:
        assert of_tree[0].at == gathered_at


@pytest.mark.parametrize(
    "said",
    [
        "it was two, not three, on nine yesterday",  # the book has two
        "it was three, not two, on eight yesterday",  # it has one
        "trees eight and nine are not empty",
        "there is not enough sap in tree nine",
    ],
)
def test_what_the_book_has_not_as_said_is_not_put_right(talk: Talk, said: str) -> None:
    talk.say("tree nine two gallons", "tree eight one gallon")
    talk.wait(hours=24)
    before = talk.notes
    assert talk.say(said).outcome in ("kept", "asked")
    assert talk.notes == before


def test_sap_of_yesterday_told_again_is_asked_about(talk: Talk) -> None:
    """Saved as it stands, a tree's sap would be in the book twice."""
    talk.say("tree nine two gallons")
    talk.wait(hours=24)
    asked = talk.say("tree nine was three gallons yesterday")
    assert asked.text == "Tree 9 has 2 gal in the book, yesterday. Change it to 3 gal?"
    assert talk.say("yes").text.startswith("Tree 9: 3 gal, yesterday")
    assert talk.say("tree nine was three gallons yesterday").text.endswith("3 gal more?")
    talk.say("no")
    assert talk.notes == [{"act": "gather", "tree": 9, "volume_gal": 3.0}]
