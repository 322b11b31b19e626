"""Books as earlier versions of the program wrote them, one note to an utterance."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING, Any

from sqlite_utils import Database

from fieldvoice.book import migrations
from fieldvoice.book.version import APPLICATION_ID

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

AT = "2026-03-14T09:00:00-04:00"


def write_old_book(
    path: Path, version: int, notes: Sequence[dict[str, Any]], voids: Sequence[tuple[int, int]] = ()
) -> None:
    """Write the book of ``version`` with its own tables; ``voids`` are entries with utterances."""
    steps = migrations.migrations._migrations
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("BEGIN")
        db = Database(connection, strict=True, execute_plugins=False)
        later = steps[version].name if version < len(steps) else None
        migrations.migrations.apply(db, stop_before=later)
        for number, note in enumerate(notes, start=1):
            connection.execute(
                "INSERT INTO utterances (id, at, source, text, words, confidence, recogniser, "
                "alternatives, outcome, meanings, reply, focus) VALUES "
                "(?, ?, 'typed', ?, '[]', 1, 'typed', '[]', 'saved', ?, 'noted', '{}')",
                [number, AT, f"words {number}", json.dumps([note])],
            )
            connection.execute(
                "INSERT INTO entries (utterance, at, act, fields) VALUES (?, ?, ?, ?)",
                [number, AT, note["act"], json.dumps(note)],
            )
        connection.executemany("INSERT INTO voids (entry, utterance) VALUES (?, ?)", voids)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {version}")
        connection.execute("COMMIT")
