"""Pieces of recordings that are still being made, on their way to be heard ahead."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from typing import TYPE_CHECKING, Protocol

from fieldvoice.errors import BookError
from fieldvoice.phone.note import LARGEST_BYTES

if TYPE_CHECKING:
    from fieldvoice.phone.pairing import Phone

#: The largest piece, and the most that may wait of one recording, in bytes.
LARGEST_PIECE, _MOST_WAITING = 64_000, 500_000
#: Recordings known at once.
_MOST_KNOWN = 32


class Listener(Protocol):
    """What hears pieces of recordings."""

    async def ahead(self, name: str, piece: bytes) -> None:
        """Hear what is finished of a note that is still being recorded."""
        ...


class Pieces:
    """Hands pieces to the house, one after the other, so that no whole note waits behind many.

    A piece is a help and no more: what is out of its place, or too much, is let go.
    """

    def __init__(self, house: Listener) -> None:
        self._house = house
        self._came: OrderedDict[str, int] = OrderedDict()
        self._waiting: dict[str, bytes] = {}
        self._under_way: asyncio.Task[None] | None = None
        #: Phones of which something brought the house down.
        self._shut_out: set[str] = set()

    def add(self, phone: Phone, name: str, begins: int, piece: bytes) -> bool:
        """Take the bytes of a note from ``begins`` on; return whether the next are wanted."""
        waiting = self._waiting.get(name, b"")
        came = self._came.pop(name, 0)
        is_wanted = (
            begins == came
            and phone.id not in self._shut_out
            and came + len(piece) <= LARGEST_BYTES
            and len(waiting) + len(piece) <= _MOST_WAITING
        )
        if not is_wanted:
            self.forget(name)
            return False
        self._came[name] = came + len(piece)
        if len(self._came) > _MOST_KNOWN:
            self.forget(next(iter(self._came)))
        self._waiting[name] = waiting + piece
        if self._under_way is None:
            self._under_way = asyncio.create_task(self._hand_over())
        return True

    def forget(self, name: str) -> None:
        """Let a note go: the whole of it is there."""
        self._came.pop(name, None)
        self._waiting.pop(name, None)

    async def _hand_over(self) -> None:
        try:
            while self._waiting:
                name = next(iter(self._waiting))
                piece = self._waiting.pop(name)
                try:
                    with suppress(BookError):
                        await self._house.ahead(name, piece)
                except BrokenProcessPool:
                    self._shut_out.add(name.partition(".")[0])
        finally:
            self._under_way = None
