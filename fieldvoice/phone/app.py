"""What phones may ask for, and what is refused."""

from __future__ import annotations

import asyncio
import time
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from starlette.applications import Starlette
from starlette.requests import ClientDisconnect
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from fieldvoice.errors import BookError, PhoneError, VoiceError
from fieldvoice.phone import page
from fieldvoice.phone.limits import Rate
from fieldvoice.phone.note import (
    CLOCKS_AGREE,
    LARGEST_BYTES,
    LONGEST_S,
    LONGEST_TEXT,
    NUMBER,
    BadNoteError,
    Note,
    time_of,
)
from fieldvoice.phone.pieces import LARGEST_PIECE

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Collection
    from datetime import datetime

    from starlette.requests import Request
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from fieldvoice.phone.live_board import LiveBoard
    from fieldvoice.phone.pairing import Door, Phone, Phones
    from fieldvoice.phone.pieces import Pieces
    from fieldvoice.phone.post import Post
    from fieldvoice.phone.workers import VoiceWorker

#: A phone that waits for a reply longer than this asks again, in seconds.
_ANSWER_S = 50.0
#: The longest silence in the middle of something sent, and the longest that it may take, in
#: seconds.
_SILENT_S, _SEND_S = 20.0, 120.0
#: Streams of news that one phone may have open.
_MOST_STREAMS = 4
#: The largest thing sent that is no sound, in bytes.
_SMALL = 4_000

_HEADERS = {
    b"x-content-type-options": b"nosniff",
    b"referrer-policy": b"no-referrer",
    b"cross-origin-opener-policy": b"same-origin",
    b"x-frame-options": b"DENY",
    b"permissions-policy": b"microphone=(self), screen-wake-lock=(self), camera=(), geolocation=()",
}
#: What a page of an earlier address may ask for here: to hand over what waits on it.
_ALLOWED = "authorization, content-type, note-at, note-length, note-cut, note-unheard, note-settles"
_ALLOWED += ", phone-clock, clock-choice"


class RefusedError(Exception):
    """A request that is refused, with its status and a plain line for the phone."""

    def __init__(self, status: int, told: str, **more: Any) -> None:
        super().__init__(told)
        self.status, self.told, self.more = status, told, more


@dataclass(slots=True)
class Limits:
    """How much may be asked for: by a phone, by an address that nobody knows, in trying codes."""

    phone: Rate = field(default_factory=lambda: Rate(20.0, 100.0, time.monotonic))
    stranger: Rate = field(default_factory=lambda: Rate(10.0, 120.0, time.monotonic))
    codes: Rate = field(default_factory=lambda: Rate(0.2, 5.0, time.monotonic))


@dataclass(slots=True)
class Desk:
    """All that the answers need. ``earlier`` are origins that the page was served at before."""

    phones: Phones
    door: Door
    post: Post
    pieces: Pieces
    board: LiveBoard
    last_of: Callable[[str], Awaitable[dict[str, Any] | None]]
    voice: VoiceWorker | None
    clock: Callable[[], datetime]
    hosts: Collection[str]
    origins: Collection[str]
    earlier: Collection[str] = ()
    limits: Limits = field(default_factory=Limits)
    on_paired: Callable[[Phone], None] = lambda phone: None
    streams: dict[str, int] = field(default_factory=dict)


def app_for(desk: Desk) -> ASGIApp:
    """Return the application that answers phones."""
    answers = Answers(desk)
    routes = [
        Route("/hello", answers.hello),
        Route("/pair", answers.pair, methods=["POST"]),
        Route("/ticket", answers.ticket, methods=["POST"]),
        Route("/notes/{number}", answers.note, methods=["PUT"]),
        Route("/notes/{number}/ahead", answers.ahead, methods=["PUT"]),
        Route("/notes/{number}/voice", answers.spoken),
        Route("/me", answers.me),
        Route("/news", answers.news),
        *(Route(path, answers.page) for path in page.FILES),
    ]
    inner = Starlette(routes=routes, exception_handlers={RefusedError: _refused, 404: _nothing,
                      405: _nothing})  # fmt: skip
    inner.router.redirect_slashes = False
    return Guard(inner, desk)


