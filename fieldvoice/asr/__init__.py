"""From recordings to words: reading audio, finding utterances, recognising them.

What stands here is imported when it is first asked for: who wants a bound or a setting alone needs
none of the libraries for sound.
"""

from typing import TYPE_CHECKING

from fieldvoice.lazily import lazily

if TYPE_CHECKING:
    from fieldvoice.asr.audio import SAMPLE_RATE, Recording, Samples, read_audio
    from fieldvoice.asr.endpoint import Endpointer, Span, split_utterances
    from fieldvoice.asr.memo import hear_memo
    from fieldvoice.asr.recogniser import Recogniser, choose_recogniser
    from fieldvoice.asr.stream import UtteranceStream, utterances

__all__ = [
    "SAMPLE_RATE",
    "Endpointer",
    "Recogniser",
    "Recording",
    "Samples",
    "Span",
    "UtteranceStream",
    "choose_recogniser",
    "hear_memo",
    "read_audio",
    "split_utterances",
    "utterances",
]

__getattr__ = lazily(
    __name__,
    {
        "audio": "SAMPLE_RATE Recording Samples read_audio",
        "endpoint": "Endpointer Span split_utterances",
        "memo": "hear_memo",
        "recogniser": "Recogniser choose_recogniser",
        "stream": "UtteranceStream utterances",
    },
)
