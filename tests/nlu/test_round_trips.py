"""Amounts in words and in digits come to the same, whatever they are."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from num2words import num2words

from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import typed
from tests.one_grammar import GRAMMAR

UNDERSTANDER = Interpreter(GRAMMAR)

up_to_thousand = st.integers(0, 999)
digits = st.integers(0, 9)

#: num2words (PyPI) has no fractions; these are written out.
IN_WORDS = {
    "1/4": "a quarter", "1/3": "a third", "1/2": "a half", "2/3": "two thirds",
    "3/4": "three quarters", "1/8": "an eighth", "3/8": "three eighths", "5/8": "five eighths",
    "7/8": "seven eighths", "3/16": "three sixteenths", "5/16": "five sixteenths",
    "7/16": "seven sixteenths", "9/16": "nine sixteenths",
}  # fmt: skip
parts = st.sampled_from(sorted(IN_WORDS))


def field(note: str, name: str) -> object:
    readings = UNDERSTANDER.read(typed(note))
    assert readings, note
    (meaning,) = readings[0].meanings
    return meaning.json_fields().get(name)


def gallons(amount: str) -> object:
    return field(f"collected {amount} gallons from tree nine", "volume_gal")


def degrees(amount: str) -> object:
    return field(f"tank one is at {amount} degrees", "temp_f")


def words(number: int) -> str:
    return num2words(number).replace("-", " ")


@pytest.mark.long
@settings(max_examples=200, deadline=None)
@given(up_to_thousand)
def test_whole_numbers(number: int) -> None:
    """Outside check: num2words (PyPI) says the number, with and without its "and"."""
    said = words(number)
    assert degrees(said) == degrees(said.replace(" and ", " ")) == degrees(str(number)) == number


@settings(max_examples=100, deadline=None)
@given(st.integers(1, 999))
def test_whole_amounts(number: int) -> None:
    assert gallons(words(number)) == gallons(str(number)) == number


@pytest.mark.long
@settings(max_examples=150, deadline=None)
@given(up_to_thousand, st.lists(digits, min_size=1, max_size=2))
def test_decimals(number: int, after: list[int]) -> None:
    """Outside check: num2words (PyPI) writes the whole, digit by digit the rest."""
    written = f"{number}.{''.join(map(str, after))}"
    assume(float(written) > 0)
    expected = pytest.approx(float(written))
    assert gallons(written) == expected
    for nought in ("zero", "oh"):
        said = " ".join(nought if digit == 0 else words(digit) for digit in after)
        assert gallons(f"{words(number)} point {said}") == expected
        if number == 0:
            assert gallons(f"point {said}") == expected


@pytest.mark.long
@settings(max_examples=150, deadline=None)
@given(st.integers(1, 999), parts)
def test_mixed_fractions(number: int, part: str) -> None:
    expected = pytest.approx(float(number + Fraction(part)), abs=1e-3)
    assert gallons(f"{number} {part}") == expected
    assert gallons(f"{words(number)} and {IN_WORDS[part]}") == expected


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(2, 99), min_size=2, max_size=5, unique=True))
def test_rows_of_trees(trees: list[int]) -> None:
    told = ", ".join(map(str, trees[:-1])) + f" and {trees[-1]}"
    (meaning,) = UNDERSTANDER.read(typed(f"trees {told} are empty"))[0].meanings
    assert meaning.json_fields() == {"act": "inspect", "trees": trees, "fill": 0}


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 150), st.integers(2, 40))
def test_ranges_of_trees(first: int, count: int) -> None:
    trees = list(range(first, first + count))
    for text in (
        f"trees {first}-{trees[-1]} empty",
        f"trees {words(first)} through {words(trees[-1])} are empty",
    ):
        (meaning,) = UNDERSTANDER.read(typed(text))[0].meanings
        assert meaning.json_fields() == {"act": "inspect", "trees": trees, "fill": 0}


def test_a_word_gone_wrong_does_not_split_or_shorten_a_number() -> None:
    """What is supplied or passed over leaves the numbers as they were said."""
    for text in (
        "the hydrometer reads sixty six am i done",
        "tote has two hundred and fifty gallons",
    ):
        for reading in UNDERSTANDER.read(typed(text)):
            told = repr([one.json_fields() for one in reading.meanings])
            assert "tote 2" not in told
            assert "'temp_f': 6" not in told
    for reading in UNDERSTANDER.read(typed("tree fifty fize is eighteen inches across")):
        assert all(one.json_fields().get("tree") != 50 for one in reading.meanings)
