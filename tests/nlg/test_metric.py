"""Amounts in a rule's own words in metric units."""

from __future__ import annotations

import pytest

from fieldvoice.nlg.metric import in_metric


@pytest.mark.parametrize(
    ("told", "metric"),
    [
        # 1 US gallon = 3.785411784 L, 1 inch = 2.54 cm, 1 lb = 0.45359237 kg (exact definitions)
        ("Keep it under 38 °F.", "Keep it under 3 °C."),
        ("It froze at 32 °F.", "It froze at 0 °C."),
        ("From 185 to 190 °F.", "From 85 to 88 °C."),
        ("About 0.92 gal, 3.7 quarts.", "About 3.5 L."),
        ("Two inches deep, 2 to 4 feet up.", "Two inches deep, 0.61 to 1.2 m up."),
        ("A pan eight inches deep.", "A pan 20 cm deep."),
        ("It weighs 11 pounds.", "It weighs 5 kg."),
        ("Half a cup of bleach; half a cup a gallon.", "Half a cup of bleach; 118 mL a gallon."),
    ],
)
def test_amounts_are_converted(told: str, metric: str) -> None:
    assert in_metric(told) == metric


@pytest.mark.parametrize(
    "told",
    [
        "Seven degrees above where water boils.",  # a difference
        "It boils 7 °F higher.",
        "One part bleach to 20 of water.",
        "Tree 9 has 2 taps.",
        "12 ounces of it.",  # of weight or of volume: nobody knows
    ],
)
def test_what_is_no_amount_stays(told: str) -> None:
    assert in_metric(told) == told
