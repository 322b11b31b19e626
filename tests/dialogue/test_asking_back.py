"""Questions asked back: what answers them, what lets them lapse, and that nothing is lost."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.dialogue import Conversation
from fieldvoice.dialogue.policy import COST_TO_SAVE
from fieldvoice.dialogue.prompts import QUESTION_WAITS
from fieldvoice.nlu import Hypothesis
from fieldvoice.schema import meaning_from
from fieldvoice.transcript import AudioSpan, NBestEntry, Transcript, typed

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.nlu import Interpreter
    from tests.dialogue.conftest import Talk

HALF_FULL = {"act": "inspect", "fill": 0.5}

ANSWERED = [
    ("twelve", {**HALF_FULL, "tree": 12}),
    ("tree twelve", {**HALF_FULL, "tree": 12}),
    ("no i meant tree twelve", {**HALF_FULL, "tree": 12}),
    ("tank two", {**HALF_FULL, "vessel": "tank 2"}),
]


@pytest.mark.parametrize(("said", "note"), ANSWERED)
def test_the_slot_alone_is_an_answer(talk: Talk, said: str, note: dict[str, object]) -> None:
    """The note is saved whole, and the question is settled."""
    assert talk.say("bucket half full").outcome == "asked"
    reply = talk.say(said)
    assert reply.outcome == "saved"
    assert talk.notes == [note]
    assert talk.book.kept() == []


def test_the_reply_to_an_answer_gives_the_whole_note(talk: Talk) -> None:
    """The machine interface shows what was understood, with the slot filled in."""
    reply = talk.say("bucket half full", "twelve")
    assert reply.as_json()["meanings"] == [{**HALF_FULL, "tree": 12}]
    assert reply.records == ("e1",)


@pytest.mark.parametrize("answer", ["twelve", "tree twelve", "tank two"])
def test_an_answer_that_was_likely_is_no_surer_than_sure(talk: Talk, answer: str) -> None:
    """What a question expects costs less than nothing; how sure it is stays within 1."""
    assert 0.9 <= talk.say("bucket half full", answer).confidence <= 1


def test_a_new_process_goes_on_with_the_question(talk: Talk, understander: Interpreter) -> None:
    """The question is in the journal, not in the memory of a process."""
    talk.say("bucket half full")
    another = Conversation(talk.book, understander, clock=lambda: talk.now)
    assert another.hear(typed("twelve")).outcome == "saved"
    assert talk.notes == [{**HALF_FULL, "tree": 12}]


@pytest.mark.parametrize(("seconds", "outcome"), [(0, "saved"), (1, "kept")])
def test_a_question_waits_two_minutes(talk: Talk, seconds: int, outcome: str) -> None:
    """At two minutes the answer still counts, after them it says nothing."""
    talk.say("bucket half full")
    talk.wait(seconds=QUESTION_WAITS.total_seconds() + seconds)
    assert talk.say("twelve").outcome == outcome


def test_a_question_left_hanging_is_kept_for_review(talk: Talk) -> None:
    """Another note comes instead of the answer: both are there afterwards."""
    talk.say("bucket half full", "tree nine is empty")
    assert talk.notes == [{"act": "inspect", "tree": 9, "fill": 0.0}]
    assert [kept.text for kept in talk.book.kept()] == ["bucket half full"]


def test_an_answer_too_late_settles_nothing(talk: Talk) -> None:
    """After another note "twelve" is no answer any more."""
    talk.say("bucket half full", "tree nine is empty")
    assert talk.say("twelve").outcome == "kept"
    assert len(talk.notes) == 1


def test_a_fuller_note_settles_the_question_it_answers(talk: Talk) -> None:
    """ "Tree twelve half full" after "which tree?" is the answer, and nothing is left to review."""
    talk.say("bucket half full", "tree twelve half full")
    assert talk.notes == [{**HALF_FULL, "tree": 12}]
    assert talk.book.kept() == []


@pytest.mark.parametrize("said", ["no", "never mind", "scratch that"])
def test_a_question_can_be_dropped(talk: Talk, said: str) -> None:
    """What is refused is neither saved nor left for review."""
    talk.say("bucket half full")
    assert talk.say(said).outcome == "done"
    assert talk.notes == []
    assert talk.book.kept() == []


@pytest.mark.parametrize("between", ["say that again", "help", "which trees have i missed"])
def test_a_question_stays_open_over_what_is_no_note(talk: Talk, between: str) -> None:
    """Asking to hear it again, for help or for something else lets it stand, and says it again."""
    talk.say("bucket half full")
    assert talk.say(between).text.endswith("Which tree?")
    assert talk.say("twelve").outcome == "saved"


def test_words_not_understood_leave_the_question_open(talk: Talk) -> None:
    """They are kept, the question is said again, and the answer still comes through."""
    talk.say("bucket half full")
    reply = talk.say("my dog ran down the hill")
    assert (reply.outcome, reply.text.endswith("Which tree?")) == ("kept", True)
    assert talk.say("twelve").outcome == "saved"


def test_one_question_may_follow_another(talk: Talk) -> None:
    """First the tree, then the doubt about the amount; each with one word."""
    talk.say("gathered seven gallons from tree nine")
    talk.wait(hours=1)
    assert talk.say("collected seven gallons").text == "Which tree?"
    assert talk.say("nine").outcome == "asked"
    assert talk.say("yes").outcome == "saved"
    assert talk.notes[1:] == [{"act": "gather", "tree": 9, "volume_gal": 7.0}]
    assert talk.book.kept() == []


def test_more_than_a_tree_gives_is_a_total(talk: Talk) -> None:
    """No bucket tree gives fifty gallons at once: nobody is asked which tree it was."""
    assert talk.say("collected fifty gallons").outcome == "saved"
    assert talk.notes == [{"act": "gather", "all": True, "volume_gal": 50.0}]


def test_a_doubt_can_be_answered_with_the_value(talk: Talk) -> None:
    """ "Fifty gallons from one tree?" "Five." """
    assert talk.say("collected fifty gallons from tree nine").outcome == "asked"
    talk.say("five")
    assert talk.notes == [{"act": "gather", "tree": 9, "volume_gal": 5.0}]


def test_a_doubtful_value_given_as_an_answer_is_doubted_again(talk: Talk) -> None:
    """A yes settles a doubt; another number that is no likelier does not."""
    talk.say("collected fifty gallons from tree nine")
    assert talk.say("sixty").outcome == "asked"
    assert talk.notes == []


def test_nobody_answers_in_a_memo(talk: Talk) -> None:
    """Whoever recorded the memo had not heard the question."""
    talk.say("bucket half full")
    assert talk.say("twelve", source="memo").outcome == "kept"
    assert talk.notes == []


def test_a_question_from_a_memo_can_be_answered_at_the_keyboard(talk: Talk) -> None:
    """The memo's question stands on the screen when the memo has been taken."""
    assert talk.say("bucket half full", source="memo").outcome == "asked"
    assert talk.say("twelve").outcome == "saved"


