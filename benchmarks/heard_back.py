"""Whether replies are understood: spoken by a voice, and heard back word for word.

    python -m benchmarks.heard_back [--replies 20] [--voice hibari]

The replies are taken from one end to the other of those that the tests keep
(``tests/dialogue/golden_replies.jsonl``), of 5 to 25 words, none of which reads somebody's own
words back. The listener that comes along writes down what it hears, and so does Whisper where
``FIELDVOICE_SECOND_MODEL`` names one; both hear any words, for most of a reply is no sentence of
the grammar. What sounds the same counts as the same ("seen" and "scene"). Every reply that one of
them misses is printed with what was heard.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import tempfile
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.asr import read_audio
from fieldvoice.asr.free_recogniser import said_once
from fieldvoice.asr.letter_to_sound import phones_of
from fieldvoice.asr.model_files import bundled_model
from fieldvoice.cli.app import the_grammar
from fieldvoice.cli.environment import SECOND_MODEL
from fieldvoice.cli.recognisers import LISTENER, free_listener
from fieldvoice.grammar.pronunciations import TRADE_WORDS, read_pronunciations
from fieldvoice.nlg.verbalise import speakable
from fieldvoice.nlu.normalise import words_of
from fieldvoice.tts import VOICES, named_voice, write_wav

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.asr import Samples
    from fieldvoice.tts import Sound

KEPT = Path(__file__).parents[1] / "tests" / "dialogue" / "golden_replies.jsonl"
#: Words in a reply that is taken: of fewer there is little to mishear, more are lists asked for.
FEWEST, MOST = 5, 25
#: Marks that no sound tells.
_QUOTES = re.compile(r"[\"“”]|(?<=\w)'(?=s\b)")
#: Spellings of one word, which no sound tells apart.
_SPELT = {
    "am": "a m", "pm": "p m", "litre": "liter", "litres": "liters", "colour": "color",
    "grey": "gray",
}  # fmt: skip


def replies(count: int) -> list[str]:
    """Return so many replies as they are spoken, from one end to the other, each once."""
    lines = KEPT.read_text(encoding="utf-8").splitlines()
    kept = map(json.loads, lines)
    told = [line["spoken"] for line in kept if not _repeats_words(line)]
    fit = list(dict.fromkeys(one for one in told if FEWEST <= len(one.split()) <= MOST))
    return fit[:: max(1, len(fit) // count)][:count]


def _repeats_words(line: dict[str, Any]) -> bool:
    """Whether a reply reads somebody's own words back, which may be anything."""
    is_remark = any(one.get("act") == "remark" for one in line["meanings"])
    return is_remark or '"' in line["spoken"]


class Listeners:
    """What writes any words down, by name."""

    def __init__(self) -> None:
        self._grammar = the_grammar()
        named = os.environ.get(SECOND_MODEL)
        paths = {"listener": LISTENER, **({"whisper": Path(named)} if named else {})}
        self._each = {name: free_listener(path, self._grammar) for name, path in paths.items()}

    def heard(self, samples: Samples) -> dict[str, str]:
        """Return what each writes; empty where it hears nothing."""
        found = {name: one.write(one.listen(samples)) for name, one in self._each.items()}
        # A model that writes what it heard twice over tells nothing about the voice.
        return {name: said_once(one[0].text) if one else "" for name, one in found.items()}

    def same(self, one: str, other: str) -> bool:
        """Whether two texts are the same word for word, or sound so."""
        return self._sounds(one) == self._sounds(other)

    def _sounds(self, text: str) -> list[str]:
        words = words_of(_QUOTES.sub("", speakable(text)), self._grammar.words)
        told = " ".join(_SPELT.get(word, word) for word in words).split()
        dictionary = bundled_model("cmudict-en-us.dict")
        trade = self._grammar.folder / TRADE_WORDS
        known = read_pronunciations(set(told), dictionary, trade, unknown=phones_of)
        return [phone for word in told for phone in known.variants[word][0]]


def in_samples(sound: Sound) -> Samples:
    """Return a voice's sound as recognisers take it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "reply.wav"
        write_wav(path, sound)
        return read_audio(path).samples


def heard_back(texts: list[str], voice: str, tell: Callable[[str], None]) -> Counter[str]:
    """Return how many of ``texts`` each listener writes word for word, and ``all`` of them."""
    speaks, listeners, right = named_voice(voice), Listeners(), Counter[str](of=len(texts))
    for text in texts:
        found = listeners.heard(in_samples(speaks.render(text)))
        good = {name: listeners.same(text, heard) for name, heard in found.items()}
        right.update([*(name for name, one in good.items() if one), *["all"] * all(good.values())])
        right.update(["any"] * any(good.values()))
        missed = [f"    {name}: {found[name]}" for name, one in good.items() if not one]
        if missed:
            tell("\n".join([text, *missed]))
    return right


def main() -> None:
    parser = argparse.ArgumentParser(description="Measure whether replies are heard back.")
    parser.add_argument("--replies", type=int, default=20)
    parser.add_argument("--voice", choices=list(VOICES), default=next(iter(VOICES)))
    chosen = parser.parse_args()
    right = heard_back(replies(chosen.replies), chosen.voice, print)
    print(", ".join(f"{name} {count}" for name, count in right.items()))


if __name__ == "__main__":
    main()
