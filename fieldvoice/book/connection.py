"""Opening a book's file: is it a book, is it ours to read, and is it as new as we are.

The journal of the file is a rollback journal, truncated after each commit: the file alone is whole
as soon as a commit returns, so that it can be copied by any program, and the fault of write-ahead
logs under several connections (SQLite before 3.51.3, sqlite.org/wal.html) is not met with.

Only the standard library is used here. ``fieldvoice.book.migrations`` (and with it sqlite-utils) is
imported when an older book must be brought up to date, and not otherwise.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from fieldvoice.book.faults import plain_faults
from fieldvoice.book.version import APPLICATION_ID, SCHEMA_VERSION
from fieldvoice.errors import BookError

#: What is told of a book that is damaged.
_DAMAGED = (
    "The season book {book} is damaged: {why}. It can be read, and nothing is saved in it. "
    "Make a new one of it: fieldvoice book salvage {book} --book NEW"
)
#: What is told of a book that may only be read.
UNWRITABLE = (
    "The season book {book} may not be written to. It can be read, and nothing is saved in it. "
    "Allow it, or name another with --book"
)
#: What makes a new book: statements with blank lines between, written by ``migrations``.
NEWEST = Path(__file__).with_name("newest.sql")
#: Files of books have a multiple of so many bytes.
_PAGE = 4096
#: How long one writer waits for another, in seconds.
BUSY_S = 10.0


class DamagedBookError(BookError):
    """A book whose file is damaged; the text says how, and what to do.

    ``why`` is how, and ``beginning`` tells that it is the part by which a file is known to be a
    book.
    """

    def __init__(self, path: Path, why: str) -> None:
        super().__init__(_DAMAGED.format(book=path, why=why))
        self.why = why
        self.beginning = why.startswith("its beginning")


def is_read_only(path: Path) -> bool:
    """Whether there is a book at ``path`` that, or beside which a journal, may not be written."""
    effective = os.access in os.supports_effective_ids
    needed = (path, path.parent) if path.exists() else ()
    return not all(os.access(one, os.W_OK, effective_ids=effective) for one in needed)


def open_file(path: Path) -> sqlite3.Connection:
    """Return a connection to the book at ``path``, made or brought up to date if need be.

    Before an existing book is brought up to date, a copy is put beside it.

    Raises:
        DamagedBookError: something is wrong with the file, and it was left as it is.
        BookError: the file is no book, is newer than this program, or cannot be used.
    """
    if path.is_dir():
        raise BookError(f"{path} is a folder, not a season book.")
    with plain_faults(path):
        try:
            return _opened(path)
        except sqlite3.DatabaseError as fault:
            damaged = damage_in(path, fault)
            if damaged is None:
                raise
            raise damaged from fault


def _opened(path: Path) -> sqlite3.Connection:
    made = not path.exists()
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    connection = _connect(path, "rwc")
    try:
        if made:
            path.chmod(0o600)
        version = book_version(connection, path)
        _truncate_journal(connection)
        if version < SCHEMA_VERSION:
            _bring_up_to_date(connection, path)
        damage = damage_seen(connection, path)
        if damage is not None:
            raise DamagedBookError(path, damage)
    except BaseException:
        connection.close()
        raise
    return connection


def damage_in(path: str | Path, fault: sqlite3.DatabaseError) -> DamagedBookError | None:
    """Return what SQLite's fault tells of a book's file; None where the file may be sound."""
    why = _why_unreadable(Path(path), str(fault))
    return None if why is None else DamagedBookError(Path(path), why)


def _why_unreadable(path: Path, fault: str) -> str | None:
    """Return what is wrong with a file that SQLite cannot read, if it may be a book."""
    if "malformed" not in fault and "not a database" not in fault:
        return None
    size = path.stat().st_size
    if "malformed" in fault:
        with path.open("rb") as file:
            head = file.read(32)
        page = int.from_bytes(head[16:18], "big")
        missing = size < page * int.from_bytes(head[28:32], "big")
        return "its end is missing" if missing else "a part of it holds something else"
    return "its beginning holds something else" if size % _PAGE == 0 else None


def damage_seen(connection: sqlite3.Connection, path: Path) -> str | None:
    """Return what is wrong with a book at first sight; None if nothing is.

    This takes as long with a large book as with a small one: the size of the file, the ends of the
    tables, and whether rows are gone from there.
    """
    pages = connection.execute("PRAGMA page_count").fetchone()[0]
    size = connection.execute("PRAGMA page_size").fetchone()[0]
    if path.stat().st_size < size * pages and _journal_mode(connection) != "wal":
        return "its end is missing"
    for table, last in connection.execute("SELECT name, last FROM tallies").fetchall():
        found = connection.execute(f"SELECT max(rowid) FROM {table}").fetchone()[0] or 0
        if found < last:
            return f"rows are gone from the end of its {table.replace('_', ' ')}"
        connection.execute(f"SELECT * FROM {table} WHERE rowid = ?", [found]).fetchall()
    return None


def _journal_mode(connection: sqlite3.Connection) -> str:
    return str(connection.execute("PRAGMA journal_mode").fetchone()[0])


def copy_into_memory(path: Path | None) -> sqlite3.Connection:
    """Return a book in memory holding what the file at ``path`` holds; the file is left alone.

    With no path, or where there is no file yet, the book is empty.

    Raises:
        BookError: as for ``open_file``.
    """
    connection = sqlite3.connect(":memory:", isolation_level=None)
    try:
        if path is not None and path.is_dir():
            raise BookError(f"{path} is a folder, not a season book.")
        if path is not None and path.exists():
            with plain_faults(path):
                _copy(path, connection)
                book_version(connection, path)
        _settle(connection)
        version = book_version(connection, path)
        if version < SCHEMA_VERSION:
            connection.execute("BEGIN")
            _migrate(connection, version)
            connection.execute("COMMIT")
    except BaseException:
        connection.close()
        raise
    return connection


def book_version(connection: sqlite3.Connection, path: Path | None) -> int:
    """Return the schema version found, 0 for an empty file.

    Raises:
        BookError: it is another program's database, or a newer book.
    """
    marked = connection.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
    version: int = connection.execute("PRAGMA user_version").fetchone()[0]
    holds_tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0] > 0
    if not marked and (version or holds_tables):
        raise BookError(f"{path} is not a season book; name another with --book.")
    if version > SCHEMA_VERSION:
        raise BookError(
            f"The season book {path} was written by a newer fieldvoice "
            f"(book version {version}, this program knows {SCHEMA_VERSION}); update fieldvoice."
        )
    return version


def _connect(path: Path, mode: str) -> sqlite3.Connection:
    uri = f"{path.absolute().as_uri()}?{mode if '=' in mode else 'mode=' + mode}"
    connection = sqlite3.connect(uri, uri=True, isolation_level=None, timeout=BUSY_S)
    _settle(connection)
    return connection


def _settle(connection: sqlite3.Connection) -> None:
    connection.row_factory = sqlite3.Row
    connection.execute("PRAGMA foreign_keys = ON")
    # A note must survive a dead battery: every commit waits until the disk has it.
    connection.execute("PRAGMA synchronous = FULL")
    # Without this, INSERT OR REPLACE would delete a row and wake no trigger.
    connection.execute("PRAGMA recursive_triggers = ON")


def _truncate_journal(connection: sqlite3.Connection) -> None:
    try:
        connection.execute("PRAGMA journal_mode = TRUNCATE")
    except sqlite3.OperationalError as fault:
        # An earlier fieldvoice has it open, with a write-ahead log; both may go on with that, and
        # the next opening changes it.
        if "locked" not in str(fault):
            raise


def _bring_up_to_date(connection: sqlite3.Connection, path: Path) -> None:
    """Migrate under the write lock, so that of two programs opening at once only one does it."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        version = book_version(connection, path)
        if 0 < version < SCHEMA_VERSION:
            _keep_copy(path, version)
        if version < SCHEMA_VERSION:
            _migrate(connection, version)
        connection.execute("COMMIT")
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")


