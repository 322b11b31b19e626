"""Whoever waits hears how far a work is, in fractions that rise to the whole."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from fieldvoice.book import Book
from fieldvoice.book.exchange import export, import_notes
from fieldvoice.book.salvage import salvage
from fieldvoice.book.verify import verify
from fieldvoice.schema import Act, meaning_from
from fieldvoice.telling import part_of, telling
from fieldvoice.transcript import typed

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.telling import Tell

NOW = datetime(2027, 3, 5, 9, tzinfo=UTC)


class Waiting:
    """Keeps what it is told, as fractions."""

    def __init__(self) -> None:
        self.told: list[float] = []

    def __call__(self, done: float, whole: float) -> None:
        self.told.append(done / whole if whole else 1.0)


def test_each_thing_comes_and_many_are_not_told_of_each() -> None:
    few, many = Waiting(), Waiting()
    assert list(telling("abcd", few)) == list("abcd")
    assert few.told == [0, 0.25, 0.5, 0.75, 1]
    assert len(list(telling(range(100_000), many))) == 100_000
    assert len(many.told) == 1001


def test_parts_make_a_whole() -> None:
    waiting = Waiting()
    list(telling("ab", part_of(waiting, 0.0, 0.4)))
    list(telling("", part_of(waiting, 0.4, 1.0)))
    assert waiting.told == pytest.approx([0, 0.2, 0.4, 1])


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A book with some notes."""
    path = tmp_path / "season.db"
    with Book.open(path) as book:
        for tree in range(1, 11):
            act = meaning_from({"act": "gather", "tree": tree, "volume_gal": 2})
            assert isinstance(act, Act)
            book.take(
                at=NOW, source="typed", heard=typed("words"), outcome="saved", meanings=[act],
                reply="", notes=[act],
            )  # fmt: skip
    return path


def years(place: Path, tell: Tell) -> None:
    with Book.open(place) as book, book.years(tell=tell) as every:
        assert every.seasons


def out_and_in(place: Path, tell: Tell) -> None:
    with Book.open(place) as book:
        export(book, place.parent / "notes", part_of(tell, 0.0, 0.5))
    with Book.open(place.with_name("new.db")) as book:
        import_notes(book, [place.parent / "notes"], NOW, part_of(tell, 0.5, 1.0))


def saved_anew(place: Path, tell: Tell) -> None:
    salvage(place, place.with_name("new.db"), tell)


@pytest.mark.parametrize("work", [years, out_and_in, saved_anew])
def test_what_goes_through_the_book_tells(place: Path, work: Callable[[Path, Tell], None]) -> None:
    waiting = Waiting()
    work(place, waiting)
    assert waiting.told == sorted(waiting.told)
    assert len(set(waiting.told)) >= 2
    assert waiting.told[-1] == 1


def test_a_book_that_is_verified_tells(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A page of rows at a time."""
    monkeypatch.setattr("fieldvoice.book.verify._PAGE", 5)
    waiting = Waiting()
    assert verify(place, waiting).sound
    assert waiting.told == [0.25, 0.5, 0.75, 1]
