"""The attention word: whether an utterance begins with the words that are meant for the assistant.

The bundled recogniser's keyphrase search compares the phrase with a free phone loop, so that it
needs no language model and says no to other speech. Which phrases it tells apart well, and how
often it is wrong, stands in ``benchmarks/README.md`` (``benchmarks/attention.py``).
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from fieldvoice.asr.audio import SAMPLE_RATE
from fieldvoice.asr.model_files import bundled_model
from fieldvoice.errors import RecogniserError
from fieldvoice.grammar.pronunciations import variant_of

if TYPE_CHECKING:
    from fieldvoice.asr.attention_words import AttentionWord
    from fieldvoice.asr.audio import Samples
    from fieldvoice.asr.free_listener import FreeListener


#: The phrase stands at the beginning: it starts within this time. "Okay, hello …" still does.
STARTS_WITHIN_S = 1.5
#: And no phrase is longer than this.
LONGEST_S = 1.8

_PHRASE = "phrase"
_FRAME_RATE = 100


class WakeWordDetector:
    """Tells whether an utterance begins with an attention word.

    Raises:
        RecogniserError: when the engine or its model cannot be used.
    """

    def __init__(self, word: AttentionWord) -> None:
        self.word = word
        try:
            from pocketsphinx import Config, Decoder
        except ImportError as error:
            raise RecogniserError("the recogniser (pocketsphinx) is not installed") from error
        with tempfile.TemporaryDirectory() as folder:
            dictionary, phrases = Path(folder) / "words.dict", Path(folder) / "phrases"
            dictionary.write_text(_dictionary(word), encoding="utf-8")
            phrases.write_text(f"{word.phrase} /1e{word.threshold}/\n", encoding="utf-8")
            config = Config(
                hmm=str(bundled_model("en-us")), dict=str(dictionary), lm=None, loglevel="FATAL"
            )
            self._decoder = Decoder(config)
            self._decoder.add_kws(_PHRASE, str(phrases))
        self._decoder.activate_search(_PHRASE)

    def spot(self, samples: Samples) -> float | None:
        """Return where the phrase ends, in seconds, if ``samples`` (16 kHz mono) begin with it."""
        head = samples[: round((STARTS_WITHIN_S + LONGEST_S) * SAMPLE_RATE)]
        if not len(head):
            return None
        self._decoder.start_utt()
        try:
            self._decoder.process_raw(head.tobytes(), full_utt=True)
        finally:
            self._decoder.end_utt()
        for found in self._decoder.seg() or ():
            if found.start_frame <= STARTS_WITHIN_S * _FRAME_RATE:
                return float((found.end_frame + 1) / _FRAME_RATE)
        return None


class CallDetector(Protocol):
    """Tells whether an utterance begins with a call."""

    def spot(self, samples: Samples) -> float | None:
        """Return where the call ends, in seconds, if ``samples`` (16 kHz mono) begin with one."""


class WrittenCall:
    """The attention word in what a listener writes that hears any words.

    For machines without the bundled recogniser.
    """

    def __init__(self, word: AttentionWord, listener: FreeListener) -> None:
        self._phrase = word.phrase.split()
        self._listener = listener

    def spot(self, samples: Samples) -> float | None:
        """See ``CallDetector``.

        Raises:
            RecogniserError: the listener cannot be used.
        """
        head = samples[: round((STARTS_WITHIN_S + LONGEST_S) * SAMPLE_RATE)]
        if not len(head):
            return None
        sound = self._listener.listen(head)
        for one in self._listener.write(sound):
            words = [word.strip(".,?!").lower() for word in one.text.split()]
            for at in range(len(words)):
                if words[at : at + len(self._phrase)] == self._phrase:
                    return self._ends(sound, one.text, at, len(head) / SAMPLE_RATE)
        return None

    def _ends(self, sound: Any, text: str, at: int, seconds: float) -> float | None:
        words = self._listener.words(sound, text, seconds)[: at + len(self._phrase)]
        begins = words[at].start_s if len(words) > at else STARTS_WITHIN_S
        return words[-1].end_s if begins < STARTS_WITHIN_S else None


def _dictionary(word: AttentionWord) -> str:
    lines = []
    for name, variants in word.phones.items():
        for count, phones in enumerate(variants, start=1):
            lines.append(f"{variant_of(name, count)} {phones}\n")
    return "".join(lines)
