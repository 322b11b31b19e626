"""How quickly words are read, and how well words gone wrong are: a mutation test.

    python -m benchmarks.understanding [--time] [--mutations COUNT] [--seed N] [--half HALF]
                                       [--alone]
    python -m benchmarks.understanding --sayings FILE…

``--sayings`` measures tables of sentences (in the form of ``tests/nlu/tables.py``) that
were written down with their meanings before they were run: how many are read right, asked about,
kept, or would be saved or answered wrong.

The sentences are those of the tables in ``tests/nlu/utterances/``. For the mutation test
each drawn sentence loses a word, has one said twice, its first or last word cut off, two neighbours
swapped, is misspelt in one word (as typed), or has one word replaced by a word of the grammar that
sounds near to it (as heard); it is then taken by a conversation with an empty book. Against what
the sentence led to unharmed it is

*exact*    saved, answered or done with the same meanings;
*asked*    asked back;  *kept*  kept for review;
*another*  something else, but the harmed sentence says just that, word for word ("tree nine full"
           of "tree nine half full"): the grammar, a card or a wording that came along has it;
*wrong*    saved, answered or done as something that neither sentence says: *noted* in the book, or
           *plainly* answered or done. The rest are answers that first say what they are about.

All readers take part, as in the house; with ``--alone`` the exact one and nobody else. The baseline
beside it takes a sentence only where the grammar has it word for word, and keeps all others.
``--seed`` draws other sentences and other harm. ``--half tuned`` and ``--half held-out`` take the
sayings whose words have an even or an odd checksum: prices are set by what goes wrong in the one,
the figures that count come from the other, by a seed not used before.
"""

from __future__ import annotations

import argparse
import math
import random
import statistics
import string
import time
import zlib
from collections import Counter
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.book import Book
from fieldvoice.cli.app import is_english, the_grammar
from fieldvoice.cli.recognisers import sound_of_words
from fieldvoice.dialogue import Conversation
from fieldvoice.dialogue.policy import Clarify, Reject, ScoredHypothesis, decide, words_of
from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.grammar.expect import accepts
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.fuzzy import ConfusionSet
from fieldvoice.nlu.normalise import words_of as words_in
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.nlu.times import dated
from fieldvoice.nlu.wordings import come_along
from fieldvoice.transcript import Transcript, typed
from tests.nlu import tables

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from fieldvoice.grammar import Grammar
    from fieldvoice.grammar.network import Network
    from fieldvoice.schema import Meaning
    from tests.nlu.tables import Saying

NOW = datetime(2027, 3, 5, 9, 10, tzinfo=UTC)
SEED = 4
TOP = "fieldvoice.utterance"
OUTCOMES = ("exact", "asked", "kept", "another", "wrong", "noted", "plainly")
#: Numbers this near are the same, worked out in another way.
SAME = 0.01
HALVES = ("tuned", "held-out")
READ = ("right", "asked", "kept", "wrong")
#: The clock of a table that names none.
EASTERN = timezone(timedelta(hours=-5))

Words = tuple[str, ...]


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--time", action="store_true", help="only how long reading takes")
    parser.add_argument("--mutations", type=int, default=600, help="sentences of each kind")
    parser.add_argument("--seed", type=int, default=SEED, help="which sentences and which harm")
    parser.add_argument("--half", choices=HALVES, help="only this half of the table")
    parser.add_argument("--sayings", nargs="+", type=Path, metavar="FILE", help="measure tables")
    parser.add_argument("--alone", action="store_true", help="only the exact reader")
    parser.add_argument("--show", action="store_true", help="print what went wrong")
    chosen = parser.parse_args()
    grammar = the_grammar()
    alone = Interpreter(grammar, sound_of_words(grammar), is_english)
    if chosen.sayings:
        _sayings(alone, chosen.sayings, chosen.show)
        return
    second = SecondReader(grammar.words, lambda: shipped().cards)
    all_readers = Interpreter(grammar, sound_of_words(grammar), is_english, second, come_along)
    understander = alone if chosen.alone else all_readers
    _times(alone)
    if not chosen.time:
        table = [one.words for one in tables.utterances() if not one.trees and not one.vessels]
        table = [words for words in table if chosen.half in (None, _half(words))]
        _mutations(grammar, understander, table, chosen)


def _sayings(understander: Interpreter, paths: list[Path], show: bool) -> None:
    """Print how many sayings of each heading are read right, asked, kept, or taken wrong."""
    found: dict[str, Counter[str]] = {}
    for saying in (saying for path in paths for saying in tables.sayings(path)):
        outcome, meanings = _read(understander, saying)
        found.setdefault(saying.heading, Counter())[outcome] += 1
        if show and outcome != "right":
            print(f"{outcome:5} {saying.words!r}: {[one.json_fields() for one in meanings]}")
    found["all"] = sum(found.values(), Counter())
    print("| sayings | count | right | asked | kept | wrong |\n| --- |" + " --- |" * 5)
    for heading, counts in found.items():
        shares = [100 * counts[name] / counts.total() for name in READ]
        cells = " | ".join(f"{share:.1f}" for share in shares)
        print(f"| {heading} | {counts.total()} | {cells} |")


