"""The book only grows: SQLite itself refuses anything else, whoever asks."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime

import pytest

from fieldvoice.book import Taught
from fieldvoice.transcript import AudioSpan, Transcript

NINE = datetime(2026, 3, 14, 9, tzinfo=UTC)


@pytest.fixture
def outsider(book, book_path, take):
    """Another program's connection, with none of our settings, to a book with a row a table."""
    memo = Transcript("x", audio=AudioSpan("a.wav", "ab" * 32, 0.0, 1.0))
    taught = Taught("<tree> halfway", [{"act": "inspect", "tree": "tree#1", "fill": 0.5}])
    act = {"act": "inspect", "tree": 1, "fill": 0.5}
    take(book, act, source="memo", heard=memo, taught=taught)
    take(book, voids=["e1"], wording="w1", forgets=["w1"], delivery="phone.1")
    book.finish_memo("ab" * 32, "a.wav", NINE)
    with book.writing():
        book.insert("origins", {"entry": 1, "note": "other-e1"})
    with closing(sqlite3.connect(book_path, isolation_level=None)) as connection:
        yield connection


#: What only grows.
JOURNAL = (
    "utterances", "entries", "voids", "memos", "wordings", "wording_uses", "forgotten_wordings",
    "origins", "deliveries",
)  # fmt: skip


@pytest.mark.parametrize("table", JOURNAL)
@pytest.mark.parametrize(
    "statement",
    [
        "DELETE FROM {table}",
        "UPDATE {table} SET {column} = {column}",
        "INSERT OR REPLACE INTO {table} SELECT * FROM {table}",
        "REPLACE INTO {table} SELECT * FROM {table} LIMIT 1",
    ],
)
def test_rows_are_neither_changed_nor_removed(outsider, table, statement):
    """UPDATE, DELETE and the removal hidden in REPLACE are refused in every table."""
    before = outsider.execute(f"SELECT * FROM {table}").fetchall()
    assert before
    column = outsider.execute(f"SELECT * FROM {table}").description[0][0]
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        outsider.execute(statement.format(table=table, column=column))
    assert outsider.execute(f"SELECT * FROM {table}").fetchall() == before


def test_replace_by_the_span_of_a_memo_is_refused_too(outsider):
    """A new row that clashes only in recording and place must not push the old one out."""
    columns = [row[1] for row in outsider.execute("PRAGMA table_info(utterances)")]
    rest = ", ".join(columns[1:])
    with pytest.raises(sqlite3.IntegrityError, match="taken before"):
        outsider.execute(
            f"INSERT OR REPLACE INTO utterances (id, {rest}) "
            f"SELECT 99, {rest} FROM utterances WHERE id = 1"
        )
    assert outsider.execute("SELECT id FROM utterances ORDER BY id").fetchall() == [(1,), (2,)]


def test_every_table_is_strict(outsider):
    """A word where a number belongs is refused by SQLite."""
    tables = {row[1]: row[5] for row in outsider.execute("PRAGMA table_list") if row[2] == "table"}
    ours = {name: strict for name, strict in tables.items() if not name.startswith("sqlite_")}
    others = {"snapshots", "tallies", "identity", "_sqlite_migrations"}
    assert set(ours) == {*JOURNAL, *others}
    assert set(ours.values()) == {1}


def test_live_entries_view_leaves_out_what_was_taken_back(outsider, book, take):
    """The view for other programs shows each note that holds, with the words it came from."""
    take(book, {"act": "inspect", "tree": 2, "fill": 1.0})
    assert outsider.execute("SELECT id, act, heard FROM live_entries").fetchall() == [
        (2, "inspect", "words")
    ]
