"""How families' seasons come out when some of their lines are spoken.

    python -m benchmarks.families_by_voice FOLDER [--each 5] [--from 0] [--held-out] [--show]

Every fifth note or question of the seasons that the program was mended by (``benchmarks.families``)
is read by the next of six voices (``benchmarks.held_out``), heard by both listeners, and told as by
voice; the others are typed, so that the book has what belongs in it. FOLDER keeps the sound, and
what was heard of it. With ``--held-out`` the seasons that nothing was mended by.
"""

from __future__ import annotations

import argparse
import hashlib
from collections import Counter, defaultdict
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks.engines import Engine
from benchmarks.families import SEASONS, Season, tell, turns
from benchmarks.held_out import speakers
from fieldvoice.asr.audio import read_audio
from fieldvoice.book import Book
from fieldvoice.cli.app import is_english, the_grammar
from fieldvoice.cli.recognisers import sound_of_words
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.nlu.wordings import come_along

if TYPE_CHECKING:
    from datetime import datetime

    from benchmarks.reading import Tally
    from fieldvoice.reply import Reply
    from fieldvoice.transcript import Transcript


class Voices:
    """Six voices by turns, and the ear that hears them."""

    def __init__(self, folder: Path, engine: Engine) -> None:
        self._folder, self._engine = folder, engine
        self._voices, self._spoken = list(speakers()), 0

    def heard(self, words: str) -> Transcript:
        """Return what is heard of ``words``, read by the next voice."""
        name, speak = self._voices[self._spoken % len(self._voices)]
        self._spoken += 1
        key = hashlib.sha256(f"{name} {words}".encode()).hexdigest()[:16]
        path = self._folder / f"{key}.wav"
        if not path.exists():
            speak(words, path)
        return self._engine.hear(read_audio(path).samples).heard


class SpokenSeason(Season):
    """A household's talk with its book, of which what is said ``aloud`` next is spoken."""

    def __init__(self, path: Path, understander: Interpreter, book: Book, voices: Voices) -> None:
        super().__init__(path, understander, book)
        self._voices, self.aloud = voices, False

    def say(self, words: str, at: datetime, by: str | None) -> Reply:
        """Return the reply to words, spoken or typed."""
        if not self.aloud:
            return super().say(words, at, by)
        self.aloud = False
        return self.hear(self._voices.heard(words), at, by)


def main() -> None:
    """Play the seasons, count, print."""
    asked = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    asked.add_argument("folder", type=Path)
    asked.add_argument("--each", type=int, default=5, help="one line in so many is spoken")
    asked.add_argument(
        "--from", type=int, default=0, dest="first", help="which of them is the first"
    )
    asked.add_argument("--held-out", action="store_true", help="the seasons not mended by")
    asked.add_argument("--show", action="store_true", help="print what was not right")
    chosen = asked.parse_args()
    chosen.folder.mkdir(parents=True, exist_ok=True)
    grammar = the_grammar()
    reader = SecondReader(grammar.words, lambda: shipped().cards)
    understander = Interpreter(grammar, sound_of_words(grammar), is_english, reader, come_along)
    voices = Voices(chosen.folder, Engine("first+listener", grammar, chosen.folder))
    tally: Tally = defaultdict(Counter)
    for path in sorted((SEASONS / "held_out" if chosen.held_out else SEASONS).glob("*.txt")):
        with Book.in_memory_copy() as book:
            season = SpokenSeason(path, understander, book, voices)
            for at, turn in enumerate(turns(path)):
                counts = turn.counts and (turn.is_note or turn.is_question)
                season.aloud = counts and at % chosen.each == chosen.first
                spoken = season.aloud
                found, told = season.come_of(turn)
                for sort, outcome in found.items() if spoken else ():
                    tally[sort].update({"of": 1, outcome: 1})
                if chosen.show and spoken and set(found.values()) != {"right"}:
                    print(f"{turn.where} {turn.words!r} {found}\n    " + "\n    ".join(told))
    tell(tally)


if __name__ == "__main__":
    main()
