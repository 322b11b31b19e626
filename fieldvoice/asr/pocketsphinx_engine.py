"""The bundled recogniser: pocketsphinx with the grammar's own dictionary and n-grams.

Each utterance is searched twice: for words of the grammar, and for any phones at all. The words
alone cannot tell small talk from notes, for the search always finds some; that they explain the
sound nearly as well as free phones do, can.
"""

from __future__ import annotations

import math
import tempfile
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.asr.cleaner import Cleaner, is_noisy
from fieldvoice.asr.confidence import FIRST, with_confidence
from fieldvoice.asr.endpoint import QUIETEST
from fieldvoice.asr.floor import with_floor
from fieldvoice.asr.front_end import cepstra, power_spectra
from fieldvoice.asr.lattice import LOG_BASE, Hearing, best_paths, read_lattice
from fieldvoice.asr.model_files import ORDER, bundled_model, model_files
from fieldvoice.asr.names import plain, pronunciations_of, tokens_of, write_filled
from fieldvoice.asr.recogniser import Unfitted
from fieldvoice.errors import RecogniserError
from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.grammar.pronunciations import TRADE_WORDS, variant_of
from fieldvoice.transcript import NBestEntry, Transcript, Word

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from fieldvoice.asr.front_end import Frames
    from fieldvoice.asr.model_files import ModelFiles
    from fieldvoice.grammar import Grammar

NAME = "pocketsphinx"

#: Frames a second in the recogniser's times.
FRAME_RATE = 100
#: Different hearings given back.
ALTERNATIVES = 20

#: How much the language model counts among the paths of the lattice: a little more than in the
#: search. 13 is better for sentences by which the grammar's weights were set (a point in quiet, two
#: beside an engine), and worse for others (two points and a half).
LANGUAGE_WEIGHT = 9.5

#: In noise free phones explain the sound better than any words do: the fit of what was said falls
#: by this much (of sentences heard right 97 % are above -0.2e-3 in wind at 10 dB, above -0.6e-3
#: beside an engine).
FIT_IN_NOISE = 0.0004

_WORDS, _PHONES = "words", "phones"
_NOTHING = Transcript(text="", confidence=0.0, recogniser=NAME)

# Settings that differ from the engine's defaults, which were made for a vocabulary a hundred times
# larger. The defaults' narrower beams (1e-48) take half the time, but the fit goes by them too: the
# engine measures each frame by the best state still followed, so that with fewer of them a fit is
# 0.0004 higher, and all that goes by it would have to be set anew. (Beams wider still, 1e-80,
# overflow the engine's scores: slow, and worse.)
_SEARCH = {
    "beam": 1e-60,
    "pbeam": 1e-60,
    "wbeam": 1e-40,
    "lpbeam": 1e-50,
    "lponlybeam": 1e-40,
    "fwdflatbeam": 1e-80,
    # What leaves a word in the second pass: the fit does not go by it (by 7e-6), the time does.
    "fwdflatwbeam": 1e-32,
    # The second pass looks again at more of the words that the first one found.
    "fwdflatefwid": 2,
    "fwdflatsfwin": 50,
    "lw": 8.0,
}