def _refused(_: Request, fault: Exception) -> Response:
    assert isinstance(fault, RefusedError)
    return JSONResponse({"told": fault.told, **fault.more}, fault.status)


def _nothing(_: Request, fault: Exception) -> Response:
    return JSONResponse({"told": "There is nothing here."}, getattr(fault, "status_code", 404))


class Guard:
    """Lets in what asks for this house by its own name, from a page of its own."""

    def __init__(self, app: ASGIApp, desk: Desk) -> None:
        self._app, self._desk = app, desk

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        headers = dict(scope["headers"])
        origin = headers.get(b"origin", b"").decode("latin-1")
        is_earlier = origin in self._desk.earlier
        more = dict(_HEADERS)
        if is_earlier:
            more[b"access-control-allow-origin"] = origin.encode("latin-1")
            more[b"vary"] = b"origin"

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                there = {key for key, _ in message["headers"]}
                message["headers"] += [one for one in more.items() if one[0] not in there]
            await send(message)

        refused = self._refusal(scope, headers, origin, is_earlier=is_earlier)
        if refused is not None:
            await refused(scope, receive, sending)
        else:
            await self._app(scope, receive, sending)

    def _refusal(
        self, scope: Scope, headers: dict[bytes, bytes], origin: str, *, is_earlier: bool
    ) -> Response | None:
        """Return the answer to what never gets as far as the application; None to let it in."""
        # Another name that was made to mean this address is no name of this house.
        if headers.get(b"host", b"").decode("latin-1") not in self._desk.hosts:
            return JSONResponse({"told": "That is not what this house is called."}, 421)
        if origin and origin not in self._desk.origins and not is_earlier:
            return JSONResponse({"told": "Only its own page may talk to the house."}, 403)
        client = scope.get("client") or ("?", 0)
        if b"authorization" not in headers and not self._desk.limits.stranger.allows(client[0]):
            return JSONResponse({"told": "Too much at once; wait a little."}, 429)
        if scope["method"] == "OPTIONS" and is_earlier:
            allowed = {
                "access-control-allow-methods": "GET, PUT, POST",
                "access-control-allow-headers": _ALLOWED,
                "access-control-allow-private-network": "true",
                "access-control-max-age": "600",
            }
            return Response(status_code=204, headers=allowed)
        return None


