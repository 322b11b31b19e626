"""``fieldvoice phone``: the page for phones on the farm's own network."""

from __future__ import annotations

import asyncio
import functools
import json
import os
import signal
import sys
from contextlib import AsyncExitStack, ExitStack, contextmanager, suppress
from dataclasses import dataclass
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

import click

from fieldvoice.cli.faults import complain, say_aside
from fieldvoice.cli.options import book_option, clock_of, examples
from fieldvoice.errors import PhoneError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.phone.authority import Authority
    from fieldvoice.phone.house import House
    from fieldvoice.phone.pairing import Door, Phone, Phones
    from fieldvoice.phone.server import Server
    from fieldvoice.tts import Voice

#: The port of the page; the certificate alone is at the next one.
PORT = 8443
#: What is needed beside the program itself.
_NEEDS = ("starlette", "uvicorn", "cryptography", "segno")
TO_INSTALL = 'For phones, install the extra packages: pip install "fieldvoice[phone]"'
#: Between two looks whether the certificate is to be renewed, in seconds.
_DAY_S = 86_400.0
#: In short what the page of help tells in full, for whoever stands here with a phone that has not
#: got so far.
_TO_TRUST = """\
     iPhone   Settings, Profile Downloaded, Install; then General, About, Certificate
              Trust Settings: switch it on
     Android  Settings, search for "CA certificate", choose the file; Firefox there
              wants to be told as well (the page of help says how)"""
#: What stays open as long as a process does.
_OPEN = ExitStack()
#: Addresses remembered at which phones had the page.
_MOST_EARLIER = 12


@click.command(
    "phone",
    epilog=examples(
        "fieldvoice phone",
        "fieldvoice phone --address 192.168.1.20",
        "fieldvoice phone --revoke anna",
    ),
)
@click.option(
    "--port", type=click.IntRange(1, 65_534), default=PORT, show_default=True,
    help="The port of the page; the next one gives the certificate.",
)  # fmt: skip
@click.option("--address", help="The address of this machine on the phones' network.")
@click.option("--list", "lists", is_flag=True, help="List the phones that are paired.")
@click.option("--revoke", metavar="NAME", help="Shut out a phone: it was lost or given away.")
@book_option
def command(
    port: int, address: str | None, lists: bool, revoke: str | None, book: Path | None
) -> int:
    """Serve the page for phones on the farm's network.

    It runs until Ctrl-C, at one address of this machine alone. Scan the two codes that it shows,
    and type the six digits; Enter makes others.
    """
    if any(find_spec(name) is None for name in _NEEDS):
        raise PhoneError(TO_INSTALL)
    from fieldvoice.cli.app import default_book
    from fieldvoice.phone.address import chosen

    places = Places(book or default_book())
    clock = clock_of(None)
    if lists or revoke is not None:
        _tell_phones(places.phones(clock), revoke)
        return 0
    with places.alone(), suppress(KeyboardInterrupt):
        asyncio.run(serve(places, chosen(address), port, clock))
    return 0


