"""Numbers that sound like small words, where they were heard."""

from __future__ import annotations

import pytest

from fieldvoice.homophones import with_figures
from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import Transcript, typed
from tests.one_grammar import GRAMMAR


@pytest.mark.parametrize(
    ("heard", "told"),
    [
        ("packed for pints of amber", "packed four pints of amber"),
        ("tree for half full", "tree four half full"),
        ("put too gallons in tank to", "put two gallons in tank two"),
        ("two gallons from tree ate", "two gallons from tree eight"),
        ("from tree to tree", "from tree to tree"),
        ("filled the tank to the brim", "filled the tank to the brim"),
        ("what is it good for", "what is it good for"),
    ],
)
def test_a_number_is_put_where_the_words_beside_it_ask_for_one(heard: str, told: str) -> None:
    assert with_figures(heard) == told


def test_what_was_heard_so_is_read_with_the_number() -> None:
    heard = Transcript("packed for pints of amber", confidence=0.9, recogniser="bundled")
    best = Interpreter(GRAMMAR).read(heard)[0]
    fields = [meaning.json_fields() for meaning in best.meanings]
    assert fields == [{"act": "pack", "count": 4, "size": "pint", "colour": "amber"}]


def test_what_was_typed_stays_as_it_is() -> None:
    readings = Interpreter(GRAMMAR).read(typed("tree to half full"))
    assert all("two" not in one.text for one in readings)