class Answers:
    """An answer for each path."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk

    async def page(self, request: Request) -> Response:
        """Return a file of the page."""
        return page.response(request.url.path)

    async def hello(self, request: Request) -> Response:
        """Return what the page asks before it is paired."""
        desk = self._desk
        told = {"pairing": desk.door.is_open, "earlier": sorted(desk.earlier)}
        return JSONResponse(told)

    async def pair(self, request: Request) -> Response:
        """Let a phone in by a code or a ticket, and give it its secret."""
        desk = self._desk
        client = request.client.host if request.client else "?"
        if not desk.limits.codes.allows(client):
            raise RefusedError(429, "Too many tries; wait a little.")
        sent = await _json(request)
        ticket, code, name = sent.get("ticket"), sent.get("code"), sent.get("name")
        try:
            if isinstance(ticket, str):
                of = desk.door.of_ticket(ticket)
                if of is None:
                    raise RefusedError(403, "That was too late. Pair the phone with a code.")
                phone, secret = desk.phones.pair("", of)
            elif isinstance(code, str) and isinstance(name, str):
                from fieldvoice.phone.pairing import clean_name

                clean_name(name)  # before the code is used up
                if not desk.door.admits(code.strip()):
                    is_open = desk.door.is_open
                    told = (
                        "That is not the code."
                        if is_open
                        else "No code holds now. Press Enter at the house for a new one."
                    )
                    raise RefusedError(403, told)
                phone, secret = desk.phones.pair(name)
            else:
                raise RefusedError(400, "A code and a name are needed.")
        except PhoneError as fault:
            raise RefusedError(403, str(fault)) from fault
        desk.on_paired(phone)
        return JSONResponse({"secret": secret, "phone": phone.id, "name": phone.name})

    async def ticket(self, request: Request) -> Response:
        """Return what lets this phone in at the house's new address."""
        phone = self._phone(request)
        return JSONResponse({"ticket": self._desk.door.ticket(phone.id)})

    async def me(self, request: Request) -> Response:
        """Return who the phone is, what it said last, and the time here."""
        phone = self._phone(request)
        last = await self._in_time(self._desk.last_of(phone.id))
        now = self._desk.clock()
        return JSONResponse(
            {
                "name": phone.name,
                "last": last,
                "clock": now.isoformat(),
                "voice": self._desk.voice is not None,
            }
        )

    async def note(self, request: Request) -> Response:
        """Take a note: the receipt says that it is in the book, and what came of it."""
        phone = self._phone(request)
        name = _name(request, phone)
        receipt = self._desk.post.receipt(name)
        if receipt is not None:
            return JSONResponse(receipt)
        taking = self._desk.post.on_its_way(name)
        if taking is None:
            try:
                note = self._note_of(request, phone, name)
                sent = await _body(request, LARGEST_BYTES)
                if not sent:
                    raise BadNoteError("nothing was sent")
                sound: bytes | None = sent
                if request.headers.get("content-type", "").startswith("text/plain"):
                    note, sound = _typed(note, sent), None
            except BadNoteError as fault:
                raise RefusedError(400, f"That is no note: {fault}.") from fault
            # It may have come in by another connection meanwhile.
            taking = self._desk.post.on_its_way(name) or self._desk.post.post(note, sound)
            self._desk.pieces.forget(name)
        try:
            return JSONResponse(await asyncio.wait_for(asyncio.shield(taking), _ANSWER_S))
        except TimeoutError:
            return JSONResponse({"told": "The house has it; the answer takes longer."}, 202)
        except OSError as fault:
            raise RefusedError(507, f"The house cannot keep it: {fault}.") from fault
        except (BookError, BrokenProcessPool) as fault:
            raise RefusedError(503, f"{fault}") from fault

    async def ahead(self, request: Request) -> Response:
        """Take a piece of a note that is still being recorded, for a head start in hearing it."""
        phone = self._phone(request)
        name = _name(request, phone)
        begins = request.headers.get("piece-from", "")
        if not (begins.isascii() and begins.isdigit() and len(begins) < 10):
            raise RefusedError(400, "Where does that piece begin?")
        piece = await _body(request, LARGEST_PIECE)
        post = self._desk.post
        is_late = post.receipt(name) is not None or post.on_its_way(name) is not None
        if is_late or not self._desk.pieces.add(phone, name, int(begins), piece):
            raise RefusedError(409, "The rest is heard when all of it is there.")
        return Response(status_code=204)

    def _note_of(self, request: Request, phone: Phone, name: str) -> Note:
        headers = request.headers
        now = self._desk.clock()
        at = time_of(headers.get("note-at"), "its time")
        offset = now - time_of(headers.get("phone-clock"), "the phone's clock")
        choice = headers.get("clock-choice")
        if abs(offset) > CLOCKS_AGREE and choice not in ("house", "phone"):
            raise RefusedError(
                409, "The phone's clock and the house's differ.",
                ask="clock", house=now.isoformat(), offset_s=offset.total_seconds(),
            )  # fmt: skip
        if choice != "phone":
            at = min(at + offset, now)
        settles = headers.get("note-settles")
        length = headers.get("note-length")
        return Note(
            name=name,
            phone=phone.id,
            by=phone.name,
            at=at.astimezone(now.tzinfo),
            arrived=time.time(),
            length_s=_seconds(length) if length is not None else None,
            cut=headers.get("note-cut") == "1",
            unheard=headers.get("note-unheard") == "1",
            settles=settles[:20] if settles else None,
        )

    async def spoken(self, request: Request) -> Response:
        """Return the reply to a note as sound."""
        phone = self._phone(request)
        receipt = self._desk.post.receipt(f"{phone.id}.{request.path_params['number']}")
        if receipt is None or self._desk.voice is None:
            raise RefusedError(404, "There is no voice for that.")
        text = " ".join(filter(None, (one["reply"] for one in receipt["said"])))
        text = text or receipt["told"] or ""
        try:
            sound = await self._desk.voice.render(text)
        except (VoiceError, BrokenProcessPool) as fault:
            raise RefusedError(503, "The voice cannot say that.") from fault
        return Response(sound, media_type="audio/wav", headers={"cache-control": "no-store"})

    async def news(self, request: Request) -> Response:
        """Return the stream of the day."""
        phone = self._phone(request)
        streams = self._desk.streams
        if streams.get(phone.id, 0) >= _MOST_STREAMS:
            raise RefusedError(429, "This phone looks at the day already.")

        async def told() -> Any:
            streams[phone.id] = streams.get(phone.id, 0) + 1
            try:
                async for event in self._desk.board.news():
                    if self._desk.phones.of_secret(_secret(request)) is None:
                        return
                    yield event
            finally:
                streams[phone.id] -= 1

        return StreamingResponse(
            told(), media_type="text/event-stream", headers={"cache-control": "no-store"}
        )

    def _phone(self, request: Request) -> Phone:
        """Return the phone that asks.

        Raises:
            RefusedError: it has no secret that holds, or asks for too much.
        """
        phone = self._desk.phones.of_secret(_secret(request))
        if phone is None:
            client = request.client.host if request.client else "?"
            if not self._desk.limits.stranger.allows(client):
                raise RefusedError(429, "Too much at once; wait a little.")
            raise RefusedError(401, "This phone is not paired with the house.")
        if not self._desk.limits.phone.allows(phone.id):
            raise RefusedError(429, "Too much at once; wait a little.")
        return phone

    async def _in_time(self, work: Awaitable[Any]) -> Any:
        try:
            return await asyncio.wait_for(work, _ANSWER_S)
        except (BookError, BrokenProcessPool, TimeoutError) as fault:
            raise RefusedError(503, str(fault) or "The house is busy.") from fault


