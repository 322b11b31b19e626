"""A book of four hundred notes cared for, case by case.

Half memos and odd names of files are in ``tests/cli/test_memos.py``, two conversations in
``tests/dialogue/test_conversations.py``, kills in ``test_durability.py`` and
``test_power_cuts.py``.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.book import Book
from fieldvoice.book.backups import back_up, restore
from fieldvoice.book.checksums import COLUMNS
from fieldvoice.book.salvage import salvage
from fieldvoice.book.verify import verify
from fieldvoice.errors import BookError
from fieldvoice.schema import Act, meaning_from
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

START = datetime(2026, 3, 1, 8, tzinfo=UTC)
NOTES, PAGE = 400, 4096


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("care") / "season.db"
    chance = random.Random(20)
    with Book.open(path) as book:
        book._connection.execute("PRAGMA synchronous = OFF")  # nobody cuts the power of this one
        for number in range(NOTES):
            said = _said(number, chance)
            note = meaning_from(said)
            assert isinstance(note, Act)
            book.take(
                at=START + timedelta(minutes=7 * number), source="typed", outcome="saved",
                heard=typed(f"words of note {number}"), meanings=[note], reply="Saved.",
                notes=[note], voids=["e150"] if number == 300 else (),
            )  # fmt: skip
    path.with_suffix(".toml").write_text("pan_area_ft2 = 6.0\n", encoding="utf-8")
    return path


def _said(number: int, chance: random.Random) -> dict[str, Any]:
    tree = number % 60 + 1
    return chance.choice([
        {"act": "gather", "tree": tree, "volume_gal": round(chance.uniform(0.5, 3), 2)},
        {"act": "inspect", "tree": tree, "fill": chance.choice([0.25, 0.5, 0.9])},
        {"act": "store", "vessel": "tank 1", "volume_gal": round(chance.uniform(1, 9), 1)},
        {"act": "remark", "tree": tree, "text": "x" * chance.randrange(5, 300)},
    ])  # fmt: skip


@pytest.fixture
def copy(whole: Path, tmp_path: Path) -> Path:
    return shutil.copy(whole, tmp_path / "season.db")


def _rows(path: Path) -> Iterator[tuple[Any, ...]]:
    with closing(sqlite3.connect(path)) as connection:
        for table in COLUMNS:
            yield from connection.execute(f"SELECT '{table}', * FROM {table}")
        yield from connection.execute("SELECT * FROM identity")


def test_a_backup_restored_is_equal(whole: Path, tmp_path: Path) -> None:
    """Row by row and value by value, and the settings byte by byte."""
    back_up(whole, tmp_path / "b.zip")
    restore(tmp_path / "b.zip", tmp_path / "new.db")
    assert list(_rows(tmp_path / "new.db")) == list(_rows(whole))
    settings = whole.with_suffix(".toml").read_bytes()
    assert (tmp_path / "new.toml").read_bytes() == settings


@pytest.mark.long
def test_one_changed_value_is_found_wherever_it_is(whole: Path, copy: Path) -> None:
    """Each of forty rows and columns in turn: the row is named, and no other."""
    chance, found = random.Random(1), 0
    columns = [("entries", name, "e") for name in ("at", "act", "fields", "utterance")]
    columns += [("utterances", name, "u") for name in ("text", "reply", "at", "meanings", "source")]
    for _ in range(40):
        table, column, letter = chance.choice(columns)
        number = chance.randrange(1, NOTES + 1)
        shutil.copy(whole, copy)
        with closing(sqlite3.connect(copy, isolation_level=None)) as book:
            book.execute("PRAGMA ignore_check_constraints = ON")
            book.execute("PRAGMA foreign_keys = OFF")
            book.execute(f"DROP TRIGGER {table}_no_update")
            book.execute(
                f"UPDATE {table} SET {column} = CASE typeof({column}) WHEN 'text' "
                f"THEN {column} || ' ' ELSE {column} % 400 + 1 END WHERE id = {number}"
            )
        told = {(fault.kind, fault.row) for fault in verify(copy).faults}
        found += ("changed", f"{letter}{number}") in told
        assert {row for kind, row in told if kind == "changed"} == {f"{letter}{number}"}
    assert found == 40


@pytest.mark.long
def test_of_a_page_of_noise_350_of_400_notes_are_there(whole: Path, tmp_path: Path) -> None:
    """Each ninth page in turn; what is there is as it was, and the new book is sound."""
    content, noise = whole.read_bytes(), random.Random(5)
    with Book.open(whole) as book:
        said = {one.act.model_dump_json() for one in book.entries(include_void=True)}
    least = NOTES
    for place in range(0, len(content), 9 * PAGE):
        broken, new = tmp_path / f"b{place}.db", tmp_path / f"n{place}.db"
        broken.write_bytes(content[:place] + noise.randbytes(PAGE) + content[place + PAGE :])
        told = salvage(broken, new)
        with Book.open(new) as book:
            notes = book.entries(include_void=True)
        assert {one.act.model_dump_json() for one in notes} <= said
        assert len(notes) == len(told.notes) + len(told.made_again) == NOTES - len(told.lost)
        assert verify(new).sound
        least = min(least, len(notes))
    assert least >= 350, least


@pytest.mark.long
def test_a_page_of_noise_met_with_while_reading_stops_no_question(
    whole: Path, tmp_path: Path
) -> None:
    """The book goes on with what can be read; that is told once, and nothing is saved."""
    content, noise, met_with = whole.read_bytes(), random.Random(5), 0
    broken = tmp_path / "broken.db"
    for place in range(PAGE, len(content), 9 * PAGE):
        broken.write_bytes(content[:place] + noise.randbytes(PAGE) + content[place + PAGE :])
        with Book.open(broken) as book:
            told, seen = list[str](), book.damage
            book.on_bad_row = told.append
            assert len(book.entries(include_void=True)) >= 350
            assert book.season().trees
            if book.damage is not None:
                assert told.count(book.damage) == (seen is None)
                with pytest.raises(BookError, match="Nothing was saved"):
                    book.refuse_if_damaged()
                met_with += seen is None
    assert met_with


def test_noise_at_the_beginning_is_no_other_file(whole: Path, tmp_path: Path) -> None:
    """What was a book is told to be damaged; what never was one is not."""
    content, noise = whole.read_bytes(), random.Random(5).randbytes(PAGE)
    (tmp_path / "broken.db").write_bytes(noise + content[PAGE:])
    (tmp_path / "other.db").write_bytes(noise)
    assert [one.kind for one in verify(tmp_path / "broken.db").faults] == ["damaged"]
    with pytest.raises(BookError, match="not a season book"):
        verify(tmp_path / "other.db")


@pytest.mark.parametrize(
    "change",
    ["fields = '[]'", "fields = 'null'", "at = 'yesterday'", "utterance = 78", "on the disk"],
)
def test_a_bad_row_stops_nothing_but_itself(copy: Path, change: str) -> None:
    with closing(sqlite3.connect(copy, isolation_level=None)) as book:
        row = book.execute("SELECT act || fields FROM entries WHERE id = 77").fetchone()[0]
        if change != "on the disk":
            book.execute("DROP TRIGGER entries_no_update")
            book.execute(f"UPDATE entries SET {change} WHERE id = 77")
    if change == "on the disk":  # where nothing checks that it is JSON
        content = copy.read_bytes()
        assert content.count(row.encode()) == 1
        copy.write_bytes(content.replace(row.encode(), row.replace("{", "#").encode()))
    told: list[str] = []
    with Book.open(copy) as book:
        book.on_bad_row = told.append
        found = {one.id for one in book.entries(include_void=True)}
        assert book.season().vessels["tank 1"].volume_gal
        assert book.entries_naming(tree=17, include_void=True)
    if change != "on the disk":
        assert found == {f"e{number}" for number in range(1, NOTES + 1) if number != 77}
    assert len(found) == NOTES - 1
    assert len(told) == 1


def test_a_note_of_a_later_year_hides_nothing(copy: Path) -> None:
    """What is in the tank is what was, whether the note was of a tank or a tree."""
    now = START + timedelta(days=3)
    with Book.open(copy) as book:
        before = book.season(now=now)
        later = meaning_from({"act": "inspect", "tree": 3, "fill": 0.5})
        assert isinstance(later, Act)
        book.take(
            at=datetime(2031, 3, 3, tzinfo=UTC), source="typed", heard=typed("x"), outcome="saved",
            meanings=[later], reply="", notes=[later],
        )  # fmt: skip
        after = book.season(now=now)
    assert after.year == 2026
    assert after.vessels["tank 1"] == before.vessels["tank 1"]
    assert after.trees[3].fill == 0.5
