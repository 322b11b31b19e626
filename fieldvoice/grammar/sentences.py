"""Sentences drawn from the grammar: for the language model, the help and the tests."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fieldvoice.grammar.jsgf import CLITIC, Alternatives, Repeat, RuleRef, Sequence, Tagged, Token
from fieldvoice.grammar.network import ANY_WORD
from fieldvoice.grammar.tags import enclosing

if TYPE_CHECKING:
    import random
    from collections.abc import Iterator, Mapping

    from fieldvoice.grammar.jsgf import Expansion, Rule
    from fieldvoice.grammar.network import Network
    from fieldvoice.grammar.tags import Mark

# How often a part in brackets is said, and how often a repeated one is said once more.
SAID = 0.4
AGAIN = 0.3


@dataclass(slots=True)
class Sample:
    """One sentence: its words, and the same with the marks that it passes between them."""

    words: list[str] = field(default_factory=list)
    marks: list[Mark | str] = field(default_factory=list)


def draw(rules: Mapping[str, Rule], top: str, chance: random.Random) -> Sample:
    """Return one sentence of rule ``top``, each choice taken as often as its weight says."""
    drawing = _Drawing(rules, chance)
    drawing.walk(RuleRef(top))
    return drawing.sample


class _Drawing:
    def __init__(self, rules: Mapping[str, Rule], chance: random.Random) -> None:
        self._rules = rules
        self._chance = chance
        self.sample = Sample()

    def walk(self, part: Expansion) -> None:
        match part:
            case Token(text):
                self._say(text)
            case RuleRef(name):
                self.walk(self._rules[name].expansion)
            case Sequence(parts):
                for inner in parts:
                    self.walk(inner)
            case Alternatives(choices, weights):
                self.walk(self._chance.choices(choices, weights)[0])
            case Repeat(inner, least, many):
                for _ in range(self._times(least, many)):
                    self.walk(inner)
            case Tagged(inner, tags):
                before, after = enclosing(tags)
                self.sample.marks.extend(before)
                self.walk(inner)
                self.sample.marks.extend(after)

    def _say(self, word: str) -> None:
        words = self.sample.words
        if word != ANY_WORD:
            self.sample.marks.append(word)
        if word == CLITIC and words and not words[-1].endswith("s"):
            words[-1] += CLITIC
        elif word not in (ANY_WORD, CLITIC):
            words.append(word)

    def _times(self, least: int, many: bool) -> int:
        times = least or int(self._chance.random() < SAID)
        while many and times and self._chance.random() < AGAIN:
            times += 1
        return times


def every_phrase(networks: Mapping[str, Network], rule: str) -> Iterator[tuple[str, ...]]:
    """Yield every word sequence of ``rule``, which must have no repeated parts."""
    network = networks[rule]
    waiting: list[tuple[int, tuple[str, ...]]] = [(network.start, ())]
    while waiting:
        state, said = waiting.pop()
        if state == network.final:
            yield said
        waiting += [(step[0], said) for step in network.jumps[state]]
        for word, steps in network.words[state].items():
            waiting += [(step[0], (*said, word)) for step in steps]
        for called, end, _, _ in network.calls[state]:
            waiting += [(end, (*said, *phrase)) for phrase in every_phrase(networks, called)]
