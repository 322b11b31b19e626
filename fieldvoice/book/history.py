"""The notes as they were written, by the time they happened, page by page.

A long book is not held in memory: what is, is eight bytes for each note. Between two pages the book
is let go of, so that whoever reads slowly keeps nobody from writing.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date
from itertools import islice
from typing import TYPE_CHECKING

from fieldvoice.book.rows import entry_from, name_of, readable
from fieldvoice.book.snapshots import BY_TIME, FROM_A_DAY, NAMING_A_TREE, NAMING_A_VESSEL

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from fieldvoice.book.book import Book
    from fieldvoice.book.rows import Entry
    from fieldvoice.schema import TreeId

_PAGE = 500
#: Notes looked through for words at a time.
_STRETCH = 20_000
#: The last notes of a stretch first: those with a word that LIKE finds, which takes a tenth of the
#: time that patterns take, and of them those that the patterns fit.
_WITH_WORDS = """
WITH span AS MATERIALIZED (
    SELECT min(utterance) AS first, max(utterance) AS last FROM entries WHERE id >= ?1 AND id < ?2
)
SELECT id FROM entries WHERE id IN (
    SELECT id FROM entries WHERE id >= ?1 AND id < ?2 AND fields LIKE ?3
    UNION SELECT said_in.id FROM span CROSS JOIN utterances CROSS JOIN entries AS said_in
    ON utterances.id BETWEEN first AND last AND said_in.utterance = utterances.id
    WHERE text LIKE ?3
) AND id >= ?1 AND id < ?2 AND at GLOB ?4 AND {words} ORDER BY id DESC
"""
_HAS_WORD = (
    "(' ' || (SELECT lower(text) FROM utterances AS said WHERE said.id = entries.utterance)"
    " || ' ' || lower(fields)) GLOB ?"
)

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
        f"SELECT id FROM entries WHERE {where} ORDER BY {BY_TIME} {way}, id {way}", values
    )
    notes = (one for one in _pages(book, numbers) if keep(one.entry))
    return notes if last is None else reversed(list(islice(notes, last)))


def newest_first(
    book: Book,
    *,
    tree: TreeId | None = None,
    vessel: str | None = None,
    words: Iterable[str] | None = None,
    since: date | None = None,
    stamped: str = "",
) -> Iterator[Entry]:
    """Yield notes, those taken back too, the newest first; they are read as they are taken.

    They are those that may name a tree, or else a vessel, or that have all of some words in what
    was said or kept (a word may be the beginning of a longer one; those written last come first),
    or what happened on a day or later. ``stamped`` is how their times begin: "2027-03".

    Raises:
        BookError: the book cannot be read.
    """
    if words is not None:
        return (one.entry for one in _pages_with_words(book, list(words), stamped))
    if tree is not None:
        where, values = NAMING_A_TREE, [tree]
    elif vessel is not None:
        where, values = NAMING_A_VESSEL, [vessel]
    else:
        where, values = FROM_A_DAY, [(since or date.min).isoformat()]
    numbers = book.numbers(
        f"SELECT id FROM entries WHERE ({where}) AND at GLOB ? ORDER BY {BY_TIME} DESC, id DESC",
        [*values, f"{stamped}*"],
    )
    return (one.entry for one in _pages(book, numbers))


def _pages_with_words(book: Book, words: Sequence[str], stamped: str) -> Iterator[Written]:
    """Yield the notes that have all of the words, those written last first."""
    wanted = [re.sub(r"[^\w']", "", word.lower()) for word in words]
    if not any(wanted):
        return
    sql = _WITH_WORDS.format(words=" AND ".join([_HAS_WORD] * len(wanted)))
    patterns = [f"*[^a-z0-9]{word}*" for word in wanted]
    likely = f"%{max(wanted, key=len)}%"
    for end in range(book.next_number("entries"), 0, -_STRETCH):
        values = [end - _STRETCH, end, likely, f"{stamped}*", *patterns]
        yield from _pages(book, book.numbers(sql, values))


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
