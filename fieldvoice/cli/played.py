"""A demo session that is typed: a script of what was said and when, played through the house."""

from __future__ import annotations

import tempfile
import time
from collections import Counter
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from collections.abc import Iterator

#: Local time of the invented sessions: five hours behind Greenwich.
LOCAL = timezone(timedelta(hours=-5))

#: What is asked when the script is over.
ASKED_AT_THE_END = (
    "how is the season going", "where did the sap go", "how much syrup do we have",
    "how fast does my pan boil", "how did the boil go", "which jars have sap from tank one",
)  # fmt: skip


class _Clock:
    """Stands at the time at which the line in hand was said."""

    def __init__(self) -> None:
        self.now = datetime.now(LOCAL)

    def __call__(self) -> datetime:
        return self.now


def read_script(path: Path) -> Iterator[tuple[datetime, str]]:
    """Yield the time and the words of each line said; remarks begin with #."""
    for line in path.read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            at, _, words = line.partition(" ")
            yield datetime.fromisoformat(at).replace(tzinfo=LOCAL), words


def play_script(path: Path) -> None:
    """Play a script in a throwaway book, tell how it went, and ask what came of it."""
    from fieldvoice.cli.app import conversation
    from fieldvoice.cli.progress import Progress
    from fieldvoice.cli.show import show_line
    from fieldvoice.telling import telling
    from fieldvoice.transcript import typed

    clock = _Clock()
    outcomes: Counter[str] = Counter()
    began = time.monotonic()
    with (
        tempfile.TemporaryDirectory() as scratch,
        conversation(Path(scratch) / "demo.db", clock) as desk,
        Progress("The season") as progress,
    ):
        for clock.now, words in telling(list(read_script(path)), progress):
            reply = desk.conversation.hear(typed(words))
            outcomes[reply.outcome] += 1
            if reply.outcome == "kept":
                progress.clear()
                show_line("kept", words)
        progress.clear()
        told = ", ".join(f"{count} {outcome}" for outcome, count in sorted(outcomes.items()))
        click.echo(f"{outcomes.total()} utterances: {told}. {time.monotonic() - began:.0f} s.\n")
        for question in ASKED_AT_THE_END:
            show_line("heard", question)
            show_line("reply", desk.conversation.hear(typed(question)).text)
