"""Hearing a recording at a terminal: what is heard in it, and how far it is in between."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from fieldvoice.asr import Recogniser, Recording
    from fieldvoice.transcript import Transcript


def heard_in(
    recording: Recording,
    recogniser: Recogniser,
    is_unfinished: Callable[[str], bool] = lambda text: False,
) -> Iterator[Transcript]:
    """Yield each utterance of a recording, as ``hear_memo`` does, and show how far it is."""
    from fieldvoice.asr import hear_memo
    from fieldvoice.cli.progress import Progress
    from fieldvoice.harmless import harmless

    with Progress(harmless(recording.name)) as progress:
        for heard in hear_memo(recording, recogniser, is_unfinished, progress):
            progress.clear()
            yield heard
        progress.clear()
