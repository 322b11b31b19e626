"""What was acknowledged is on the disk; what was not is not there at all."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from typing import TYPE_CHECKING

import pytest

from fieldvoice.book import Book
from fieldvoice.errors import BookError

if TYPE_CHECKING:
    from pathlib import Path

#: Takes utterances of three notes, each voiding the first note of the one before, and prints the
#: id of each as soon as the book has it.
WRITER = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from fieldvoice.book import Book
from fieldvoice.transcript import typed
from fieldvoice.schema import meaning_from

notes = [meaning_from({"act": "inspect", "tree": tree, "fill": 0.5}) for tree in (1, 2, 3)]
voids = []
with Book.open(Path(sys.argv[1])) as book:
    for _ in range(int(sys.argv[2])):
        taken = book.take(at=datetime(2026, 3, 14, tzinfo=UTC), source="typed", heard=typed("x"),
                          outcome="saved", meanings=notes, reply="", notes=notes, voids=voids)
        voids = taken.records[:1]
        print(taken.utterance_id, flush=True)
"""


def writer(path: Path, count: int) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", WRITER, str(path), str(count)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def integrity(path: Path) -> str:
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
        return connection.execute("PRAGMA integrity_check").fetchone()[0]


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="there is no kill -9 here")
@pytest.mark.parametrize("acknowledged", [1, 7, 60])
def test_killed_in_the_middle_every_acknowledged_utterance_is_whole(book_path, acknowledged):
    """After kill -9 each utterance in the book has all its notes and its void, and none is lost."""
    Book.open(book_path).close()
    run = writer(book_path, 100_000)
    seen = [run.stdout.readline().strip() for _ in range(acknowledged)]
    os.kill(run.pid, signal.SIGKILL)
    # Not by ``communicate``, which misses what was read ahead with the lines above.
    seen += run.stdout.read().split()
    assert run.wait(60) == -signal.SIGKILL
    assert integrity(book_path) == "ok"
    with Book.open(book_path) as book:
        utterances = [u.id for u in book.utterances()]
        entries = book.entries(include_void=True)
    assert utterances[: len(seen)] == seen
    # At most one take can have reached the disk without its id reaching us.
    assert len(utterances) <= len(seen) + 1
    assert [e.utterance_id for e in entries] == [u for u in utterances for _ in range(3)]
    voided = [(e.id, e.voided_by) for e in entries if e.voided_by]
    assert voided == [(f"e{3 * n + 1}", u) for n, u in enumerate(utterances[1:])]


def test_two_writers_at_once_both_get_everything_in(book_path):
    """Neither is refused, and every utterance keeps its own notes."""
    Book.open(book_path).close()
    runs = [writer(book_path, 150) for _ in range(2)]
    said = []
    for run in runs:
        out, errors = run.communicate(timeout=120)
        assert errors == ""
        said.append(out.split())
    assert len(set(said[0]) | set(said[1])) == 300
    assert integrity(book_path) == "ok"
    with Book.open(book_path) as book:
        counts = [u.id for u in book.utterances() for _ in range(3)]
        assert [e.utterance_id for e in book.entries(include_void=True)] == counts


def test_a_reader_is_not_held_up_by_a_writer(book_path, take):
    """While one program is in the middle of writing, another reads what was there before."""
    note = {"act": "inspect", "tree": 1, "fill": 0.5}
    with Book.open(book_path) as book, Book.open(book_path) as other:
        take(book, note)
        with book.writing():
            book._connection.execute(
                "INSERT INTO memos (sha256, name, at) VALUES ('ab', 'a.wav', 'now')"
            )
            assert len(other.entries()) == 1
            assert not other.memo_taken("ab")
        assert other.memo_taken("ab")


def test_a_writer_that_never_lets_go_is_named(book_path, take):
    """After the busy timeout comes one plain line, and nothing was written."""
    with Book.open(book_path) as book, Book.open(book_path) as other:
        other._connection.execute("PRAGMA busy_timeout = 20")
        with book.writing(), pytest.raises(BookError) as caught:
            take(other, {"act": "inspect", "tree": 1, "fill": 0.5})
        assert str(caught.value) == (
            f"Another program is writing to the season book {book_path}; nothing was written."
        )
        assert other.utterances() == []
        assert take(other).utterance_id == "u1"