THIRTEEN = meaning_from({"act": "inspect", "tree": 13, "fill": 0.5})
THIRTY = meaning_from({"act": "inspect", "tree": 30, "fill": 0.5})
HEARD = Transcript(
    "tree thirteen half full",
    confidence=0.6,
    alternatives=(
        NBestEntry("tree thirteen half full", 0.0),
        NBestEntry("tree thirty half full", -0.5),
    ),
    fit=0.0,
    recogniser="an engine",
    audio=AudioSpan("walk.wav", "ab" * 32, 3.1, 6.0),
)
CLOSE = {
    HEARD.text: (
        Hypothesis((THIRTEEN,), 0.0, HEARD.text),
        Hypothesis((THIRTY,), 0.02, "tree thirty half full"),
    ),
    "thirty": (Hypothesis((meaning_from({"mention": {"number": 30}}),), 0.0, "thirty"),),
    "yes": (Hypothesis((meaning_from({"do": "confirm"}),), 0.0, "yes"),),
}


@pytest.fixture
def doubtful(talk_with: Callable[..., Talk]) -> Talk:
    return talk_with(readings=CLOSE)


def test_two_close_hearings_are_put_to_the_choice(doubtful: Talk) -> None:
    """Thirteen and thirty are a question, not a guess; the answer is one word."""
    reply = doubtful.hear(HEARD, source="live")
    assert (reply.outcome, reply.text) == ("asked", "Tree 13 or tree 30?")
    assert doubtful.notes == []
    assert doubtful.say("thirty", source="live").outcome == "saved"
    assert doubtful.notes == [THIRTY.json_fields()]


