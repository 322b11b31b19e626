"""``fieldvoice check``: microphones and voices, and how well one is heard."""

from __future__ import annotations

import queue
import sqlite3
import time
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.options import book_option, examples, json_option
from fieldvoice.cli.terminal import indented

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from fieldvoice.asr import Samples
    from fieldvoice.asr.soundcheck import Checked
    from fieldvoice.soundcard import Device, SoundSystem
    from fieldvoice.transcript import Transcript

#: How long is recorded, in seconds.
RECORDS_S = 3.0


@click.command(
    "check",
    epilog=examples(
        "fieldvoice check",
        "fieldvoice check --microphone headset",
    ),
)
@click.option("--microphone", help="A part of the microphone's name; usual: as set.")
@click.option("--speaker", help="A part of the loudspeaker's name.")
@click.option("--seconds", type=click.FloatRange(1, 30), default=RECORDS_S, show_default=True)
@json_option
@book_option
def command(
    microphone: str | None, speaker: str | None, seconds: float, as_json: bool, book: Path | None
) -> int:
    """Try the microphone: are you heard, what to change.

    It also lists the microphones, loudspeakers and voices, and says what keeps the book.
    """
    from fieldvoice.asr.soundcheck import advice, sound_check
    from fieldvoice.cli.app import default_book, the_grammar
    from fieldvoice.cli.recognisers import choice, ears
    from fieldvoice.cli.settings_file import read_live_settings
    from fieldvoice.cli.show import show_json
    from fieldvoice.soundcard import all_devices, sound_system

    settings = read_live_settings((book or default_book()).with_suffix(".toml"))
    microphone = microphone or settings.microphone
    speaker = speaker or settings.loudspeaker
    system = sound_system(microphone, speaker)
    devices = all_devices()
    if not as_json:
        click.echo(database(book or default_book()))
        _list(devices)
        click.echo(indented(choice().why, 0))
    recogniser = ears(the_grammar())
    name, samples = record(system, microphone, speaker, seconds, tell=not as_json)
    checked = sound_check(samples)
    heard = [recogniser.recognise(span.of(samples)) for span in checked.spans]
    told = advice(checked)
    if as_json:
        show_json(_fields(name, devices, checked, heard, told))
    else:
        _show(checked, heard, told)
    return 0


def database(book: Path) -> str:
    """Return in one line what keeps the book, and whether that is safe under several programs."""
    from fieldvoice.book import Book
    from fieldvoice.errors import BookError

    version = f"SQLite {sqlite3.sqlite_version}"
    if not book.exists():
        return f"Book: none yet at {book}; {version}."
    try:
        with Book.open(book) as opened:
            mode = opened.rows("PRAGMA journal_mode")[0][0]
            damage = opened.damage
    except BookError as fault:
        return f"Book: {fault} ({version})"
    safe = "an earlier fieldvoice has it open" if mode == "wal" else "the file alone is the book"
    return f"Book: {damage or book}; {version}, journal mode {mode} ({safe})."


def record(
    system: SoundSystem, microphone: str | None, speaker: str | None, seconds: float, *, tell: bool
) -> tuple[str, Samples]:
    """Return the microphone's name and what comes from it after the short sound.

    Raises:
        SoundDeviceError: the microphone cannot be used, or nothing comes from it.
    """
    import numpy as np

    from fieldvoice.asr.microphone import Found, Lost, Microphone, Piece
    from fieldvoice.soundcard import SoundDeviceError

    news: queue.SimpleQueue[Piece | Found | Lost] = queue.SimpleQueue()
    source = Microphone(system, news.put, microphone)
    name = source.name
    _ask_to_speak(system, speaker, name, seconds, tell=tell)
    source.start()
    pieces: list[Samples] = []
    wanted = seconds * 16_000
    try:
        while sum(map(len, pieces)) < wanted:
            match news.get():
                case Piece(samples):
                    pieces.append(samples)
                case Lost(why):
                    raise SoundDeviceError(f"{name}: {why}.")
    finally:
        source.close()
    return name, np.concatenate(pieces)[: round(wanted)]


def _ask_to_speak(
    system: SoundSystem, speaker: str | None, name: str, seconds: float, *, tell: bool
) -> None:
    """Say what to do, and sound "go ahead" where there is a loudspeaker."""
    from fieldvoice.soundcard import SoundDeviceError
    from fieldvoice.tts.player import DevicePlayer
    from fieldvoice.tts.tones import tone

    if tell:
        click.echo(
            f"\nMicrophone: {name}. After the sound, say within {seconds:g} seconds: "
            "tree twelve, bucket half full."
        )
    try:
        player = DevicePlayer(system, speaker)
    except SoundDeviceError as fault:
        if tell:
            click.echo(f"{fault} Speak now.")
        return
    sound = tone("listening")
    player.play(sound, words=False)
    time.sleep(sound.duration_s + 0.2)
    player.close()


def _list(devices: list[Device]) -> None:
    usual = "  (the usual one)"
    inputs = [f"{one.name}{usual * one.usual_input}" for one in devices if one.inputs]
    outputs = [f"{one.name}{usual * one.usual_output}" for one in devices if one.outputs]
    spoken = [f"{name}{missing and f'  ({missing})'}" for name, missing in voices().items()]
    _list_of("Microphones", inputs)
    _list_of("Loudspeakers", outputs)
    _list_of("Voices", spoken)


def _list_of(what: str, names: Sequence[str]) -> None:
    click.echo(what)
    for name in names or ("none",):
        click.echo(indented(name))


def voices() -> dict[str, str]:
    """Return the voices by name, each with what it lacks; empty for nothing."""
    from fieldvoice.errors import VoiceError
    from fieldvoice.tts import VOICES, named_voice

    found = {}
    for name in VOICES:
        try:
            named_voice(name)
            found[name] = ""
        except VoiceError as fault:
            found[name] = str(fault)
    return found


def _show(checked: Checked, heard: Sequence[Transcript], told: Sequence[str]) -> None:
    from fieldvoice.cli.show import show_line

    speech = "nobody spoke" if checked.speech_db is None else f"{checked.speech_db:.0f} dB"
    click.echo()
    show_line("voice", f"{speech}, loudest moment {checked.peak_db:.0f} dB (0 is the most)")
    show_line("noise", f"{checked.background_db:.0f} dB in the background")
    show_line("clipped", "none" if not checked.clipped else f"{100 * checked.clipped:.2f} %")
    for one in heard:
        show_line("heard", one.text or "(no words)")
    for line in told:
        show_line("advice", line)


def _fields(
    name: str,
    devices: Sequence[Device],
    checked: Checked,
    heard: Sequence[Transcript],
    told: Sequence[str],
) -> dict[str, object]:
    return {
        "sqlite": sqlite3.sqlite_version,
        "microphone": name,
        "microphones": [one.name for one in devices if one.inputs],
        "speakers": [one.name for one in devices if one.outputs],
        "voices": [voice for voice, missing in voices().items() if not missing],
        "peak_db": round(checked.peak_db, 1),
        "speech_db": None if checked.speech_db is None else round(checked.speech_db, 1),
        "background_db": round(checked.background_db, 1),
        "clipped": round(checked.clipped, 5),
        "heard": [one.text for one in heard],
        "advice": list(told),
    }
