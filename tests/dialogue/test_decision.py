"""The decision tables: what is saved, asked, answered and kept. No grammar and no book."""

from __future__ import annotations

import pytest

from fieldvoice.dialogue import policy
from fieldvoice.dialogue.naming import options_named
from fieldvoice.dialogue.policy import (
    MARGINS,
    Answer,
    Clarify,
    Commit,
    Confirmation,
    Execute,
    MissingSlot,
    Reject,
    ScoredHypothesis,
    as_one,
    believable,
    decide,
)
from fieldvoice.nlg.written import phrase, written
from fieldvoice.nlu import Hypothesis
from fieldvoice.schema import Meaning, meaning_from
from fieldvoice.segments import VesselRef, parts, prompt
from fieldvoice.transcript import Transcript, Word, typed

ODD = prompt("did you say 99")
NOTE = (meaning_from({"act": "inspect", "tree": 13, "fill": 0.5}),)
TWIN = (meaning_from({"act": "inspect", "tree": 30, "fill": 0.5}),)
REMARK = (meaning_from({"act": "remark", "text": "the gate is open"}),)
QUESTION = (meaning_from({"ask": "tap_limit", "tree": 7}),)
UNDO = (meaning_from({"do": "undo"}),)
DENY = meaning_from({"do": "deny"})
TREE = (meaning_from({"mention": {"tree": 12}}),)
NUMBER = (meaning_from({"mention": {"number": 12}}),)
VALUE = (meaning_from({"mention": {"volume_gal": 2.0}}),)

TYPED = typed("words")


def spoken(fit: float | None = 0.0, confidence: float = 0.9) -> Transcript:
    return Transcript("words", confidence=confidence, fit=fit, recogniser="an engine")


def candidate(
    meanings: tuple[Meaning, ...], cost: float = 0.0, price: float = 0.0, words: str = "words"
) -> ScoredHypothesis:
    return ScoredHypothesis(meanings, cost, price, label=parts("it"), words=(words,))


LITTLE = 0.01

ONE_READING = [
    pytest.param(NOTE, 0.0, Commit, id="a note as the grammar has it"),
    pytest.param(NOTE, policy.COST_TO_SAVE_HEARD, Commit, id="a note that is a little off"),
    pytest.param(NOTE, policy.COST_TO_SAVE + LITTLE, Clarify, id="a note over the ceiling"),
    pytest.param(NOTE, policy.COST_TO_ASK, Clarify, id="a note at the last price to ask"),
    pytest.param(NOTE, policy.COST_TO_ASK + LITTLE, Reject, id="a note too far off to ask"),
    pytest.param(QUESTION, 0.0, Answer, id="a question"),
    pytest.param(QUESTION, policy.COST_TO_ANSWER, Answer, id="a question at its own ceiling"),
    pytest.param(QUESTION, policy.COST_TO_ASK, Answer, id="a question over it"),
    pytest.param(QUESTION, policy.COST_TO_ASK + LITTLE, Reject, id="a question too far off"),
    pytest.param(UNDO, 0.0, Execute, id="a command"),
    pytest.param(UNDO, policy.COST_TO_SAVE + LITTLE, Clarify, id="a command in doubt"),
    pytest.param(TREE, 0.0, Execute, id="a tree named alone comes in hand"),
    pytest.param(NUMBER, 0.0, Reject, id="a bare number says nothing"),
    pytest.param(VALUE, 0.0, Reject, id="nor does a bare amount"),
    pytest.param((DENY, *NOTE), 0.0, Reject, id="don't dump tank two"),
    pytest.param((*TREE, *NOTE), 0.0, Commit, id="a name and a note"),
    pytest.param((*NOTE, *QUESTION), 0.0, Commit, id="a note and a question"),
]


@pytest.mark.parametrize("heard", [TYPED, spoken()], ids=["typed", "spoken"])
@pytest.mark.parametrize(("meanings", "cost", "wanted"), ONE_READING)
def test_one_reading(
    heard: Transcript, meanings: tuple[Meaning, ...], cost: float, wanted: type
) -> None:
    """The price of the only reading decides, against the ceiling of its kind."""
    assert isinstance(decide([candidate(meanings, cost)], heard), wanted)


