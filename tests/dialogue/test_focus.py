"""What is in hand: how it comes there, how long it stays, and where it does not go."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.dialogue.focus import FOCUS_LASTS
from fieldvoice.transcript import AudioSpan, Transcript

if TYPE_CHECKING:
    from tests.dialogue.conftest import Talk


@pytest.mark.parametrize(("seconds", "outcome"), [(0, "saved"), (1, "asked")])
def test_a_tree_stays_in_hand_for_ten_minutes(talk: Talk, seconds: int, outcome: str) -> None:
    """Counted from when it was last named, by the clock given."""
    talk.say("tree twelve is full")
    talk.wait(seconds=FOCUS_LASTS.total_seconds() + seconds)
    assert talk.say("sap cloudy").outcome == outcome


def test_talk_of_other_things_does_not_keep_a_tree_in_hand(talk: Talk) -> None:
    """Nine minutes and another nine are eighteen, whatever is asked between."""
    talk.say("tree twelve is full")
    talk.wait(minutes=9)
    talk.say("how much sap did we collect today")
    talk.wait(minutes=9)
    assert talk.say("sap cloudy").outcome == "asked"


def test_a_note_that_leans_on_the_tree_names_it_again(talk: Talk) -> None:
    """Working at one tree for long keeps it in hand."""
    talk.say("tree twelve is full")
    for _ in range(3):
        talk.wait(minutes=9)
        assert talk.say("sap cloudy").outcome == "saved"


@pytest.mark.parametrize(
    ("first", "second"), [("typed", "memo"), ("memo", "typed"), ("memo", "live")]
)
def test_focus_does_not_pass_between_memos_and_talk(talk: Talk, first: str, second: str) -> None:
    """The speaker of a memo knew nothing of what was typed meanwhile."""
    talk.say("tree twelve is full", source=first)  # type: ignore[arg-type]
    assert talk.say("sap cloudy", source=second).outcome == "asked"  # type: ignore[arg-type]


BREATHS = [
    ("tree twelve half full tree thirteen empty", [12, 13]),
    ("tree nine is full and tree ten is empty", [9, 10]),
]


@pytest.mark.parametrize(("said", "trees"), BREATHS)
def test_each_note_in_a_breath_has_its_tree(talk: Talk, said: str, trees: list[int]) -> None:
    """The last one stays in hand."""
    talk.say(said)
    assert [note["tree"] for note in talk.notes] == trees
    talk.say("sap cloudy")
    assert talk.notes[-1]["tree"] == trees[-1]


def test_several_trees_leave_none_in_hand(talk: Talk) -> None:
    """After "trees ten through fifteen" no single tree can be meant by "cloudy"."""
    talk.say("tree twelve is full", "trees ten through fifteen are empty")
    assert talk.say("sap cloudy").outcome == "asked"


def test_a_remark_is_not_pinned_to_the_tree_in_hand(talk: Talk) -> None:
    """Free words are about whatever they say."""
    talk.say("tree twelve is full", "make a note the gate needs a hinge")
    assert "tree" not in talk.notes[-1]


def test_a_tree_named_alone_is_no_note(talk: Talk) -> None:
    """It comes in hand; the reply says which."""
    reply = talk.say("tree twelve")
    assert (reply.outcome, reply.text, talk.notes) == ("done", "Tree 12.", [])


WALK = ["tree three is full", "tree seven is full", "tree five is empty"]


def test_next_without_a_walk_is_the_next_number(talk: Talk) -> None:
    """On the first round nobody knows the order yet."""
    assert talk.say("tree seven is full", "next tree").text == "Tree 8."


def test_next_follows_the_walk_of_the_round_before(talk: Talk) -> None:
    """And passes over the trees seen today already."""
    talk.say(*WALK)
    talk.wait(days=1)
    talk.say("tree three is full", "tree five is empty", "tree three")
    assert talk.say("next tree").text == "Tree 7."


def test_next_passes_over_a_tree_whose_spiles_are_pulled(talk: Talk) -> None:
    """Its bucket is gone."""
    talk.say(*WALK, "pulled the spile on tree seven")
    talk.wait(days=1)
    assert talk.say("tree three is full", "next tree").text == "Tree 5."


def test_next_and_a_note_in_one_breath(talk: Talk) -> None:
    """The note is about the tree gone on to."""
    talk.say(*WALK)
    talk.wait(days=1)
    talk.say("tree three is full", "next tree", "half full")
    assert talk.notes[-1] == {"act": "inspect", "tree": 7, "fill": 0.5}


def test_next_with_nothing_known_asks_for_the_number(talk: Talk) -> None:
    """There is nothing to count from."""
    assert talk.say("next tree").text == "Say the number of the tree you are at."


def _in_memo(words: str, sha256: str, start_s: float) -> Transcript:
    span = AudioSpan("walk.wav", sha256, start_s, start_s + 2)
    return Transcript(words, confidence=0.9, recogniser="an engine", audio=span)


#: Where the second utterance stands, and what comes of "sap cloudy" in it.
MEMOS = [
    pytest.param("ab" * 32, 4.0, "saved", id="the same memo"),
    pytest.param("cd" * 32, 4.0, "asked", id="another memo"),
    pytest.param("ab" * 32, 700.0, "asked", id="ten minutes later in the same memo"),
]


@pytest.mark.parametrize(("sha256", "start_s", "outcome"), MEMOS)
def test_focus_stays_within_one_memo(talk: Talk, sha256: str, start_s: float, outcome: str) -> None:
    """Recordings of different days are taken in one go; nobody in one knew of the other."""
    talk.hear(_in_memo("tree twelve half full", "ab" * 32, 0.0))
    assert talk.hear(_in_memo("sap cloudy", sha256, start_s)).outcome == outcome