def _name(request: Request, phone: Phone) -> str:
    """Return what the note of a request is called."""
    number = request.path_params["number"]
    if not NUMBER.fullmatch(number):
        raise RefusedError(400, "A note's number is 32 hexadecimal digits.")
    return f"{phone.id}.{number}"


def _secret(request: Request) -> str:
    kind, _, secret = request.headers.get("authorization", "").partition(" ")
    return secret if kind == "Bearer" else ""


async def _json(request: Request) -> dict[str, Any]:
    import json

    try:
        sent = json.loads(await _body(request, _SMALL))
    except (ValueError, RecursionError):
        sent = None
    if not isinstance(sent, dict):
        raise RefusedError(400, "That cannot be read.")
    return sent


async def _body(request: Request, most: int) -> bytes:
    """Return what was sent, if it is not more than ``most`` bytes and comes in time."""
    if int(request.headers.get("content-length") or 0) > most:
        raise RefusedError(413, "That is too large.")
    parts: list[bytes] = []
    size, until = 0, time.monotonic() + _SEND_S
    stream = request.stream().__aiter__()
    while time.monotonic() < until:
        try:
            part = await asyncio.wait_for(anext(stream), _SILENT_S)
        except StopAsyncIteration:
            return b"".join(parts)
        except TimeoutError:
            break
        except ClientDisconnect:
            raise RefusedError(400, "That broke off.") from None
        size += len(part)
        if size > most:
            raise RefusedError(413, "That is too large.")
        parts.append(part)
    raise RefusedError(408, "That took too long.")


def _typed(note: Note, sent: bytes) -> Note:
    from dataclasses import replace

    try:
        text = " ".join(sent.decode("utf-8").split())
    except UnicodeDecodeError:
        raise BadNoteError("its words cannot be read") from None
    if not text or len(text) > LONGEST_TEXT:
        raise BadNoteError(f"it has no words, or more than {LONGEST_TEXT} letters")
    return replace(note, text=text)


def _seconds(text: str) -> float:
    try:
        length = float(text)
    except ValueError:
        raise BadNoteError("its length is no number") from None
    if not 0 <= length <= LONGEST_S:
        raise BadNoteError(f"it is longer than {timedelta(seconds=round(LONGEST_S))}")
    return length