TWO_READINGS = [
    pytest.param(("words",), MARGINS.same_words, id="same words, another reading"),
    pytest.param(("words", "mended"), MARGINS.mended, id="same hearing, a word mended"),
    pytest.param(("other",), MARGINS.alike, id="another hearing"),
]


@pytest.mark.parametrize(("words", "margin"), TWO_READINGS)
def test_the_next_reading_puts_the_first_in_doubt_when_it_is_near(
    words: tuple[str, ...], margin: float
) -> None:
    """How near depends on whether it is the same words read otherwise, or other words."""
    for further, wanted in ((-0.001, Clarify), (0.001, Commit)):
        near = ScoredHypothesis(TWIN, 0.2 + margin + further, label=parts("it"), words=words)
        assert isinstance(decide([candidate(NOTE, 0.2), near], spoken()), wanted)


@pytest.mark.parametrize(
    ("one", "other", "margin"),
    [
        (19, 90, MARGINS.alike),
        (30, 13, MARGINS.alike),
        (115, 150, MARGINS.alike),
        (4, 40, MARGINS.alike),
        (80, 8, MARGINS.alike),
        (106, 160, MARGINS.alike),
        (2, 10, MARGINS.alike),
        (10, 12, MARGINS.numbers),
        (19, 80, MARGINS.numbers),
        (113, 30, MARGINS.numbers),
        (4, 140, MARGINS.numbers),
    ],
)
def test_numbers_that_sound_alike_must_be_further_apart_than_others(
    one: int, other: int, margin: float
) -> None:
    """Nineteen and ninety are taken for each other by people, too."""
    heard, rival = (
        (meaning_from({"act": "pull", "tree": tree, "count": 1}),) for tree in (one, other)
    )
    for further, wanted in ((-0.001, Clarify), (0.001, Commit)):
        near = candidate(rival, margin + further, words="other")
        assert isinstance(decide([candidate(heard), near], spoken()), wanted)


def test_more_or_fewer_notes_in_the_breath_are_hardly_a_rival() -> None:
    """A search that may pass over words finds such readings everywhere; they are not right."""
    for further, wanted in ((-0.001, Clarify), (0.001, Commit)):
        near = candidate((*NOTE, *QUESTION), MARGINS.parts + further, words="other")
        assert isinstance(decide([candidate(NOTE), near], spoken()), wanted)


def test_free_words_are_hardly_a_rival() -> None:
    """A remark takes in whatever was said; and its own words are heard otherwise every time."""
    remark = (meaning_from({"act": "remark", "tree": 13, "text": "half full"}),)
    for best, other in ((NOTE, remark), (remark, NOTE)):
        for further, wanted in ((-0.001, Clarify), (0.001, Commit)):
            near = candidate(other, MARGINS.parts + further, words="other")
            assert isinstance(decide([candidate(best), near], spoken()), wanted)


def test_a_remark_whose_tree_is_left_among_its_words_is_no_other_remark() -> None:
    about = candidate((meaning_from({"act": "remark", "tree": 13, "text": "a crack in it"}),))
    whole = candidate(
        (meaning_from({"act": "remark", "text": "about tree thirteen a crack in it"}),),
        MARGINS.parts - LITTLE,
        words="other",
    )
    assert decide([about, whole], spoken()) == Commit(about)
    other = candidate(
        (meaning_from({"act": "remark", "tree": 50, "text": "a crack in it"}),),
        MARGINS.parts - LITTLE,
        words="other",
    )
    assert isinstance(decide([about, other], spoken()), Clarify)


OTHERWISE = [
    pytest.param({"act": "inspect", "tree": 13, "sap": "clear"}, id="another field"),
    pytest.param({"act": "inspect", "tree": 13, "fill": 0.5, "sap": "clear"}, id="a field more"),
    pytest.param({"act": "gather", "tree": 13, "fill": 0.5}, id="another act"),
    pytest.param({"ask": "tree_history", "tree": 13}, id="a question"),
]


@pytest.mark.parametrize("meant", OTHERWISE)
@pytest.mark.parametrize(("further", "wanted"), [(-0.001, Clarify), (0.001, Commit)])
def test_another_hearing_that_says_something_else_must_be_far_off(
    meant: dict[str, object], further: float, wanted: type
) -> None:
    near = candidate((meaning_from(meant),), MARGINS.other + further, words="other")
    assert isinstance(decide([candidate(NOTE), near], spoken()), wanted)


