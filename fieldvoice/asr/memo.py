"""A recorded memo, utterance by utterance."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.asr.audio import Recording, read_audio
from fieldvoice.asr.endpoint import LONGEST_S, Span, split_utterances
from fieldvoice.asr.pauses import LEAD_S, OWED_S, PAUSE_S, TAIL_S
from fieldvoice.telling import part_of, untold
from fieldvoice.transcript import AudioSpan

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from fieldvoice.asr.recogniser import Recogniser
    from fieldvoice.telling import Tell
    from fieldvoice.transcript import Transcript

#: How much of the time has gone by when it is known where somebody speaks.
_SPLIT = 0.04


def hear_memo(
    memo: Path | Recording,
    recogniser: Recogniser,
    is_unfinished: Callable[[str], bool] = lambda text: False,
    tell: Tell = untold,
) -> Iterator[Transcript]:
    """Yield each utterance of a recording with its place in it; none where nobody speaks.

    An utterance in which no words were heard comes with an empty text: something was said. What
    comes soon after words that are ``is_unfinished`` belongs to them. ``tell`` hears meanwhile how
    far it is.

    Raises:
        UnreadableAudioError: the recording cannot be read.
    """
    recording = memo if isinstance(memo, Recording) else read_audio(memo)
    spans = split_utterances(recording.samples, tell=part_of(tell, 0.0, _SPLIT))
    heard_of_it = part_of(tell, _SPLIT, 1.0)
    while spans:
        span = spans.pop(0)
        heard = recogniser.recognise(span.of(recording.samples))
        while spans and _may_go_on(span, spans[0]) and is_unfinished(heard.text):
            span = Span(span.start_s, spans.pop(0).end_s)
            heard = recogniser.recognise(span.of(recording.samples))
        place = AudioSpan(recording.name, recording.sha256, span.start_s, span.end_s)
        words = tuple(
            replace(
                word,
                start_s=round(word.start_s + span.start_s, 2),
                end_s=round(word.end_s + span.start_s, 2),
            )
            for word in heard.words
        )
        yield replace(heard, audio=place, words=words)
        heard_of_it(span.end_s, recording.duration_s)


def _may_go_on(span: Span, after: Span) -> bool:
    """Whether one utterance comes so soon after another that it may be the rest of it."""
    pause_s = after.start_s - span.end_s + TAIL_S + LEAD_S
    return pause_s <= PAUSE_S + OWED_S and after.end_s - span.start_s <= LONGEST_S
