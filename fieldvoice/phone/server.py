"""The network: TLS on one address, and a place that gives the certificate while pairing."""

from __future__ import annotations

import asyncio
import socket
import ssl
from collections import Counter
from contextlib import asynccontextmanager, nullcontext, suppress
from typing import TYPE_CHECKING, Any, ClassVar

import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from fieldvoice.errors import PhoneError

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable
    from pathlib import Path

    from starlette.types import ASGIApp

#: Connections at once: of all phones, and from one address.
MOST_CONNECTIONS, MOST_FROM_ONE = 300, 120
#: How long a connection may take to say what it wants, in seconds.
_ASKS_WITHIN_S = 15.0
#: The largest head of a request, in bytes.
_HEAD = 16_384


class _Protocol(H11Protocol):
    """HTTP/1.1 for one connection, which must ask for something soon and is one of a few."""

    most_from_one = MOST_FROM_ONE
    _from: ClassVar[Counter[str]] = Counter()
    _counted: str | None = None

    def connection_made(self, transport: Any) -> None:
        peer = (transport.get_extra_info("peername") or ("?",))[0]
        if self._from[peer] >= self.most_from_one:
            transport.abort()
            return
        self._from[peer] += 1
        self._counted = peer
        super().connection_made(transport)
        self._asks = self.loop.call_later(_ASKS_WITHIN_S, self._give_up)

    def connection_lost(self, exc: Exception | None) -> None:
        if self._counted is None:
            return
        self._from[self._counted] -= 1
        if not self._from[self._counted]:
            del self._from[self._counted]
        self._asks.cancel()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        if self._counted is None:
            return
        super().data_received(data)
        if self.cycle is not None:
            self._asks.cancel()

    def _give_up(self) -> None:
        if self.cycle is None and not self.transport.is_closing():
            self.transport.abort()


class Server:
    """Serves ``app`` with TLS at one address. ``files`` are the certificate and its key."""

    def __init__(self, app: ASGIApp, address: str, port: int, files: tuple[Path, Path]) -> None:
        config = uvicorn.Config(
            app,
            http=_Protocol,
            ws="none",
            lifespan="off",
            log_config=None,
            # What strangers send, and streams of news that are cut at the end, are nothing to tell.
            log_level="critical",
            access_log=False,
            server_header=False,
            date_header=False,
            proxy_headers=False,
            limit_concurrency=MOST_CONNECTIONS,
            timeout_keep_alive=60,
            timeout_graceful_shutdown=2,
            h11_max_incomplete_event_size=_HEAD,
            ssl_certfile=str(files[0]),
            ssl_keyfile=str(files[1]),
            ssl_version=ssl.PROTOCOL_TLS_SERVER,
        )
        config.load()
        assert config.ssl is not None
        config.ssl.minimum_version = ssl.TLSVersion.TLSv1_2
        self._tls = config.ssl
        self._server = _Quiet(config)
        self._socket = bound(address, port)

    @property
    def port(self) -> int:
        """The port that it listens on."""
        return int(self._socket.getsockname()[1])

    def renew(self, files: tuple[Path, Path]) -> None:
        """Show this certificate from the next connection on."""
        self._tls.load_cert_chain(*files)

    @asynccontextmanager
    async def serving(self) -> AsyncIterator[None]:
        """Serve while the block runs."""
        task = asyncio.create_task(self._server.serve(sockets=[self._socket]))
        try:
            while not self._server.started and not task.done():
                await asyncio.sleep(0.01)
            yield
        finally:
            self._server.should_exit = True
            await task


class _Quiet(uvicorn.Server):
    """Leaves signals to the command."""

    def capture_signals(self) -> Any:
        return nullcontext()


class CertificateGiver:
    """Gives the authority's certificate over plain HTTP, and nothing else, while it is open."""

    def __init__(self, address: str, port: int, certificate: bytes) -> None:
        self._address, self.port = address, port
        self._answer = _plain(
            "200 OK",
            certificate,
            "application/x-x509-ca-cert",
            'Content-Disposition: attachment; filename="fieldvoice.crt"\r\n',
        )
        self._server: asyncio.Server | None = None

    async def follow(self, is_open: Callable[[], bool]) -> None:
        """Be open while ``is_open`` says so, until cancelled."""
        try:
            while True:
                if is_open() and self._server is None:
                    found = bound(self._address, self.port)
                    self.port = int(found.getsockname()[1])
                    self._server = await asyncio.start_server(self._give, sock=found, limit=_HEAD)
                elif not is_open() and self._server is not None:
                    await self._shut()
                await asyncio.sleep(0.3)
        finally:
            await self._shut()

    async def _shut(self) -> None:
        if self._server is not None:
            self._server.close()
            self._server = None

    async def _give(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        with suppress(
            OSError, TimeoutError, asyncio.IncompleteReadError, asyncio.LimitOverrunError
        ):
            head = await asyncio.wait_for(reader.readuntil(b"\r\n\r\n"), _ASKS_WITHIN_S)
            asked = head.split(b"\r\n", 1)[0].split(b" ")
            is_it = (
                len(asked) == 3 and asked[0] == b"GET" and asked[1] in (b"/", b"/fieldvoice.crt")
            )
            writer.write(self._answer if is_it else _plain("404 Not Found", b"", "text/plain"))
            await asyncio.wait_for(writer.drain(), _ASKS_WITHIN_S)
        writer.close()


def bound(address: str, port: int) -> socket.socket:
    """Return a socket that listens at one address.

    Raises:
        PhoneError: it is not this machine's, or something else listens there.
    """
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind((address, port))
    except OSError as fault:
        found.close()
        raise PhoneError(
            f"Phones cannot be served at {address}:{port}: {(fault.strerror or 'no').lower()}. "
            "Is it this machine's address, and does nothing else listen there (--port)?"
        ) from fault
    return found


def _plain(status: str, body: bytes, kind: str, more: str = "") -> bytes:
    head = (
        f"HTTP/1.1 {status}\r\nContent-Type: {kind}\r\nContent-Length: {len(body)}\r\n"
        f"{more}X-Content-Type-Options: nosniff\r\nCache-Control: no-store\r\n"
        "Connection: close\r\n\r\n"
    )
    return head.encode("ascii") + body
