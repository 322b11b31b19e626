"""A book to write in, and one short way to write in it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.book import Book
from fieldvoice.schema import Act, meaning_from
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from fieldvoice.book import Taken

NINE = datetime(2026, 3, 14, 9, tzinfo=UTC)


@pytest.fixture
def book_path(tmp_path: Path) -> Path:
    return tmp_path / "season.db"


@pytest.fixture
def book(book_path: Path) -> Iterator[Book]:
    with Book.open(book_path) as book:
        yield book


@pytest.fixture
def take() -> Callable[..., Taken]:
    """Take the acts given as plain fields, with everything else filled in."""

    def taking(book: Book, *notes: dict[str, Any], **fields: Any) -> Taken:
        acts = [act for act in map(meaning_from, notes) if isinstance(act, Act)]
        defaults: dict[str, Any] = {
            "at": NINE,
            "source": "typed",
            "heard": typed("words"),
            "outcome": "saved",
            "meanings": acts,
            "reply": "",
            "notes": acts,
        }
        return book.take(**{**defaults, **fields})

    return taking
