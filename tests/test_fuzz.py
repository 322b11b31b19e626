"""Odd lines and spoilt sound files, for a short time; ``make campaign`` takes longer."""

from __future__ import annotations

import pytest

from benchmarks import fuzz
from tests.one_grammar import GRAMMAR

pytestmark = pytest.mark.long
#: Seconds of each; five minutes and more in the campaign.
SECONDS = 20


def test_odd_lines() -> None:
    told, _ = fuzz.run(fuzz.Lines(GRAMMAR).batch, 1, SECONDS)
    assert told.tried >= 50
    assert told.faults == []


def test_spoilt_sound() -> None:
    told, _ = fuzz.run(fuzz.Sound().batch, 1, SECONDS)
    assert told.tried >= 40
    assert told.faults == []


def test_a_batch_is_the_same_each_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """So that one that went wrong can be run again by its number."""
    said: list[str] = []
    monkeypatch.setattr(fuzz, "_said", lambda talk, book, line: said.append(line))
    lines = fuzz.Lines(GRAMMAR)
    lines.batch(7, fuzz.Told())
    lines.batch(8, fuzz.Told())
    lines.batch(7, fuzz.Told())
    assert said[:25] == said[50:]
    assert said[:25] != said[25:50]
