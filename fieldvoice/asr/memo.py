"""A recorded memo, utterance by utterance."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.asr.audio import Recording, read_audio
from fieldvoice.asr.endpoint import split_utterances
from fieldvoice.transcript import AudioSpan

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from fieldvoice.asr.recogniser import Recogniser
    from fieldvoice.transcript import Transcript


def hear_memo(memo: Path | Recording, recogniser: Recogniser) -> Iterator[Transcript]:
    """Yield each utterance of a recording with its place in it; none where nobody speaks.

    An utterance in which no words were heard comes with an empty text: something was said.

    Raises:
        UnreadableAudioError: the recording cannot be read.
    """
    recording = memo if isinstance(memo, Recording) else read_audio(memo)
    for span in split_utterances(recording.samples):
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