def test_a_question_is_doubted_as_a_note_is() -> None:
    """A wrong answer is believed as soon as it sounds likely; but it names the tree."""
    other = (meaning_from({"ask": "tap_limit", "tree": 70}),)
    for further, wanted in ((-0.001, Clarify), (0.001, Answer)):
        near = candidate(other, MARGINS.alike_asked + further, words="other")
        assert isinstance(decide([candidate(QUESTION), near], spoken()), wanted)


def test_margins_can_be_made_wider_and_narrower() -> None:
    """Only those of other hearings: a benchmark tries them out."""
    twice = MARGINS.times(2)
    assert (twice.numbers, twice.other) == (2 * MARGINS.numbers, 2 * MARGINS.other)
    assert twice.same_words == MARGINS.same_words
    near = candidate(TWIN, 1.5 * MARGINS.alike, words="other")
    assert isinstance(decide([candidate(NOTE), near], spoken()), Commit)
    assert isinstance(decide([candidate(NOTE), near], spoken(), twice), Clarify)


def test_a_reading_that_means_the_same_is_no_rival() -> None:
    """Two ways to the same note leave no doubt about it."""
    readings = [candidate(NOTE), candidate(NOTE, words="other")]
    assert isinstance(decide(readings, spoken()), Commit)


def test_a_bare_value_is_no_rival_to_a_note() -> None:
    """What could not be saved anyway cannot be what was meant instead."""
    readings = [candidate(NOTE), candidate(NUMBER, words="other")]
    assert isinstance(decide(readings, spoken()), Commit)


def test_free_words_that_fit_badly_are_no_reason_to_ask() -> None:
    """A remark is kept with its sound; what is no speech of the grammar at all is kept aside."""
    faint = spoken(fit=policy.FIT_TO_SAVE - 1e-5)
    assert isinstance(decide([candidate(REMARK)], faint), Commit)
    assert isinstance(decide([candidate((*NOTE, *REMARK))], faint), Clarify)
    assert isinstance(decide([candidate(REMARK)], spoken(fit=policy.FIT_FLOOR - 1e-5)), Reject)


def test_a_note_that_was_heard_must_be_nearer_to_the_grammar_than_one_that_was_typed() -> None:
    """What was heard comes in the grammar's words; what is passed over was misheard, maybe."""
    for heard, ceiling in (
        (TYPED, policy.COST_TO_SAVE),
        (spoken(), policy.COST_TO_SAVE_HEARD),
    ):
        assert isinstance(decide([candidate(NOTE, ceiling)], heard), Commit)
        assert isinstance(decide([candidate(NOTE, ceiling + LITTLE)], heard), Clarify)


def test_what_the_book_finds_odd_decides_between_near_hearings() -> None:
    """Of two hearings equally good, the one the book finds nothing odd about is taken."""
    odd = candidate(NOTE, 0.1, price=MARGINS.mended + 0.1)
    decided = decide([odd, candidate(TWIN, 0.1, words="other")], spoken())
    assert isinstance(decided, Commit)
    assert decided.candidate.meanings == TWIN


def test_what_the_book_finds_odd_does_not_make_typed_words_doubtful() -> None:
    """Typed words were not misheard; for spoken ones the book's doubt counts."""
    odd = candidate(NOTE, 0.0, price=policy.COST_TO_SAVE + 0.1)
    assert isinstance(decide([odd], TYPED), Commit)
    assert isinstance(decide([odd], spoken()), Clarify)


FITS = [
    pytest.param(spoken(fit=policy.FIT_FLOOR - 1e-5), Reject, id="sound that is no such speech"),
    pytest.param(spoken(fit=policy.FIT_FLOOR), Clarify, id="just speech"),
    pytest.param(spoken(fit=policy.FIT_TO_SAVE - 1e-5), Clarify, id="faint speech"),
    pytest.param(spoken(fit=policy.FIT_TO_SAVE), Commit, id="speech"),
    pytest.param(spoken(fit=None), Commit, id="not measured"),
]


