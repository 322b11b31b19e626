"""Rows read off the pages of an SQLite file one by one, without its indices and trees.

A page that holds something else loses its own rows and no others, even if it is the first one.
The format: sqlite.org/fileformat2.html.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

#: The kinds of page: what they begin with.
_TABLE_LEAF, _TABLE_INNER = 0x0D, 0x05
#: The head of a page that holds rows, and of one that points to others.
_LEAF_HEAD, _INNER_HEAD = 8, 12
#: The file's head stands on the first page.
_FILE_HEAD = 100
#: Serial types of fixed size: their bytes.
_SIZES = {0: 0, 1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8, 7: 8, 8: 0, 9: 0}
#: More columns than any table has: such a row is noise.
_MOST_COLUMNS = 100
_USUAL_SIZE = 4096


@dataclass(frozen=True, slots=True)
class RawRow:
    """A row as it stands on a page: its number and values, and the number of the page."""

    page: int
    number: int
    values: tuple[Any, ...]


class Pages:
    """The pages of one file, numbered from 1."""

    def __init__(self, content: bytes) -> None:
        self._content = content
        size = struct.unpack(">H", content[16:18])[0] if len(content) >= _FILE_HEAD else 0
        size = 65536 if size == 1 else size
        known = content[:16] == b"SQLite format 3\0" and size >= 512 and not size & (size - 1)
        self.size: int = size if known else _USUAL_SIZE
        self._usable = self.size - (content[20] if known else 0)
        self.count = len(content) // self.size

    def rows(self) -> Iterator[RawRow]:
        """Yield every row of every page that holds rows of a table, wherever it belongs."""
        for number in self.numbers:
            yield from self.rows_of(number)

    @property
    def numbers(self) -> range:
        """The numbers of all pages."""
        return range(1, self.count + 1)

    def rows_of(self, number: int) -> Iterator[RawRow]:
        """Yield the rows of one page; those that are broken are passed over."""
        page, head = self._page(number)
        if page[head] != _TABLE_LEAF:
            return
        for place in self._cells(page, head + _LEAF_HEAD, head):
            try:
                yield self._row(page, place, number)
            except (IndexError, ValueError, struct.error):
                continue

    def tree(self, root: int) -> set[int]:
        """Return the pages with rows that can be reached from the root of a table."""
        leaves: set[int] = set()
        seen: set[int] = set()
        waiting = [root]
        while waiting:
            number = waiting.pop()
            if number in seen or not 1 <= number <= self.count:
                continue
            seen.add(number)
            page, head = self._page(number)
            if page[head] == _TABLE_LEAF:
                leaves.add(number)
            elif page[head] == _TABLE_INNER:
                places = self._cells(page, head + _INNER_HEAD, head)
                waiting += [int.from_bytes(page[place : place + 4], "big") for place in places]
                waiting.append(int.from_bytes(page[head + 8 : head + 12], "big"))
        return leaves

    def _page(self, number: int) -> tuple[bytes, int]:
        page = self._content[(number - 1) * self.size : number * self.size]
        return page, _FILE_HEAD if number == 1 else 0

    def _cells(self, page: bytes, pointers: int, head: int) -> list[int]:
        count = int.from_bytes(page[head + 3 : head + 5], "big")
        last = min(pointers + 2 * count, len(page) - 1)
        places = (
            int.from_bytes(page[place : place + 2], "big") for place in range(pointers, last, 2)
        )
        return [place for place in places if pointers < place < len(page) - 3]

    def _row(self, page: bytes, place: int, number: int) -> RawRow:
        size, place = _varint(page, place)
        rowid, place = _varint(page, place)
        payload = self._payload(page, place, size)
        return RawRow(number, rowid, tuple(_values(payload)))

    def _payload(self, page: bytes, place: int, size: int) -> bytes:
        """Return the bytes of a row, those on the pages that it overflows to included."""
        if size > len(self._content):
            raise ValueError("longer than the file")
        most = self._usable - 35
        if size <= most:
            return _piece(page, place, size)
        least = (self._usable - 12) * 32 // 255 - 23
        here = least + (size - least) % (self._usable - 4)
        here = here if here <= most else least
        parts = [_piece(page, place, here)]
        left = size - here
        following = int.from_bytes(_piece(page, place + here, 4), "big")
        while left > 0:
            if not 1 <= following <= self.count:
                raise ValueError("goes on nowhere")
            more, _ = self._page(following)
            parts.append(more[4 : 4 + min(left, self._usable - 4)])
            left -= self._usable - 4
            following = int.from_bytes(more[:4], "big")
        return b"".join(parts)


def _piece(page: bytes, place: int, size: int) -> bytes:
    piece = page[place : place + size]
    if len(piece) < size:
        raise ValueError("runs over the end of its page")
    return piece


def _varint(page: bytes, place: int) -> tuple[int, int]:
    """Return a number of one to nine bytes, and the place after it."""
    value = 0
    for count in range(8):
        byte = page[place + count]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, place + count + 1
    return value << 8 | page[place + 8], place + 9


def _values(payload: bytes) -> Iterator[Any]:
    """Yield the values of a row.

    Raises:
        ValueError: it is none (``UnicodeDecodeError`` included).
    """
    head, place = _varint(payload, 0)
    kinds = []
    while place < head:
        kind, place = _varint(payload, place)
        kinds.append(kind)
    if place != head or len(kinds) > _MOST_COLUMNS:
        raise ValueError("no row")
    for kind in kinds:
        size = _SIZES[kind] if kind in _SIZES else (kind - 12) // 2
        if size < 0:
            raise ValueError("no value")
        yield _value(kind, _piece(payload, place, size))
        place += size
    if place != len(payload):
        raise ValueError("more than the row says")


def _value(kind: int, raw: bytes) -> Any:
    if kind == 0:
        return None
    if kind <= 6:
        return int.from_bytes(raw, "big", signed=True)
    if kind == 7:
        return struct.unpack(">d", raw)[0]
    if kind in (8, 9):
        return kind - 8
    return raw.decode("utf-8") if kind % 2 else raw
