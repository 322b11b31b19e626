"""Given names in a language model that is made already, and how they sound.

The model was made with one word where any name may be said (``SLOTS``). A name takes that word's
place in every n-gram, as one word of several ("big_yard_tree"), and the names share its
probability. That is what a class-based language model gives, and it takes no training.
"""

from __future__ import annotations

import re
from itertools import product
from math import log10
from typing import TYPE_CHECKING

from fieldvoice.grammar.given_names import SLOTS, TREE_NAME, VESSEL_NAME, words_in
from fieldvoice.grammar.jsgf import CLITIC
from fieldvoice.grammar.pronunciations import read_pronunciations, with_s
from fieldvoice.hearing.letter_to_sound import phones_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    from fieldvoice.grammar.given_names import GivenNames
    from fieldvoice.grammar.pronunciations import Phones

#: Pronunciations tried of a name with words that have several each.
MOST_PRONUNCIATIONS = 6

_JOINT = "_"
_COUNT = re.compile(r"ngram (\d+)=\d+")
_TABLE = re.compile(r"\\(\d+)-grams:")


def token(name: str) -> str:
    """Return the one word that a name is to the recogniser."""
    return _JOINT.join(words_in(name)).replace(_JOINT + CLITIC, CLITIC)


def plain(heard: str) -> str:
    """Return what was heard with names in words again."""
    return heard.replace(_JOINT, " ")


def tokens_of(names: GivenNames) -> dict[str, tuple[str, ...]]:
    """Return the words to put in the place of each slot."""
    return {
        SLOTS[TREE_NAME]: tuple(sorted(map(token, names.trees))),
        SLOTS[VESSEL_NAME]: tuple(sorted(map(token, names.vessels))),
    }


def filled(arpa: str, tokens: Mapping[str, Sequence[str]]) -> str:
    """Return a language model (ARPA text) with words in the place of its slots.

    ``tokens`` gives the words of each slot, none at all to leave it out; they share the slot's
    probability. "%tree's" is a slot too.
    """
    lines: list[str] = []
    counts: dict[int, int] = {}
    order = 0
    for line in arpa.splitlines():
        table = _TABLE.fullmatch(line)
        if table:
            order = int(table[1])
        made = list(_filled_line(line, order, tokens)) if "%" in line else [line]
        lines += made
        if order and line and not line.startswith("\\"):
            counts[order] = counts.get(order, 0) + len(made)
    head = [_COUNT.sub(lambda found: _counted(found, counts), line) for line in lines[:_HEAD]]
    return "\n".join([*head, *lines[_HEAD:]]) + "\n"


#: The counts stand in the first lines.
_HEAD = 8


def _counted(found: re.Match[str], counts: Mapping[int, int]) -> str:
    return f"ngram {found[1]}={counts.get(int(found[1]), 0)}"


def _filled_line(line: str, order: int, tokens: Mapping[str, Sequence[str]]) -> Iterable[str]:
    probability, *rest = line.split()
    words, weight = rest[:order], rest[order:]
    said = [_instead(word, tokens) for word in words]
    shared = log10(len(said[-1])) if said[-1] else 0.0
    for gram in product(*said):
        yield " ".join([f"{float(probability) - shared:.4f}", *gram, *weight])


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
