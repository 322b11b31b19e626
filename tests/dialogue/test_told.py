"""What a reply was made of is known later: names come in where it is told, and what was said."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue import reasons

if TYPE_CHECKING:
    from tests.dialogue.conftest import Talk

SOUR = "tank two is sour"
STOCKED = ("eleven gallons into tank one", "eleven gallons into tank two")
NAMED = "call tank one the bulk tank"


def test_names_come_into_what_the_rules_say(talk: Talk) -> None:
    """The finding keeps the number, which programs go by."""
    talk.say(*STOCKED, NAMED, "tank one is sour")
    reply = talk.say("what should i boil today")
    dumped = next(one for one in reply.findings if one.level == "stop")
    assert dumped.text == "Don't boil tank 1: dump and wash."
    assert "Don't boil bulk tank: dump and wash." in reply.text
    assert reply.says(dumped)


def test_names_come_into_lists_of_vessels_and_not_of_trees(talk: Talk) -> None:
    talk.say(*STOCKED, NAMED, "call tree nine the big yard tree", "tree nine is full")
    assert "bulk tank" in talk.say("how old is the sap").text.lower()
    assert talk.say("trees nine and ten are empty").text == "Trees 9 and 10: empty."


def test_a_reply_is_spoken_from_its_parts(talk: Talk) -> None:
    talk.say("call tree nine the big yard tree")
    reply = talk.say("tree nine two and a half gallons")
    assert reply.text == "Big yard tree: 2.5 gal."
    assert reply.spoken == "Big yard tree: two and a half gallons."


def test_the_journal_keeps_which_rules_were_said(talk: Talk) -> None:
    """The first warning is told, and nothing of the others."""
    reply = talk.say(SOUR)
    kept = talk.book.last_utterance()
    assert kept is not None
    assert [one["said"] for one in kept.findings] == [reply.says(one) for one in reply.findings]
    assert any(one["said"] for one in kept.findings)
    assert reasons.reasons(kept)[0] == reply.findings[0]


def test_rows_of_older_books_do_not_tell_what_was_said(talk: Talk) -> None:
    """Their reasons can be asked for all the same, and a warning is rather said twice."""
    talk.say(SOUR)
    kept = talk.book.last_utterance()
    assert kept is not None
    for finding in kept.findings:
        del finding["said"]
    assert [one.rule for one in reasons.reasons(kept)] == [kept.findings[0]["rule"]]
    assert not reasons.said_aloud(reasons.reasons(kept)[0], kept)


def test_a_warning_about_the_same_thing_is_not_said_again(talk: Talk) -> None:
    warned = talk.say(SOUR)
    again = talk.say(SOUR)
    assert warned.says(warned.findings[0])
    assert again.findings[0] == warned.findings[0]
    assert not again.says(again.findings[0])


def test_a_question_said_again_ends_once(talk: Talk) -> None:
    talk.say("half full")
    assert talk.say("say that again").text == "Which tree?"
    assert talk.say("tree nine").text == "Tree 9: half full."