@pytest.mark.parametrize(("heard", "wanted"), FITS)
def test_sound_that_fits_no_grammar_is_kept(heard: Transcript, wanted: type) -> None:
    """A recogniser held to a grammar makes notes of chatter; how it sounded shows it."""
    assert isinstance(decide([candidate(NOTE)], heard), wanted)


def test_nothing_read_is_kept() -> None:
    """Without a reading the words wait for review."""
    assert isinstance(decide([], TYPED), Reject)


def test_a_missing_slot_is_asked_before_an_unlikely_value() -> None:
    """One question at a time, and first the one without which there is no note."""
    lacking = ScoredHypothesis(
        NOTE, 0.0, gap=MissingSlot("tree", 0, "Which tree?"), doubt=Confirmation((ODD,))
    )
    decided = decide([lacking], TYPED)
    assert isinstance(decided, Clarify)
    assert (decided.question.kind, decided.question.slot) == ("slot", "tree")


def test_an_unlikely_value_is_asked_with_its_slot() -> None:
    """The answer may be yes, no, or the value itself."""
    odd = ScoredHypothesis(NOTE, 0.0, doubt=Confirmation((ODD,), 0, slot="fill"))
    decided = decide([odd], TYPED)
    assert isinstance(decided, Clarify)
    assert decided.question.kind == "yes_no"
    assert decided.question.slot == "fill"
    assert decided.question.settles


def test_two_near_readings_become_one_question_of_both() -> None:
    """The question names both and holds both."""
    decided = decide([candidate(NOTE), candidate(TWIN, words="other")], spoken())
    assert isinstance(decided, Clarify)
    assert decided.question.options == (NOTE, TWIN)


def test_a_question_taken_freely_is_answered_with_an_echo() -> None:
    """It is never put back as a question about itself."""
    for cost, echo in ((policy.COST_TO_ANSWER, False), (policy.COST_TO_ASK, True)):
        decided = decide([candidate(QUESTION, cost)], TYPED)
        assert decided == Answer(candidate(QUESTION, cost), echo=echo)
    faint = decide([candidate(QUESTION)], spoken(fit=policy.FIT_TO_SAVE - 1e-5))
    assert faint == Answer(candidate(QUESTION), echo=True)


def test_two_near_questions_are_named_unless_they_are_answered_alike() -> None:
    other = (meaning_from({"ask": "tree_history", "tree": 7}),)
    near = [candidate(QUESTION), candidate(other, 0.1, words="other")]
    decided = decide(near, spoken())
    assert isinstance(decided, Clarify)
    assert decided.question.options == (QUESTION, other)
    alike = decide(near, spoken(), same_answer=lambda one, two: True)
    assert alike == Answer(near[0])


@pytest.mark.parametrize(
    ("meanings", "wanted"),
    [(NOTE, Clarify), (UNDO, Clarify), (QUESTION, Answer), (TREE, Execute)],
    ids=["a note", "a command that changes one", "a question", "a name"],
)
def test_a_noun_passed_over_or_supplied_is_read_back(
    meanings: tuple[Meaning, ...], wanted: type
) -> None:
    """ "The bucket at tree six is dead" is no dying tree: it may be of another thing."""
    of_a_bucket = ScoredHypothesis(
        meanings, 0.3, label=parts("it"), words=("words",), nouns=("bucket",)
    )
    decided = decide([of_a_bucket], TYPED)
    assert isinstance(decided, wanted)
    if isinstance(decided, Clarify):
        assert written(decided.question.asks) == "It: yes or no?"


def test_what_is_missing_beside_a_noun_supplied_is_asked_with_the_read_back() -> None:
    """One question, not two."""
    gap = MissingSlot("volume_gal", 0, "How many gallons?")
    of_nine = ScoredHypothesis(NOTE, 0.3, gap=gap, label=parts("tree 9"), nouns=("bucket",))
    decided = decide([of_nine], TYPED)
    assert isinstance(decided, Clarify)
    assert decided.question.kind == "slot"
    assert written(decided.question.asks) == "Tree 9. How many gallons?"


