"""``fieldvoice listen``: the conversation by voice, hands free."""

from __future__ import annotations

import ctypes
import functools
import signal
import sys
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, replace
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING

import click

from fieldvoice.asr.attention_words import ATTENTION_WORDS, DEFAULT_WORD
from fieldvoice.asr.pauses import LONGEST_PAUSE_S, PAUSE_S, SHORTEST_PAUSE_S
from fieldvoice.cli.options import book_option, clock_of, examples, json_option, now_option
from fieldvoice.errors import FieldvoiceError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.asr.microphone import Microphone
    from fieldvoice.asr.partial import PartialWords
    from fieldvoice.asr.side_by_side import Engine, RecogniserProcess
    from fieldvoice.asr.system_combination import SecondListener
    from fieldvoice.asr.wake_word import CallDetector
    from fieldvoice.cli.app import AppContext
    from fieldvoice.cli.screens import PlainScreen, TerminalScreen
    from fieldvoice.dialogue.choices import Value
    from fieldvoice.live import BookDialogue, LiveLoop, LiveSettings, News, Recorder, Talk, Way
    from fieldvoice.tts import Voice
    from fieldvoice.tts.speech_output import SpeechOutput

#: Between two looks at what has become ready, when nothing comes from the microphone, in seconds.
_TICK_S = 0.1


#: How to call it, for the screen.
HOW: dict[Way, str] = {
    "word": 'Say "{word}" and your note, or press a key.',
    "open": "Say a note, or ask.",
    "touch": "Press any key, then speak.",
}


@dataclass(frozen=True, slots=True)
class Choices:
    """How to listen this time: the household's settings, with the command's options over them."""

    settings: LiveSettings
    mute: bool = False
    as_json: bool = False
    states: bool = False

    @property
    def way(self) -> Way:
        """How it is called."""
        listening = self.settings.listening
        return (
            "touch" if listening in ("touch", "hold") else "open" if listening == "open" else "word"
        )

    @property
    def spotted(self) -> str | None:
        """The attention word to listen for; None where there is none."""
        return self.settings.attention_word if self.way == "word" else None


@click.command(
    "listen",
    epilog=examples(
        "fieldvoice listen",
        "fieldvoice listen --open --pause 1.2",
        "fieldvoice listen --hold --microphone headset",
    ),
)
@click.option(
    "--word",
    type=click.Choice(tuple(ATTENTION_WORDS), case_sensitive=False),
    metavar="WORD",
    help=f"Listen for this word: {', '.join(ATTENTION_WORDS)}.  [usual: {DEFAULT_WORD}]",
)
@click.option("--open", "always", is_flag=True, help="Listen to everything, without a word.")
@click.option(
    "--touch", is_flag=True, help="Listen after a key: again, or Enter on a remote, ends."
)
@click.option("--hold", is_flag=True, help="Listen while a key is held down.")
@click.option(
    "--pause",
    "pause_s",
    type=click.FloatRange(SHORTEST_PAUSE_S, LONGEST_PAUSE_S),
    help=f"Seconds of silence that end what you say.  [usual: {PAUSE_S}]",
)
@click.option("--microphone", help="A part of the microphone's name; see: fieldvoice check")
@click.option("--speaker", help="A part of the loudspeaker's name.")
@click.option("--voice", help="The voice to speak with: hibari or pico.")
@click.option("--mute", is_flag=True, help="Make the short sounds, but speak no words.")
@click.option("--states", is_flag=True, help="With --json: also tell when it listens and speaks.")
@json_option
@book_option
@now_option
def command(
    word: str | None,
    always: bool,
    touch: bool,
    hold: bool,
    pause_s: float | None,
    microphone: str | None,
    speaker: str | None,
    voice: str | None,
    mute: bool,
    states: bool,
    as_json: bool,
    book: Path | None,
    now: datetime | None,
) -> int:
    """Talk, hands free.

    Say the attention word, then a note or a question; Ctrl-C ends. The options hold for this once;
    what is to last is said aloud, or set (fieldvoice settings).
    """
    from fieldvoice.cli.app import default_book
    from fieldvoice.cli.settings_file import read_live_settings

    ways = {"open": always, "hold": hold, "touch": touch and not hold, "word": word is not None}
    asked = [way for way, is_asked in ways.items() if is_asked]
    if len(asked) > 1:
        raise click.UsageError("Choose one: --word, --open, or a touch (--touch, --hold)")
    options = {
        "listening": asked[0] if asked else None,
        "attention_word": word,
        "pause_s": pause_s,
        "microphone": microphone,
        "loudspeaker": speaker,
        "voice": voice,
    }
    path = book or default_book()
    given = {name: value for name, value in options.items() if value is not None}
    settings = read_live_settings(path.with_suffix(".toml")).with_values(given)
    return listen(Choices(settings, mute, as_json, states), path, now)


