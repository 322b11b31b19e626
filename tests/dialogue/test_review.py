"""What was kept, and putting it right later."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.transcript import NBestEntry, Transcript

if TYPE_CHECKING:
    from fieldvoice.book import Utterance
    from tests.dialogue.conftest import Talk


@pytest.fixture
def kept(talk: Talk) -> Utterance:
    """Words kept an hour ago."""
    talk.say("three nine was kind of brimming")
    talk.wait(hours=1)
    (kept,) = talk.book.kept()
    return kept


def test_what_it_was_is_saved_at_the_time_it_was_said(talk: Talk, kept: Utterance) -> None:
    """The bucket was full then, not now; and it waits no longer."""
    reply = talk.conversation.review(kept, "tree nine is full")
    assert reply.outcome == "saved"
    assert [entry.at for entry in talk.book.entries()] == [kept.at]
    assert talk.notes == [{"act": "inspect", "tree": 9, "fill": 1.0}]
    assert talk.book.kept() == []


@pytest.mark.parametrize(
    ("said", "outcome"), [("half full", "asked"), ("it rained on the truck", "kept")]
)
def test_what_is_still_unclear_goes_on_waiting(
    talk: Talk, kept: Utterance, said: str, outcome: str
) -> None:
    """Nothing is written, and no question is left open by it."""
    before = talk.book.utterances()
    assert talk.conversation.review(kept, said).outcome == outcome
    assert talk.book.utterances() == before
    assert talk.book.kept() == [kept]


@pytest.mark.parametrize("said", ["tree nine", "next tree", "louder", "scratch that"])
def test_a_name_or_a_command_is_not_what_it_was(talk: Talk, kept: Utterance, said: str) -> None:
    """Nothing is done, and the words go on waiting."""
    reply = talk.conversation.review(kept, said)
    assert (reply.outcome, reply.text) == ("kept", "That alone is no note. Say the whole of it.")
    assert talk.book.kept() == [kept]


def test_a_command_heard_in_doubt_is_not_asked_about(talk: Talk, kept: Utterance) -> None:
    """A yes to it would settle words that were something else."""
    doubtful = Transcript("skip it please tractor", recogniser="an engine", fit=0.001)
    reply = talk.conversation.review(kept, doubtful, source="live")
    assert reply.outcome == "kept"
    assert reply.pending is None


def test_what_it_was_can_be_spoken(talk: Talk, kept: Utterance) -> None:
    """With doubt about hearing as everywhere: another number nearly as likely is asked about."""
    near = (NBestEntry("tree nineteen is full", 0.0), NBestEntry("tree ninety is full", -4.0))
    heard = Transcript("tree nineteen is full", recogniser="e", fit=0.001, alternatives=near)
    asked = talk.conversation.review(kept, heard, source="live")
    assert asked.text == "Tree 19 or tree 90?"
    answer = Transcript("ninety", recogniser="e", fit=0.001)
    assert talk.conversation.review(kept, answer, asked.pending, source="live").outcome == "saved"
    assert talk.notes == [{"act": "inspect", "tree": 90, "fill": 1.0}]
    assert talk.book.utterances()[-1].source == "live"


def test_review_knows_nothing_of_the_tree_in_hand(talk: Talk, kept: Utterance) -> None:
    """What was said an hour ago was not about the tree named since."""
    talk.say("tree twelve is full")
    assert talk.conversation.review(kept, "half full").outcome == "asked"


def test_review_leaves_the_tree_in_hand(talk: Talk, kept: Utterance) -> None:
    """Tidying up in between does not change what is talked about."""
    talk.say("tree twelve is full")
    talk.conversation.review(kept, "tree nine is full")
    talk.say("sap cloudy")
    assert talk.notes[-1] == {"act": "inspect", "tree": 12, "sap": "cloudy"}


def test_what_was_no_note_can_be_dropped(talk: Talk, kept: Utterance) -> None:
    """It stays in the journal and waits no longer."""
    assert talk.conversation.drop(kept).outcome == "done"
    assert talk.book.kept() == []
    assert talk.book.utterance(kept.id).text == kept.text
    assert talk.notes == []


def test_the_answer_to_its_question_is_enough(talk: Talk) -> None:
    """ "Which tree?" was never answered; "twelve" answers it now, for then."""
    asked_at = talk.now
    talk.say("half full clear", "tank two is at thirty six degrees")
    talk.wait(hours=1)
    (kept,) = talk.book.kept()
    reply = talk.conversation.review(kept, "twelve")
    assert reply.outcome == "saved"
    assert talk.notes[-1] == {"act": "inspect", "tree": 12, "fill": 0.5, "sap": "clear"}
    assert talk.book.entries()[-1].at == asked_at
    assert talk.book.kept() == []


def test_a_question_asked_in_the_review_can_be_answered(talk: Talk, kept: Utterance) -> None:
    """What is handed back with the next words is the question they answer."""
    asked = talk.conversation.review(kept, "half full")
    assert asked.pending is not None
    reply = talk.conversation.review(kept, "nine", asked.pending)
    assert reply.outcome == "saved"
    assert talk.notes == [{"act": "inspect", "tree": 9, "fill": 0.5}]
    assert [entry.at for entry in talk.book.entries()] == [kept.at]


def test_what_was_kept_can_become_a_remark(talk: Talk, kept: Utterance) -> None:
    """Its words are worth keeping as they are."""
    talk.conversation.keep_as_remark(kept)
    assert talk.notes == [{"act": "remark", "text": kept.text}]
    assert talk.book.kept() == []