@dataclass(frozen=True, slots=True)
class Places:
    """Where the phones' things lie: beside the book, in a folder of their own."""

    book: Path

    @property
    def folder(self) -> Path:
        """The folder of keys, phones and notes on their way."""
        return self.book.with_name(f"{self.book.stem}_phone")

    @property
    def sounds(self) -> Path:
        """The folder of what phones recorded."""
        from fieldvoice.book.backups import sound_of

        return sound_of(self.book) / "phone"

    def phones(self, clock: Callable[[], datetime]) -> Phones:
        """Return the phones of the book."""
        from fieldvoice.phone.pairing import Phones

        return Phones(self.folder / "phones.json", clock)

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Hold the right to serve this book: two servers would take notes side by side.

        Raises:
            PhoneError: another program holds it, or the folder cannot be written.
        """
        from fieldvoice.whole_files import own_folder

        try:
            own_folder(self.folder)
            with (self.folder / "serving").open("w") as lock:
                try:
                    import fcntl

                    fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
                except ImportError:  # another kind of system: its port is the lock
                    pass
                except OSError:
                    told = f"Another fieldvoice serves phones for {self.book.name} already."
                    raise PhoneError(told) from None
                yield
        except OSError as fault:
            raise PhoneError(f"{self.folder} cannot be written: {fault.strerror}.") from fault

    def earlier(self, origins: list[str]) -> list[str]:
        """Return the origins of earlier runs, and keep ``origins`` for later ones."""
        from fieldvoice.whole_files import write_whole

        place = self.folder / "origins.json"
        try:
            kept = [str(one) for one in json.loads(place.read_text(encoding="utf-8"))]
        except (OSError, ValueError, TypeError):
            kept = []
        earlier = [one for one in kept if one not in origins][-_MOST_EARLIER:]
        with suppress(OSError):
            write_whole(place, json.dumps([*earlier, *origins], indent=1).encode("utf-8"))
        return earlier


def make_house(book: Path) -> House:
    """Return the house of a book with its recognisers loaded; for a process of its own."""
    from fieldvoice.cli.app import conversation
    from fieldvoice.cli.listen import give_memory_back
    from fieldvoice.cli.recognisers import ears, sound_of_words
    from fieldvoice.cli.settings_file import read_settings
    from fieldvoice.phone.house import House

    clock = clock_of(None)
    desk = _OPEN.enter_context(conversation(book, clock, phones=sound_of_words))
    settings = read_settings(book.with_suffix(".toml"))
    recogniser = ears(desk.grammar, live=True)
    give_memory_back()
    house = House(desk.conversation, desk.book, settings, recogniser, clock)
    house.warm_up()
    return house


def make_voice(book: Path) -> Voice:
    """Return the household's voice; for a process of its own."""
    from fieldvoice.cli.settings_file import read_live_settings
    from fieldvoice.tts import default_voice, named_voice

    name = read_live_settings(book.with_suffix(".toml")).voice
    return named_voice(name) if name else default_voice()


async def serve(places: Places, address: str, port: int, clock: Callable[[], datetime]) -> None:
    """Serve the book's phones at one address until the task is cancelled.

    Raises:
        FieldvoiceError: the network, the certificate or the book cannot be used.
    """
    from fieldvoice.phone.address import local_name, origin
    from fieldvoice.phone.app import Desk, app_for
    from fieldvoice.phone.authority import open_authority
    from fieldvoice.phone.inbox import Inbox
    from fieldvoice.phone.live_board import LiveBoard
    from fieldvoice.phone.pairing import Door
    from fieldvoice.phone.pieces import Pieces
    from fieldvoice.phone.post import Post
    from fieldvoice.phone.server import CertificateGiver, Server
    from fieldvoice.phone.workers import HouseWorker, VoiceWorker

    authority, is_new = open_authority(places.folder, clock())
    names = [address, local_name()]
    origins = [origin(name, port) for name in names]
    house = HouseWorker(functools.partial(make_house, places.book))
    voice = VoiceWorker(functools.partial(make_voice, places.book))
    async with AsyncExitStack() as stack:
        stack.callback(voice.close)
        stack.callback(house.close)
        say_aside("Loading what hears …")
        await _ready(house)
        post = Post(Inbox(places.folder / "inbox", places.sounds), house, complain)
        board = LiveBoard(places.book, house.look)
        door = Door(clock)
        desk = Desk(
            phones=places.phones(clock),
            door=door,
            post=post,
            pieces=Pieces(house),
            board=board,
            last_of=house.last_of,
            voice=voice,
            clock=clock,
            hosts=[one.removeprefix("https://") for one in origins],
            origins=origins,
            earlier=places.earlier(origins),
            on_paired=functools.partial(_tell_paired, door),
        )
        server = Server(app_for(desk), address, port, authority.server_files(names, clock()))
        giver = CertificateGiver(address, port + 1, authority.der)
        await stack.enter_async_context(server.serving())
        stack.push_async_callback(post.settle)
        waiting = post.take_up()
        if waiting:
            say_aside(f"{waiting} that came in before the program ended are taken now.")
        door.open()
        _tell(authority, is_new, origins[0], f"http://{address}:{port + 1}/", door)
        await _until_ended(
            board.watch(),
            giver.follow(lambda: door.is_open),
            _renewing(authority, names, server, clock),
            _new_codes(door),
        )


