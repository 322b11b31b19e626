"""Opening: quickly, safely, and with one plain line when it cannot be done."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

import pytest

from fieldvoice.book import Book, connection, migrations
from fieldvoice.book.version import SCHEMA_VERSION
from fieldvoice.errors import BookError

CLOUDY = {"act": "inspect", "tree": 12, "sap": "cloudy"}


def refused(path: Path) -> str:
    """Return the line with which opening is refused, after checking that it is one plain line."""
    with pytest.raises(BookError) as caught:
        Book.open(path)
    line = str(caught.value)
    assert "\n" not in line
    assert str(path) in line
    return line


class TestSettings:
    def test_commits_wait_for_the_disk_and_leave_the_file_whole(self, book):
        """A rollback journal, FULL (2), foreign keys, a busy timeout, triggers on REPLACE."""
        names = ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
        values = [book._connection.execute(f"PRAGMA {name}").fetchone()[0] for name in names]
        assert values == ["truncate", 2, 1, 10_000]

    def test_the_version_stands_in_the_file_and_in_a_table(self, book):
        """Both agree with the number of migrations that there are."""
        applied = book._connection.execute("SELECT name FROM _sqlite_migrations").fetchall()
        version = book._connection.execute("PRAGMA user_version").fetchone()[0]
        assert version == len(applied) == len(migrations.migrations._migrations)
        assert version == SCHEMA_VERSION

    def test_a_new_book_is_what_all_migrations_make(self):
        """Else write newest.sql anew, as the head of ``migrations`` tells."""
        assert connection.NEWEST.read_text(encoding="utf-8") == migrations.newest()

    def test_a_missing_folder_is_made(self, tmp_path):
        """The user's own book lies in a folder that is not there the first time."""
        with Book.open(tmp_path / "a" / "b" / "season.db"):
            assert (tmp_path / "a" / "b" / "season.db").exists()

    def test_an_empty_file_becomes_a_book(self, book_path, take):
        """That is what is left if the power goes while a book is being made."""
        book_path.touch()
        with Book.open(book_path) as book:
            take(book, CLOUDY)

    def test_signs_that_mean_something_in_an_address_are_plain_in_a_name(self, tmp_path, take):
        """Question marks, per cent signs and spaces belong to the file's name."""
        path = tmp_path / "my 50% book? #1 é.db"
        with Book.open(path) as book:
            take(book, CLOUDY)
        assert path.exists()
        with Book.open(path) as book:
            assert len(book.entries()) == 1


def test_a_book_is_made_and_opened_quickly_and_without_sqlite_utils(book_path):
    """Under 20 ms, best of five, in a fresh interpreter that never loads sqlite-utils."""
    program = (
        "import sys, time\n"
        "from pathlib import Path\n"
        "from fieldvoice.book import Book\n"
        "times = []\n"
        "for _ in range(5):\n"
        "    start = time.perf_counter()\n"
        "    Book.open(Path(sys.argv[1])).close()\n"
        "    times.append(time.perf_counter() - start)\n"
        "print('sqlite_utils' in sys.modules, min(times))\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", program, str(book_path)], capture_output=True, text=True, check=True
    )
    loaded, seconds = run.stdout.split()
    assert loaded == "False"
    assert float(seconds) < 0.020