class TestFullDisk:
    NOTE = {"act": "remark", "text": "x" * 3000}  # noqa: RUF012

    def fill(self, book: Book, take) -> tuple[str, int]:
        """Take notes until the book refuses; return the line and how many went in."""
        for count in range(2000):
            try:
                take(book, self.NOTE, self.NOTE)
            except BookError as fault:
                return str(fault), count
        raise AssertionError("the disk never filled")

    def check_nothing_lost(self, book: Book, count: int) -> None:
        assert len(book.utterances()) == count
        assert len(book.entries()) == 2 * count

    def test_sqlites_own_limit(self, book, book_path, take):
        """SQLite's 'database or disk is full', brought about by a limit on the file's pages."""
        pages = book._connection.execute("PRAGMA page_count").fetchone()[0]
        book._connection.execute(f"PRAGMA max_page_count = {pages + 20}")
        line, count = self.fill(book, take)
        assert line == (f"The disk is full; nothing was written to the season book {book_path}.")
        assert count > 2
        self.check_nothing_lost(book, count)
        book._connection.execute("PRAGMA max_page_count = 100000")
        take(book, self.NOTE, self.NOTE)
        self.check_nothing_lost(book, count + 1)

    def test_a_disk_that_is_really_full(self, tmp_path, take):
        """On a disk of 300 kB: one plain line, all earlier notes there, and room helps again."""
        disk = tmp_path / "disk"
        disk.mkdir()
        mount = ["mount", "-t", "tmpfs", "-o", "size=300k", "none", str(disk)]
        try:
            subprocess.run(mount, check=True, capture_output=True)
        except (OSError, subprocess.CalledProcessError):
            pytest.skip("only root on Linux can mount a small disk; the limit above stands in")
        try:
            ballast, path = disk / "ballast", disk / "season.db"
            ballast.write_bytes(bytes(50_000))
            with Book.open(path) as book:
                line, count = self.fill(book, take)
                assert line == f"The disk is full; nothing was written to the season book {path}."
                self.check_nothing_lost(book, count)
            with Book.open(path) as book:
                self.check_nothing_lost(book, count)
                ballast.unlink()
                take(book, self.NOTE, self.NOTE)
                self.check_nothing_lost(book, count + 1)
            assert integrity(path) == "ok"
        finally:
            subprocess.run(["umount", str(disk)], check=True)

    def test_no_room_even_for_a_new_book(self, tmp_path):
        """A disk filled to the last byte: the line says so, and what is left opens later."""
        disk = tmp_path / "disk"
        disk.mkdir()
        mount = ["mount", "-t", "tmpfs", "-o", "size=64k", "none", str(disk)]
        try:
            subprocess.run(mount, check=True, capture_output=True)
        except (OSError, subprocess.CalledProcessError):
            pytest.skip("only root on Linux can mount a small disk")
        try:
            ballast, path = disk / "ballast", disk / "season.db"
            ballast.write_bytes(bytes(60_000))
            with pytest.raises(BookError) as caught:
                Book.open(path)
            assert "\n" not in str(caught.value)
            assert "disk is full" in str(caught.value)
            ballast.unlink()
            with Book.in_memory_copy(path) as copy:
                assert copy.utterances() == []
        finally:
            subprocess.run(["umount", str(disk)], check=True)


@pytest.mark.parametrize("nth", range(1, 7))
def test_a_fault_at_any_statement_leaves_all_or_nothing(book, take, nth):
    """BEGIN, the utterance, the void, two notes, COMMIT: whichever fails, nothing is written."""
    note = {"act": "inspect", "tree": 1, "fill": 0.5}
    take(book, note)
    before = (book.utterances(), book.entries(include_void=True))
    real = book._connection
    book._connection = Failing(real, nth)
    with pytest.raises(BookError, match="The disk is full; nothing was written"):
        take(book, note, note, voids=["e1"])
    assert book._connection.left == 0
    book._connection = real
    assert (book.utterances(), book.entries(include_void=True)) == before
    assert take(book, note, note, voids=["e1"]).records == ("e2", "e3")


@pytest.mark.parametrize(
    ("fails", "told"),
    [
        ("after", "It is in the season book"),
        ("before", "nothing was written"),
        ("for good", "may be in the season book"),
    ],
)
def test_after_a_fault_of_the_disk_it_is_told_what_is_so(book, book_path, take, fails, told):
    """The last sync fails, one before the commit, or nothing can be read any more either."""
    note = {"act": "inspect", "tree": 1, "fill": 0.5}
    real = book._connection
    book._connection = Faulty(real, fails == "after")
    if fails == "for good":
        book._name = str(book_path.with_name("gone") / "season.db")
    with pytest.raises(BookError, match=told):
        take(book, note)
    book._connection = real
    assert len(book.entries()) == (1 if fails == "after" else 0)


class Faulty:
    """A connection to a disk that reports a fault at a commit, which was done or not."""

    def __init__(self, connection: sqlite3.Connection, commits: bool) -> None:
        self.connection, self.commits = connection, commits

    def execute(self, sql: str, *values: object) -> sqlite3.Cursor:
        if sql != "COMMIT":
            return self.connection.execute(sql, *values)
        self.connection.execute("COMMIT" if self.commits else "ROLLBACK")
        raise sqlite3.OperationalError("disk I/O error")

    def __getattr__(self, name: str) -> object:
        return getattr(self.connection, name)


class Failing:
    """A connection whose ``nth`` writing statement fails as on a full disk."""

    def __init__(self, connection: sqlite3.Connection, nth: int) -> None:
        self.connection = connection
        self.left = nth

    def execute(self, sql: str, *values: object) -> sqlite3.Cursor:
        if self.left and sql.split()[0] in ("BEGIN", "INSERT", "COMMIT"):
            self.left -= 1
            if not self.left:
                raise sqlite3.OperationalError("database or disk is full")
        return self.connection.execute(sql, *values)

    def __getattr__(self, name: str) -> object:
        return getattr(self.connection, name)
