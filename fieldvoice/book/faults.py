"""SQLite's and the system's troubles, said in one plain line."""

from __future__ import annotations

import sqlite3
from contextlib import contextmanager
from typing import TYPE_CHECKING

from fieldvoice.errors import BookError

if TYPE_CHECKING:
    from collections.abc import Iterator

#: What SQLite says (a part of it) and what the user is told. The first that fits is used.
_LINES = (
    ("disk is full", "The disk is full; nothing was written to the season book {book}."),
    ("locked", "Another program is writing to the season book {book}; nothing was written."),
    ("not a database", "{book} is not a season book; name another with --book."),
    (
        "malformed",
        "The season book {book} is damaged; nothing was saved. "
        "Make a new one of it: fieldvoice book salvage {book} --book NEW",
    ),
    (
        "readonly",
        "The season book {book} may not be written to; nothing was written. "
        "Allow it, or name another with --book.",
    ),
    ("unable to open", "The season book {book} cannot be opened; you may not read or write there."),
    (
        "memo span",
        "That part of the recording is in the season book {book} already; nothing was written.",
    ),
    ("append-only", "The season book {book} is only ever added to; nothing was changed."),
)


#: What SQLite says when the disk would not write, put down or read something.
_OF_DISK = "disk I/O error"
#: What is told then, by whether what was being written is in the book; None where that cannot be
#: looked up.
_AFTER_DISK_FAULT = {
    True: "It is in the season book {book}, but the disk reports a fault, and without power it may "
    "be lost again. Make a backup on another disk: fieldvoice book backup PATH",
    False: "The disk reports a fault; nothing was written to the season book {book}.",
    None: "The disk reports a fault, and the last note may be in the season book {book} or not. "
    "Look before you say it again: fieldvoice history --last 1",
}


class DiskFaultError(BookError):
    """The disk would not write, put down or read something; the text says what is so."""

    def __init__(self, book: object, is_there: bool | None = None) -> None:
        super().__init__(_AFTER_DISK_FAULT[is_there].format(book=book))


@contextmanager
def plain_faults(book: object) -> Iterator[None]:
    """Turn any database or file error inside the block into a ``BookError`` naming ``book``."""
    try:
        yield
    except sqlite3.ProgrammingError:
        raise  # a mistake in this program, not the user's trouble
    except sqlite3.Error as fault:
        if _OF_DISK in str(fault):
            raise DiskFaultError(book) from fault
        raise BookError(_line(str(fault)).format(book=book)) from fault
    except UnicodeEncodeError as fault:
        raise BookError(
            f"The words hold signs that cannot be written to the season book {book}."
        ) from fault
    except OSError as fault:
        reason = fault.strerror or type(fault).__name__
        raise BookError(f"The season book {book} cannot be used: {reason}.") from fault


def _line(fault: str) -> str:
    for part, line in _LINES:
        if part in fault:
            return line
    reason = " ".join(fault.split()).replace("{", "(").replace("}", ")")
    return f"The season book {{book}} cannot be used: {reason}."
