"""Notes read page by page: the newest first, and no further than somebody goes."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from itertools import islice
from typing import Any

import pytest

from fieldvoice.book import Book, history
from fieldvoice.book.history import newest_first
from fieldvoice.schema import Act, meaning_from
from fieldvoice.transcript import typed

START = datetime(2026, 3, 1, 8, tzinfo=UTC)


def write(book: Book, at: datetime, said: str = "words", **fields: Any) -> str:
    """Write one note; return its id."""
    act = meaning_from(fields)
    assert isinstance(act, Act)
    taken = book.take(at=at, source="typed", heard=typed(said), outcome="saved", meanings=[act],
                      reply="", notes=[act])  # fmt: skip
    return taken.records[0]


@pytest.fixture
def book(monkeypatch):
    """Forty notes a minute apart, of trees 1 to 4 and tank 1; the last one happened first of all.

    Pages are of five notes.
    """
    monkeypatch.setattr(history, "_PAGE", 5)
    monkeypatch.setattr(history, "_STRETCH", 7)
    with Book.in_memory_copy() as book:
        for number in range(39):
            at, of = START + timedelta(minutes=number), number % 5
            thing = {"tree": of} if of else {"vessel": "tank 1"}
            write(book, at, f"words {number}", act="remark", text=f"note {number}", **thing)
        write(book, START - timedelta(days=1), act="remark", text="late", tree=1)
        yield book


def ids(book: Book, **which: Any) -> list[str]:
    return [one.id for one in newest_first(book, **which)]


def test_the_newest_come_first_and_a_late_note_has_its_place(book):
    """By the time they happened, whenever they were written."""
    assert ids(book, tree=1) == ["e37", "e32", "e27", "e22", "e17", "e12", "e7", "e2", "e40"]
    assert ids(book, vessel="tank 1")[:2] == ["e36", "e31"]
    assert ids(book, since=date(2026, 3, 1)) == [f"e{one}" for one in range(39, 0, -1)]
    assert ids(book, since=date(2026, 2, 28))[-1] == "e40"
    assert ids(book, tree=1, stamped="2026-02") == ["e40"]
    assert ids(book, tree=99) == []


def test_words_are_looked_for_from_the_last_note_back(book):
    """All of them, whole or as the beginning of one, in what was said or kept."""
    assert ids(book, words=["note"]) == [f"e{one}" for one in range(39, 0, -1)]
    assert ids(book, words=["WORDS", "note", "3"])[:3] == ["e39", "e38", "e37"]
    assert ids(book, words=["late"]) == ["e40"]
    assert ids(book, words=["ate"]) == ids(book, words=["*"]) == ids(book, words=[]) == []


@pytest.mark.parametrize("which", [{"tree": 1}, {"since": date(2026, 1, 1)}, {"words": ["note"]}])
def test_no_more_is_read_than_is_taken(book, monkeypatch, which):
    """Two notes wanted, one page read; what was taken back is among them and says so."""
    read, real = [], history.entry_from
    monkeypatch.setattr(history, "entry_from", lambda row: read.append(row["id"]) or real(row))
    first, second = islice(newest_first(book, **which), 2)
    assert len(read) <= 5
    gone = book.take(at=START, source="typed", heard=typed("no"), outcome="done", meanings=[],
                     reply="", voids=[first.id])  # fmt: skip
    again = list(islice(newest_first(book, **which), 2))
    assert [one.id for one in again] == [first.id, second.id]
    assert [one.voided_by for one in again] == [gone.utterance_id, None]


def test_a_bad_row_stops_nothing_but_itself(book):
    """It is told of, once."""
    told = []
    book.on_bad_row = told.append
    book._connection.execute("DROP TRIGGER entries_no_update")
    book._connection.execute("UPDATE entries SET fields = '{\"text\": \"x\", \"tree\": 1}' "
                             "WHERE id = 32")  # fmt: skip
    assert ids(book, tree=1)[:2] == ["e37", "e27"]
    ids(book, tree=1)
    assert len(told) == 1