class PocketsphinxRecogniser:
    """Hears the words of one grammar. Holds nothing from one utterance to the next.

    Raises:
        MissingPronunciationError: for words of the grammar that cannot be heard, by name.
        RecogniserError: when the engine or its model cannot be used.
    """

    name = NAME

    def __init__(self, grammar: Grammar, cache: Path) -> None:
        self._files = model_files(grammar, cache)
        self._trade_words = grammar.folder / TRADE_WORDS
        self._names = EntityNames()
        self._spoken: set[str] = set()
        try:
            self._decoder = _open(self._files)
        except (RuntimeError, ValueError, OSError):
            # a damaged cache is made anew, once
            self._files.discard()
            try:
                self._decoder = _open(model_files(grammar, cache))
            except (RuntimeError, ValueError, OSError) as error:
                raise RecogniserError("the recogniser cannot open its model") from error

    def learn(self, names: EntityNames) -> None:
        """Hear ``names`` and no others from now on; it takes about a second.

        Raises:
            RecogniserError: when the engine does not take them.
        """
        if names == self._names:
            return
        sounds = pronunciations_of(
            names.trees | names.vessels, bundled_model("cmudict-en-us.dict"), self._trade_words
        )
        for word in sorted(sounds.keys() - self._spoken):
            for number, phones in enumerate(sounds[word], start=1):
                self._decoder.add_word(variant_of(word, number), " ".join(phones), False)
        self._spoken |= sounds.keys()
        with tempfile.TemporaryDirectory() as folder:
            arpa = Path(folder) / "names.arpa"
            write_filled(self._files.with_slots, arpa, tokens_of(names))
            try:
                self._decoder.add_lm_file(_WORDS, str(arpa))
            except (RuntimeError, ValueError) as error:
                raise RecogniserError("the recogniser cannot take the names") from error
        self._names = names

    def recognise(self, samples: NDArray[np.int16]) -> Transcript:
        """Return what was heard in ``samples`` (16 kHz mono, one utterance).

        Where there is noise it is taken out first.
        """
        return self.fitted(self.search(samples))

    def search(self, samples: NDArray[np.int16]) -> Unfitted:
        """See ``RecogniserInSteps``."""
        if not _is_sound(samples):
            return Unfitted(_NOTHING)
        if is_noisy(samples):
            cleaned = self._cleaner.cleaned_alone(samples)
            return self._found(with_floor(cleaned), FIT_IN_NOISE)
        return self._found(with_floor(samples), 0.0)

    def fitted(self, found: Unfitted) -> Transcript:
        """See ``RecogniserInSteps``."""
        heard = found.heard
        if found.frames is not None:
            free = self._search(_PHONES, found.frames)
            if free is not None:
                fit = _fit(found.score, free.best_score, len(found.frames))
                heard = replace(heard, fit=None if fit is None else fit + found.allowance)
        return with_confidence(heard, FIRST)

    @cached_property
    def _cleaner(self) -> Cleaner:
        return Cleaner()

    def _found(self, samples: NDArray[np.int16], allowance: float) -> Unfitted:
        frames = cepstra(power_spectra(samples))
        best = self._search(_WORDS, frames)
        if best is None or not best.hypstr:
            return Unfitted(_NOTHING)
        score, hearings = best.best_score, self._hearings()
        if not hearings or not hearings[0].words:
            return Unfitted(_NOTHING)
        heard = Transcript(
            text=plain(hearings[0].text),
            words=_words(hearings[0]),
            alternatives=tuple(
                NBestEntry(plain(one.text), one.score - hearings[0].score) for one in hearings
            ),
            recogniser=self.name,
        )
        return Unfitted(heard, frames, score, allowance)

    def _hearings(self) -> list[Hearing]:
        """Return the hearings that the search for words has left open, the best first.

        The engine gives its lattice as a file alone.
        """
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "lattice.txt"
            self._decoder.get_lattice().write(str(file))
            lattice = read_lattice(file.read_text(encoding="utf-8"))
        model = self._decoder.get_lm(_WORDS)

        def language(words: tuple[str, ...]) -> float:
            return float(LANGUAGE_WEIGHT * LOG_BASE * model.prob(list(words)))

        return best_paths(lattice, language, ORDER - 1, ALTERNATIVES)

    def _search(self, name: str, frames: Frames) -> Any:
        decoder = self._decoder
        decoder.activate_search(name)
        decoder.start_utt()
        try:
            decoder.process_cep(frames.astype("=f4").tobytes(), full_utt=True)
        finally:
            decoder.end_utt()
        return decoder.hyp()


def _open(files: ModelFiles) -> Any:
    try:
        from pocketsphinx import Config, Decoder
    except ImportError as error:
        raise RecogniserError("the recogniser (pocketsphinx) is not installed") from error
    config = Config(
        hmm=str(bundled_model("en-us")), dict=str(files.dictionary), lm=None, loglevel="FATAL"
    )
    for name, value in _SEARCH.items():
        config[name] = value
    decoder = Decoder(config)
    decoder.add_lm_file(_WORDS, str(files.language_model))
    decoder.add_allphone_file(_PHONES, str(bundled_model("en-us-phone.lm.bin")))
    return decoder


def _is_sound(samples: NDArray[np.int16]) -> bool:
    """Return whether there is anything to search: in silence the engine finds words too."""
    return len(samples) > 0 and int(samples.max()) - int(samples.min()) > QUIETEST * 32768


def _words(hearing: Hearing) -> tuple[Word, ...]:
    """Return the words of a hearing; what each is worth is not known yet."""
    return tuple(
        Word(plain(word), start / FRAME_RATE, end / FRAME_RATE, confidence=0.0)
        for word, (start, end) in zip(hearing.words, hearing.spans, strict=True)
    )


def _fit(score: float, free_score: float, frames: int) -> float | None:
    """Return how well words explain the sound, against free phones: log likelihood a frame."""
    if score <= 0 or free_score <= 0 or frames == 0:
        return None
    return (math.log(score) - math.log(free_score)) / frames
