"""``fieldvoice listen``: the conversation by voice, hands free."""

from __future__ import annotations

import functools
import signal
import sys
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import book_option, clock_of, json_option, now_option
from fieldvoice.errors import FieldvoiceError
from fieldvoice.hearing.attention import ATTENTION_WORDS, DEFAULT_WORD
from fieldvoice.soundcard import TO_INSTALL

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.cli.desk import Desk
    from fieldvoice.cli.screens import PlainScreen, TerminalScreen
    from fieldvoice.hearing.ear import Ear, FarEar
    from fieldvoice.hearing.microphone import Microphone
    from fieldvoice.hearing.partial import PartialWords
    from fieldvoice.live import BookTalk, LiveLoop, News, Talk, Tape, Way
    from fieldvoice.speaking import Voice
    from fieldvoice.speaking.mouth import Mouth

#: Between two looks at what has become ready, when nothing comes from the microphone, in seconds.
_TICK_S = 0.1
_SHORTEST_PAUSE_S, _LONGEST_PAUSE_S = 0.4, 3.0


#: How to call it, for the screen.
HOW: dict[Way, str] = {
    "word": 'Say "{word}" and your note, or press a key.',
    "open": "Say a note, or ask.",
    "touch": "Press any key, then speak.",
}


@dataclass(frozen=True, slots=True)
class Choices:
    """What the command's options say."""

    way: Way
    word: str
    hold: bool
    pause_s: float
    microphone: str | None
    speaker: str | None
    voice: str | None
    mute: bool
    as_json: bool


@click.command("listen")
@click.option(
    "--word",
    type=click.Choice(tuple(ATTENTION_WORDS), case_sensitive=False),
    default=DEFAULT_WORD,
    show_default=True,
    help="The attention word: say it, then the note or question.",
)
@click.option("--open", "always", is_flag=True, help="Listen to everything, without a word.")
@click.option(
    "--touch", is_flag=True, help="Listen after a key: again, or Enter on a remote, ends."
)
@click.option("--hold", is_flag=True, help="Listen while a key is held down.")
@click.option(
    "--pause",
    "pause_s",
    type=click.FloatRange(_SHORTEST_PAUSE_S, _LONGEST_PAUSE_S),
    default=0.8,
    show_default=True,
    help="Seconds of silence that end what you say.",
)
@click.option("--microphone", help="A part of the microphone's name; see: fieldvoice check")
@click.option("--speaker", help="A part of the loudspeaker's name.")
@click.option("--voice", help="The voice to speak with: hibari or pico.")
@click.option("--mute", is_flag=True, help="Make the short sounds, but speak no words.")
@json_option
@book_option
@now_option
def command(
    word: str,
    always: bool,
    touch: bool,
    hold: bool,
    pause_s: float,
    microphone: str | None,
    speaker: str | None,
    voice: str | None,
    mute: bool,
    as_json: bool,
    book: Path | None,
    now: datetime | None,
) -> int:
    r"""Talk, hands free: say the attention word, then a note or a question. Ctrl-C ends.

    \b
    fieldvoice listen
    fieldvoice listen --open --pause 1.2
    fieldvoice listen --hold --microphone headset
    """
    if always and (touch or hold):
        raise click.UsageError("Choose one: --open, or a touch (--touch, --hold)")
    way: Way = "open" if always else "touch" if touch or hold else "word"
    chosen = Choices(way, word, hold, pause_s, microphone, speaker, voice, mute, as_json)
    return listen(chosen, book, now)


def listen(chosen: Choices, book: Path | None, now: datetime | None) -> int:
    """Listen until the user ends it."""
    from fieldvoice.cli.desk import conversation, default_book
    from fieldvoice.cli.ears import sound_of_words
    from fieldvoice.live import BookTalk, SaidAt, Tape

    clock = SaidAt(clock_of(now))
    path = book or default_book()
    with (
        alone_at(path),
        far_ear(chosen) as ear,
        conversation(path, clock, phones=sound_of_words) as desk,
    ):
        ear.names = desk.conversation.names
        tape = Tape(sound_folder(path))
        talk = BookTalk(desk.conversation, desk.book, clock)
        run(chosen, desk, tape, talk, ear)
    return 0


def sound_folder(book: Path) -> Path:
    """Return the folder of a book's recordings: ``season_sound`` beside ``season.db``."""
    return book.with_name(f"{book.stem}_sound")


@contextmanager
def alone_at(book: Path) -> Iterator[None]:
    """Hold the right to listen for ``book``: two ears would write everything down twice.

    Raises:
        FieldvoiceError: another program holds it, or the extra packages are missing.
    """
    try:
        from filelock import FileLock, Timeout
    except ImportError:
        raise FieldvoiceError(TO_INSTALL) from None
    book.parent.mkdir(parents=True, exist_ok=True)
    lock = FileLock(book.with_suffix(".listening"))
    try:
        lock.acquire(timeout=0)
    except Timeout:
        raise FieldvoiceError(f"Another fieldvoice is listening for {book.name} already.") from None
    try:
        yield
    finally:
        lock.release()


@contextmanager
def far_ear(chosen: Choices) -> Iterator[FarEar]:
    """Yield the ear, which makes itself ready in a process of its own."""
    from fieldvoice.hearing.ear import FarEar

    ear = FarEar(functools.partial(make_ear, chosen.word if chosen.way == "word" else None))
    try:
        yield ear
    finally:
        ear.close()


