"""What tags mean."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fieldvoice.errors import GrammarError
from fieldvoice.grammar.tags import ADD, CLOSE, DECIMAL, MULTIPLY, OPEN, SET, enclosing


@pytest.mark.parametrize(
    ("tag", "mark"),
    [
        ("fill=0.5", (SET, "fill", 0.5)),
        ("fill=1", (SET, "fill", 1)),
        ("all=true", (SET, "all", True)),
        ("species=box elder", (SET, "species", "box elder")),
        ("+20", (ADD, "", Fraction(20))),
        ("+3/4", (ADD, "", Fraction(3, 4))),
        ("*100", (MULTIPLY, "", Fraction(100))),
        ("*-1", (MULTIPLY, "", Fraction(-1))),
        ("/2.54", (MULTIPLY, "", Fraction(50, 127))),
        (".5", (DECIMAL, "", 5)),
    ],
)
def test_marks_that_follow_their_words(tag: str, mark: object) -> None:
    assert enclosing((tag,)) == ((), (mark,))


def test_a_bare_key_encloses_its_words_and_tags_nest_in_order() -> None:
    before, after = enclosing(("/4", "volume_gal"))
    assert before == ((OPEN, "volume_gal", None),)
    assert after == ((MULTIPLY, "", Fraction(1, 4)), (CLOSE, "volume_gal", None))


@pytest.mark.parametrize("tag", ["", "What?", "+", "two words", "^2"])
def test_other_tags_are_refused(tag: str) -> None:
    with pytest.raises(GrammarError, match="no such kind of tag"):
        enclosing((tag,))
