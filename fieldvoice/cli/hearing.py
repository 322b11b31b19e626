"""Hearing a recording at a terminal: what is heard in it, and how far it is in between."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from fieldvoice.asr import Recogniser, Recording
    from fieldvoice.transcript import Transcript


#: A voice whose loudest moment is below this (-40 dB of full scale) is hardly told from silence.
_FAINT = 327


def nobody_in(recording: Recording) -> str:
    """Return what is told of a recording in which nothing was heard."""
    loudest = int(abs(recording.samples.astype("int32")).max(initial=0))
    is_faint = 0 < loudest < _FAINT
    why = "nobody is heard in it, it is very faint: go nearer to the microphone"
    return f"{recording.name}: {why if is_faint else 'nobody speaks in it'}."


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
