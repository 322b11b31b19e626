"""Processes beside the server: the house, and the voice. One that dies is started again."""

from __future__ import annotations

import asyncio
import io
import multiprocessing
import signal
import wave
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from functools import partial
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.phone.house import House, Receipt
    from fieldvoice.phone.note import Note
    from fieldvoice.tts import Voice

Made = TypeVar("Made")
Got = TypeVar("Got")

#: What the process of a worker works with; each process has one.
_own: Any = None


def _begin(make: Callable[[], Any]) -> None:
    global _own
    # Ctrl-C goes to every process of the terminal; the server ends its workers itself.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _own = make()


def _ready() -> bool:
    return _own is not None


class Worker:
    """One process that makes what it works with at its start, and does one thing at a time."""

    def __init__(self, make: Callable[[], Any]) -> None:
        self._make = make
        self._pool = self._begun()

    def _begun(self) -> ProcessPoolExecutor:
        return ProcessPoolExecutor(
            1, multiprocessing.get_context("spawn"), initializer=_begin, initargs=(self._make,)
        )

    async def ready(self) -> None:
        """Wait until it has made what it works with.

        Raises:
            BrokenProcessPool: it could not.
        """
        await asyncio.wrap_future(self._pool.submit(_ready))

    async def do(self, work: Callable[[], Got]) -> Got:
        """Have something done after all that was asked for before, and return what comes of it.

        Raises:
            BrokenProcessPool: the process died of it, or of what came before; it is started anew.
        """
        pool = self._pool
        try:
            return await asyncio.wrap_future(pool.submit(work))
        except BrokenProcessPool:
            if self._pool is pool:  # whoever notices first
                self._pool = self._begun()
                pool.shutdown(wait=False)
            raise

    def close(self) -> None:
        """End the process when it has done what it is at."""
        self._pool.shutdown(wait=True, cancel_futures=True)


class HouseWorker:
    """The house in a process of its own."""

    def __init__(self, make: Callable[[], House]) -> None:
        self._worker = Worker(make)

    async def ready(self) -> None:
        """Wait until the recognisers are loaded."""
        await self._worker.ready()

    async def take(self, note: Note) -> Receipt:
        """See ``House.take``. A recording that brings the process down is kept unheard.

        Raises:
            BookError: the book cannot be read or written.
            BrokenProcessPool: the process died again and again.
        """
        try:
            return await self._worker.do(partial(_take, note))
        except BrokenProcessPool:
            pass
        try:  # it may have died of another note
            return await self._worker.do(partial(_take, note))
        except BrokenProcessPool:
            return await self._worker.do(partial(_take, note, unreadable=True))

    async def ahead(self, name: str, piece: bytes) -> None:
        """See ``House.ahead``.

        Raises:
            BookError: the book cannot be read.
            BrokenProcessPool: the process died, of this or of what came before.
        """
        await self._worker.do(partial(_ahead, name, piece))

    async def look(self) -> dict[str, Any]:
        """See ``House.look``."""
        return await self._worker.do(_look)

    async def last_of(self, phone: str) -> dict[str, Any] | None:
        """See ``House.last_of``."""
        return await self._worker.do(partial(_last_of, phone))

    def close(self) -> None:
        """End it."""
        self._worker.close()


class VoiceWorker:
    """The voice in a process of its own, so that a long reply holds up no note."""

    def __init__(self, make: Callable[[], Voice]) -> None:
        self._worker = Worker(make)

    async def render(self, text: str) -> bytes:
        """Return a text as a WAV file.

        Raises:
            VoiceError: the voice failed.
            BrokenProcessPool: it died.
        """
        return await self._worker.do(partial(_render, text))

    def close(self) -> None:
        """End it."""
        self._worker.close()


def _take(note: Note, *, unreadable: bool = False) -> Receipt:
    receipt: Receipt = _own.take(note, unreadable=unreadable)
    return receipt


def _ahead(name: str, piece: bytes) -> None:
    _own.ahead(name, piece)


def _look() -> dict[str, Any]:
    seen: dict[str, Any] = _own.look()
    return seen


def _last_of(phone: str) -> dict[str, Any] | None:
    last: dict[str, Any] | None = _own.last_of(phone)
    return last


def _render(text: str) -> bytes:
    sound = _own.render(text)
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(sound.rate)
        out.writeframes(sound.samples.astype("<i2").tobytes())
    return file.getvalue()
