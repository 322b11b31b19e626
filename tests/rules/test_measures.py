"""Figures as people say them."""

from __future__ import annotations

import pytest

from fieldvoice.rules.measures import hours_of


@pytest.mark.parametrize(
    ("hours", "said"), [(0.6, "1 hour"), (1.4, "1 hour"), (1.6, "2 hours"), (26.2, "26 hours")]
)
def test_one_hour_is_no_plural(hours: float, said: str) -> None:
    assert hours_of(hours) == said
