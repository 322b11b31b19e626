"""Sentences drawn from the grammar: for the language model, the help and the tests."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import accumulate
from typing import TYPE_CHECKING

from fieldvoice.grammar.jsgf import CLITIC, Alternatives, Repeat, RuleRef, Sequence, Tagged, Token
from fieldvoice.grammar.network import ANY_WORD
from fieldvoice.grammar.tags import enclosing

if TYPE_CHECKING:
    import random
    from collections.abc import Callable, Iterator, Mapping

    from fieldvoice.grammar.jsgf import Expansion, Rule
    from fieldvoice.grammar.network import Network
    from fieldvoice.grammar.tags import Mark

    #: Adds what a part of a rule says to a sentence.
    Say = Callable[["Sample"], None]

# How often a part in brackets is said, and how often a repeated one is said once more.
SAID = 0.4
AGAIN = 0.3


@dataclass(slots=True)
class Sample:
    """One sentence: its words, and the same with the marks that it passes between them."""

    words: list[str] = field(default_factory=list)
    marks: list[Mark | str] = field(default_factory=list)


class Drawing:
    """Draws sentences of ``rules``, each choice taken as often as its weight says.

    A rule is made into functions when it is first drawn: a model learns from 120,000 sentences.
    """

    def __init__(self, rules: Mapping[str, Rule], chance: random.Random) -> None:
        self._rules = rules
        self._chance = chance
        self._says: dict[str, Say] = {}

    def draw(self, rule: str) -> Sample:
        """Return one sentence of ``rule``."""
        sample = Sample()
        self._rule(rule)(sample)
        return sample

    def _rule(self, name: str) -> Say:
        if name not in self._says:
            self._says[name] = lambda sample: self._says[name](sample)  # where it calls itself
            self._says[name] = self._part(self._rules[name].expansion)
        return self._says[name]

    def _part(self, part: Expansion) -> Say:
        match part:
            case Token(text):
                return _token(text)
            case RuleRef(name):
                return self._rule(name)
            case Sequence(parts):
                return _sequence([self._part(inner) for inner in parts])
            case Alternatives(choices, weights):
                return self._alternatives([self._part(one) for one in choices], weights)
            case Repeat(inner):
                return self._repeat(part, self._part(inner))
            case Tagged(inner, tags):
                return _tagged(self._part(inner), tags)

    def _alternatives(self, says: list[Say], weights: tuple[float, ...]) -> Say:
        chance, summed = self._chance, list(accumulate(weights))

        def say(sample: Sample) -> None:
            chance.choices(says, cum_weights=summed)[0](sample)

        return say

    def _repeat(self, repeat: Repeat, said: Say) -> Say:
        chance, least, many = self._chance.random, repeat.least, repeat.many

        def say(sample: Sample) -> None:
            times = least or int(chance() < SAID)
            while many and times and chance() < AGAIN:
                times += 1
            for _ in range(times):
                said(sample)

        return say


def _token(word: str) -> Say:
    def say(sample: Sample) -> None:
        sample.marks.append(word)
        sample.words.append(word)

    def say_clitic(sample: Sample) -> None:
        sample.marks.append(word)
        if sample.words and not sample.words[-1].endswith("s"):
            sample.words[-1] += CLITIC

    return _sequence([]) if word == ANY_WORD else say_clitic if word == CLITIC else say


def _sequence(says: list[Say]) -> Say:
    def say(sample: Sample) -> None:
        for one in says:
            one(sample)

    return says[0] if len(says) == 1 else say


def _tagged(said: Say, tags: tuple[str, ...]) -> Say:
    before, after = enclosing(tags)

    def say(sample: Sample) -> None:
        sample.marks.extend(before)
        said(sample)
        sample.marks.extend(after)

    return say


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
