"""Spoken numbers to values: every way of saying every tree number, and amounts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from num2words import num2words

from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import typed
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Collection

UNDERSTANDER = Interpreter(GRAMMAR)


def meaning(text: str) -> list[dict[str, object]]:
    readings = UNDERSTANDER.read(typed(text))
    return [one.json_fields() for one in readings[0].meanings] if readings else []


def ways_to_say(number: int) -> set[str]:
    """Return the number in digits, as num2words (PyPI) has it, and shortened as people do."""
    words = num2words(number).replace("-", " ").replace(",", "")
    ways = {str(number), words, words.replace(" and ", " ")}
    hundreds, rest = divmod(number, 100)
    if hundreds and rest:
        tail = num2words(rest).replace("-", " ")
        short = f"oh {tail}" if rest < 10 else tail
        ways.add(f"{num2words(hundreds)} {short}")
    if hundreds == 1:
        ways.add(words.replace("one hundred", "a hundred"))
    return ways


#: Trees that a family has, and where the wording turns; the others are read in the long run.
USUAL = frozenset({*range(1, 121), *range(200, 1000, 100), 219, 305, 550, 999})


@pytest.mark.parametrize(
    "numbers",
    [
        pytest.param(USUAL, id="usual"),
        pytest.param({*range(1, 1000)} - USUAL, id="all others", marks=pytest.mark.long),
    ],
)
def test_every_tree_number_in_every_wording(numbers: Collection[int]) -> None:
    wrong = {
        f"tree {way} is empty": number
        for number in numbers
        for way in ways_to_say(number)
        if meaning(f"tree {way} is empty") != [{"act": "inspect", "tree": number, "fill": 0}]
    }
    assert wrong == {}


@pytest.mark.parametrize(
    ("said", "gallons"),
    [
        ("two and a half gallons", 2.5), ("2½ gallons", 2.5), ("2.5 gal", 2.5),
        ("three quarters of a gallon", 0.75), ("half a gallon", 0.5), ("a gallon and a half", 1.5),
        ("a couple gallons", 2), ("a quart", 0.25), ("three quarts", 0.75), ("two pints", 0.25),
        ("point five gallons", 0.5), ("two point two five gallons", 2.25),
        ("two point oh five gallons", 2.05), ("a hundred and ten and a half gallons", 110.5),
        # 1 US gallon is 3.785411784 litres, by definition.
        ("ten litres", 2.6417), ("4 L", 1.0567),
    ],
)  # fmt: skip
def test_volumes_become_gallons(said: str, gallons: float) -> None:
    assert meaning(f"collected {said} from tree nine") == [
        {"act": "gather", "tree": 9, "volume_gal": pytest.approx(gallons, abs=1e-4)}
    ]


@pytest.mark.parametrize(
    ("said", "degrees"),
    [
        ("two nineteen", 219), ("219", 219), ("two hundred and nineteen", 219),
        ("two nineteen point five", 219.5), ("219.5 F", 219.5), ("104 C", 219.2),
        ("one hundred and four degrees celsius", 219.2),
    ],
)  # fmt: skip
def test_temperatures_become_fahrenheit(said: str, degrees: float) -> None:
    assert meaning(f"drew off a quart at {said}") == [
        {"act": "draw", "syrup_gal": 0.25, "temp_f": pytest.approx(degrees)}
    ]


@pytest.mark.parametrize(
    ("said", "inches"),
    [
        ("eighteen inches across", 18), ('18" across', 18), ("45 cm across", 17.72),
        # Girth to diameter: circumference / pi.
        ("fifty six inches around", 17.83), ("38 inches around", 12.1), ("31 inches around", 9.87),
        ("one and a half feet across", 18),
    ],
)  # fmt: skip
def test_lengths_become_inches_of_diameter(said: str, inches: float) -> None:
    assert meaning(f"tree five is {said}") == [
        {"act": "measure", "tree": 5, "diameter_in": pytest.approx(inches, abs=0.006)}
    ]
