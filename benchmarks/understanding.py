"""How quickly words are read, and how well words gone wrong are: a mutation test.

    python -m benchmarks.understanding [--time] [--mutations COUNT]

The sentences are those of the tables in ``tests/understanding/utterances/``. For the mutation test
each drawn sentence loses a word, has two neighbours swapped, is misspelt in one word (as typed), or
has one word replaced by a word of the grammar that sounds near to it (as heard); it is then taken
by a conversation with an empty book. Against what the sentence led to unharmed it is

*exact*    saved, answered or done with the same meanings;
*asked*    asked back;  *kept*  kept for review;
*another*  something else, but the harmed sentence says just that, word for word ("tree nine full"
           of "tree nine half full");
*wrong*    saved, answered or done as something that neither sentence says.

The baseline beside it takes a sentence only where the grammar has it word for word, and keeps all
others.
"""

from __future__ import annotations

import argparse
import random
import statistics
import string
import time
from collections import Counter
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from fieldvoice.book import Book
from fieldvoice.cli.desk import is_english, the_grammar
from fieldvoice.cli.ears import sound_of_words
from fieldvoice.conversation import Conversation
from fieldvoice.grammar.expect import accepts
from fieldvoice.heard import Heard, typed
from fieldvoice.understanding import Understander
from fieldvoice.understanding.near import NearWords
from fieldvoice.understanding.tokens import words_of
from tests.understanding import tables

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from fieldvoice.grammar import Grammar

NOW = datetime(2027, 3, 5, 9, 10, tzinfo=UTC)
SEED = 4
TOP = "fieldvoice.utterance"
OUTCOMES = ("exact", "asked", "kept", "another", "wrong")

Words = tuple[str, ...]


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--time", action="store_true", help="only how long reading takes")
    parser.add_argument("--mutations", type=int, default=600, help="sentences of each kind")
    parser.add_argument("--show", action="store_true", help="print what went wrong")
    chosen = parser.parse_args()
    grammar = the_grammar()
    understander = Understander(grammar, sound_of_words(grammar), is_english)
    _times(understander)
    if not chosen.time:
        _mutations(grammar, understander, chosen.mutations, chosen.show)


def _times(understander: Understander) -> None:
    sentences = [one.words for one in (*tables.utterances(), *tables.not_records())]
    understander.read(typed(sentences[0]))
    spent = []
    for sentence in sentences:
        before = time.process_time()
        understander.read(typed(sentence))
        spent.append(1000 * (time.process_time() - before))
    cuts = statistics.quantiles(spent, n=100)
    print(
        f"{len(sentences)} sentences, ms of processor time each: median {cuts[49]:.1f}, "
        f"90th percentile {cuts[89]:.1f}, 99th {cuts[98]:.1f}, longest {max(spent):.1f}"
    )


def _mutations(grammar: Grammar, understander: Understander, count: int, show: bool) -> None:
    chance = random.Random(SEED)
    numbers = grammar.words_of("numbers.number_words")
    sounds = NearWords(grammar.words, numbers, sound_of_words(grammar))
    kinds: dict[str, Callable[[Words], Words | None]] = {
        "a word dropped": lambda words: _dropped(words, chance),
        "two words swapped": lambda words: _swapped(words, chance),
        "a word misspelt": lambda words: _misspelt(words, chance),
        "a word misheard": lambda words: _misheard(words, sounds, chance),
    }
    sayings = [one.words for one in tables.utterances() if not one.trees and not one.vessels]
    print("| per cent |", " | ".join(OUTCOMES), "| baseline exact | baseline wrong |")
    print("| --- |" + " --- |" * (len(OUTCOMES) + 2))
    total: Counter[str] = Counter()
    for kind, harm in kinds.items():
        found: Counter[str] = Counter()
        chance.shuffle(sayings)
        for saying in sayings:
            words = words_of(saying, grammar.words)
            harmed = harm(words)
            if harmed is None or found["tried"] >= count:
                continue
            meant = _taken(understander, typed(" ".join(words)))
            if meant[0] not in ("saved", "answered", "done"):
                continue
            text = " ".join(harmed)
            heard = Heard(text, recogniser="trial") if kind.endswith("misheard") else typed(text)
            got = _taken(understander, heard)
            literal = accepts(grammar.networks, TOP, harmed)
            outcome = _outcome(meant, got, literal)
            found.update({"tried": 1, outcome: 1})
            found.update({f"baseline {outcome}": 1} if literal else {})
            if show and outcome == "wrong":
                print(f"    {saying!r} as {text!r}: {got[1]}")
        print(_row(kind, found))
        total.update(found)
    print(_row("all", total))


def _taken(understander: Understander, heard: Heard) -> tuple[str, list[dict[str, Any]]]:
    with Book.in_memory_copy() as book:
        reply = Conversation(book, understander, clock=lambda: NOW).hear(heard)
    return reply.outcome, [meaning.json_fields() for meaning in reply.meanings]


def _outcome(meant: tuple[str, Any], got: tuple[str, Any], literal: bool) -> str:
    if got[0] in ("asked", "kept"):
        return got[0]
    if got[1] == meant[1]:
        return "exact"
    return "another" if literal else "wrong"


def _row(kind: str, found: Counter[str]) -> str:
    tried = max(found["tried"], 1)
    shares = [100 * found[name] / tried for name in OUTCOMES]
    base = [100 * found[f"baseline {name}"] / tried for name in ("exact", "wrong")]
    return f"| {kind} ({tried}) | " + " | ".join(f"{one:.1f}" for one in (*shares, *base)) + " |"


def _dropped(words: Words, chance: random.Random) -> Words | None:
    if len(words) < 3:
        return None
    at = chance.randrange(len(words))
    return words[:at] + words[at + 1 :]


def _swapped(words: Words, chance: random.Random) -> Words | None:
    if len(words) < 3:
        return None
    at = chance.randrange(len(words) - 1)
    return (*words[:at], words[at + 1], words[at], *words[at + 2 :])


def _misspelt(words: Words, chance: random.Random) -> Words | None:
    long = [at for at, word in enumerate(words) if len(word) > 3 and word.isalpha()]
    if not long:
        return None
    at = chance.choice(long)
    word, place = words[at], chance.randrange(1, len(words[at]) - 1)
    letter = chance.choice(string.ascii_lowercase)
    slips: Sequence[str] = (
        word[:place] + word[place + 1 :],
        word[:place] + letter + word[place:],
        word[:place] + letter + word[place + 1 :],
        word[:place] + word[place + 1] + word[place] + word[place + 2 :],
    )
    return (*words[:at], chance.choice(slips), *words[at + 1 :])


def _misheard(words: Words, sounds: NearWords, chance: random.Random) -> Words | None:
    near = {at: sorted(sounds.near(word, by_sound=True)) for at, word in enumerate(words)}
    places = [at for at, others in near.items() if others]
    if not places:
        return None
    at = chance.choice(places)
    return (*words[:at], chance.choice(near[at]), *words[at + 1 :])


if __name__ == "__main__":
    main()
