"""The day on every phone at once: whoever changes the book, all see it."""

from __future__ import annotations

import asyncio
import json
import sqlite3
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing, suppress
from functools import partial
from typing import TYPE_CHECKING, Any

from fieldvoice.book.connection import open_to_read
from fieldvoice.errors import BookError

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Awaitable, Callable
    from pathlib import Path

#: How often the book is looked at for changes, and the day shown anew without any, in seconds.
_LOOK_S, _ANEW_S = 0.4, 60.0
#: A line that says nothing, so that both ends notice when the other is gone, in seconds.
_STILL_THERE_S = 15.0


class LiveBoard:
    """Tells every listener the day, now and whenever the book was written to."""

    def __init__(self, book: Path, look: Callable[[], Awaitable[dict[str, Any]]]) -> None:
        self._book, self._look = book, look
        self._shown: str | None = None
        self._changed = asyncio.Condition()
        self._number = 0

    async def watch(self) -> None:
        """Look at the book until cancelled."""
        with closing(await asyncio.to_thread(self._open)) as connection:
            version, waited = None, 0.0
            while True:
                now = _version(connection)
                if now != version or waited >= _ANEW_S:
                    version, waited = now, 0.0
                    await self._show()
                await asyncio.sleep(_LOOK_S)
                waited += _LOOK_S

    def _open(self) -> sqlite3.Connection:
        connection = open_to_read(self._book)
        connection.close()
        # The house has made the book by now; another thread looks at it than opened it.
        return sqlite3.connect(
            f"{self._book.absolute().as_uri()}?mode=ro", uri=True, check_same_thread=False
        )

    async def _show(self) -> None:
        with suppress(BookError, BrokenProcessPool):
            shown = json.dumps(await self._look(), ensure_ascii=False)
            async with self._changed:
                self._shown, self._number = shown, self._number + 1
                self._changed.notify_all()

    async def news(self) -> AsyncIterator[str]:
        """Yield server-sent events: the day as it stands, then each time it is another."""
        seen = -1
        while True:
            async with self._changed:
                with suppress(TimeoutError):
                    other = partial(self._is_new, seen)
                    await asyncio.wait_for(self._changed.wait_for(other), _STILL_THERE_S)
                shown, number = self._shown, self._number
            if shown is None or number == seen:
                yield ": still there\n\n"
            else:
                seen = number
                yield f"event: day\ndata: {shown}\n\n"

    def _is_new(self, seen: int) -> bool:
        return self._shown is not None and self._number != seen


def _version(connection: sqlite3.Connection) -> int | None:
    with suppress(sqlite3.Error):  # somebody writes for long: look again
        return int(connection.execute("PRAGMA data_version").fetchone()[0])
    return None
