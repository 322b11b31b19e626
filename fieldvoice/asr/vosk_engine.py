"""A second recogniser: Vosk, with a model that the user has put in a folder.

Vosk takes no grammar but a list of phrases, from which it makes a bigram model. It is given
sentences of the grammar, and each word by itself. Words that the model does not know are left out
by Vosk with a line in its log; here they are named in ``missing``.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from fieldvoice.asr.audio import SAMPLE_RATE
from fieldvoice.errors import RecogniserError
from fieldvoice.transcript import NBestEntry, Transcript, Word

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from pathlib import Path

    from fieldvoice.asr.audio import Samples
    from fieldvoice.grammar.entity_names import EntityNames

NAME = "vosk"

#: Different hearings asked for.
ALTERNATIVES = 10
# What models that have it answer for a word outside the phrases, and how it stands in the text: an
# unknown word, which the understanding does not pass over for nothing.
_UNKNOWN, _UNKNOWN_TEXT = "[unk]", "unk"
# The part of a model's graph without which Vosk drops the phrases and hears anything.
_OPEN_GRAPH = "graph/Gr.fst"


class VoskRecogniser:
    """Hears the words of a grammar with the Vosk model in ``folder``.

    ``missing`` names the words that the model does not know and this recogniser never hears.

    Raises:
        RecogniserError: when Vosk is not installed, the folder holds no model that can be held to
            a list of words, or the model knows none of ``words``.
    """

    name = NAME

    def __init__(
        self, folder: Path, words: Iterable[str], sentences: Iterable[Sequence[str]] = ()
    ) -> None:
        self._vosk = _installed()
        self._model = _open(self._vosk, folder)
        wanted = frozenset(words)
        known = frozenset(word for word in wanted if self._knows(word))
        if not known:
            raise RecogniserError(f"the model in {folder.name} knows none of the grammar's words")
        self.missing: tuple[str, ...] = tuple(sorted(wanted - known))
        whole = {" ".join(sentence) for sentence in sentences if known.issuperset(sentence)}
        self._nameless = [*sorted(known | whole), *([_UNKNOWN] if self._knows(_UNKNOWN) else [])]
        self._phrases = json.dumps(self._nameless, ensure_ascii=False)

    def learn(self, names: EntityNames) -> None:
        """Hear ``names`` from now on, those of which the model knows every word."""
        split = [name.split() for name in sorted(names.trees | names.vessels)]
        known = [" ".join(words) for words in split if all(map(self._knows, words))]
        self._phrases = json.dumps([*self._nameless, *known], ensure_ascii=False)

    def recognise(self, samples: Samples) -> Transcript:
        """Return what was heard in ``samples`` (16 kHz mono, one utterance)."""
        # Vosk gives each word's confidence or other hearings, never both: hence two searches.
        sound = samples.tobytes()
        words = _words(self._search(sound).get("result", ()))
        text = " ".join(word.text for word in words)
        if not text:
            return Transcript(text="", confidence=0.0, recogniser=self.name)
        others = self._search(sound, ALTERNATIVES).get("alternatives", ())
        return Transcript(
            text=text,
            words=words,
            confidence=sum(word.confidence for word in words) / len(words),
            alternatives=_alternatives(text, others),
            recogniser=self.name,
        )

    def words_so_far(self) -> VoskWords:
        """Return what follows an utterance while it is being said, with the same model."""
        return VoskWords(
            lambda: self._vosk.KaldiRecognizer(self._model, SAMPLE_RATE, self._phrases)
        )

    def _knows(self, word: str) -> bool:
        return bool(self._model.vosk_model_find_word(word) >= 0)

    def _search(self, sound: bytes, alternatives: int = 0) -> dict[str, Any]:
        search = self._vosk.KaldiRecognizer(self._model, SAMPLE_RATE, self._phrases)
        search.SetWords(True)
        search.SetMaxAlternatives(alternatives)
        search.AcceptWaveform(sound)
        found: dict[str, Any] = json.loads(search.FinalResult())
        return found


class VoskWords:
    """The words so far from Vosk; see ``PartialWords``. ``search`` makes a new search."""

    def __init__(self, search: Callable[[], Any]) -> None:
        self._new = search
        self._search = search()
        self._ended: list[str] = []

    def begin(self) -> None:
        """See ``PartialWords``."""
        self._search, self._ended = self._new(), []

    def feed(self, samples: Samples) -> str:
        """See ``PartialWords``. Where Vosk thinks that the speaker paused, it begins again."""
        if self._search.AcceptWaveform(samples.tobytes()):
            self._ended.append(json.loads(self._search.Result()).get("text", ""))
            going = ""
        else:
            going = json.loads(self._search.PartialResult()).get("partial", "")
        return _said(" ".join(text for text in (*self._ended, going) if text))


def share_known(folder: Path, words: Iterable[str]) -> float | None:
    """Return the share of ``words`` that the model in ``folder`` knows; None without Vosk.

    Raises:
        RecogniserError: the folder holds no model that can be held to a list of words.
    """
    try:
        vosk = _installed()
    except RecogniserError:
        return None
    model = _open(vosk, folder)
    wanted = frozenset(words)
    known = sum(bool(model.vosk_model_find_word(word) >= 0) for word in wanted)
    return known / len(wanted)


def _installed() -> Any:
    try:
        import vosk
    except ImportError as error:
        raise RecogniserError("the recogniser Vosk is not installed") from error
    vosk.SetLogLevel(-1)
    return vosk


def _open(vosk: Any, folder: Path) -> Any:
    if not (folder / "am").is_dir():
        raise RecogniserError(f"there is no Vosk model in {folder}")
    if not (folder / _OPEN_GRAPH).exists():
        raise RecogniserError(f"the Vosk model in {folder} cannot be held to a list of words")
    try:
        return vosk.Model(str(folder))
    except Exception as error:  # Vosk raises nothing more exact
        raise RecogniserError(f"the Vosk model in {folder} cannot be opened") from error


def _words(found: Iterable[dict[str, Any]]) -> tuple[Word, ...]:
    return tuple(
        Word(_said(word["word"]), word["start"], word["end"], min(1.0, word["conf"]))
        for word in found
    )


def _said(text: str) -> str:
    return text.replace(_UNKNOWN, _UNKNOWN_TEXT)


def _alternatives(best: str, found: Sequence[dict[str, Any]]) -> tuple[NBestEntry, ...]:
    """Return the different hearings, ``best`` first; Vosk's figures are log likelihoods."""
    scores: dict[str, float] = {}
    for one in found:
        text = _said(one["text"]).strip()
        if text:
            scores.setdefault(text, float(one["confidence"]))
    top = scores.pop(best, max(scores.values(), default=0.0))
    others = sorted(scores.items(), key=lambda item: -item[1])
    return (
        NBestEntry(best, 0.0),
        *(NBestEntry(text, min(0.0, score - top)) for text, score in others),
    )