class TestRefusals:
    def test_a_text_file(self, tmp_path):
        """It is left as it is."""
        path = tmp_path / "notes.txt"
        path.write_text("tree twelve, bucket nearly full\n" * 40)
        before = path.read_bytes()
        assert refused(path) == f"{path} is not a season book; name another with --book."
        assert path.read_bytes() == before

    def test_another_programs_database(self, tmp_path):
        """Nothing is added to it, not even a table."""
        path = tmp_path / "other.db"
        with closing(sqlite3.connect(path)) as other:
            other.execute("CREATE TABLE songs (title TEXT)")
            other.commit()
        before = path.read_bytes()
        assert refused(path) == f"{path} is not a season book; name another with --book."
        assert path.read_bytes() == before

    def test_a_folder(self, tmp_path):
        """The line says what it is instead."""
        assert refused(tmp_path) == f"{tmp_path} is a folder, not a season book."

    def test_a_path_through_a_file(self, tmp_path):
        """The reason is the system's own."""
        (tmp_path / "file").write_text("")
        with pytest.raises(BookError, match=r"cannot be used: (File exists|Not a directory)"):
            Book.open(tmp_path / "file" / "season.db")

    def test_a_newer_book(self, book_path):
        """It is neither opened nor copied for a dry run, and not changed."""
        Book.open(book_path).close()
        with closing(sqlite3.connect(book_path)) as connection:
            connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION + 1}")
        before = book_path.read_bytes()
        assert "newer fieldvoice" in refused(book_path)
        with pytest.raises(BookError, match="newer fieldvoice"):
            Book.in_memory_copy(book_path)
        assert book_path.read_bytes() == before

    def test_a_damaged_book(self, book_path, take):
        """Pages overwritten with rubbish are noticed when they are read."""
        with Book.open(book_path) as book:
            take(book, *[CLOUDY] * 200)
        size = book_path.stat().st_size
        with book_path.open("r+b") as file:
            file.seek(4096)
            file.write(b"\xa5" * (size - 4096))
        with pytest.raises(BookError, match="is damaged") as caught, Book.open(book_path) as book:
            book.entries()
        assert f"fieldvoice book salvage {book_path} --book NEW" in str(caught.value)

    def test_the_copy_for_a_dry_run_refuses_the_same(self, tmp_path):
        """A folder and a text file are no books there either."""
        path = tmp_path / "notes.txt"
        path.write_text("tree twelve, bucket nearly full\n" * 40)
        with pytest.raises(BookError, match="is not a season book"):
            Book.in_memory_copy(path)
        with pytest.raises(BookError, match="is a folder"):
            Book.in_memory_copy(tmp_path)


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="permissions of this kind are POSIX")
class TestPermissions:
    @pytest.fixture
    def folder(self):
        """A folder with a book in it; the test runs as an ordinary user, whom modes bind."""
        folder = Path(tempfile.mkdtemp())
        with Book.open(folder / "season.db"):
            pass
        root = os.geteuid() == 0
        folder.chmod(0o755)
        (folder / "season.db").chmod(0o644)
        if root:
            os.seteuid(65534)
        try:
            yield folder
        finally:
            if root:
                os.seteuid(0)
            folder.chmod(0o755)
            shutil.rmtree(folder)

    def read_only(self, folder: Path) -> None:
        if os.geteuid() != 65534:
            folder.chmod(0o555)
            (folder / "season.db").chmod(0o444)

    def test_a_book_that_may_not_be_written(self, folder, take):
        """It is read, and tells why it is only that; a note is refused."""
        self.read_only(folder)
        path = folder / "season.db"
        with Book.open(path) as book:
            told = f"The season book {path} may not be written to. It can be read, and nothing is "
            assert book.damage is not None
            assert book.damage.startswith(told)
            assert book.entries() == []
            with pytest.raises(BookError, match="Nothing was saved"):
                take(book, CLOUDY)

    def test_a_new_book_in_a_folder_that_may_not_be_written(self, folder):
        """Nothing is made."""
        self.read_only(folder)
        path = folder / "new.db"
        assert "cannot be opened; you may not read or write there." in refused(path)
        assert not path.exists()

    def test_a_book_that_may_not_be_read(self, folder):
        """Neither for use nor for a dry run."""
        path = folder / "season.db"
        user = os.geteuid()
        if user == 65534:
            os.seteuid(0)
        path.chmod(0)
        os.seteuid(user)
        assert "cannot be opened" in refused(path)
        with pytest.raises(BookError, match="cannot be opened"):
            Book.in_memory_copy(path)

    def test_a_dry_run_needs_no_right_to_write(self, folder, take):
        """What may only be read can be copied into memory."""
        self.read_only(folder)
        with Book.in_memory_copy(folder / "season.db") as copy:
            take(copy, CLOUDY)
            assert len(copy.entries()) == 1


#: The schema of books written today, as the program has it before a test raises it.
TODAY = SCHEMA_VERSION


