"""``fieldvoice demo``: plays a demo session, real recordings through the whole house, aloud."""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
import tomllib
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fieldvoice.cli.faults import say_aside
from fieldvoice.cli.options import examples
from fieldvoice.errors import FieldvoiceError, VoiceError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from fieldvoice.asr import Recogniser, Recording
    from fieldvoice.cli.aloud import Mouth
    from fieldvoice.dialogue import Conversation
    from fieldvoice.reply import Reply

_FIRST = "first_round"


@dataclass(slots=True)
class _Clock:
    """Stands at the time at which the memo in hand was recorded."""

    now: datetime

    def __call__(self) -> datetime:
        return self.now


def sessions_folder() -> Path:
    """Return the folder of the demo sessions: in an installed package, or beside it in a clone."""
    package = Path(__file__).parent.parent
    installed = package / "_demo_sessions"
    return installed if installed.is_dir() else package.parent / "demo_sessions"


#: What to try when it is over.
_NEXT = (
    'say "tree twelve, bucket half full, sap clear"',
    "say how many taps can a twenty inch maple take",
    "chat",
)


@click.command(
    "demo", epilog=examples("fieldvoice demo", "fieldvoice demo sugarhouse --silent --out answers")
)
@click.argument("session", default=_FIRST)
@click.option("--silent", is_flag=True, help="Play nothing on the loudspeaker.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Write the spoken answers into this folder too (WAV).",
)
def command(session: str, silent: bool, out: Path | None) -> None:
    """Hear recorded field notes, and answer them aloud.

    The book is a throwaway; your own is not touched. SESSION is first_round, sugarhouse, or season
    (typed, and summed up).
    """
    folder = sessions_folder() / session
    script = folder / "script.txt"
    if script.is_file():
        from fieldvoice.cli.played import play_script

        play_script(script)
        return
    try:
        plan = tomllib.loads((folder / "session.toml").read_text(encoding="utf-8"))
    except OSError:
        scripts = [*folder.parent.glob("*/session.toml"), *folder.parent.glob("*/script.txt")]
        names = ", ".join(sorted(path.parent.name for path in scripts))
        raise click.UsageError(f"There is no demo session {session!r}; there are {names}") from None
    began = time.monotonic()
    with _loudspeaker(silent) as speaker:
        replies = _play(folder, plan, speaker)
    click.echo()
    if out is not None:
        _write([reply for reply in replies if reply.outcome == "answered"], out)
    counts = ", ".join(
        f"{sum(reply.outcome == kind for reply in replies)} {kind}"
        for kind in ("saved", "answered", "done", "asked", "kept")
        if any(reply.outcome == kind for reply in replies)
    )
    click.echo(f"{len(replies)} utterances heard: {counts}. {time.monotonic() - began:.0f} s.")
    click.echo("\nThree things to try:")
    for words in _NEXT:
        click.echo(f"  {program_name()} {words}")


def program_name() -> str:
    """Return what to type for this program: its name, or its path where it is not found by that."""
    return "fieldvoice" if shutil.which("fieldvoice") else sys.argv[0]


@contextmanager
def _loudspeaker(silent: bool) -> Iterator[Mouth | None]:
    """Yield what plays and speaks; None, and a line about it, where there is no loudspeaker."""
    if silent:
        yield None
        return
    from fieldvoice.cli.aloud import live_settings, mouth
    from fieldvoice.soundcard import SoundDeviceError

    with ExitStack() as opened:
        try:
            speaker = opened.enter_context(mouth(live_settings(None)))
        except (SoundDeviceError, VoiceError):
            say_aside("No loudspeaker here: what is said stands below, in writing.")
            yield None
            return
        yield speaker


def _play(folder: Path, plan: dict[str, Any], speaker: Mouth | None) -> list[Reply]:
    from fieldvoice.asr import read_audio
    from fieldvoice.cli.app import conversation
    from fieldvoice.cli.recognisers import ears, sound_of_words

    click.echo(plan["title"])
    replies: list[Reply] = []
    clock = _Clock(plan["memo"][0]["at"])
    with (
        tempfile.TemporaryDirectory() as scratch,
        conversation(Path(scratch) / "demo.db", clock, phones=sound_of_words) as desk,
    ):
        recogniser = ears(desk.grammar)
        for number, memo in enumerate(plan["memo"], start=1):
            clock.now = memo["at"]
            click.echo(
                f"\n[{number}/{len(plan['memo'])}] {memo['file']} (voice: {memo['voice']}), "
                f"{clock.now:%H:%M}"
            )
            recording = read_audio(folder / memo["file"])
            heard = _heard(recording, desk.conversation, recogniser, speaker)
            replies += heard
            if speaker is not None:
                speaker.wait()
                for reply in heard:
                    if reply.outcome == "answered":
                        speaker.say(reply.spoken)
    return replies


def _heard(
    recording: Recording, talk: Conversation, recogniser: Recogniser, speaker: Mouth | None
) -> list[Reply]:
    """Play a recording, and show what is heard in it as it is heard; return the replies."""
    from fieldvoice.asr import SAMPLE_RATE
    from fieldvoice.cli.hearing import heard_in
    from fieldvoice.cli.show import show
    from fieldvoice.tts import Sound

    if speaker is not None:
        speaker.start(Sound(recording.samples, SAMPLE_RATE))
    replies = []
    for heard in heard_in(recording, recogniser):
        replies.append(talk.hear(heard, source="memo"))
        show(replies[-1], as_json=False)
    return replies


def _write(answers: list[Reply], out: Path) -> None:
    """Write each answer as a spoken WAV file; say so plainly where no voice can."""
    from fieldvoice.tts import default_voice, write_wav

    try:
        voice = default_voice()
        out.mkdir(parents=True, exist_ok=True)
        for number, reply in enumerate(answers, start=1):
            path = out / f"answer_{number}.wav"
            write_wav(path, voice.render(reply.spoken))
            click.echo(f"spoken  {path}: {reply.spoken}")
    except VoiceError as error:
        say_aside(f"The answers stay in writing: {error}")
    except OSError as error:
        raise FieldvoiceError(f"{out}: the spoken answers cannot be written: {error}") from error
