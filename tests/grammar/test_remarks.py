"""How a remark begins."""

from __future__ import annotations

import pytest

from fieldvoice.cli.app import the_grammar
from fieldvoice.grammar.remarks import RemarkOpenings


@pytest.fixture(scope="module")
def openings() -> RemarkOpenings:
    return RemarkOpenings(the_grammar())


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("make a note the gate is open", 3),
        ("make a note that the gate is open", 4),
        ("note to self the gate is open", 3),
        ("remember that the gate is open", 2),
        ("note the gate is open", 1),
        ("make a note", 0),
        ("the gate is open make a note", 0),
        ("tree nine bucket full", 0),
        ("", 0),
    ],
)
def test_the_longest_opening_that_something_follows(
    openings: RemarkOpenings, text: str, count: int
) -> None:
    assert openings.words_in(text) == count
