"""Names that trees and vessels were given: understood with tolerance, and only while they hold."""

from __future__ import annotations

import pytest

from fieldvoice.grammar.entity_names import EntityNames, words_in
from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import typed
from tests.one_grammar import GRAMMAR

UNDERSTANDER = Interpreter(GRAMMAR)
NAMES = EntityNames(
    frozenset({"big yard tree", "grandpa's maple", "old king"}), frozenset({"blue tank"})
)


def meanings(text: str, names: EntityNames = NAMES) -> list[dict[str, object]]:
    readings = UNDERSTANDER.read(typed(text), names=names)
    return [one.json_fields() for one in readings[0].meanings] if readings else []


@pytest.mark.parametrize(
    "said",
    [
        "big yard tree half full", "the big yard tree is half full", "the big yard half full",
        "big yard tree's bucket is half full", "big yrad tree half full",
        "the big yard tree, half full",
    ],
)  # fmt: skip
def test_a_name_is_understood_short_of_its_last_word_or_misspelt(said: str) -> None:
    assert meanings(said) == [{"act": "inspect", "tree": "big yard tree", "fill": 0.5}]


@pytest.mark.parametrize(
    "said", ["grandpa's maple empty", "grandpas maple empty", "grandpa maple empty"]
)
def test_the_possessive_of_a_name_may_be_missing(said: str) -> None:
    assert meanings(said) == [{"act": "inspect", "tree": "grandpa's maple", "fill": 0}]


def test_several_names_are_several_trees() -> None:
    assert meanings("big yard tree and old king are full") == [
        {"act": "inspect", "trees": ["big yard tree", "old king"], "fill": 1}
    ]


def test_without_the_name_the_words_are_no_tree() -> None:
    for meaning in meanings("old king half full", EntityNames()):
        assert "tree" not in meaning


def test_completion_offers_the_names_words() -> None:
    assert "yard" in UNDERSTANDER.next_words("collected two gallons from the big", NAMES)
    assert "king" not in UNDERSTANDER.next_words("collected two gallons from old", EntityNames())


def test_words_of_a_name() -> None:
    assert words_in("The Big Yard Tree") == ("big", "yard", "tree")
    assert words_in("Grandpa's maple") == ("grandpa", "'s", "maple")
