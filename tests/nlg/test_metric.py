"""Sentences in US units told in metric: by the exact definitions of the units."""

from __future__ import annotations

import pytest

from fieldvoice.nlg.metric import in_metric

SENTENCES = [
    ("Draw at 219.1 °F.", "Draw at 103.9 °C."),
    ("It's 185 degrees. Warm the glass.", "It's 85 °C. Warm the glass."),
    ("Still 0.9 °F to go.", "Still 0.5 °C to go."),
    ("At 50 °F it ages 2 times as fast as at 38; keep it under 40.",
     "At 10 °C it ages 2 times as fast as at 3; keep it under 4."),
    ("Above your water's boil: cream 22 to 24, candy 32 to 34 degrees.",
     "Above your water's boil: cream 12 to 13, candy 18 to 19 °C."),
    ("Holes slope upward 5 to 10 degrees.", "Holes slope upward 5 to 10 degrees."),
    ("Two to four inches sideways and half a foot up.", "5 to 10 cm sideways and 15 cm up."),
    ("One and a half inches deep, a 5/16 inch bit.", "4 cm deep, a 8 mm bit."),
    ("A full five-gallon pail is 42 pounds.", "A full 19 L pail is 19 kg."),
    ("Syrup weighs eleven pounds a gallon, sap 8.4 pounds a gallon.",
     "Syrup weighs 1.32 kg a litre, sap 1.01 kg a litre."),
    ("One group wants the air at 20 °F or warmer.", "One group wants the air at -7 °C or warmer."),
    ("Silver blooms at 34 degree-days above 50 °F, red at 44 degree-days.",
     "Silver blooms at 18.9 °C-days above 10 °C, red at 24.4 °C-days."),
    ("Bake 25 °F cooler.", "Bake 13.9 °C cooler."),
    ("A full pail is 42 lb. Carry two.", "A full pail is 19 kg. Carry two."),
    ("Call for feet or hands that are burned.", "Call for feet or hands that are burned."),
    ("An inch of sap is 0.62 gal a square foot.", "2.5 cm of sap is 25 L a square metre."),
    # What may be a most is never rounded up: half a cup is 118 ml, a quarter 59.
    ("Add half a cup of sap.", "Add 110 ml of sap."),
    ("A quarter cup of bleach to 0.5 gal.", "50 ml of bleach to 1.9 L."),
    ("About 0.92 gal, 3.7 quarts.", "About 3.5 L."),
    ("It takes over 100 gallons a gallon.", "It takes over 100 litres a litre."),
    ("A gallon an hour for each square foot of pan.",
     "41 L an hour for each square metre of pan."),
    ("Lows in the 20s and highs in the upper 30s to 40s.",
     "Lows of -7 to -2 °C and highs of 2 to 9 °C."),
    ("Two in tank 2, 66.9 in Vermont.", "Two in tank 2, 66.9 in Vermont."),
    ("How many gallons?", "How many litres?"),
]  # fmt: skip


@pytest.mark.parametrize(("us", "metric"), SENTENCES)
def test_a_sentence_in_metric(us: str, metric: str) -> None:
    assert in_metric(us) == metric
