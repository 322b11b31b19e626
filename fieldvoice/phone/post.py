"""Takes notes in: to the disk first, then into the book, one after the other, each once."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Protocol

from fieldvoice.errors import BookError

if TYPE_CHECKING:
    from collections.abc import Callable, Coroutine

    from fieldvoice.phone.house import Receipt
    from fieldvoice.phone.inbox import Inbox
    from fieldvoice.phone.note import Note

#: Receipts that are remembered, so that one asked for again needs no second look into the book.
_MOST_RECEIPTS = 1_000


class Taker(Protocol):
    """What puts notes into the book, in the order in which it is asked."""

    async def take(self, note: Note) -> Receipt:
        """Return what came of a note."""
        ...


class Post:
    """The way of notes from phones into the book."""

    def __init__(self, inbox: Inbox, house: Taker, complain: Callable[[str], None]) -> None:
        self._inbox, self._house, self._complain = inbox, house, complain
        self._under_way: dict[str, asyncio.Task[Receipt]] = {}
        self._receipts: OrderedDict[str, Receipt] = OrderedDict()

    def receipt(self, name: str) -> Receipt | None:
        """Return what came of a note taken lately."""
        return self._receipts.get(name)

    def on_its_way(self, name: str) -> asyncio.Task[Receipt] | None:
        """Return the taking of a note that came in and is not in the book yet."""
        return self._under_way.get(name)

    def post(self, note: Note, sound: bytes | None) -> asyncio.Task[Receipt]:
        """Begin to take a note, to the disk first; it goes on whoever waits for it.

        The task raises ``OSError`` where the note cannot be written, ``BookError`` or
        ``BrokenProcessPool`` where it is on the disk and the book cannot take it now.
        """
        return self._begun(note, self._kept_and_taken(note, sound))

    def take_up(self) -> int:
        """Take what came in before the program ended; return how many notes that is."""
        left = self._inbox.waiting()
        for note in left:
            self._begun(note, self._taken(note))
        return len(left)

    async def settle(self) -> None:
        """Wait until everything under way is in the book."""
        while self._under_way:
            await asyncio.wait(set(self._under_way.values()))

    def _begun(self, note: Note, work: Coroutine[Any, Any, Receipt]) -> asyncio.Task[Receipt]:
        task = asyncio.create_task(work)
        self._under_way[note.name] = task

        def over(done: asyncio.Task[Receipt]) -> None:
            self._under_way.pop(note.name, None)
            if not done.cancelled():
                # Whoever waited for it may be gone; a note that is kept stays in the inbox.
                done.exception()

        task.add_done_callback(over)
        return task

    async def _kept_and_taken(self, note: Note, sound: bytes | None) -> Receipt:
        if sound is not None:
            place = await asyncio.to_thread(self._inbox.keep_sound, note.name, sound)
            note = replace(note, sound=place)
        await asyncio.to_thread(self._inbox.keep, note)
        return await self._taken(note)

    async def _taken(self, note: Note) -> Receipt:
        try:
            receipt = await self._house.take(note)
        except (BookError, BrokenProcessPool) as fault:
            self._complain(f"A note of {note.by} waits: {fault or 'the ear ended'}")
            raise
        with suppress(OSError):  # it is taken again at the next start then, and not twice
            await asyncio.to_thread(self._inbox.done, note)
        self._receipts[note.name] = receipt
        if len(self._receipts) > _MOST_RECEIPTS:
            self._receipts.popitem(last=False)
        return receipt
