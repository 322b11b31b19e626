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
        "disk I/O error",
        "The disk reports a fault, and the last note may be in the season book {book} or not. "
        "Look before you say it again: fieldvoice history --last 1",
    ),
    ("readonly", "The season book {book} may not be written to; nothing was written."),
    ("unable to open", "The season book {book} cannot be opened; you may not read or write there."),
    (
        "memo span",
        "That part of the recording is in the season book {book} already; nothing was written.",
    ),
    ("append-only", "The season book {book} is only ever added to; nothing was changed."),
)


@contextmanager
def plain_faults(book: object) -> Iterator[None]:
    """Turn any database or file error inside the block into a ``BookError`` naming ``book``."""
    try:
        yield
    except sqlite3.ProgrammingError:
        raise  # a mistake in this program, not the user's trouble
    except sqlite3.Error as fault:
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
