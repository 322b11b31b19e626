"""A Whisper model as faster-whisper reads it: what it writes, and what it thinks of given words.

It knows no grammar. A prompt of sentences drawn from the grammar makes it expect their words, and
write numbers as they are said.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from fieldvoice.asr.audio import SAMPLE_RATE
from fieldvoice.asr.free_listener import LONGEST_S, Written
from fieldvoice.asr.prompt import sentences_to_expect
from fieldvoice.errors import RecogniserError
from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.transcript import Word

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from fieldvoice.asr.audio import Samples
    from fieldvoice.grammar import Grammar
    from fieldvoice.grammar.ahead import Beginning

#: What a short utterance is filled up to with silence, and how long it may be for that. The model
#: was made with 30 s each time; half of it takes a fifth of the work and, with 24 sentences in a
#: quiet room, heard no worse (79 % word for word against 75 %).
SHORT_S, SHORT_UNTIL_S = 15.0, 10.0
#: The prompt's length in tokens. With 30 sentences, clean and in wind at 10 dB: none 50 and 40 %
#: word for word; a list of words 70 and 50 %; sentences, 80 or 150 tokens of them, 80 and 70 %.
PROMPT_TOKENS = 100

_BEAM = 5
_FRAMES_PER_S = 100
# A hearing may be this many tokens long; an utterance of ten seconds is about forty.
_MOST_TOKENS = 120
# An utterance may be closed by one of these before it ends.
_STOPS = (".", "?", "!", ",")
# How the vocabulary writes the space before a word.
_SPACE = "Ġ"
# With more than this for "nobody speaks", and tokens less likely than this on average, what was
# written is made up (the thresholds of the model's own reference program).
_NOBODY, _UNLIKELY = 0.6, -1.0


class Whisper:
    """The model in ``folder``, expecting the sentences of ``grammar``.

    It is opened when something is first heard with it. See ``FreeListener``.
    """

    name = "whisper"
    #: On 120 clips at 10 dB 10 to 16 are alike, more is a little worse.
    weight = 15.0

    def __init__(self, folder: Path, grammar: Grammar) -> None:
        self._folder = folder
        self._grammar = grammar
        self._names = EntityNames()

    def learn(self, names: EntityNames) -> None:
        """Expect the given names too, these and no others, from now on."""
        if names != self._names:
            self._names = names
            self.__dict__.pop("_start", None)

    def listen(self, samples: Samples) -> Any:
        """Return ``samples`` (16 kHz mono, at most ``LONGEST_S``) as the model takes them in.

        Raises:
            RecogniserError: faster-whisper is not installed, or the model cannot be used.
        """
        whole_s = SHORT_S if len(samples) <= SHORT_UNTIL_S * SAMPLE_RATE else LONGEST_S
        sound = np.zeros(round(whole_s * SAMPLE_RATE), dtype=np.float32)
        said = samples[: len(sound)]
        sound[: len(said)] = said / 32768
        features = self._model.feature_extractor(sound)[:, : round(whole_s * _FRAMES_PER_S)]
        return self._model.encode(np.ascontiguousarray(features))

    def write(self, sound: Any, most: int = 1) -> list[Written]:
        """Return up to ``most`` different texts for a sound, the likeliest first; none if none."""
        found = self._model.model.generate(
            sound,
            [self._start],
            beam_size=max(_BEAM, most),
            num_hypotheses=most,
            max_length=2 * (len(self._start) + _MOST_TOKENS),
            return_scores=True,
            return_no_speech_prob=True,
            suppress_tokens=[-1],
        )[0]
        written: dict[str, Written] = {}
        for tokens, score in zip(found.sequences_ids, found.scores, strict=True):
            text = self._tokenizer.decode(tokens).strip()
            one = Written(text, tuple(tokens), score * (len(tokens) + 1))
            made_up = found.no_speech_prob > _NOBODY and one.per_token < _UNLIKELY
            if text and not made_up:
                written.setdefault(text, one)
        return list(written.values())

    def write_held(self, sound: Any, beginning: Beginning, most: int) -> list[str]:
        """Return no sentences: its engine cannot be held to any while it writes."""
        return []

    def log_likelihoods(self, sound: Any, texts: Sequence[str]) -> list[float]:
        """Return the natural-log likelihood of each of ``texts`` and no more being said."""
        if not texts:
            return []
        told = [self._tokens(text) for text in texts]
        longest = max(map(len, told))
        found = self._model.model.generate(
            _repeated(sound, len(told)),
            [self._start + tokens for tokens in told],
            beam_size=1,
            # a prompt that is longer than half of this would be refused
            max_length=2 * (len(self._start) + longest + 1),
            return_logits_vocab=True,
            suppress_blank=False,
            suppress_tokens=[],
        )
        return [
            self._log_likelihood(tokens, one.logits[0][: len(tokens) + 1])
            for tokens, one in zip(told, found, strict=True)
        ]

    def words(self, sound: Any, text: str, seconds: float) -> tuple[Word, ...]:
        """Return the words of ``text`` with their places in a sound of ``seconds``."""
        frames = round(seconds * _FRAMES_PER_S)
        tokens = [self._tokens(text)]
        found = self._model.find_alignment(self._tokenizer, tokens, sound, frames)[0]
        words: list[Word] = []
        for one in found:
            text = one["word"].strip()
            start_s, end_s = (round(min(float(one[at]), seconds), 2) for at in ("start", "end"))
            if text and not text.strip("".join(_STOPS)) and words:
                words[-1] = replace(words[-1], text=words[-1].text + text)
            elif text:
                words.append(Word(text, start_s, end_s, min(1.0, float(one["probability"]))))
        return tuple(words)

    @cached_property
    def _model(self) -> Any:
        try:
            from faster_whisper import WhisperModel
        except ImportError as error:
            raise RecogniserError(
                'the second listener is not installed; pip install "fieldvoice[second]"'
            ) from error
        try:
            return WhisperModel(
                str(self._folder), device="cpu", compute_type="int8", local_files_only=True
            )
        except (RuntimeError, ValueError, OSError) as error:
            name = self._folder.name
            raise RecogniserError(f"the Whisper model in {name} cannot be opened") from error

    @cached_property
    def _tokenizer(self) -> Any:
        from faster_whisper.tokenizer import Tokenizer

        model = self._model
        return Tokenizer(model.hf_tokenizer, model.model.is_multilingual, "transcribe", "en")

    @cached_property
    def _start(self) -> list[int]:
        """The tokens before those of the text: the prompt, and that it is English text."""
        names = sorted(self._names.trees | self._names.vessels)
        expected = [*names, *self._sentences]
        prompt = [token for text in expected for token in self._tokens(f"{text}.")]
        begin = [*self._tokenizer.sot_sequence, self._tokenizer.no_timestamps]
        return [self._tokenizer.sot_prev, *prompt[-2 * PROMPT_TOKENS :], *begin]

    @cached_property
    def _sentences(self) -> list[str]:
        return sentences_to_expect(
            self._grammar, PROMPT_TOKENS, lambda text: len(self._tokens(text)) + 1
        )

    @cached_property
    def _ends(self) -> list[int]:
        stops = (self._model.hf_tokenizer.token_to_id(stop) for stop in _STOPS)
        return [self._tokenizer.eot, *(stop for stop in stops if stop is not None)]

    def _tokens(self, text: str) -> list[int]:
        """Return the tokens of a text, each word in one where the vocabulary has it whole.

        Some models come with a tokenizer that lacks its first rule of joining and splits " tree"
        into " ", "t" and "ree", as no text that the model ever saw was split.
        """
        found: list[int] = []
        for word in text.split():
            plain = word.rstrip(".")
            whole = self._model.hf_tokenizer.token_to_id(_SPACE + plain)
            found += [whole] if whole is not None else self._tokenizer.encode(f" {plain}")
            if plain != word:
                found += self._tokenizer.encode(".")
        return found

    def _log_likelihood(self, tokens: list[int], logits: Sequence[Any]) -> float:
        """Return the log likelihood of ``tokens`` and an end, from the scores of every token."""
        scores = np.stack([np.asarray(step).reshape(-1) for step in logits]).astype(np.float64)
        if len(scores) <= len(tokens):
            return -np.inf
        logs = scores - np.logaddexp.reduce(scores, axis=1, keepdims=True)
        said = logs[np.arange(len(tokens)), tokens].sum()
        return float(said + np.logaddexp.reduce(logs[len(tokens), self._ends]))


def _repeated(sound: Any, times: int) -> Any:
    from ctranslate2 import StorageView

    once: NDArray[np.float32] = np.asarray(sound)
    return StorageView.from_array(np.repeat(once, times, axis=0))
