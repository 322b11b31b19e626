"""A house as ``fieldvoice phone`` serves it, in this process, with words that are told for the ear.

The network, the certificates, the pairing, the inbox, the conversation and the book are the real
ones; a recording "says" what ``SAYS`` has for its length in tenths of seconds.
"""

from __future__ import annotations

import asyncio
import json
import secrets
import ssl
import threading
import urllib.error
import urllib.request
from contextlib import AsyncExitStack, contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation, Settings
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.wordings import come_along
from fieldvoice.phone.address import origin
from fieldvoice.phone.app import Desk, Limits, app_for
from fieldvoice.phone.authority import open_authority
from fieldvoice.phone.house import House
from fieldvoice.phone.inbox import Inbox
from fieldvoice.phone.live_board import LiveBoard
from fieldvoice.phone.pairing import Door, Phones
from fieldvoice.phone.pieces import Pieces
from fieldvoice.phone.post import Post
from fieldvoice.phone.server import CertificateGiver, Server
from fieldvoice.transcript import Transcript
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from fieldvoice.phone.authority import Authority
    from fieldvoice.phone.house import Receipt
    from fieldvoice.phone.note import Note

UNDERSTANDER = Interpreter(GRAMMAR, None, lambda word: True, None, come_along)
EARLIER = "https://127.0.0.2:8443"


class ToldEar:
    """Hears in every recording what it is told to."""

    name = "told"

    def __init__(self) -> None:
        self.says = "tree nine two gallons"
        #: How often it was asked.
        self.times = 0

    def recognise(self, samples: Any) -> Transcript:
        self.times += 1
        return Transcript(text=self.says, confidence=0.95, recogniser="told", fit=None)

    def learn(self, names: Any) -> None:
        pass


class HouseHere:
    """The house in a thread of its own, as the worker has it in a process."""

    def __init__(self, book: Path, ear: ToldEar, clock: Callable[[], datetime]) -> None:
        self._path, self._ear, self._clock = book, ear, clock
        self._house: House | None = None
        self._turn = asyncio.Lock()
        #: Raised by the next so many takings, after the book has the note or before it.
        self.fails_before = self.fails_after = 0
        self.takes_s = 0.0

    def _do(self, work: Callable[[House], Any]) -> Any:
        if self._house is None:
            book = Book.open(self._path)
            book._connection.close()
            import sqlite3

            from fieldvoice.book import connection

            made = sqlite3.connect(self._path, isolation_level=None, check_same_thread=False)
            connection._settle(made)
            book = Book(made, str(self._path))
            talk = Conversation(book, UNDERSTANDER, Settings(), clock=self._clock)
            self._house = House(talk, book, Settings(), self._ear, self._clock)
        return work(self._house)

    async def take(self, note: Note) -> Receipt:
        async with self._turn:
            await asyncio.sleep(self.takes_s)
            if self.fails_before:
                self.fails_before -= 1
                raise _broken()
            receipt: Receipt = await asyncio.to_thread(self._do, lambda house: house.take(note))
            if self.fails_after:
                self.fails_after -= 1
                raise _broken()
            return receipt

    async def ahead(self, name: str, piece: bytes) -> None:
        async with self._turn:
            await asyncio.to_thread(self._do, lambda house: house.ahead(name, piece))

    async def look(self) -> dict[str, Any]:
        async with self._turn:
            seen: dict[str, Any] = await asyncio.to_thread(self._do, lambda house: house.look())
            return seen

    async def last_of(self, phone: str) -> dict[str, Any] | None:
        async with self._turn:
            return await asyncio.to_thread(self._do, lambda house: house.last_of(phone))


def _broken() -> Exception:
    from concurrent.futures.process import BrokenProcessPool

    return BrokenProcessPool("the ear ended")