async def _ready(house: Any) -> None:
    from concurrent.futures.process import BrokenProcessPool

    try:
        await house.ready()
    except BrokenProcessPool:
        raise PhoneError("What hears could not be started; see: fieldvoice check") from None


async def _until_ended(*works: Any) -> None:
    """Do all of it until the program is asked to end."""
    loop, ended = asyncio.get_running_loop(), asyncio.Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        with suppress(NotImplementedError):  # another kind of system: Ctrl-C cancels
            loop.add_signal_handler(number, ended.set)
    tasks = [asyncio.create_task(work) for work in works]
    end = asyncio.create_task(ended.wait())
    try:
        done, _ = await asyncio.wait([*tasks, end], return_when=asyncio.FIRST_COMPLETED)
        for task in done - {end}:
            task.result()
    finally:
        for task in (*tasks, end):
            task.cancel()
        await asyncio.gather(*tasks, end, return_exceptions=True)


async def _renewing(
    authority: Authority, names: list[str], server: Server, clock: Callable[[], datetime]
) -> None:
    while True:
        await asyncio.sleep(_DAY_S)
        server.renew(authority.server_files(names, clock()))


async def _new_codes(door: Door) -> None:
    """Make a new code at each Enter, where there is a keyboard."""
    if not sys.stdin.isatty():
        await asyncio.Event().wait()
    loop, pressed = asyncio.get_running_loop(), asyncio.Event()

    def press() -> None:
        os.read(sys.stdin.fileno(), 1024)
        pressed.set()

    loop.add_reader(sys.stdin, press)
    try:
        while True:
            await pressed.wait()
            pressed.clear()
            _tell_code(door.open())
    finally:
        loop.remove_reader(sys.stdin)


def _tell(authority: Authority, is_new: bool, page: str, plain: str, door: Door) -> None:
    """Show where phones find the page, and how a phone is made to trust it."""
    if is_new:
        say_aside("Made a certificate of this house's own; each phone is to trust it once.")
    click.echo(f"\nA phone that is new here, once (how, step by step: {page}/trust)")
    click.echo(f"  1. Scan this, or open {plain}, and take the certificate:\n")
    _show_code(plain)
    click.echo(f"\n     Its name: {authority.name}. Its SHA-256 fingerprint must be")
    digits = authority.fingerprint
    click.echo(f"     {digits[:48].strip()}\n     {digits[48:].strip()}")
    click.echo(f"  2. Let the phone trust it:\n{_TO_TRUST}\n     Then scan this, or open {page}\n")
    _show_code(page)
    _tell_code(door.code or "")
    click.echo(f"\nListening at {page} alone, for phones on this network. Ctrl-C ends.")


def _show_code(address: str) -> None:
    import segno

    segno.make(address, micro=False).terminal(out=sys.stdout, compact=True, border=2)


def _tell_code(code: str) -> None:
    click.echo(f"\n  3. The code: {code[:3]} {code[3:]}   (for ten minutes; Enter makes another)")
    sys.stdout.flush()


def _tell_paired(door: Door, phone: Phone) -> None:
    click.echo(f"\nPaired: {phone.name}. To shut it out: fieldvoice phone --revoke {phone.id}")
    if door.code is not None:
        _tell_code(door.code)


def _tell_phones(phones: Phones, revoke: str | None) -> None:
    if revoke is not None:
        for one in phones.revoke(revoke):
            click.echo(f"{one.name} ({one.id}) is shut out.")
        return
    for one in phones.all():
        state = "shut out" if one.revoked_at else f"paired {one.paired_at[:16].replace('T', ' ')}"
        click.echo(f"{one.id}  {one.name:<20} {state}")
    if not phones.all():
        click.echo("No phone is paired.")