def _migrate(connection: sqlite3.Connection, version: int) -> None:
    if version == 0:
        for statement in NEWEST.read_text(encoding="utf-8").split("\n\n"):
            connection.execute(statement)
        return
    from fieldvoice.book import migrations

    migrations.migrate(connection)


def _keep_copy(path: Path, version: int) -> None:
    """Put a whole copy of the book beside it, never over an earlier copy."""
    number, copy = 0, path.with_name(f"{path.stem}-before-v{version + 1}{path.suffix}")
    while copy.exists():
        number += 1
        copy = path.with_name(f"{path.stem}-before-v{version + 1}-{number}{path.suffix}")
    copy.touch(mode=0o600)
    with closing(sqlite3.connect(copy, isolation_level=None)) as target:
        _copy(path, target)


def open_again(path: Path) -> sqlite3.Connection:
    """Return another connection to a book that is open; what was left half done is undone first.

    Raises:
        sqlite3.Error: it cannot be opened.
    """
    return _connect(path, "rw")


def open_to_read(path: Path) -> sqlite3.Connection:
    """Return a connection that cannot change the book, also in a folder that is not ours.

    Raises:
        sqlite3.Error: it cannot be opened.
    """
    connection = _connect(path, "ro")
    try:
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError:
        connection.close()
        # In a folder that may not be written to, SQLite can read a book with a write-ahead log only
        # if told that nobody else is at it; that holds when no writer has left a log beside it.
        if path.with_name(path.name + "-wal").exists():
            raise
        connection = _connect(path, "immutable=1")
    return connection


def _copy(path: Path, target: sqlite3.Connection) -> None:
    with closing(open_to_read(path)) as source:
        source.backup(target)
