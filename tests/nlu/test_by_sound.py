"""What was heard, not typed: words are mended by their sound, but one tree never into several."""

from __future__ import annotations

import dataclasses

import pytest

from fieldvoice.cli.recognisers import sound_of_words
from fieldvoice.dialogue.policy import COST_TO_SAVE, COST_TO_SAVE_HEARD, MARGINS
from fieldvoice.nlu import Interpreter, costs
from fieldvoice.transcript import NBestEntry, Transcript, typed
from tests.one_grammar import GRAMMAR

UNDERSTANDER = Interpreter(GRAMMAR, sound_of_words(GRAMMAR))


def saved(text: str) -> list[dict[str, object]]:
    """Return the notes of the best reading, if it is cheap enough to be saved unasked."""
    heard = Transcript(text=text, confidence=0.9, recogniser="an engine")
    readings = UNDERSTANDER.read(heard)
    if not readings or readings[0].cost > COST_TO_SAVE_HEARD:
        return []
    return [one.json_fields() for one in readings[0].meanings]


@pytest.mark.parametrize(
    "text", ["number seventy seven lost a branch", "number fifty seven lost a big limb"]
)
def test_tens_and_ones_are_not_two_trees(text: str) -> None:
    assert not any("trees" in note for note in saved(text))


@pytest.mark.parametrize(
    ("text", "trees"),
    [
        ("trees seventy seven and twelve are dry", [77, 12]),
        ("trees one twenty three and nine are dry", [1, 23, 9]),
        ("trees seventy and seven are dry", [70, 7]),
    ],
)
def test_a_list_of_trees_is_one_all_the_same(text: str, trees: list[int]) -> None:
    assert saved(text) == [{"act": "inspect", "trees": trees, "fill": 0}]


def test_a_number_is_not_lightly_mended_into_a_smell() -> None:
    """It was "sour" that was said."""
    assert saved("tree seventeen smells four") == []
    assert saved("tree seventeen smells sour") == [{"act": "inspect", "tree": 17, "smell": "sour"}]


def test_nobody_says_a_pints() -> None:
    """Heard so, it is not saved; as another hearing it is no rival; typed it is a slip."""
    four, one = "packed four pints of amber", "packed a pints of amber"
    assert saved(one) == []
    (note,) = saved("packed a pint of amber")
    assert note["count"] == 1
    alternatives = (NBestEntry(four, 0.0), NBestEntry(one, -20.0))
    heard = Transcript(four, alternatives=alternatives, recogniser="an engine")
    found = {
        reading.meanings[0].json_fields()["count"]: reading.cost
        for reading in UNDERSTANDER.read(heard)
    }
    assert found[1] - found[4] > 1.0 + costs.DOUBTFUL
    assert UNDERSTANDER.read(typed(one))[0].cost < COST_TO_SAVE


def test_a_word_in_its_own_right_typed_alone_is_no_slip() -> None:
    """ "Null" is not "full"; "ful" is."""
    typing = Interpreter(GRAMMAR, None, frozenset({"null"}).__contains__)
    assert all(one.cost > COST_TO_SAVE for one in typing.read(typed("null")))
    slip = typing.read(typed("ful"))[0]
    assert slip.cost < COST_TO_SAVE
    assert slip.meanings[0].json_fields()["fill"] == 1


@pytest.mark.parametrize(("behind", "wanted"), [(80.0, {12, 20}), (100.0, {12})])
def test_a_hearing_too_far_behind_to_be_a_rival_is_not_searched(
    behind: float, wanted: set[int]
) -> None:
    near, far = "tree twelve is dry", "tree twenty is dry"
    alternatives = (NBestEntry(near, 0.0), NBestEntry(far, -behind))
    heard = Transcript(near, alternatives=alternatives, recogniser="an engine")
    readings = UNDERSTANDER.read(heard)
    assert {one.meanings[0].json_fields().get("tree") for one in readings} == wanted


def test_it_is_searched_where_nothing_likelier_was_read() -> None:
    alternatives = (NBestEntry("the of", 0.0), NBestEntry("tree twenty is dry", -100.0))
    heard = Transcript("the of", alternatives=alternatives, recogniser="an engine")
    readings = UNDERSTANDER.read(heard)
    assert {one.meanings[0].json_fields().get("tree") for one in readings} == {20}


def test_no_rival_of_the_conversation_is_left_out() -> None:
    margins = dataclasses.astuple(MARGINS)
    assert max(margins) + costs.OPEN + costs.RIVALS_WITHIN <= costs.NO_RIVAL


@pytest.mark.parametrize(
    ("text", "is_unfinished"),
    [
        ("collected two", True),
        ("tree forty", True),
        ("tank twenty", True),
        ("tree twelve", False),
        ("tree forty is dry", False),
        ("tapped tree forty", False),
        ("tank one is at thirty", True),
        ("it got down to twenty", True),
        ("it got down to twenty six", False),
        ("poured ten gallons into tank twenty", False),
    ],
)
def test_after_tens_the_ones_of_a_number_may_come(text: str, is_unfinished: bool) -> None:
    """Whoever thinks after "tree forty" says "three is dry" of tree 43.

    After "it got down to twenty" the six is still to come.
    """
    assert UNDERSTANDER.is_unfinished(text) == is_unfinished
