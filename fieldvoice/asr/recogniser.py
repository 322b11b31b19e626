"""What every recogniser does, and which one is used."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

    from fieldvoice.grammar import Grammar
    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.transcript import Transcript

#: Sentences of the grammar that Vosk learns its bigrams from.
VOSK_SENTENCES = 5_000


class Recogniser(Protocol):
    """Turns the sound of one utterance into words."""

    @property
    def name(self) -> str:
        """What the book calls this recogniser."""

    def recognise(self, samples: NDArray[np.int16]) -> Transcript:
        """Return what was heard in ``samples`` (16 kHz mono, one utterance).

        The text is empty when there were no words in it.
        """

    def learn(self, names: EntityNames) -> None:
        """Hear the given names of trees and vessels, these and no others, from now on."""


def choose_recogniser(grammar: Grammar, cache: Path, vosk_model: Path | None = None) -> Recogniser:
    """Return the first listener for ``grammar``: Vosk where its model is given, or the bundled one.

    ``cache`` is the folder where what is made from the grammar is kept.

    Raises:
        MissingPronunciationError: for words of the grammar that cannot be heard, by name.
        RecogniserError: when the engine or its model cannot be used.
    """
    if vosk_model is not None:
        from fieldvoice.asr.model_files import sentences
        from fieldvoice.asr.vosk_engine import VoskRecogniser

        learnt = sentences(grammar, VOSK_SENTENCES, seed=0)
        return VoskRecogniser(vosk_model, grammar.words.union(*learnt), learnt)
    from fieldvoice.asr.pocketsphinx_engine import PocketsphinxRecogniser

    return PocketsphinxRecogniser(grammar, cache)
