"""The words so far, while somebody is still speaking: quick, for the eye, never for the book."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol

from fieldvoice.asr.model_files import bundled_model, model_files
from fieldvoice.errors import RecogniserError

if TYPE_CHECKING:
    from pathlib import Path

    from fieldvoice.asr.audio import Samples
    from fieldvoice.grammar import Grammar

# One pass with narrow beams: a tenth of the work of hearing an utterance properly.
_SEARCH = {
    "fwdflat": False,
    "bestpath": False,
    "beam": 1e-40,
    "wbeam": 1e-25,
    "pbeam": 1e-40,
    "maxhmmpf": 3000,
    "lw": 8.0,
}


class PartialWords(Protocol):
    """Follows one utterance after another as they are said."""

    def begin(self) -> None:
        """Forget the utterance before."""
        ...

    def feed(self, samples: Samples) -> str:
        """Take the next samples (16 kHz mono) and return the words so far."""
        ...


class PocketsphinxWords:
    """The words so far from the bundled recogniser.

    Raises:
        RecogniserError: the engine or its model cannot be used.
    """

    def __init__(self, grammar: Grammar, cache: Path) -> None:
        try:
            from pocketsphinx import Config, Decoder

            files = model_files(grammar, cache)
            config = Config(
                hmm=str(bundled_model("en-us")),
                dict=str(files.dictionary),
                lm=str(files.language_model),
                loglevel="FATAL",
            )
            for name, value in _SEARCH.items():
                config[name] = value
            self._decoder: Any = Decoder(config)
        except (ImportError, RuntimeError, ValueError, OSError) as error:
            raise RecogniserError("the recogniser cannot show words as they are said") from error
        self._open = False

    def begin(self) -> None:
        """See ``PartialWords``."""
        if self._open:
            self._decoder.end_utt()
        self._decoder.start_utt()
        self._open = True

    def feed(self, samples: Samples) -> str:
        """See ``PartialWords``."""
        if not self._open:
            self.begin()
        self._decoder.process_raw(samples.tobytes())
        best = self._decoder.hyp()
        return str(best.hypstr) if best is not None and best.hypstr else ""