class TestMigration:
    @pytest.fixture
    def later(self, book_path, take, monkeypatch):
        """A book written today, and a program one migration further on; return the migrations."""
        with Book.open(book_path) as book:
            take(book, CLOUDY)
        further = migrations.Migrations("fieldvoice.book")
        further._migrations = list(migrations.migrations._migrations)
        monkeypatch.setattr(migrations, "migrations", further)
        monkeypatch.setattr(migrations, "SCHEMA_VERSION", SCHEMA_VERSION + 1)
        monkeypatch.setattr(connection, "SCHEMA_VERSION", SCHEMA_VERSION + 1)
        return further

    def test_a_copy_is_kept_and_the_book_goes_on(self, book_path, later, take):
        """The copy is a whole book of the old version; the new one holds what the old one held."""
        later(name="buckets")(lambda db: db.execute("CREATE TABLE buckets (size REAL) STRICT"))
        with Book.open(book_path) as book:
            assert [e.act.json_fields() for e in book.entries()] == [CLOUDY]
            assert take(book, CLOUDY).records == ("e2",)
            assert book._connection.execute("SELECT count(*) FROM buckets").fetchone()[0] == 0
        copy = book_path.with_name(f"season-before-v{TODAY + 1}.db")
        with closing(sqlite3.connect(copy)) as old:
            assert old.execute("PRAGMA user_version").fetchone() == (TODAY,)
            assert old.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            assert old.execute("SELECT act FROM entries").fetchall() == [("inspect",)]
        Book.open(book_path).close()
        assert sorted(p.name for p in book_path.parent.glob("*.db")) == [
            f"season-before-v{TODAY + 1}.db",
            "season.db",
        ]

    def test_a_migration_that_fails_changes_nothing(self, book_path, later):
        """What it had done is undone, the book stays at its version, and no copy is overwritten."""

        @later()
        def buckets_half(db):
            db.execute("CREATE TABLE buckets (size REAL) STRICT")
            raise sqlite3.OperationalError("database or disk is full")

        for _ in range(2):
            assert "The disk is full" in refused(book_path)
        with closing(sqlite3.connect(book_path)) as book:
            assert book.execute("PRAGMA user_version").fetchone() == (TODAY,)
            tables = {row[1] for row in book.execute("PRAGMA table_list")}
            assert "entries" in tables
            assert "buckets" not in tables
        assert len(list(book_path.parent.glob(f"season-before-v{TODAY + 1}*.db"))) == 2

    def test_a_dry_run_migrates_its_copy_alone(self, book_path, later):
        """The book on disk stays at its version, and no copy is made beside it."""
        later(name="buckets")(lambda db: db.execute("CREATE TABLE buckets (size REAL) STRICT"))
        before = book_path.read_bytes()
        with Book.in_memory_copy(book_path) as copy:
            assert len(copy.entries()) == 1
            assert copy._connection.execute("PRAGMA user_version").fetchone()[0] == TODAY + 1
        assert book_path.read_bytes() == before
        assert [p.name for p in book_path.parent.glob("*.db")] == ["season.db"]


def test_two_programs_that_make_the_same_book_at_once_make_one(book_path):
    """Each opens it and writes one utterance; both are in the book."""
    program = (
        "import sys, time\n"
        "from datetime import datetime, UTC\n"
        "from pathlib import Path\n"
        "from fieldvoice.book import Book\n"
        "from fieldvoice.book import migrations\n"
        "from fieldvoice.transcript import typed\n"
        "time.sleep(max(0, float(sys.argv[2]) - time.time()))\n"
        "with Book.open(Path(sys.argv[1])) as book:\n"
        "    book.take(at=datetime.now(UTC), source='typed', heard=typed('x'), outcome='kept',\n"
        "              meanings=[], reply='')\n"
    )
    start = str(time.time() + 1.0)
    runs = [
        subprocess.Popen(
            [sys.executable, "-c", program, str(book_path), start], stderr=subprocess.PIPE
        )
        for _ in range(3)
    ]
    errors = [run.communicate(timeout=60)[1].decode() for run in runs]
    assert errors == ["", "", ""]
    with Book.open(book_path) as book:
        assert [u.id for u in book.utterances()] == ["u1", "u2", "u3"]