CHOICE_ANSWERS = [
    pytest.param({"act": "inspect", "tree": 30, "fill": 0.5}, "saved", id="the note again"),
    pytest.param({"mention": {"tree": 13}}, "saved", id="its tree"),
    pytest.param({"do": "correct", "tree": 13}, "saved", id="no, tree thirteen"),
    pytest.param({"mention": {"number": 14}}, "kept", id="neither of the two"),
    pytest.param({"mention": {"volume_gal": 2.0}}, "kept", id="something else"),
    pytest.param({"do": "deny"}, "done", id="no"),
]


@pytest.mark.parametrize(("said", "outcome"), CHOICE_ANSWERS)
def test_what_chooses_between_two_readings(
    talk_with: Callable[..., Talk], said: dict[str, object], outcome: str
) -> None:
    """The value that differs, however it is said; anything else saves nothing."""
    answer = (Hypothesis((meaning_from(said),), 0.0, "x"),)
    talk = talk_with(readings={**CLOSE, "x": answer})
    talk.hear(HEARD, source="live")
    assert talk.say("x", source="live").outcome == outcome
    assert len(talk.notes) == (outcome == "saved")


def test_two_near_answers_are_asked_about_again(talk_with: Callable[..., Talk]) -> None:
    """ "Which tree?" "Thirteen", or was it thirty: a question follows, not a guess."""
    answers = tuple(
        Hypothesis((meaning_from({"mention": {"number": number}}),), 0.0, str(number))
        for number in (13, 30)
    )
    lacking = (Hypothesis((meaning_from(HALF_FULL),), 0.0, "half full"),)
    talk = talk_with(readings={"half full": lacking, "x": answers})
    assert talk.say("half full", source="live").text == "Which tree?"
    assert talk.say("x", source="live").text == "Tree 13 or tree 30?"
    assert talk.notes == []


def test_yes_chooses_nothing(doubtful: Talk) -> None:
    """A choice is not answered with yes."""
    doubtful.hear(HEARD, source="live")
    assert doubtful.say("yes", source="live").outcome != "saved"
    assert doubtful.notes == []


def test_the_answer_listened_for_is_told_to_understanding(talk_with: Callable[..., Talk]) -> None:
    """Understanding knows which slot, or a yes or no, is expected."""
    talk = talk_with(readings=CLOSE)
    talk.hear(HEARD, source="live")
    talk.say("thirty", source="live")
    assert talk.conversation._understander.expected == [None, "tree"]  # type: ignore[attr-defined]


def test_the_sound_of_what_is_asked_is_in_the_book(doubtful: Talk) -> None:
    """Nothing heard is lost: words, hearings and where they stand in the recording."""
    doubtful.hear(HEARD)
    (kept,) = [doubtful.book.last_utterance()]
    assert kept is not None
    assert kept.audio == HEARD.audio
    assert kept.alternatives == HEARD.alternatives


DUMPS = [
    pytest.param([], "dump tank two", "asked", id="a tank of which nothing is known"),
    pytest.param(["poured ten gallons into tank two"], "dump tank two", "asked", id="one with sap"),
    pytest.param(["tank two is empty"], "dump tank two", "saved", id="one known to be empty"),
    pytest.param([], "dump the bucket on tree four", "saved", id="a single bucket"),
]


