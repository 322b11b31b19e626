"""What every recogniser does, and which one is used."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol, runtime_checkable

if TYPE_CHECKING:
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

    from fieldvoice.asr.front_end import Frames
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


@dataclass(frozen=True, slots=True)
class Unfitted:
    """What was heard, before it was asked how well that fits the sound.

    ``frames`` are what was searched, ``score`` is what the words came to, and ``allowance`` what is
    added to the fit in noise; without frames there is nothing to ask.
    """

    heard: Transcript
    frames: Frames | None = None
    score: float = 0.0
    allowance: float = 0.0


@runtime_checkable
class RecogniserInSteps(Recogniser, Protocol):
    """A recogniser whose words are there before their fit: others can go on with them meanwhile."""

    def search(self, samples: NDArray[np.int16]) -> Unfitted:
        """Return the words of ``recognise``, whose fit and confidence are not known yet."""

    def fitted(self, found: Unfitted) -> Transcript:
        """Return what ``recognise`` returns, of what ``search`` found."""


def searched(recogniser: Recogniser, samples: NDArray[np.int16]) -> Unfitted:
    """Return what ``recogniser`` hears in ``samples``, its fit still to come where it may be."""
    if isinstance(recogniser, RecogniserInSteps):
        return recogniser.search(samples)
    return Unfitted(recogniser.recognise(samples))


def fitted(recogniser: Recogniser, found: Unfitted) -> Transcript:
    """Return what ``recogniser`` has found with its fit and confidence."""
    if isinstance(recogniser, RecogniserInSteps):
        return recogniser.fitted(found)
    return found.heard


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
