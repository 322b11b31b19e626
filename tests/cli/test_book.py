"""``fieldvoice book``: what the machine interface promises of it."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.cli.conftest import Ran


@pytest.fixture
def written(run: Callable[..., Ran], book_path: Path) -> Path:
    run("say", "--stdin", stdin="tree twelve half full\ntree nine two gallons\nno, three gallons\n")
    return book_path


def test_backup_and_restore(run: Callable[..., Ran], written: Path, tmp_path: Path) -> None:
    backup, new = tmp_path / "b.zip", tmp_path / "new.db"
    assert run("book", "backup", str(backup), "--book", str(written), bare=True).status == 0
    assert run("book", "restore", str(backup), "--book", str(new), bare=True).status == 0
    again = run("book", "restore", str(backup), "--book", str(new), bare=True)
    assert (again.status, again.err.count("\n")) == (1, 1)
    assert "--replace" in again.err
    one, two = (run("history", "--json", "--book", str(book), bare=True) for book in (written, new))
    assert one.out == two.out
    assert one.out


def test_backups_made_by_themselves_are_listed(run: Callable[..., Ran], written: Path) -> None:
    """The newest first, each as a path that "restore" takes; a damaged one is told."""
    none = run("book", "backups", "--book", str(written.with_name("new.db")), bare=True)
    assert (none.status, none.out) == (0, "")
    assert "each day's first note makes one" in none.err
    where = ("--book", str(written))
    for day in (8, 9):
        now = ("--now", f"2027-03-{day:02}T10:00:00-05:00")
        run("say", "tree one is full", *now, *where, bare=True)
    listed = run("book", "backups", "--json", *where, bare=True).answers[:2]
    assert [one["file"][-14:] for one in listed] == ["2027-03-09.zip", "2027-03-08.zip"]
    assert [one["whole"] for one in listed] == [True, True]
    os.truncate(listed[0]["file"], 100)
    told = run("book", "backups", *where, bare=True).out.splitlines()
    assert [line.endswith("damaged") for line in told[:2]] == [True, False]


def test_verify_tells_the_row(run: Callable[..., Ran], written: Path) -> None:
    where = ("--book", str(written))
    sound = run("book", "verify", "--json", *where, bare=True)
    assert (sound.status, sound.answers) == (0, [{"sound": True, "notes": 3}])
    with closing(sqlite3.connect(written, isolation_level=None)) as book:
        book.execute("DROP TRIGGER entries_no_update")
        book.execute("UPDATE entries SET fields = replace(fields, '3.0', '8.0') WHERE id = 3")
    found = run("book", "verify", "--json", *where, bare=True)
    assert found.status == 1
    assert [(one["fault"], one["row"]) for one in found.answers] == [("changed", "e3")]
    assert run("book", "verify", *where, bare=True).out == "Note e3 is not as it was written.\n"
    asked = run("say", "when did i last visit tree twelve")
    assert asked.status == 0
    assert asked.err.count("e3") <= 1


def test_a_damaged_book_answers_and_takes_nothing(
    run: Callable[..., Ran], written: Path, tmp_path: Path
) -> None:
    """One line says what to do; salvage does it."""
    content = written.read_bytes()
    written.write_bytes(content[:-8192])
    asked = run("say", "how full is tree twelve")
    assert "book salvage" in asked.err
    assert "ook salvage" in run("say", "tree four half full").err
    new = tmp_path / "new.db"
    told = run("book", "salvage", str(written), "--book", str(new), bare=True)
    assert (told.status, told.out) == (0, f"Saved 3 of 3 notes in {new}.\n")
    assert run("book", "verify", "--book", str(new), bare=True).status == 0


def test_export_and_import(run: Callable[..., Ran], written: Path, tmp_path: Path) -> None:
    out, new = tmp_path / "out", tmp_path / "new.db"
    assert run("book", "export", str(out), "--book", str(written), bare=True).status == 0
    dry = run("book", "import", str(out), "--dry-run", "--book", str(new), bare=True)
    assert dry.out == "3 notes would come in; 0 were there already.\n"
    assert not new.exists()
    run("book", "import", str(out), "--book", str(new), bare=True)
    assert run("book", "export", str(tmp_path / "out2"), "--book", str(new), bare=True).status == 0
    assert (out / "notes.jsonl").read_bytes() == (tmp_path / "out2/notes.jsonl").read_bytes()


@pytest.mark.parametrize(
    "words",
    [("backup",), ("verify", "--book", "/no/such/book.db"), ("salvage", "/no/such", "--book", "x"),
     ("import", "/no/such/notes.jsonl", "--dry-run"), ("export", "x", "--book", "/no/such.db")],
)  # fmt: skip
def test_what_is_not_there_is_one_line(run: Callable[..., Ran], words: tuple[str, ...]) -> None:
    ran = run("book", *words, bare=True)
    assert ran.status in (1, 2)
    assert ran.err.count("\n") == 1