def listen(chosen: Choices, path: Path, now: datetime | None) -> int:
    """Listen for the book at ``path`` until the user ends it."""
    from fieldvoice.book.backups import sound_of
    from fieldvoice.cli.app import conversation
    from fieldvoice.cli.recognisers import sound_of_words
    from fieldvoice.live import BookDialogue, Recorder, SaidAt

    clock = SaidAt(clock_of(now))
    with (
        alone_at(path),
        far_ear(chosen) as ear,
        conversation(path, clock, phones=sound_of_words) as desk,
    ):
        ear.names = desk.conversation.names
        desk.conversation.get_ready()
        tape = Recorder(sound_of(path))
        talk = BookDialogue(desk.conversation, desk.book, clock)
        run(Lasting(path.with_suffix(".toml"), chosen, ear), desk, tape, talk, ear)
    return 0


class Lasting:
    """What was changed aloud: written into the settings, and the ear made anew where it must be."""

    def __init__(self, path: Path, chosen: Choices, ear: RecogniserProcess) -> None:
        self._path, self.chosen, self._ear = path, chosen, ear

    def settle(self, changed: Mapping[str, Value]) -> None:
        """Take settings by their fields, with the values from now on.

        Raises:
            SettingsError: the file cannot be written.
        """
        from fieldvoice.cli.settings_file import write_setting
        from fieldvoice.live.settings import LIVE_BY_FIELD

        before = self.chosen.spotted
        self.chosen = replace(self.chosen, settings=self.chosen.settings.with_values(changed))
        if self.chosen.spotted not in (None, before):
            self._ear.change(functools.partial(make_engine, self.chosen.spotted))
        for field, value in changed.items():
            write_setting(self._path, LIVE_BY_FIELD[field], value, live=True, said=True)

    @property
    def how(self) -> str:
        """How to call it, for the screen."""
        settings = self.chosen.settings
        return HOW[self.chosen.way].format(word=settings.attention_word)


@contextmanager
def alone_at(book: Path) -> Iterator[None]:
    """Hold the right to listen for ``book``: two ears would write everything down twice.

    Raises:
        FieldvoiceError: another program holds it, or the extra packages are missing.
    """
    try:
        from filelock import FileLock, Timeout
    except ImportError:
        from fieldvoice.soundcard import TO_INSTALL

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
def far_ear(chosen: Choices) -> Iterator[RecogniserProcess]:
    """Yield the ear, which makes itself ready in a process of its own."""
    from fieldvoice.asr.side_by_side import RecogniserProcess

    ear = RecogniserProcess(functools.partial(make_engine, chosen.spotted), make_second)
    try:
        yield ear
    finally:
        ear.close()


def make_engine(word: str | None) -> Engine:
    """Return what hears live sound first, and listens for the attention ``word`` if there is one.

    Raises:
        FieldvoiceError: it cannot hear.
    """
    from fieldvoice.asr.free_recogniser import FreeRecogniser
    from fieldvoice.asr.partial import PocketsphinxWords
    from fieldvoice.asr.side_by_side import Engine
    from fieldvoice.asr.vosk_engine import VoskRecogniser
    from fieldvoice.asr.wake_word import WakeWordDetector, WrittenCall
    from fieldvoice.cli.app import cache_folder, the_grammar
    from fieldvoice.cli.recognisers import first_ear

    grammar = the_grammar()
    first = first_ear(grammar)
    partial: PartialWords | None = None
    if isinstance(first, VoskRecogniser):
        partial = first.words_so_far()
    elif not isinstance(first, FreeRecogniser):
        partial = PocketsphinxWords(grammar, cache_folder())
    spotter: CallDetector | None = None
    if word is not None and isinstance(first, FreeRecogniser):
        spotter = WrittenCall(ATTENTION_WORDS[word], first.listener)
    elif word is not None:
        spotter = WakeWordDetector(ATTENTION_WORDS[word])
    give_memory_back()
    return Engine(first, partial, spotter)


def make_second() -> SecondListener | None:
    """Return the second listener for live sound, if there is one."""
    from fieldvoice.cli.app import the_grammar
    from fieldvoice.cli.recognisers import second_ear

    return second_ear(the_grammar())


def give_memory_back() -> None:
    """Give what only loading needed back to the system, where its C library (glibc) keeps it."""
    with suppress(AttributeError, OSError, TypeError):
        ctypes.CDLL(None).malloc_trim(0)