def make_ear(word: str | None) -> Ear:
    """Return the ear for live sound, listening for the attention ``word`` if there is one."""
    from fieldvoice.cli.desk import cache_folder, the_grammar
    from fieldvoice.cli.ears import ears
    from fieldvoice.hearing.attention import AttentionSpotter
    from fieldvoice.hearing.ear import Ear
    from fieldvoice.hearing.partial import PocketsphinxWords
    from fieldvoice.hearing.second_listener import TwoListeners
    from fieldvoice.hearing.vosk_engine import VoskRecogniser

    grammar = the_grammar()
    recogniser = ears(grammar, live=True)
    first = recogniser.first if isinstance(recogniser, TwoListeners) else recogniser
    if isinstance(first, VoskRecogniser):
        partial: PartialWords = first.words_so_far()
    else:
        partial = PocketsphinxWords(grammar, cache_folder())
    spotter = AttentionSpotter(ATTENTION_WORDS[word]) if word is not None else None
    return Ear(recogniser, partial, spotter)


def voice(chosen: Choices) -> Voice | None:
    """Return the chosen voice, or the first that can speak here; None to be mute.

    Raises:
        VoiceError: there is none of that name, or none at all.
    """
    from fieldvoice.speaking import default_voice, named_voice

    if chosen.mute:
        return None
    return named_voice(chosen.voice) if chosen.voice else default_voice()


@dataclass(frozen=True, slots=True)
class Live:
    """A live conversation with its devices open, ready to begin."""

    loop: LiveLoop
    mouth: Mouth
    screen: TerminalScreen | PlainScreen
    microphone: Microphone
    inbox: SimpleQueue[News]

    def until(self, over: Callable[[], bool]) -> None:
        """Talk until the user ends it, or it is ``over`` and all has been said."""
        from fieldvoice.cli.ears import choice

        self.screen.aside(choice().why)
        self.screen.aside(f"Microphone: {self.microphone.name}. Ctrl-C ends.")
        self.microphone.start()
        self.mouth.sound("listening")
        _until_quit(self.loop, self.inbox, over)
        self.microphone.close()
        self.loop.finish()


def run(chosen: Choices, desk: Desk, tape: Tape, talk: BookTalk, ear: FarEar) -> None:
    """Open the devices and the screen, and talk until the user ends it."""
    from fieldvoice.live import take_pending

    how = HOW[chosen.way].format(word=chosen.word)
    with live(chosen, desk, tape, talk, ear, how) as ready:
        for reply in take_pending(tape, desk.book, talk, ear, chosen.way):
            ready.screen.aside("Recorded before the program ended:")
            ready.screen.reply(reply)
        tape.make_room(talk.needed_sounds())
        with ready.screen:
            ready.until(lambda: False)


@contextmanager
def live(
    chosen: Choices, desk: Desk, tape: Tape, talk: Talk, ear: FarEar, how: str
) -> Iterator[Live]:
    """Open the devices for ``talk``; ``how`` tells on the screen what can be said."""
    from fieldvoice.hearing import UtteranceStream
    from fieldvoice.hearing.endpoint import best_detector
    from fieldvoice.hearing.microphone import Microphone
    from fieldvoice.live import Address, Gate, LiveLoop, Tick
    from fieldvoice.soundcard import sound_system
    from fieldvoice.speaking.mouth import Mouth
    from fieldvoice.speaking.player import DevicePlayer

    system = sound_system(chosen.microphone, chosen.speaker)
    inbox: SimpleQueue[News] = SimpleQueue()
    with ExitStack() as stack:
        player = DevicePlayer(system, chosen.speaker)
        stack.callback(player.close)
        microphone = Microphone(
            system,
            inbox.put,
            chosen.microphone,
            before_rescan=player.close,
            after_rescan=player.reopen,
        )
        stack.callback(microphone.close)
        mouth = Mouth(player, voice(chosen))
        stack.callback(mouth.close)
        ear.ready()
        screen = _screen(chosen, desk, inbox, how)
        loop = LiveLoop(
            talk=talk,
            hearing=ear,
            mouth=mouth,
            tape=tape,
            screen=screen,
            address=Address(chosen.way),
            stream=UtteranceStream(pause_s=chosen.pause_s),
            gate=Gate(best_detector()),
            clock=desk.clock,
            wake=lambda: inbox.put(Tick()),
        )
        yield Live(loop, mouth, screen, microphone, inbox)


def _screen(
    chosen: Choices, desk: Desk, inbox: SimpleQueue[News], how: str
) -> TerminalScreen | PlainScreen:
    from fieldvoice.cli.chat import status_line
    from fieldvoice.cli.screens import PlainScreen, TerminalScreen

    if chosen.as_json or not (sys.stdin.isatty() and sys.stdout.isatty()):
        return PlainScreen(as_json=chosen.as_json)
    return TerminalScreen(
        lambda: status_line(desk.book, desk.clock()), how, inbox.put, hold=chosen.hold
    )


def _until_quit(loop: LiveLoop, inbox: SimpleQueue[News], over: Callable[[], bool]) -> None:
    from fieldvoice.live import Quit, Tick

    with interrupts(lambda: inbox.put(Quit())):
        while not over() or loop.busy:
            try:
                news = inbox.get(timeout=_TICK_S)
            except Empty:
                news = Tick()
            if isinstance(news, Quit):
                return
            loop.handle(news)


@contextmanager
def interrupts(tell: Callable[[], None]) -> Iterator[None]:
    """Take Ctrl-C, and being asked to end, as an orderly end while the block runs."""
    kept = {
        number: signal.signal(number, lambda *_: tell())
        for number in (signal.SIGINT, signal.SIGTERM)
    }
    try:
        yield
    finally:
        for number, handler in kept.items():
            signal.signal(number, handler)
