"""Given names in a language model that is made already, and how they sound.

The model was made with one word where any name may be said (``SLOTS``). A name takes that word's
place in every n-gram, as one word of several ("big_yard_tree"), and the names share its
probability. That is what a class-based language model gives, and it takes no training. Names that
are in the book are said oftener than names are in general, for which the model was made: each is
favoured (``FAVOURED``).
"""

from __future__ import annotations

import re
from collections import Counter
from itertools import product
from math import log10
from typing import TYPE_CHECKING

from fieldvoice.asr.letter_to_sound import phones_of
from fieldvoice.grammar.entity_names import SLOTS, TREE_NAME, VESSEL_NAME, words_in
from fieldvoice.grammar.jsgf import CLITIC
from fieldvoice.grammar.pronunciations import read_pronunciations, with_s

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from pathlib import Path

    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.grammar.pronunciations import Phones

#: Pronunciations tried of a name with words that have several each.
MOST_PRONUNCIATIONS = 6

#: So much likelier is a name that was given than its share of what the model was made with.
FAVOURED = 6.0

_JOINT = "_"
_COUNT = re.compile(r"ngram (\d+)=(\d+)")
_TABLE = re.compile(r"\\(\d+)-grams:")


def token(name: str) -> str:
    """Return the one word that a name is to the recogniser.

    It is never a word that the grammar has as well: a tree may be called "grandpa".
    """
    joined = _JOINT.join(words_in(name)).replace(_JOINT + CLITIC, CLITIC)
    return joined if _JOINT in joined else _JOINT + joined


def plain(heard: str) -> str:
    """Return what was heard with names in words again."""
    return " ".join(heard.replace(_JOINT, " ").split())


def tokens_of(names: EntityNames) -> dict[str, tuple[str, ...]]:
    """Return the words to put in the place of each slot."""
    return {
        SLOTS[TREE_NAME]: tuple(sorted(map(token, names.trees))),
        SLOTS[VESSEL_NAME]: tuple(sorted(map(token, names.vessels))),
    }


def write_filled(arpa: Path, into: Path, tokens: Mapping[str, Sequence[str]]) -> None:
    """Write a language model (an ARPA file) with words in the place of its slots.

    ``tokens`` gives the words of each slot, none at all to leave it out; they share the slot's
    probability, favoured. "%tree's" is a slot too. It goes line by line, for there are half a
    million.
    """
    more: Counter[int] = Counter()
    with arpa.open(encoding="utf-8") as lines:
        for order, line in _in_tables(lines):
            if "%" in line:
                more[order] += len(_filled_line(line, order, tokens)) - 1
    with arpa.open(encoding="utf-8") as lines, into.open("w", encoding="utf-8") as out:
        for order, line in _in_tables(lines):
            if not order:
                line = _COUNT.sub(lambda found: _counted(found, more), line)
            out.writelines(_filled_line(line, order, tokens) if "%" in line else [line])


def _in_tables(lines: Iterable[str]) -> Iterator[tuple[int, str]]:
    """Yield each line with the length of the n-grams of its table, 0 in the head."""
    order = 0
    for line in lines:
        if line.startswith("\\"):
            table = _TABLE.match(line)
            order = int(table[1]) if table else order
        yield order, line


def _counted(found: re.Match[str], more: Mapping[int, int]) -> str:
    return f"ngram {found[1]}={int(found[2]) + more[int(found[1])]}"


def _filled_line(line: str, order: int, tokens: Mapping[str, Sequence[str]]) -> list[str]:
    probability, *rest = line.split()
    words, weight = rest[:order], rest[order:]
    said = [_instead(word, tokens) for word in words]
    shown = probability
    if said[-1] and said[-1] != (words[-1],):
        share = float(probability) + log10(FAVOURED / len(said[-1]))
        shown = f"{min(share, 0.0):.4f}"
    return [" ".join([shown, *gram, *weight]) + "\n" for gram in product(*said)]


def _instead(word: str, tokens: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    slot = word.removesuffix(CLITIC)
    if slot not in tokens:
        return (word,)
    ending = word[len(slot) :]
    return tuple(token + ending for token in tokens[slot])


def pronunciations_of(
    names: Iterable[str], dictionary: Path, trade_words: Path
) -> dict[str, tuple[Phones, ...]]:
    """Return how each name's one word sounds, with its possessive; the usual way first.

    Words that neither file has are read by their letters.

    Raises:
        RecogniserError: for a word of which no sound can be made.
    """
    spoken = {name: _words(name) for name in names}
    wanted = {word for words in spoken.values() for word in words}
    owners = {word.removesuffix(CLITIC) for word in wanted}
    known = read_pronunciations(wanted | owners, dictionary, trade_words, unknown=phones_of)
    sounds: dict[str, tuple[Phones, ...]] = {}
    for name, words in spoken.items():
        ways = product(*(known.variants[word] for word in words))
        whole = [tuple(phone for part in way for phone in part) for way in ways]
        sounds[token(name)] = tuple(whole[:MOST_PRONUNCIATIONS])
        sounds[token(name) + CLITIC] = tuple(with_s(way) for way in whole[:MOST_PRONUNCIATIONS])
    return sounds


def _words(name: str) -> list[str]:
    """Return a name's words with the possessive at its owner: "grandpa's", "maple"."""
    words: list[str] = []
    for word in words_in(name):
        if word == CLITIC and words:
            words[-1] += CLITIC
        else:
            words.append(word)
    return words
