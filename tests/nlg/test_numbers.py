"""Numbers in words, against the package num2words and the wordings that people use."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from fieldvoice.nlg.numbers import cardinal, ordinal, paired
from fieldvoice.tts import say_number


def _plain(words: str) -> str:
    return words.replace("-", " ").replace(",", "")


@given(st.integers(-999_999_999, 999_999_999))
def test_cardinals_are_those_of_num2words(number: int) -> None:
    assert cardinal(number) == _plain(num2words(number))


@given(st.integers(1, 9_999))
def test_ordinals_are_those_of_num2words(number: int) -> None:
    assert ordinal(number) == _plain(num2words(number, to="ordinal"))


@given(st.integers(1100, 1999) | st.integers(2010, 2099))
def test_paired_numbers_are_said_like_the_years_of_num2words(number: int) -> None:
    expected = _plain(num2words(number, to="year"))
    assert paired(number) == expected


@given(st.decimals(0, 9999, places=3))
def test_decimals_are_those_of_num2words(number: object) -> None:
    figures = f"{number:f}".rstrip("0").rstrip(".")
    assert say_number(figures) == _plain(num2words(figures))


@pytest.mark.parametrize(
    ("figures", "words"),
    [
        (7, "seven"),
        ("14", "fourteen"),
        (2.5, "two point five"),
        (0.1, "zero point one"),
        ("1,200", "one thousand two hundred"),
        ("5/16", "five sixteenths"),
        ("1/2", "a half"),
        ("1/8", "an eighth"),
        ("1 1/2", "one and a half"),
        ("-5", "minus five"),
        (-0.25, "minus zero point two five"),
        ("22/7", "twenty two over seven"),
        (1e-7, "zero point zero zero zero zero zero zero one"),
    ],
)
def test_a_bare_number(figures: str | float, words: str) -> None:
    assert say_number(figures) == words


@pytest.mark.parametrize(
    ("figures", "words"),
    [
        ("0.25", "a quarter"),
        ("0.50", "a half"),
        ("0.75", "three quarters"),
        ("0.33", "a third"),
        ("2.67", "two and two thirds"),
        ("1.125", "one and an eighth"),
        ("0.3", "zero point three"),
        ("3", "three"),
    ],
)
def test_a_measured_number_has_its_fractions(figures: str, words: str) -> None:
    assert say_number(figures, "measure") == words


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (9, "nine"), (43, "forty three"), (100, "one hundred"), (105, "one oh five"),
        (110, "one ten"), (123, "one twenty three"), (200, "two hundred"),
        (219, "two nineteen"), (1005, "ten oh five"), (1200, "twelve hundred"),
        (2000, "two thousand"),
    ],
)  # fmt: skip
def test_numbers_on_a_sign_are_said_in_pairs(number: int, words: str) -> None:
    assert paired(number) == words


@pytest.mark.parametrize("figures", ["", "many", "1.2.3", float("inf"), float("nan")])
def test_what_is_no_number_is_refused(figures: str | float) -> None:
    with pytest.raises(ValueError, match=r"."):
        say_number(figures)