def _read(understander: Interpreter, saying: Saying) -> tuple[str, tuple[Meaning, ...]]:
    """Return what becomes of a typed saying by its words alone, and its best reading."""
    heard = typed(saying.words)
    names = EntityNames(frozenset(saying.trees), frozenset(saying.vessels))
    readings = understander.read(heard, names=names)
    decision = decide(
        [ScoredHypothesis(one.meanings, one.cost, words=words_of(one)) for one in readings],
        heard,
    )
    clock = datetime.fromisoformat(saying.clock).replace(tzinfo=EASTERN) if saying.clock else NOW
    meanings = tuple(dated(one, clock) for one in readings[0].meanings) if readings else ()
    if isinstance(decision, Reject):
        return "kept", meanings
    if isinstance(decision, Clarify):
        return "asked", meanings
    fits = saying.accepts([one.json_fields() for one in meanings])
    return ("right" if fits else "wrong"), meanings


def _half(words: str) -> str:
    return HALVES[zlib.crc32(words.encode()) % 2]


def _times(understander: Interpreter) -> None:
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


def _mutations(
    grammar: Grammar, understander: Interpreter, sayings: list[str], chosen: argparse.Namespace
) -> None:
    chance = random.Random(chosen.seed)
    numbers = grammar.words_of("numbers.number_words")
    networks = grammar.networks
    fillers = grammar.phrases_of("fieldvoice.filler")
    sounds = ConfusionSet(grammar.words, numbers, sound_of_words(grammar))
    kinds: dict[str, Callable[[Words], Words | None]] = {
        "a word dropped": lambda words: _dropped(words, chance),
        "a word doubled": lambda words: _doubled(words, chance),
        "an end cut off": lambda words: _cut(words, chance),
        "two words swapped": lambda words: _swapped(words, chance),
        "a word misspelt": lambda words: _misspelt(words, chance),
        "a word misheard": lambda words: _misheard(words, sounds, chance),
    }
    print("| per cent |", " | ".join(OUTCOMES), "| baseline exact | baseline wrong |")
    print("| --- |" + " --- |" * (len(OUTCOMES) + 2))
    total: Counter[str] = Counter()
    for kind, harm in kinds.items():
        found: Counter[str] = Counter()
        chance.shuffle(sayings)
        for saying in sayings:
            words = words_in(saying, grammar.words)
            harmed = harm(words)
            if harmed is None or found["tried"] >= chosen.mutations:
                continue
            meant = _taken(understander, typed(" ".join(words)))
            if meant[0] not in ("saved", "answered", "done"):
                continue
            text = " ".join(harmed)
            heard = (
                Transcript(text, recogniser="trial") if kind.endswith("misheard") else typed(text)
            )
            got = _taken(understander, heard)
            in_grammar = _says(networks, fillers, harmed)
            outcome = _outcome(meant, got, in_grammar or _has_word_for_word(understander, heard))
            found.update({"tried": 1, outcome: 1})
            found.update({f"baseline {outcome}": 1} if in_grammar else {})
            if outcome == "wrong":
                found.update({"noted": got[0] == "saved"})
                found.update({"plainly": got[0] != "saved" and not got[2].startswith("About ")})
            if chosen.show and outcome in ("wrong", "another"):
                print(f"    {outcome}: {saying!r} as {text!r}: {got[1]}")
        print(_row(kind, found))
        total.update(found)
    print(_row("all", total))


def _says(networks: Mapping[str, Network], fillers: frozenset[Words], words: Words) -> bool:
    """Whether the grammar has the words, phrases that carry nothing ("um", "to me") aside."""
    plain = _without(words, fillers)
    return accepts(networks, TOP, words) or accepts(networks, TOP, plain)


def _has_word_for_word(understander: Interpreter, heard: Transcript) -> bool:
    """Whether a card is asked, or a wording that came along says something, in just these words."""
    exact = understander.read(heard)[:1]
    return any(one.cost <= 0 for one in exact) or bool(understander.by_wording(heard))


def _without(words: Words, fillers: frozenset[Words]) -> Words:
    longest, at, kept = max(map(len, fillers)), 0, []
    while at < len(words):
        lengths = range(longest, 0, -1)
        passed = next((n for n in lengths if words[at : at + n] in fillers), 0)
        if not passed:
            kept.append(words[at])
        at += passed or 1
    return tuple(kept)


def _taken(understander: Interpreter, heard: Transcript) -> tuple[str, list[dict[str, Any]], str]:
    with Book.in_memory_copy() as book:
        reply = Conversation(book, understander, clock=lambda: NOW).hear(heard)
    return reply.outcome, [meaning.json_fields() for meaning in reply.meanings], reply.text


def _outcome(meant: tuple[Any, ...], got: tuple[Any, ...], literal: bool) -> str:
    if got[0] in ("asked", "kept"):
        return str(got[0])
    if _is_same(got[1], meant[1]):
        return "exact"
    return "another" if literal else "wrong"


def _is_same(one: Any, other: Any) -> bool:
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_is_same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_is_same, one, other))
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=SAME)
    return bool(one == other)


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


def _doubled(words: Words, chance: random.Random) -> Words | None:
    at = chance.randrange(len(words))
    return (*words[:at], words[at], *words[at:])


def _cut(words: Words, chance: random.Random) -> Words | None:
    if len(words) < 3:
        return None
    return words[1:] if chance.random() < 0.5 else words[:-1]


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


def _misheard(words: Words, sounds: ConfusionSet, chance: random.Random) -> Words | None:
    near = {at: sorted(sounds.near(word, by_sound=True)) for at, word in enumerate(words)}
    places = [at for at, others in near.items() if others]
    if not places:
        return None
    at = chance.choice(places)
    return (*words[:at], chance.choice(near[at]), *words[at + 1 :])


if __name__ == "__main__":
    main()
