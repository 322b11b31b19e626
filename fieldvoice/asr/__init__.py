"""From recordings to words: reading audio, finding utterances, recognising them."""

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