def test_of_two_values_one_is_chosen() -> None:
    """A yes to one thing or another would say nothing."""
    wide = (meaning_from({"act": "measure", "tree": 5, "diameter_in": 60}),)
    doubt = Confirmation((prompt("16 inches, or 60"),), slot="diameter_in", values=(16.0, 60.0))
    decided = decide([ScoredHypothesis(wide, 0.0, doubt=doubt)], TYPED)
    assert isinstance(decided, Clarify)
    assert decided.question.kind == "choice"
    assert tuple(map(phrase, options_named(decided.question))) == ("16", "60")
    told = [option[0].json_fields()["diameter_in"] for option in decided.question.options]
    assert told == [16.0, 60.0]


OUT_OF_KIND = [
    pytest.param((*NOTE, *QUESTION), id="more in the same breath"),
    pytest.param(QUESTION, id="a question"),
    pytest.param(UNDO, id="a command"),
]


@pytest.mark.parametrize("other", OUT_OF_KIND)
def test_readings_too_unlike_for_a_short_choice_are_asked_by_yes_or_no(
    other: tuple[Meaning, ...],
) -> None:
    decided = decide([candidate(NOTE), candidate(other, 0.1, words="other")], spoken())
    assert isinstance(decided, Clarify)
    assert decided.question.kind == "yes_no"
    assert written(decided.question.asks) == "It: yes or no?"
    assert decided.question.options == (NOTE,)
    assert not decided.question.settles, "an unlikely value would still be asked about"


def test_several_things_to_be_thrown_away_are_one_question() -> None:
    """A yes is an answer to all of them, so all have to be named."""
    one, other = (
        Confirmation((), n - 1, does=parts("dump", VesselRef(f"tank {n}"))) for n in (1, 2)
    )
    asks = as_one([one, other]).asks
    assert written(asks) == "Dump tank 1, and dump tank 2: yes or no?"
    odd = Confirmation((ODD,), 1, slot="fill")
    assert as_one([odd, one]) == odd


ANSWERS = [
    pytest.param([0.0], 1, id="one"),
    pytest.param([0.0, MARGINS.numbers - LITTLE], 2, id="two close by"),
    pytest.param([0.0, MARGINS.numbers + LITTLE], 1, id="one far ahead"),
    pytest.param([policy.COST_TO_SAVE + LITTLE], 0, id="too doubtful"),
    pytest.param([], 0, id="none"),
]


@pytest.mark.parametrize(("costs", "wanted"), ANSWERS)
def test_readings_that_a_question_may_take_for_its_answer(costs: list[float], wanted: int) -> None:
    """An answer is believed as a note is."""
    trees = [(meaning_from({"mention": {"tree": tree}}),) for tree in (12, 20)]
    readings = [
        Hypothesis(tree, cost, text=f"hearing {cost}")
        for tree, cost in zip(trees, costs, strict=False)
    ]
    assert len(believable(readings, spoken())) == wanted


def dictated(sureness: float, fit: float = policy.FIT_FLOOR * 2) -> Transcript:
    """Return three words of an opening as sure as that, and two that are not."""
    words = [*(Word("make", 0, 0, sureness) for _ in range(3)), *(Word("x", 0, 0, 0.1),) * 2]
    return Transcript("make make make x x", tuple(words), 0.2, fit=fit, recogniser="an engine")


@pytest.mark.parametrize(
    ("meanings", "sureness", "opening", "expected"),
    [
        pytest.param(REMARK, policy.PLAINLY, 3, Commit, id="begun plainly, however it goes on"),
        pytest.param(REMARK, policy.PLAINLY - LITTLE, 3, Reject, id="its beginning is unsure"),
        pytest.param(REMARK, policy.PLAINLY, 1, Reject, id="a single word begins anything"),
        pytest.param(REMARK, policy.PLAINLY, 0, Reject, id="no beginning"),
        pytest.param(NOTE, policy.PLAINLY, 3, Reject, id="a note about a tree is no free speech"),
    ],
)
def test_free_words_after_a_plain_beginning_are_a_remark(meanings, sureness, opening, expected):
    """They fit the grammar badly, since they are not of it; small talk does not begin so."""
    decided = decide([candidate(meanings)], dictated(sureness), opening=opening)
    assert isinstance(decided, expected)


def test_other_hearings_of_a_dictated_remark_are_no_reason_to_ask():
    other = (meaning_from({"act": "remark", "text": "the grate is open"}),)
    decided = decide([candidate(REMARK), candidate(other, words="other")], dictated(1.0), opening=3)
    assert isinstance(decided, Commit)
