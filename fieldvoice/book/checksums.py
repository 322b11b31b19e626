"""The checksum that every row of the journal carries, and the columns that it is made of."""

from __future__ import annotations

import hashlib
import json
from json.encoder import encode_basestring_ascii
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Mapping

#: The journal's tables, each with its columns but the checksum. A later column is added at the end
#: and may be null, so that the checksum of older rows stays what it was.
COLUMNS: Mapping[str, tuple[str, ...]] = {
    "utterances": (
        "id", "at", "source", "text", "words", "confidence", "fit", "recogniser", "alternatives",
        "audio_file", "audio_sha256", "audio_start_ms", "audio_end_ms", "outcome", "meanings",
        "reply", "pending", "focus", "resolves", "findings", "said_by", "conversation", "written",
    ),
    "entries": ("id", "utterance", "at", "act", "fields"),
    "voids": ("entry", "utterance"),
    "memos": ("sha256", "name", "at", "sound", "shape"),
    "wordings": ("id", "utterance", "settled_by", "masked", "shape"),
    "wording_uses": ("utterance", "wording"),
    "forgotten_wordings": ("wording", "utterance"),
    "origins": ("entry", "note"),
    "deliveries": ("utterance", "name"),
}  # fmt: skip

#: What finds a row of each table again.
KEYS: Mapping[str, str] = {table: columns[0] for table, columns in COLUMNS.items()}

#: Bytes of a checksum. By chance one in 10^24 wrong rows passes.
_BYTES = 10


def checksum(table: str, row: Mapping[str, Any] | sqlite3.Row) -> str:
    """Return the checksum of a row; columns that are null or missing do not count."""
    known = row.keys()
    said = ",".join(
        f'["{name}",{_written(row[name])}]'
        for name in COLUMNS[table]
        if name in known and row[name] is not None
    )
    written = f'["{table}",[{said}]]'
    return hashlib.blake2b(written.encode("ascii"), digest_size=_BYTES).hexdigest()


def is_as_written(table: str, row: Mapping[str, Any] | sqlite3.Row) -> bool:
    """Whether a row is what it was when this program wrote it.

    One without a checksum was written by another program, and nobody can say.
    """
    return row["checksum"] in ("", checksum(table, row))


def _written(value: str | float) -> str:
    """Return a value as JSON, whatever way it went through the database: 1 is stored as 1.0."""
    if isinstance(value, str):
        return encode_basestring_ascii(value)
    return repr(float(value)) if isinstance(value, int) else json.dumps(value)