@dataclass
class Served:
    """Runs the server in a thread of its own; ``folder`` holds the book and the rest."""

    folder: Path
    limits: Limits = field(default_factory=Limits)
    ear: ToldEar = field(default_factory=ToldEar)
    #: How far the house's clock is from the real one.
    offset: timedelta = timedelta()
    told: list[str] = field(default_factory=list)
    address: str = "127.0.0.1"
    wanted_port: int = 0
    earlier: tuple[str, ...] = (EARLIER,)

    def clock(self) -> datetime:
        return datetime.now().astimezone() + self.offset

    @property
    def book(self) -> Path:
        return self.folder / "season.db"

    @property
    def place(self) -> Path:
        return self.folder / "season_phone"

    @cached_property
    def authority(self) -> Any:
        return open_authority(self.place, self.clock())[0]

    @contextmanager
    def running(self) -> Iterator[Served]:
        ready, self._ended = threading.Event(), None
        thread = threading.Thread(target=lambda: asyncio.run(self._run(ready)), daemon=True)
        thread.start()
        assert ready.wait(180), "the house did not come up"
        try:
            yield self
        finally:
            self.loop.call_soon_threadsafe(self._ended.set)
            thread.join(30)

    async def _run(self, ready: threading.Event) -> None:
        self.loop, self._ended = asyncio.get_running_loop(), asyncio.Event()
        self.house = HouseHere(self.book, self.ear, self.clock)
        await self.house.look()
        sounds = self.folder / "season_sound" / "phone"
        self.post = Post(Inbox(self.place / "inbox", sounds), self.house, self.told.append)
        self.pieces = Pieces(self.house)
        self.door = Door(self.clock)
        self.phones = Phones(self.place / "phones.json", self.clock)
        board = LiveBoard(self.book, self.house.look)
        desk = Desk(
            phones=self.phones, door=self.door, post=self.post, pieces=self.pieces,
            board=board, last_of=self.house.last_of, voice=None, clock=self.clock, hosts=[],
            origins=[], earlier=self.earlier, limits=self.limits,
        )  # fmt: skip
        files = self.authority.server_files([self.address, "house.local"], self.clock())
        server = Server(app_for(desk), self.address, self.wanted_port, files)
        self.port, self.server = server.port, server
        desk.hosts = [f"{self.address}:{self.port}", f"house.local:{self.port}"]
        desk.origins = [origin(self.address, self.port)]
        self.giver = CertificateGiver(self.address, 0, self.authority.der)
        async with AsyncExitStack() as stack:
            await stack.enter_async_context(server.serving())
            stack.push_async_callback(self.post.settle)
            self.left = self.post.take_up()
            tasks = [
                asyncio.create_task(board.watch()),
                asyncio.create_task(self.giver.follow(lambda: self.door.is_open)),
            ]
            ready.set()
            await self._ended.wait()
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)

    @property
    def base(self) -> str:
        return f"https://{self.address}:{self.port}"

    def stranger(self) -> Phone:
        """Return a phone that is not paired."""
        return Phone(self.authority, self.base)

    def phone(self, name: str = "Anna") -> Phone:
        """Return a phone that is paired."""
        made = self.stranger()
        self.door.open()
        assert made.pair(self.door.code or "", name)[0] == 200
        return made

    def rows(self, sql: str) -> list[tuple[Any, ...]]:
        import sqlite3
        from contextlib import closing

        with closing(sqlite3.connect(self.book)) as connection:
            return connection.execute(sql).fetchall()

    def said(self) -> list[str]:
        """Return the words of everything that phones said, in the order of the book."""
        sql = "SELECT text FROM utterances WHERE source = 'phone' ORDER BY id"
        return [text for (text,) in self.rows(sql)]


class Phone:
    """A phone as a client of the protocol; it trusts the house's authority alone."""

    def __init__(self, authority: Authority, base: str) -> None:
        self.base = base
        self.tls = ssl.create_default_context(cadata=authority.der)
        self.secret: str | None = None
        #: How far its clock is from the real one.
        self.offset = timedelta()

    def ask(
        self, path: str, method: str = "GET", data: bytes | None = None, **headers: str
    ) -> tuple[int, dict[str, Any]]:
        status, _, body = self.raw(path, method, data, **headers)
        try:
            return status, json.loads(body)
        except ValueError:
            return status, {}

    def raw(
        self, path: str, method: str = "GET", data: bytes | None = None, **headers: str
    ) -> tuple[int, dict[str, str], bytes]:
        sent = {key.replace("_", "-"): value for key, value in headers.items()}
        if self.secret:
            sent.setdefault("Authorization", f"Bearer {self.secret}")
        asked = urllib.request.Request(self.base + path, data, sent, method=method)
        try:
            with urllib.request.urlopen(asked, context=self.tls, timeout=120) as answer:
                return answer.status, dict(answer.headers), answer.read()
        except urllib.error.HTTPError as refused:
            return refused.code, dict(refused.headers), refused.read()

    def pair(self, code: str, name: str = "Anna") -> tuple[int, dict[str, Any]]:
        status, told = self.ask("/pair", "POST", json.dumps({"code": code, "name": name}).encode())
        self.secret = told.get("secret", self.secret)
        return status, told

    def say(
        self, text: str, number: str | None = None, **headers: str
    ) -> tuple[int, dict[str, Any]]:
        """Send typed words."""
        return self.send(text.encode(), "text/plain; charset=utf-8", number, **headers)

    def send(
        self, body: bytes, kind: str = "audio/wav", number: str | None = None, **headers: str
    ) -> tuple[int, dict[str, Any]]:
        """Send a note."""
        now = (datetime.now().astimezone() + self.offset).isoformat()
        more = {"Content_Type": kind, "Note_At": now, "Phone_Clock": now, **headers}
        return self.ask(f"/notes/{number or new_number()}", "PUT", body, **more)


def new_number() -> str:
    return secrets.token_hex(16)


def speech(seconds: float = 1.5, seed: int = 0) -> np.ndarray[Any, np.dtype[np.int16]]:
    """Return sound that speech detection takes for speech: the demo's first words, and a hiss."""
    from pathlib import Path

    from fieldvoice.asr import read_audio

    place = Path(__file__).parents[2] / "demo_sessions" / "first_round" / "01_first_trees.flac"
    samples = np.asarray(read_audio(place).samples)[: round(16_000 * seconds)].copy()
    hiss = np.random.default_rng(seed).integers(-3, 4, len(samples))
    return (samples // 2 + hiss).astype(np.int16)