@pytest.mark.parametrize(("before", "said", "outcome"), DUMPS)
def test_throwing_a_tank_away_needs_a_yes(
    talk: Talk, before: list[str], said: str, outcome: str
) -> None:
    """A bucket is small and can be taken back; a tank of sap is a day's work."""
    for line in before:
        talk.say(line)
    assert talk.say(said).outcome == outcome


def test_a_no_dumps_nothing(talk: Talk) -> None:
    """Neither does "don't dump it" in answer to the question."""
    talk.say("poured ten gallons into tank two", "dump tank two", "don't dump tank two")
    talk.say("dump tank two", "no")
    assert [note["act"] for note in talk.notes] == ["store"]


def test_the_tank_is_the_one_there_is(talk: Talk) -> None:
    """ "The tank" needs no number where there is one."""
    talk.say("tank one is half full")
    talk.wait(hours=1)
    talk.say("poured five gallons into the tank")
    assert talk.notes[-1] == {"act": "store", "vessel": "tank 1", "volume_gal": 5.0}


def test_the_tank_is_its_own_name_where_none_has_a_number(talk: Talk) -> None:
    """A household with one tank need not number it."""
    talk.say("poured five gallons into the tank")
    assert talk.notes == [{"act": "store", "vessel": "tank", "volume_gal": 5.0}]


def test_the_tank_is_not_the_tree_in_hand(talk: Talk) -> None:
    """What is said of a tank is never written to a tree."""
    talk.say("tree twelve is full", "dump the tank", "yes")
    talk.say("tree twelve is full", "the tank tests two point two percent")
    assert [note.get("tree") for note in talk.notes] == [12, None, 12, None]


def test_one_of_two_tanks_is_asked_for(talk: Talk) -> None:
    """ "The tank" with two of them is a question, answered with its number."""
    talk.say("tank one is half full", "tank two is half full")
    talk.wait(hours=1)
    assert talk.say("poured five gallons into the tank").text == "Which tank?"
    talk.say("two")
    assert talk.notes[-1] == {"act": "store", "vessel": "tank 2", "volume_gal": 5.0}


def _read(text: str, cost: float, *meanings: dict[str, object]) -> tuple[Hypothesis, ...]:
    return (Hypothesis(tuple(map(meaning_from, meanings)), cost, text),)


GATHERED = {"act": "gather", "tree": 9, "volume_gal": 2.0}

PUT_RIGHT = [
    pytest.param({"do": "correct", "tree": 8}, {**GATHERED, "tree": 8}, id="no, tree eight"),
    pytest.param(
        {"do": "correct", "volume_gal": 3}, {**GATHERED, "volume_gal": 3.0}, id="no, 3 gal"
    ),
    pytest.param({"do": "correct", "number": 2.5}, {**GATHERED, "volume_gal": 2.5}, id="no, 2.5"),
]


@pytest.mark.parametrize(("correction", "note"), PUT_RIGHT)
def test_a_doubtful_sentence_is_put_right_by_one_value(
    talk_with: Callable[..., Talk], correction: dict[str, object], note: dict[str, object]
) -> None:
    """Its read-back was heard; the one wrong thing in it is said, and the rest stands."""
    readings = {
        "mumbled": _read("mumbled", COST_TO_SAVE + 0.1, GATHERED),
        "no": _read("no", 0.0, correction),
    }
    talk = talk_with(readings=readings)
    assert talk.say("mumbled").outcome == "asked"
    assert talk.say("no").outcome == "saved"
    assert talk.notes == [note]


def test_a_number_that_fits_two_places_puts_nothing_right(talk_with: Callable[..., Talk]) -> None:
    """ "No, three" could be the tree or the gallons."""
    readings = {
        "mumbled": _read("mumbled", COST_TO_SAVE + 0.1, GATHERED),
        "no three": _read("no three", 0.0, {"do": "correct", "number": 3}),
    }
    talk = talk_with(readings=readings)
    talk.say("mumbled", "no three")
    assert talk.notes == []


