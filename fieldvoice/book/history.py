"""The notes as they were written, by the time they happened, page by page.

A long book is not held in memory: what is, is eight bytes for each note. Between two pages the book
is let go of, so that whoever reads slowly keeps nobody from writing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import islice
from typing import TYPE_CHECKING

from fieldvoice.book.rows import entry_from, name_of, readable
from fieldvoice.book.snapshots import NAMING_A_TREE, NAMING_A_VESSEL

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Iterator, Sequence

    from fieldvoice.book.book import Book
    from fieldvoice.book.rows import Entry
    from fieldvoice.schema import TreeId

_PAGE = 500

_ROWS = """
SELECT entries.*, said.text AS heard, voids.utterance AS voided_by, gone.text AS taken_back,
    wording_uses.wording
FROM entries LEFT JOIN utterances AS said ON said.id = entries.utterance
LEFT JOIN voids ON voids.entry = entries.id
LEFT JOIN utterances AS gone ON gone.id = voids.utterance
LEFT JOIN wording_uses ON wording_uses.utterance = entries.utterance
WHERE entries.id IN ({marks})
"""


@dataclass(frozen=True, slots=True)
class Written:
    """A note with the words that it was said in, and those that took it back.

    ``wording`` is the id of the learnt wording that it was read by, where one was.
    """

    entry: Entry
    heard: str
    taken_back: str | None
    wording: str | None


def written(
    book: Book,
    *,
    tree: TreeId | None = None,
    vessel: str | None = None,
    keep: Callable[[Entry], bool] = lambda _: True,
    last: int | None = None,
) -> Iterator[Written]:
    """Yield the notes that ``keep`` is true of, the oldest first; with ``last`` the newest alone.

    With a tree or a vessel those that may name it are looked at alone.

    Raises:
        BookError: the book cannot be read.
    """
    where, values = "1", list[int | str]()
    if tree is not None:
        where, values = NAMING_A_TREE, [tree]
    elif vessel is not None:
        where, values = NAMING_A_VESSEL, [vessel]
    way = "ASC" if last is None else "DESC"
    numbers = book.numbers(
        f"SELECT id FROM entries WHERE {where} ORDER BY julianday(at) {way}, id {way}", values
    )
    notes = (one for one in _pages(book, numbers) if keep(one.entry))
    return notes if last is None else reversed(list(islice(notes, last)))


def _pages(book: Book, numbers: Sequence[int]) -> Iterator[Written]:
    for begin in range(0, len(numbers), _PAGE):
        page = numbers[begin : begin + _PAGE]
        sql = _ROWS.format(marks=",".join("?" * len(page)))
        rows = {row["id"]: row for row in book.rows(sql, list(page))}
        in_order = (rows[one] for one in page if one in rows)
        yield from readable(in_order, _written_from, book.tell_of)


def _written_from(row: sqlite3.Row) -> Written:
    by, wording = row["voided_by"], row["wording"]
    return Written(
        replace(entry_from(row), voided_by=None if by is None else name_of("u", by)),
        row["heard"] or "",
        row["taken_back"],
        None if wording is None else name_of("w", wording),
    )
