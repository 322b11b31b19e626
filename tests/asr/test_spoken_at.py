"""When a recording was begun: by its tag, its name, its file, in this order."""

from __future__ import annotations

import os
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from fieldvoice.asr.spoken_at import spoken_at

EST = timezone(timedelta(hours=-5))
NOW = datetime(2027, 3, 10, 10, tzinfo=EST)


def found(name: str, tags: dict[str, str] | None = None) -> tuple[str, str] | None:
    told = spoken_at(Path("/no/such") / name, tags or {}, 20.0, NOW, fixed=True)
    return None if told is None else (told.at.isoformat(), told.by)


@pytest.mark.parametrize(
    ("name", "at"),
    [
        ("2027-03-09 08.15.33.m4a", "2027-03-09T08:15:33-05:00"),
        ("REC_20270309_081533.wav", "2027-03-09T08:15:33-05:00"),
        ("20270309081533.amr", "2027-03-09T08:15:33-05:00"),
        ("Recording 2027-03-09 at 2.05.33 PM.m4a", "2027-03-09T14:05:33-05:00"),
        ("memo-2027.03.09-0815.ogg", "2027-03-09T08:15:00-05:00"),
        ("2027-03-05T09-10-00.250000-0400.flac", "2027-03-05T08:10:00-05:00"),
        ("sap 2027-03-09.mp3", "2027-03-09T12:00:00-05:00"),
    ],
)
def test_names_that_recorders_give(name: str, at: str) -> None:
    assert found(name) == (at, "its name")


@pytest.mark.parametrize(
    "name", ["01_first_trees.flac", "2027-13-09.wav", "memo 120270309.wav", "tree 2027.wav"]
)
def test_numbers_that_are_no_dates(name: str) -> None:
    assert found(name) is None


def test_a_tag_comes_first() -> None:
    tags = {"creation_time": "2027-03-09T13:15:00.000000Z"}
    assert found("2027-03-09 08.20.00.m4a", tags) == ("2027-03-09T08:15:00-05:00", "its tag")
    assert found("a.m4a", {"creation_time": "1904-01-01T00:00:00Z"}) is None
    assert found("a.m4a", {"date": "2027"}) is None


def test_two_that_disagree_are_told() -> None:
    tags = {"creation_time": "2027-03-07T13:15:00.000000Z"}
    told = spoken_at(Path("2027-03-09 08.20.00.m4a"), tags, 20.0, NOW, fixed=True)
    assert told is not None
    assert told.but == "its tag says 2027-03-07 08:15, its name 2027-03-09"
    ahead = spoken_at(Path("2031-03-09 08.20.00.m4a"), {}, 20.0, NOW, fixed=True)
    assert ahead is not None
    assert "still to come" in str(ahead.but)


def test_the_file_was_written_while_one_spoke(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    path.touch()
    ended = datetime(2027, 3, 9, 8, 15, 20, tzinfo=EST)
    os.utime(path, (ended.timestamp(), ended.timestamp()))
    told = spoken_at(path, {}, 20.0, NOW, fixed=True)
    assert told is not None
    assert (told.at.isoformat(), told.by) == ("2027-03-09T08:15:00-05:00", "its file")
    assert spoken_at(path, {}, 20.0, NOW - timedelta(days=2), fixed=True) is None
    assert spoken_at(path, {}, 20.0, NOW + timedelta(days=90), fixed=True) is None


def test_the_hour_of_a_day_in_the_name_is_the_files(tmp_path: Path) -> None:
    path = tmp_path / "sap 2027-03-09.wav"
    path.touch()
    ended = datetime(2027, 3, 9, 8, 15, 20, tzinfo=EST)
    os.utime(path, (ended.timestamp(), ended.timestamp()))
    told = spoken_at(path, {}, 20.0, NOW, fixed=True)
    assert told is not None
    assert told.at.isoformat() == "2027-03-09T08:15:00-05:00"
