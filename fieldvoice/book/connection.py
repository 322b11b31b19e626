"""Opening a book's file: is it a book, is it ours to read, and is it as new as we are.

Only the standard library is used here. ``fieldvoice.book.migrations`` (and with it sqlite-utils) is
imported when a book must be made or brought up to date, and not otherwise.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

from fieldvoice.book.faults import plain_faults
from fieldvoice.book.version import APPLICATION_ID, SCHEMA_VERSION
from fieldvoice.errors import BookError

if TYPE_CHECKING:
    from pathlib import Path

#: How long one writer waits for another, in seconds.
BUSY_S = 10.0


def open_file(path: Path) -> sqlite3.Connection:
    """Return a connection to the book at ``path``, made or brought up to date if need be.

    Before an existing book is brought up to date, a copy is put beside it.

    Raises:
        BookError: the file is no book, is newer than this program, or cannot be used.
    """
    if path.is_dir():
        raise BookError(f"{path} is a folder, not a season book.")
    with plain_faults(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        connection = _connect(path, "rwc")
        try:
            version = book_version(connection, path)
            if version < SCHEMA_VERSION:
                _bring_up_to_date(connection, path)
            _write_ahead(connection)
        except BaseException:
            connection.close()
            raise
    return connection


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
        if book_version(connection, path) < SCHEMA_VERSION:
            _migrate(connection)
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
        raise BookError(f"{path} is not a season book.")
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


def _write_ahead(connection: sqlite3.Connection) -> None:
    if connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal":
        return
    try:
        connection.execute("PRAGMA journal_mode = WAL")
    except sqlite3.OperationalError as fault:
        # Another program has the new book open; the old kind of journal is as safe, only slower,
        # and the next opening changes it.
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
            _migrate(connection)
        connection.execute("COMMIT")
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")


def _migrate(connection: sqlite3.Connection) -> None:
    from fieldvoice.book import migrations

    migrations.migrate(connection)


def _keep_copy(path: Path, version: int) -> None:
    """Put a whole copy of the book beside it, never over an earlier copy."""
    number, copy = 0, path.with_name(f"{path.stem}-before-v{version + 1}{path.suffix}")
    while copy.exists():
        number += 1
        copy = path.with_name(f"{path.stem}-before-v{version + 1}-{number}{path.suffix}")
    with closing(sqlite3.connect(copy, isolation_level=None)) as target:
        _copy(path, target)


def _copy(path: Path, target: sqlite3.Connection) -> None:
    try:
        with closing(_connect(path, "ro")) as source:
            source.backup(target)
    except sqlite3.OperationalError:
        # In a folder that may not be written to, SQLite can read a book only if told that nobody
        # else is at it; that holds when no writer has left a log beside it.
        if path.with_name(path.name + "-wal").exists():
            raise
        with closing(_connect(path, "immutable=1")) as source:
            source.backup(target)