def voice(chosen: Choices) -> Voice | None:
    """Return the chosen voice, or the first that can speak here; None to be mute.

    Raises:
        VoiceError: there is none of that name, or none at all.
    """
    from fieldvoice.tts import default_voice, named_voice

    if chosen.mute:
        return None
    name = chosen.settings.voice
    return named_voice(name) if name else default_voice()


@dataclass(frozen=True, slots=True)
class Live:
    """A live conversation with its devices open, ready to begin."""

    loop: LiveLoop
    mouth: SpeechOutput
    screen: TerminalScreen | PlainScreen
    microphone: Microphone
    inbox: SimpleQueue[News]

    def until(self, over: Callable[[], bool]) -> None:
        """Talk until the user ends it, or it is ``over`` and all has been said."""
        from fieldvoice.cli.recognisers import choice

        self.screen.aside(choice().why)
        self.screen.aside(f"Microphone: {self.microphone.name}. Ctrl-C ends.")
        self.microphone.start()
        self.mouth.sound("listening")
        _until_quit(self.loop, self.inbox, over)
        self.microphone.close()
        self.loop.finish()


def run(
    lasting: Lasting, desk: AppContext, tape: Recorder, talk: BookDialogue, ear: RecogniserProcess
) -> None:
    """Open the devices and the screen, and talk until the user ends it."""
    from fieldvoice.live import take_pending

    with live(lasting, desk, tape, talk, ear, lambda: lasting.how) as ready:
        for reply in take_pending(tape, desk.book, talk, ear, lasting.chosen.way):
            ready.screen.aside("Recorded before the program ended:")
            ready.screen.reply(reply)
        tape.make_room(talk.needed_sounds())
        with ready.screen:
            if not lasting.chosen.settings.reads_back:
                ready.screen.aside('Quiet: notes are not said back. "Louder" ends it.')
            ready.until(lambda: False)


@contextmanager
def live(
    lasting: Lasting,
    desk: AppContext,
    tape: Recorder,
    talk: Talk,
    ear: RecogniserProcess,
    how: Callable[[], str],
) -> Iterator[Live]:
    """Open the devices for ``talk``; ``how`` tells on the screen what can be said."""
    from fieldvoice.asr import UtteranceStream
    from fieldvoice.asr.endpoint import best_detector
    from fieldvoice.asr.microphone import Microphone
    from fieldvoice.live import Address, EchoGate, LiveLoop, Tick
    from fieldvoice.soundcard import sound_system
    from fieldvoice.tts.player import DevicePlayer
    from fieldvoice.tts.speech_output import SpeechOutput

    chosen = lasting.chosen
    settings = chosen.settings
    system = sound_system(settings.microphone, settings.loudspeaker)
    inbox: SimpleQueue[News] = SimpleQueue()
    with ExitStack() as stack:
        player = DevicePlayer(system, settings.loudspeaker)
        stack.callback(player.close)
        microphone = Microphone(
            system,
            inbox.put,
            settings.microphone,
            before_rescan=player.close,
            after_rescan=player.reopen,
        )
        stack.callback(microphone.close)
        mouth = SpeechOutput(player, voice(chosen), settings.loudness, settings.pace)
        stack.callback(mouth.close)
        ear.ready()
        give_memory_back()
        screen = _screen(chosen, desk, inbox, how)
        loop = LiveLoop(
            talk=talk,
            hearing=ear,
            mouth=mouth,
            tape=tape,
            screen=screen,
            address=Address(chosen.way),
            stream=UtteranceStream(pause_s=settings.pause_s),
            gate=EchoGate(best_detector()),
            clock=desk.clock,
            wake=lambda: inbox.put(Tick()),
            settle=lasting.settle,
            reads_back=settings.reads_back,
        )
        yield Live(loop, mouth, screen, microphone, inbox)


def _screen(
    chosen: Choices, desk: AppContext, inbox: SimpleQueue[News], how: Callable[[], str]
) -> TerminalScreen | PlainScreen:
    from fieldvoice.cli.chat import status_line
    from fieldvoice.cli.screens import PlainScreen, TerminalScreen
    from fieldvoice.cli.terminal import plain

    if chosen.as_json or plain() or not (sys.stdin.isatty() and sys.stdout.isatty()):
        return PlainScreen(as_json=chosen.as_json, states=chosen.states)
    return TerminalScreen(
        lambda: status_line(desk.conversation.book, desk.clock()),
        how,
        inbox.put,
        hold=chosen.settings.listening == "hold",
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
