"""A unit said once holds for the bare numbers of its sort after it, and for no others."""

from __future__ import annotations

import pytest

from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import typed
from tests.one_grammar import GRAMMAR

READER = Interpreter(GRAMMAR)


@pytest.mark.parametrize(
    ("text", "amounts"),
    [
        ("two quarts from tree nine, three from tree ten", [0.5, 0.75]),
        ("three pints from tree three, three from tree ten", [0.375, 0.375]),
        ("two quarts from tree nine, three gallons from tree ten", [0.5, 3.0]),
        ("tree nine two gallons, tree ten three quarts", [2.0, 0.75]),
        ("two gallons from tree nine, three from tree ten", [2.0, 3.0]),
        ("one quart from tree nine, six ounces from tree ten", [0.25, 0.0469]),
        ("one pint from tree nine, a cup from tree ten", [0.125, 0.0625]),
    ],
)
def test_amounts_have_the_unit_said_before_them(text: str, amounts: list[float]) -> None:
    first = READER.read(typed(text))[0]
    assert [one.json_fields()["volume_gal"] for one in first.meanings] == amounts


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("high six celsius low minus five", 23.0, 42.8),  # -5 °C and 6 °C by definition of °F
        ("low minus five celsius, high six", 23.0, 42.8),
        ("low minus five celsius, high forty fahrenheit", 23.0, 40.0),
        ("low twenty, high forty", 20.0, 40.0),
    ],
)
def test_temperatures_are_in_the_one_unit_that_was_said(text: str, low: float, high: float) -> None:
    (weather,) = READER.read(typed(text))[0].meanings
    told = weather.json_fields()
    assert (told["low_f"], told["high_f"]) == (low, high)
