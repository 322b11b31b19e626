"""The short version of ``benchmarks.durability``: kills and power cuts lose and double nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from benchmarks import durability

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(not durability.can_trace(), reason="strace is missing, or may not watch"),
]


def test_killed_at_writes_and_syncs(tmp_path: Path) -> None:
    """Every ninth of them here; each of them in the campaign."""
    killed = durability.kill_everywhere(tmp_path, notes=2, every=9)
    assert killed.kills >= 8
    assert killed.faults == []


def test_the_power_is_cut(tmp_path: Path) -> None:
    count, faults = durability.power_cuts(tmp_path, notes=3, states=150)
    assert (count, faults) == (150, [])


def test_a_book_that_does_not_wait_for_the_disk_is_found_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So that the two above would fail if there were something to find."""
    hasty = durability.WRITER.replace(
        "    voids = []\n",
        "    voids = []\n    book._connection.execute('PRAGMA synchronous = OFF')\n",
    )
    monkeypatch.setattr(durability, "WRITER", hasty)
    assert durability.power_cuts(tmp_path, notes=3, states=150)[1]
