"""The tables of the book and how they came about.

Importing this module imports sqlite-utils, so it is imported only when an older book is brought up
to date; a new one is made of ``newest.sql``, which holds what all migrations together make.
A migration is never changed once a book may have been made with it; add another below, raise
``version.SCHEMA_VERSION``, and write that file anew:

    python -m fieldvoice.book.migrations > fieldvoice/book/newest.sql
"""

from __future__ import annotations

import json
import secrets
import sqlite3
from collections import defaultdict

from sqlite_utils import Database
from sqlite_utils.migrations import Migrations

from fieldvoice.book.checksums import COLUMNS, KEYS, checksum
from fieldvoice.book.version import APPLICATION_ID, SCHEMA_VERSION

#: So many random bytes, in hexadecimal, tell a book from every other.
IDENTITY_BYTES = 6

migrations = Migrations("fieldvoice.book")

_JOURNAL = """
CREATE TABLE utterances (
    id INTEGER PRIMARY KEY,
    at TEXT NOT NULL,
    source TEXT NOT NULL CHECK (source IN ('typed', 'memo', 'live')),
    text TEXT NOT NULL,
    words TEXT NOT NULL CHECK (json_valid(words)),
    confidence REAL NOT NULL,
    fit REAL,
    recogniser TEXT NOT NULL,
    alternatives TEXT NOT NULL CHECK (json_valid(alternatives)),
    audio_file TEXT,
    audio_sha256 TEXT,
    audio_start_ms INTEGER,
    audio_end_ms INTEGER,
    outcome TEXT NOT NULL CHECK (outcome IN ('saved', 'answered', 'done', 'asked', 'kept')),
    meanings TEXT NOT NULL CHECK (json_valid(meanings)),
    reply TEXT NOT NULL,
    pending TEXT CHECK (pending IS NULL OR json_valid(pending)),
    focus TEXT NOT NULL CHECK (json_valid(focus)),
    resolves INTEGER REFERENCES utterances (id),
    CHECK ((audio_sha256 IS NULL) = (audio_start_ms IS NULL))
) STRICT;

-- A memo heard twice is not taken twice. Live speech may sound the same twice and mean it.
CREATE UNIQUE INDEX one_utterance_a_memo_span
    ON utterances (audio_sha256, audio_start_ms) WHERE source = 'memo';
CREATE INDEX utterances_by_resolves ON utterances (resolves) WHERE resolves IS NOT NULL;

-- The index alone would let INSERT OR REPLACE push out the row taken first.
CREATE TRIGGER memo_span_taken_once BEFORE INSERT ON utterances
WHEN NEW.source = 'memo' AND EXISTS (
    SELECT 1 FROM utterances WHERE source = 'memo'
    AND audio_sha256 = NEW.audio_sha256 AND audio_start_ms = NEW.audio_start_ms
)
BEGIN SELECT RAISE(ABORT, 'memo span taken before'); END;

CREATE TABLE entries (
    id INTEGER PRIMARY KEY,
    utterance INTEGER NOT NULL REFERENCES utterances (id),
    at TEXT NOT NULL,
    act TEXT NOT NULL,
    fields TEXT NOT NULL CHECK (json_valid(fields))
) STRICT;
CREATE INDEX entries_by_utterance ON entries (utterance);

CREATE TABLE voids (
    entry INTEGER PRIMARY KEY REFERENCES entries (id),
    utterance INTEGER NOT NULL REFERENCES utterances (id)
) STRICT;

CREATE TABLE memos (
    sha256 TEXT NOT NULL PRIMARY KEY,
    name TEXT NOT NULL,
    at TEXT NOT NULL
) STRICT;

-- For people who look into the book with other programs: what holds, without what was taken back.
CREATE VIEW live_entries AS
    SELECT entries.id, entries.at, entries.act, entries.fields, utterances.text AS heard
    FROM entries JOIN utterances ON utterances.id = entries.utterance
    WHERE entries.id NOT IN (SELECT entry FROM voids);
"""

# The third trigger is for INSERT OR REPLACE, which deletes a row without waking the second.
_APPEND_ONLY = """
CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table}
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;
CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table}
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;
CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table}
WHEN EXISTS (SELECT 1 FROM {table} WHERE {table}.{key} = NEW.{key})
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;
"""


@migrations()
def m001_journal_entries_voids_memos(db: Database) -> None:
    """Make the first tables, and the triggers that let them only grow."""
    db.executescript(_JOURNAL)
    for table, key in (
        ("utterances", "id"),
        ("entries", "id"),
        ("voids", "entry"),
        ("memos", "sha256"),
    ):
        db.executescript(_APPEND_ONLY.format(table=table, key=key))


@migrations()
def m002_findings_of_utterances(db: Database) -> None:
    """Keep what the rules said of each utterance, so that "why?" can be answered later."""
    db.execute(
        "ALTER TABLE utterances ADD COLUMN findings TEXT NOT NULL DEFAULT '[]' "
        "CHECK (json_valid(findings))"
    )


