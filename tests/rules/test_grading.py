"""Colour classes against New York 1 NYCRR 270.1 and the US grade standards of 2015."""

from __future__ import annotations

import pytest

from fieldvoice.errors import RangeError
from fieldvoice.rules.grading import grade


@pytest.mark.outside(
    "grade", by="New York 1 NYCRR 270.1 and USDA 2015: 75, 50 and 25 % transmittance"
)
@pytest.mark.parametrize(
    ("transmittance", "colour", "taste"),
    [
        (100, "golden", "delicate"),
        (75.0, "golden", "delicate"),
        (74.9, "amber", "rich"),
        (50.0, "amber", "rich"),
        (49.9, "dark", "robust"),
        (25.0, "dark", "robust"),
        (24.9, "very dark", "strong"),
        (0, "very dark", "strong"),
    ],
)
def test_classes_and_their_edges(transmittance, colour, taste):
    result = grade(transmittance)
    assert (result.colour, result.taste) == (colour, taste)
    assert result.findings[0].text.lower().startswith(f"{colour}, {taste}")


@pytest.mark.parametrize("transmittance", [-1, 101, float("nan")])
def test_out_of_range(transmittance):
    with pytest.raises(RangeError, match="from 0 to 100 percent"):
        grade(transmittance)