def test_a_doubtful_sentence_is_not_mended_by_a_name(talk_with: Callable[..., Talk]) -> None:
    """ "Tree eight" alone may be the next tree, and the rest of the sentence is still in doubt."""
    readings = {
        "mumbled": _read("mumbled", COST_TO_SAVE + 0.1, GATHERED),
        "tree eight": _read("tree eight", 0.0, {"mention": {"tree": 8}}),
    }
    talk = talk_with(readings=readings)
    talk.say("mumbled", "tree eight")
    assert talk.notes == []
    assert [kept.text for kept in talk.book.kept()] == ["mumbled"]


@pytest.mark.parametrize("meaning", [{"do": "deny"}, {"do": "repeat"}, {"mention": {"tree": 8}}])
def test_nobody_is_asked_whether_a_no_was_a_no(
    talk_with: Callable[..., Talk], meaning: dict[str, object]
) -> None:
    """A doubtful word in passing is kept; a question about it would be longer than it."""
    talk = talk_with(readings={"mumbled": _read("mumbled", COST_TO_SAVE + 0.1, meaning)})
    assert talk.say("mumbled").outcome == "kept"


def heard(text: str) -> Transcript:
    """Words as a recogniser gives them."""
    return Transcript(text, recogniser="an engine", fit=0.001)


@pytest.mark.parametrize(
    ("answer", "meant"),
    [
        ("one oh four", {"act": "inspect", "tree": 104, "sap": "clear"}),
        ("tree one oh four", {"act": "inspect", "tree": 104, "sap": "clear"}),
        ("trees one and four", {"act": "inspect", "trees": [1, 4], "sap": "clear"}),
    ],
)
def test_two_trees_that_may_be_the_digits_of_one_are_asked_about(
    talk: Talk, answer: str, meant: dict[str, Any]
) -> None:
    """ "One oh four" is heard as "one and four"; whoever means two trees says "trees"."""
    reply = talk.hear(heard("tree one and four sap clear"), source="live")
    assert reply.text == "Trees 1 and 4, or tree 104?"
    talk.hear(heard(answer), source="live")
    assert talk.notes == [meant]


@pytest.mark.parametrize("text", ["trees one and four sap clear", "tree ten and four sap clear"])
def test_two_trees_that_are_surely_two_are_not_asked_about(talk: Talk, text: str) -> None:
    assert talk.hear(heard(text)).outcome == "saved"


def test_two_trees_are_two_where_no_such_tree_is_known(talk: Talk) -> None:
    talk.say("tapped tree one", "tapped tree four")
    assert talk.hear(heard("tree one and four sap clear")).outcome == "saved"


def test_the_question_before_two_tanks_are_dumped_names_both(talk: Talk) -> None:
    assert talk.say("dump tank one and tank two").text == "Dump tank 1, and dump tank 2: yes or no?"
    talk.say("yes")
    assert [note["vessel"] for note in talk.notes] == ["tank 1", "tank 2"]


def test_two_questions_that_are_near_are_named_with_words_for_each(talk: Talk) -> None:
    """For programs the readings stand beside the question, each with a way to say the like."""
    either = replace(
        heard("how long does sap keep"),
        alternatives=(NBestEntry("what should I boil today", 0.0),),
    )
    reply = talk.hear(either, source="live")
    assert reply.outcome == "asked"
    nearest = reply.as_json()["nearest"]
    assert {one["meaning"]["ask"] for one in nearest} == {"advice", "boil_plan"}
    for one in nearest:
        assert talk.say(one["example"]).meanings[0].json_fields()["ask"] == one["meaning"]["ask"]


def test_nothing_stands_beside_a_question_about_one_reading(talk: Talk) -> None:
    assert "nearest" not in talk.say("dump tank two").as_json()


def test_a_greeting_overheard_is_not_answered(talk: Talk) -> None:
    """It was for somebody else."""
    assert talk.conversation.hear_unaddressed(heard("good morning"), source="live") is None
    assert talk.say("good morning").text == "Hello."