_SNAPSHOTS = """
-- Derived from the journal, and nothing else: may be emptied at any time.
CREATE TABLE snapshots (
    key TEXT NOT NULL,
    entry INTEGER NOT NULL,
    utterance INTEGER NOT NULL,
    last_at TEXT NOT NULL,
    state BLOB NOT NULL,
    PRIMARY KEY (key, entry)
) STRICT;
CREATE INDEX voids_by_utterance ON voids (utterance);
CREATE INDEX entries_by_act ON entries (act, at);
CREATE INDEX entries_by_tree ON entries (json_extract(fields, '$.tree'))
    WHERE json_extract(fields, '$.tree') IS NOT NULL;
CREATE INDEX entries_by_tree_name ON entries (act)
    WHERE typeof(json_extract(fields, '$.tree')) = 'text';
CREATE INDEX entries_by_vessel ON entries (json_extract(fields, '$.vessel'))
    WHERE json_extract(fields, '$.vessel') IS NOT NULL;
CREATE INDEX entries_of_trees ON entries (act) WHERE json_extract(fields, '$.trees') IS NOT NULL;
"""


@migrations()
def m003_snapshots_and_the_ways_to_notes(db: Database) -> None:
    """Keep what the notes add up to, and find those of a tree or a kind at once."""
    db.executescript(_SNAPSHOTS)


@migrations()
def m004_who_said_it_and_where(db: Database) -> None:
    """Keep who said each utterance and in which conversation, where that is known."""
    db.execute("ALTER TABLE utterances ADD COLUMN said_by TEXT")
    db.execute("ALTER TABLE utterances ADD COLUMN conversation TEXT")


_WORDINGS = """
CREATE TABLE wordings (
    id INTEGER PRIMARY KEY,
    utterance INTEGER NOT NULL REFERENCES utterances (id),
    settled_by INTEGER NOT NULL REFERENCES utterances (id),
    masked TEXT NOT NULL,
    shape TEXT NOT NULL CHECK (json_valid(shape))
) STRICT;
CREATE TABLE wording_uses (
    utterance INTEGER PRIMARY KEY REFERENCES utterances (id),
    wording INTEGER NOT NULL REFERENCES wordings (id)
) STRICT;
CREATE INDEX wording_uses_by_wording ON wording_uses (wording);
CREATE TABLE forgotten_wordings (
    wording INTEGER PRIMARY KEY REFERENCES wordings (id),
    utterance INTEGER NOT NULL REFERENCES utterances (id)
) STRICT;
"""


@migrations()
def m005_wordings(db: Database) -> None:
    """Keep the wordings learnt, what was read by them, and which were to be forgotten."""
    db.executescript(_WORDINGS)
    for table, key in (
        ("wordings", "id"),
        ("wording_uses", "utterance"),
        ("forgotten_wordings", "wording"),
    ):
        db.executescript(_APPEND_ONLY.format(table=table, key=key))


_CARE = """
-- Which book this is: its notes are known by it in other books.
CREATE TABLE identity (book TEXT NOT NULL PRIMARY KEY) STRICT;
-- The last row written in each table, so that rows gone from the end are missed.
CREATE TABLE tallies (name TEXT NOT NULL PRIMARY KEY, last INTEGER NOT NULL) STRICT;
-- What a note is called in the book that it came from.
CREATE TABLE origins (
    entry INTEGER PRIMARY KEY REFERENCES entries (id),
    note TEXT NOT NULL UNIQUE
) STRICT;
ALTER TABLE utterances ADD COLUMN written TEXT CHECK (written IS NULL OR json_valid(written));
ALTER TABLE memos ADD COLUMN sound TEXT;
ALTER TABLE memos ADD COLUMN shape TEXT;
CREATE INDEX memos_by_sound ON memos (sound) WHERE sound IS NOT NULL;
CREATE INDEX memos_by_length ON memos (length(shape)) WHERE shape IS NOT NULL;
CREATE INDEX utterances_by_conversation
    ON utterances (coalesce(conversation, 'default'), id);
DELETE FROM snapshots;
ALTER TABLE snapshots ADD COLUMN checksum TEXT NOT NULL DEFAULT '';
"""

_TALLY = """
INSERT INTO tallies SELECT '{table}', coalesce(max(rowid), 0) FROM {table};
CREATE TRIGGER {table}_tally AFTER INSERT ON {table}
BEGIN UPDATE tallies SET last = max(last, NEW.rowid) WHERE name = '{table}'; END;
"""


