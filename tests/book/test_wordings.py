"""Wordings in the book: what they are, when they count, and books from before there were any."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.book import Book, Taught
from fieldvoice.errors import BookError
from tests.book.old_books import write_old_book

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.book import Taken

HALF = {"act": "inspect", "tree": 1, "fill": 0.5}
SHAPE = [{"act": "inspect", "tree": "tree#1", "fill": 0.5}]


def learn(book: Book, take: Callable[..., Taken]) -> None:
    """An utterance that asks, and the yes that settles it and teaches."""
    take(book, outcome="asked")
    take(book, HALF, resolves="u1", taught=Taught("<tree> halfway", SHAPE, "u1"))


def counts(book: Book) -> list[bool]:
    return [one.counts for one in book.wordings()]


def test_a_wording_with_where_it_comes_from(book: Book, take: Callable[..., Taken]) -> None:
    learn(book, take)
    (wording,) = book.wordings()
    assert (wording.id, wording.utterance_id, wording.settled_by) == ("w1", "u1", "u2")
    assert (wording.masked, list(wording.shape), wording.counts) == ("<tree> halfway", SHAPE, True)
    assert book.wording("w1") == wording


def test_it_counts_while_its_note_stands(book: Book, take: Callable[..., Taken]) -> None:
    learn(book, take)
    take(book, {**HALF, "tree": 2})
    take(book, voids=["e2"])
    assert counts(book) == [True]
    take(book, voids=["e1"])
    assert counts(book) == [False]


def test_it_counts_while_the_notes_that_it_made_stand(
    book: Book, take: Callable[..., Taken]
) -> None:
    """Those made after a question of its own as well."""
    learn(book, take)
    take(book, {**HALF, "tree": 2}, wording="w1")
    take(book, outcome="asked", wording="w1")
    take(book, {**HALF, "tree": 3}, resolves="u4")
    assert book.read_by_wordings() == {"u3": "w1", "u4": "w1"}
    assert book.wordings()[0].used_by == "u4"
    assert counts(book) == [True]
    take(book, voids=["e3"])
    assert counts(book) == [False]


def test_forgotten_once(book: Book, take: Callable[..., Taken]) -> None:
    learn(book, take)
    take(book, forgets=["w1"])
    assert counts(book) == [False]
    assert book.wordings()[0].forgotten_by == "u3"
    with pytest.raises(BookError, match="was forgotten before"):
        take(book, forgets=["w1"])


@pytest.mark.parametrize("fields", [{"wording": "w9"}, {"forgets": ["w9"]}, {"forgets": ["e1"]}])
def test_a_wording_that_is_not_there(
    book: Book, take: Callable[..., Taken], fields: dict[str, Any]
) -> None:
    """Nothing is written then, the note neither."""
    with pytest.raises(BookError, match="There is no wording"):
        take(book, HALF, **fields)
    assert book.utterances() == []
    with pytest.raises(BookError, match="There is no wording"):
        book.wording("w9")


def test_a_book_from_before_is_migrated(book_path: Path, take: Callable[..., Taken]) -> None:
    """A book of version 4 has its notes, and learns; the old book stays beside it."""
    write_old_book(book_path, 4, [HALF])
    with Book.open(book_path) as book:
        assert [entry.act.json_fields() for entry in book.entries()] == [HALF]
        assert book.wordings() == []
        take(book, HALF, taught=Taught("<tree> halfway", SHAPE))
        assert counts(book) == [True]
    assert book_path.with_name("season-before-v5.db").exists()
