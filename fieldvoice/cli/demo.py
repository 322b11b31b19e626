"""``fieldvoice demo``: plays a demo session, real recordings through the whole house."""

from __future__ import annotations

import tempfile
import time
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fieldvoice.cli.faults import say_aside
from fieldvoice.errors import FieldvoiceError, VoiceError

if TYPE_CHECKING:
    from datetime import datetime

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


@click.command("demo")
@click.argument("session", default=_FIRST)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("demo_out"),
    show_default=True,
    help="Folder for the spoken answers.",
)
def command(session: str, out: Path) -> None:
    """Hear a demo SESSION of recorded field notes, and answer its questions aloud.

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
        names = ", ".join(sorted(path.parent.name for path in folder.parent.glob("*/session.toml")))
        raise click.UsageError(f"There is no demo session {session!r}; there are {names}") from None
    began = time.monotonic()
    replies = _play(folder, plan)
    answers = [reply for reply in replies if reply.outcome == "answered"]
    click.echo()
    _speak(answers, out)
    counts = ", ".join(
        f"{sum(reply.outcome == kind for reply in replies)} {kind}"
        for kind in ("saved", "answered", "done", "asked", "kept")
        if any(reply.outcome == kind for reply in replies)
    )
    click.echo(f"{len(replies)} utterances heard: {counts}. {time.monotonic() - began:.0f} s.")


def _play(folder: Path, plan: dict[str, Any]) -> list[Reply]:
    from fieldvoice.asr import hear_memo
    from fieldvoice.cli.app import conversation
    from fieldvoice.cli.recognisers import ears, sound_of_words
    from fieldvoice.cli.show import show

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
            for heard in hear_memo(folder / memo["file"], recogniser):
                reply = desk.conversation.hear(heard, source="memo")
                show(reply, as_json=False)
                replies.append(reply)
    return replies


def _speak(answers: list[Reply], out: Path) -> None:
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