@migrations()
def m006_checksums_and_where_notes_are_from(db: Database) -> None:
    """Give every row a checksum, and every utterance the list of what was written with it."""
    db.executescript(_CARE)
    db.execute("INSERT INTO identity VALUES (?)", [secrets.token_hex(IDENTITY_BYTES)])
    written = _written_with(db)
    for table in _SUMMED_UP:
        key = KEYS[table]
        db.execute(f"ALTER TABLE {table} ADD COLUMN checksum TEXT NOT NULL DEFAULT ''")
        for trigger in ("no_update", "no_delete", "no_replace"):
            db.execute(f"DROP TRIGGER IF EXISTS {table}_{trigger}")
        _sum_up(db, table, written)
        db.executescript(_APPEND_ONLY.format(table=table, key=key))
        db.executescript(_TALLY.format(table=table))
    _let_sources_be(db, "'typed', 'memo', 'live', 'phone', 'import'")


#: The tables that there were when rows got checksums.
_SUMMED_UP = (
    "utterances", "entries", "voids", "memos", "wordings", "wording_uses", "forgotten_wordings",
    "origins",
)  # fmt: skip


def _written_with(db: Database) -> dict[int, str]:
    """Return what was written with each utterance: the keys of the rows, by their table."""
    found: dict[int, dict[str, list[int]]] = defaultdict(dict)
    for table, said_by in (
        ("entries", "utterance"), ("voids", "utterance"), ("wordings", "settled_by"),
        ("wording_uses", "utterance"), ("forgotten_wordings", "utterance"),
    ):  # fmt: skip
        rows = db.execute(f"SELECT {said_by}, {KEYS[table]} FROM {table} ORDER BY 2")
        for utterance, key in rows.fetchall():
            found[utterance].setdefault(table, []).append(key)
    return {utterance: json.dumps(rows) for utterance, rows in found.items()}


def _sum_up(db: Database, table: str, written: dict[int, str]) -> None:
    columns = ", ".join(COLUMNS[table])
    sets = "checksum = ?, written = ?" if table == "utterances" else "checksum = ?"
    cursor = db.execute(f"SELECT rowid, {columns} FROM {table}")
    changes = []
    for number, *values in cursor.fetchall():
        row = dict(zip(COLUMNS[table], values, strict=True))
        more = []
        if table == "utterances":
            row["written"] = written.get(number)
            more = [row["written"]]
        changes.append((checksum(table, row), *more, number))
    db.conn.executemany(f"UPDATE {table} SET {sets} WHERE rowid = ?", changes)


def _let_sources_be(db: Database, sources: str) -> None:
    """Let utterances come from other places too.

    A check cannot be altered, and making the table anew would copy the whole journal. Writing the
    schema is the way that SQLite's own manual gives for checks (lang_altertable.html, part 7).
    """
    version = db.execute("PRAGMA schema_version").fetchone()[0]
    db.execute("PRAGMA writable_schema = ON")
    db.execute(
        "UPDATE sqlite_schema SET sql = replace(sql, ?, ?) "
        "WHERE type = 'table' AND name = 'utterances'",
        ["'typed', 'memo', 'live'", sources],
    )
    db.execute(f"PRAGMA schema_version = {version + 1}")
    db.execute("PRAGMA writable_schema = OFF")


_DELIVERIES = """
-- What the sender calls an utterance that came over the network: the same one comes in once.
CREATE TABLE deliveries (
    utterance INTEGER PRIMARY KEY REFERENCES utterances (id),
    name TEXT NOT NULL UNIQUE,
    checksum TEXT NOT NULL DEFAULT ''
) STRICT;
"""


@migrations()
def m007_deliveries(db: Database) -> None:
    """Keep what phones call the notes they send, so that one sent again is not taken again."""
    db.executescript(_DELIVERIES)
    db.executescript(_APPEND_ONLY.format(table="deliveries", key="utterance"))
    db.executescript(_TALLY.format(table="deliveries"))


def migrate(connection: sqlite3.Connection) -> None:
    """Bring the book up to ``SCHEMA_VERSION``; the caller's transaction holds it all or nothing."""
    migrations.apply(Database(connection, strict=True, execute_plugins=False))
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")


def newest() -> str:
    """Return statements, blank lines between, that make what all migrations make of nothing."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    migrate(connection)
    made = [
        sql
        for (sql,) in connection.execute(
            "SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY rowid"
        )
    ]
    for (name,) in connection.execute("SELECT name FROM _sqlite_migrations ORDER BY rowid"):
        made.append(
            "INSERT INTO _sqlite_migrations (migration_set, name, applied_at) "
            f"VALUES ('{migrations.name}', '{name}', strftime('%Y-%m-%d %H:%M:%f000+00:00', 'now'))"
        )
    for (name,) in connection.execute("SELECT name FROM tallies ORDER BY rowid"):
        made.append(f"INSERT INTO tallies VALUES ('{name}', 0)")
    made += [
        f"INSERT INTO identity VALUES (lower(hex(randomblob({IDENTITY_BYTES}))))",
        f"PRAGMA application_id = {APPLICATION_ID}",
        f"PRAGMA user_version = {SCHEMA_VERSION}",
    ]
    return ";\n\n".join(made) + ";\n"


if __name__ == "__main__":
    print(newest(), end="")
