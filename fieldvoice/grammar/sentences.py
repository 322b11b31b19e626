"""Sentences drawn from the grammar: for the language model, the help and the tests."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fieldvoice.grammar.jsgf import Alternatives, Repeat, RuleRef, Sequence, Tagged, Token
from fieldvoice.grammar.marks import enclosing
from fieldvoice.grammar.network import ANY_WORD

if TYPE_CHECKING:
    import random
    from collections.abc import Mapping

    from fieldvoice.grammar.jsgf import Expansion, Rule
    from fieldvoice.grammar.marks import Mark

# How often a part in brackets is said, and how often a repeated one is said once more.
SAID = 0.4
AGAIN = 0.3


@dataclass(slots=True)
class Sample:
    """One sentence: its words, and the marks it passes between them, in order."""

    words: list[str] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)


def draw(rules: Mapping[str, Rule], top: str, chance: random.Random) -> Sample:
    """Return one sentence of rule ``top``, each choice taken as often as its weight says."""
    sample = Sample()
    _walk(RuleRef(top), rules, chance, sample)
    return sample


def _walk(
    part: Expansion, rules: Mapping[str, Rule], chance: random.Random, sample: Sample
) -> None:
    match part:
        case Token(text):
            if text != ANY_WORD:
                sample.words.append(text)
        case RuleRef(name):
            _walk(rules[name].expansion, rules, chance, sample)
        case Sequence(parts):
            for inner in parts:
                _walk(inner, rules, chance, sample)
        case Alternatives(choices, weights):
            _walk(chance.choices(choices, weights)[0], rules, chance, sample)
        case Repeat(inner, least, many):
            times = least or (chance.random() < SAID)
            while many and times and chance.random() < AGAIN:
                times += 1
            for _ in range(times):
                _walk(inner, rules, chance, sample)
        case Tagged(inner, tags):
            before, after = enclosing(tags)
            sample.marks.extend(before)
            _walk(inner, rules, chance, sample)
            sample.marks.extend(after)
