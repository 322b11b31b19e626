"""Pieces of a sentence that have a value: what they are worth, and that none cuts a number."""

from __future__ import annotations

import time
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words

from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.chunker import Span, spans
from fieldvoice.nlu.normalise import words_of
from tests.one_grammar import GRAMMAR

NETWORKS = Interpreter(GRAMMAR).networks

#: Sentences with a place for an amount, none of which the grammar has; words that count nothing.
AROUND = (
    "i reckon we got {} out of there",
    "{} or thereabouts",
    "mom says it was {}",
    "well, {}, give or take",
)

#: Exact definitions: 1 US gallon is 4 quarts, 8 pints and 3.785411784 litres, 1 inch is 2.54 cm.
VOLUMES = {"gallons": 1.0, "quarts": 1 / 4, "pints": 1 / 8, "liters": 1 / 3.785411784}
LENGTHS = {"inches": 1.0, "centimeters": 1 / 2.54}

PARTS = {"a quarter": Fraction(1, 4), "a half": Fraction(1, 2), "three quarters": Fraction(3, 4)}


def words(number: int) -> str:
    return num2words(number).replace("-", " ")


@st.composite
def amounts(draw: st.DrawFn) -> tuple[str, float]:
    """Return an amount below a hundred as it is said by num2words (PyPI), and its value."""
    whole = draw(st.integers(1, 99))
    kind = draw(st.sampled_from(["whole", "part", "decimal"]))
    if kind == "part":
        said = draw(st.sampled_from(sorted(PARTS)))
        return f"{words(whole)} and {said}", float(whole + PARTS[said])
    if kind == "decimal":
        tenth = draw(st.integers(1, 9))
        return f"{words(whole)} point {words(tenth)}", whole + tenth / 10
    return words(whole), float(whole)


def found(text: str) -> list[Span]:
    return spans(NETWORKS, words_of(text, GRAMMAR.words, breaks=True))


def at_place(around: str, said: str, sort: str) -> list[Any]:
    """Return the values of a sort that are told by just the words ``said``."""
    before = len(words_of(around.split("{}")[0], GRAMMAR.words, breaks=True))
    if before and around.split("{}")[0].rstrip().endswith((",", ".")):
        before += 1
    end = before + len(words_of(said, GRAMMAR.words))
    return [
        one.value
        for one in found(around.format(said))
        if (one.sort, one.start, one.end) == (sort, before, end)
    ]


@settings(max_examples=80, deadline=None)
@given(st.sampled_from(AROUND), amounts(), st.sampled_from(sorted(VOLUMES)))
def test_a_volume_is_worth_what_was_said(around: str, amount: tuple[str, float], unit: str) -> None:
    said, value = amount
    expected = pytest.approx(value * VOLUMES[unit], abs=1e-4)
    assert at_place(around, f"{said} {unit}", "volume") == [expected]


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(AROUND), amounts(), st.sampled_from(sorted(LENGTHS)))
def test_a_length_is_worth_what_was_said(around: str, amount: tuple[str, float], unit: str) -> None:
    said, value = amount
    expected = pytest.approx(value * LENGTHS[unit], abs=0.006)
    assert at_place(around, f"{said} {unit}", "length") == [expected]


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(AROUND), st.integers(1, 110))
def test_celsius_becomes_fahrenheit(around: str, degrees: int) -> None:
    """By the definition of the scale: F = 1.8 C + 32."""
    said = f"{words(degrees)} degrees celsius"
    assert at_place(around, said, "temperature") == [pytest.approx(1.8 * degrees + 32, abs=0.06)]


@settings(max_examples=100, deadline=None)
@given(st.sampled_from(AROUND), st.integers(1, 999), st.booleans())
def test_a_number_is_worth_what_was_said(around: str, number: int, in_figures: bool) -> None:
    said = str(number) if in_figures else words(number)
    assert at_place(around, said, "number") == [number]


@settings(max_examples=100, deadline=None)
@given(st.sampled_from(AROUND), amounts(), st.sampled_from(["gallons", "inches", "", "brix"]))
def test_no_piece_cuts_a_number(around: str, amount: tuple[str, float], unit: str) -> None:
    """A piece has all of a number's words, or none."""
    said = amount[0]
    start = len(words_of(around.split("{}")[0], GRAMMAR.words))
    start += around.startswith("well,")
    number = range(start, start + len(said.split()))
    for piece in found(around.format(f"{said} {unit}".strip())):
        shared = set(range(piece.start, piece.end)) & set(number)
        assert not shared or shared == set(number), piece


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(1, 99), min_size=2, max_size=4))
def test_a_break_parts_two_numbers(numbers: list[int]) -> None:
    """ "Twenty, five" are two: no piece begins or ends with a break, each number stands alone."""
    said = words_of(", ".join(words(one) for one in numbers), breaks=True)
    pieces = spans(NETWORKS, said)
    assert all("," not in (said[one.start], said[one.end - 1]) for one in pieces)
    alone = [
        one.value for one in pieces if one.sort == "number" and "," not in said[one.start : one.end]
    ]
    assert alone == numbers


@settings(max_examples=100, deadline=None)
@given(st.lists(st.sampled_from([*sorted(GRAMMAR.words), ","]), max_size=10))
def test_pieces_of_any_words_lie_within_them(said: list[str]) -> None:
    pieces = spans(NETWORKS, tuple(said))
    assert all(0 <= one.start < one.end <= len(said) for one in pieces)
    places = [(one.sort, one.start, one.end) for one in pieces]
    assert len(places) == len(set(places))


@pytest.mark.parametrize(
    ("text", "sort", "value"),
    [
        ("out by tree fourteen it was wet", "tree", 14),
        ("trees three through six looked poor", "trees", (3, 4, 5, 6)),
        ("the bucket there was about half full i guess", "fill", 0.5),
        ("poured it all in tank two", "vessel", "tank 2"),
    ],
)
def test_plain_pieces(text: str, sort: str, value: object) -> None:
    values = [one.value for one in found(text) if one.sort == sort]
    assert value in [tuple(one) if isinstance(one, list) else one for one in values]


def test_no_words_have_no_pieces() -> None:
    assert spans(NETWORKS, ()) == []


@pytest.mark.parametrize("row", ["nine", "one two three four five", "twenty one thirty two"])
def test_a_long_row_of_numbers_takes_no_time(row: str) -> None:
    """Of sixty in a row there are no two thousand lists of trees: one begins where the row does."""
    words = tuple((f"{row} " * 60).split()[:60])
    began = time.process_time()
    found = spans(NETWORKS, words)
    assert time.process_time() - began < 0.8  # a sixth of it on a free core
    assert {span.start for span in found if span.sort == "trees"} <= {0}
