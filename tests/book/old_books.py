"""Books as earlier versions of the program wrote them, one note to an utterance."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING, Any

from sqlite_utils import Database

from fieldvoice.book import migrations
from fieldvoice.book.checksums import checksum
from fieldvoice.book.version import APPLICATION_ID

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

#: The version from which on rows carry a checksum.
_WITH_CHECKSUMS = 6

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
        written: dict[int, Any] = {
            number: {"entries": [number]} for number in range(1, len(notes) + 1)
        }
        for entry, utterance in voids:
            written[utterance].setdefault("voids", []).append(entry)
        for number, note in enumerate(notes, start=1):
            said = {
                "id": number, "at": AT, "source": "typed", "text": f"words {number}",
                "words": "[]", "confidence": 1, "recogniser": "typed", "alternatives": "[]",
                "outcome": "saved", "meanings": json.dumps([note]), "reply": "noted",
                "focus": "{}",
            }  # fmt: skip
            if version >= _WITH_CHECKSUMS:
                said |= {"findings": "[]", "written": json.dumps(written[number])}
            _insert(connection, version, "utterances", said)
            entry = {"id": number, "utterance": number, "at": AT, "act": note["act"]}
            _insert(connection, version, "entries", entry | {"fields": json.dumps(note)})
        for entry, utterance in voids:
            _insert(connection, version, "voids", {"entry": entry, "utterance": utterance})
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {version}")
        connection.execute("COMMIT")


def _insert(connection: sqlite3.Connection, version: int, table: str, row: dict[str, Any]) -> None:
    if version >= _WITH_CHECKSUMS:
        row = {**row, "checksum": checksum(table, row)}
    names, marks = ", ".join(row), ", ".join(f":{name}" for name in row)
    connection.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", row)
