"""The short version of ``benchmarks.durability``: no note lost that was told of, none doubled."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from benchmarks import durability
from benchmarks.power_cuts import Event, states

if TYPE_CHECKING:
    from pathlib import Path

traced = [
    pytest.mark.long,
    pytest.mark.skipif(not durability.can_trace(), reason="strace is missing, or may not watch"),
]


@pytest.mark.parametrize(("part", "least"), [("kill_everywhere", 3), ("fail_everywhere", 4)])
class TestTampered:
    pytestmark = traced

    def test_at_writes_and_syncs(self, tmp_path: Path, part: str, least: int) -> None:
        """Every 41st of them here; each of them in the campaign."""
        told = getattr(durability, part)(tmp_path, notes=2, every=41)
        assert told.tried >= least
        assert told.faults == []


class TestPowerCuts:
    pytestmark = traced

    @pytest.mark.parametrize("writers", [1, 2])
    def test_notes_taken_by_programs(self, tmp_path: Path, writers: int) -> None:
        """The campaign has the whole of ``say`` too, from before there is a book."""
        told = durability.cut_power_of_writers(tmp_path, 3, 120, writers=writers)
        assert (told.tried, told.faults) == (120, [])

    def test_a_book_that_does_not_wait_for_the_disk_is_found_out(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """So that the one above would fail if there were something to find."""
        hasty = durability.WRITER.replace(
            "    voids = []\n",
            "    voids = []\n    book._connection.execute('PRAGMA synchronous = OFF')\n",
            1,
        )
        monkeypatch.setattr(durability, "WRITER", hasty)
        told = durability.cut_power_of_writers(tmp_path, 3, 150)
        assert any(fault.split(": ")[1] == "lost" for fault in told.faults)


@pytest.mark.long
def test_the_disk_is_full_at_a_byte(tmp_path: Path) -> None:
    """At 30 of them here, at each seventh in the campaign; every refusal was told of."""
    told = durability.full_at_each_byte(tmp_path, 2, step=5003)
    assert told.tried >= 25
    assert told.refused >= told.tried
    assert told.faults == []


class TestWhatIsPlayed:
    """The player itself, on a file of two sectors that was synced before."""

    START = {"a": b"1" * 1024}  # noqa: RUF012
    WRITE = Event("write", "a", 0, b"2" * 1024)

    def found(self, *events: Event) -> set[tuple[bytes | None, int]]:
        played = states(self.START, list(events), 10_000, seed=1)
        return {(files.get("a"), len(told)) for files, told in played}

    def test_of_a_write_any_sectors_may_be_there(self) -> None:
        whole = {one * 512 + two * 512 for one in (b"1", b"2") for two in (b"1", b"2")}
        assert {content for content, _ in self.found(self.WRITE)} == whole

    def test_what_was_synced_stays(self) -> None:
        found = self.found(self.WRITE, Event("sync", "a"), Event("told", told=(7,)))
        assert {content for content, told in found if told} == {b"2" * 1024}

    def test_a_file_made_may_be_missing_until_its_folder_is_synced(self) -> None:
        made = (Event("made", "b"), Event("write", "b", 0, b"3"), Event("sync", "b"))
        played = [files for files, _ in states(self.START, list(made), 10_000, seed=1)]
        assert any("b" not in files for files in played[-3:])
        done = (*made, Event("folder"), Event("told", told=(1,)))
        last = [files for files, told in states(self.START, list(done), 10_000, 1) if told]
        assert [files["b"] for files in last] == [b"3"]
