"""Taught lines as they are heard: what is still known of them, and what is left out."""

from __future__ import annotations

from typing import Any

import pytest

from fieldvoice.grammar import load_grammar
from fieldvoice.nlu.normalise import words_of
from models.reader import corpus, misheard

ROW: dict[str, Any] = {
    "source": "saying",
    "words": ["well", ",", "tree", "nine", "sap's", "cloudy", "not", "half", "full"],
    "kinds": ["act=inspect"],
    "states": ["inspect.fill=0.4", "sap=cloudy"],
    "roles": ["O", "O", *["inspect.tree"] * 2, "O", "inspect.sap", *["O"] * 3],
    "part": "learn",
    "gold": [],
}


def _heard(text: str, **other: Any) -> dict[str, Any] | None:
    return misheard.row_of({**ROW, **other}, tuple(text.split()))


def test_what_words_are_is_known_where_they_agree() -> None:
    row = _heard("will tree nine saps are cloudy not half full")
    assert row is not None
    assert row["roles"] == ["?", *["inspect.tree"] * 2, "?", "?", "inspect.sap", *["O"] * 3]
    assert row["kinds"] == ROW["kinds"]
    assert row["part"] == "learn"


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("well tree nine sap's cloudy not half full", id="heard as said"),
        pytest.param("well tree five sap's cloudy not half full", id="another number"),
        pytest.param("well three nine sap's cloudy not half full", id="a tree's name"),
        pytest.param("well tree nine sap's cloudy half full", id="not is lost"),
        pytest.param("well tree nine sap's loudly not half full", id="a value is lost"),
        pytest.param("filled tree nine sap's cloudy not half full", id="something else done"),
        pytest.param("will three nine saps are cloudy now half fall", id="too much"),
    ],
)
def test_what_says_something_else_is_left_out(text: str) -> None:
    assert _heard(text) is None


def test_nothing_held_out_is_taught() -> None:
    assert _heard("will tree nine sap's cloudy not half full") is not None
    assert _heard("will tree nine sap's cloudy not half full", part="set") is None


def test_a_line_of_the_file_has_both() -> None:
    said, heard = ("how", "long", "do", "i", "boil"), ("how", "log", "i", "boil", "it")
    line = misheard.joined(said, heard)
    assert line == "how {long do|log} i boil {|it}"
    assert misheard.parted(line) == (said, heard)


@pytest.mark.long
def test_the_file_has_taught_lines_alone() -> None:
    known = load_grammar().words
    part: dict[misheard.Words, str] = {}
    for source, text, _ in corpus._written():
        words = words_of(text, known, breaks=True)
        part.setdefault(misheard.plain(words), corpus.part(words, source))
    lines = [misheard.parted(line) for line in misheard.FILE.read_text("utf-8").splitlines()]
    assert not [heard for _, heard in lines if part.get(heard, "learn") != "learn"]
    assert {part[said] for said, _ in lines if said in part} == {"learn"}
    assert sum(said in part for said, _ in lines) >= 0.95 * len(lines) > 500
