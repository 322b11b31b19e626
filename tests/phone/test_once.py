"""Drops, repeats and kills: a short run of the campaign (``benchmarks.phone once``)."""

from __future__ import annotations

import pytest

from benchmarks.phone_once import once_each


@pytest.mark.long
def test_notes_come_in_once_and_in_order_whatever_breaks(tmp_path):
    """What is on the way when the house is killed comes again, and is known again."""
    came = once_each(tmp_path, 240, 5, kills=(40, 120))
    wrong = ("lost", "doubled", "out of order", "receipts that changed")
    assert [came[what] for what in wrong] == [0, 0, 0, 0]
    assert came["kills"] >= 1
    assert came["recordings"] >= 10
    assert came["requests"] > came["notes"]
