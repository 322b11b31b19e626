"""The grammar as finite-state networks, one a rule: what the text parser searches.

A rule that refers to another calls its network. Written out in place, the same grammar would take
millions of states, nearly all of them copies of the numbers; calling keeps it at a few thousand.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fieldvoice.grammar.findings import PlacedGrammarError
from fieldvoice.grammar.jsgf import Alternatives, Repeat, RuleRef, Sequence, Tagged, Token, silences
from fieldvoice.grammar.tags import Mark, enclosing

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from fieldvoice.grammar.jsgf import Expansion, Rule

Marks = tuple[Mark, ...]

#: A step: (state it leads to, cost, marks passed before it).
Step = tuple[int, float, Marks]

#: A step through another rule: (its name, state it leads to, cost, marks passed before it).
Call = tuple[str, int, float, Marks]

#: A token that stands for any one word, for the free part of a remark.
ANY_WORD = "*"

# Prices of what is rarely said. Small beside any liberty with the words (see understanding), so
# that they only decide between readings that fit equally well.
PRIOR_SCALE = 0.05
AGAIN = 0.01


@dataclass(frozen=True, slots=True)
class Network:
    """One rule's states. Index every list by state.

    ``words[s]`` maps a word to the steps it allows; ``calls[s]`` are steps through other rules;
    ``jumps[s]`` are silent and never lead round in a circle.
    """

    words: tuple[Mapping[str, tuple[Step, ...]], ...]
    calls: tuple[tuple[Call, ...], ...]
    jumps: tuple[tuple[Step, ...], ...]
    start: int
    final: int


@dataclass(slots=True)
class _Draft:
    """A network as first drawn: a state between any two parts."""

    words: dict[int, list[tuple[str, int]]] = field(default_factory=lambda: defaultdict(list))
    calls: dict[int, list[tuple[str, int]]] = field(default_factory=lambda: defaultdict(list))
    silent: dict[int, list[tuple[int, float, Mark | None]]] = field(
        default_factory=lambda: defaultdict(list)
    )
    size: int = 0

    def state(self) -> int:
        self.size += 1
        return self.size - 1

    def draw(self, part: Expansion, start: int, end: int) -> None:
        """Draw ``part`` between two states."""
        match part:
            case Token(text):
                self.words[start].append((text, end))
            case RuleRef(name):
                self.calls[start].append((name, end))
            case Sequence(parts):
                self._sequence(parts, start, end)
            case Alternatives(choices, weights):
                self._alternatives(choices, weights, start, end)
            case Repeat():
                self._repeat(part, start, end)
            case Tagged(inner, tags):
                before, after = enclosing(tags)
                first, last = self.state(), self.state()
                self._marks(before, start, first)
                self.draw(inner, first, last)
                self._marks(after, last, end)

    def _sequence(self, parts: tuple[Expansion, ...], start: int, end: int) -> None:
        here = start
        for part in parts:
            there = self.state()
            self.draw(part, here, there)
            here = there
        self.silent[here].append((end, 0.0, None))

    def _alternatives(
        self, choices: tuple[Expansion, ...], weights: tuple[float, ...], start: int, end: int
    ) -> None:
        most = max(weights, default=1.0)
        for choice, weight in zip(choices, weights, strict=True):
            if weight <= 0:
                continue
            inner = self.state()
            self.silent[start].append((inner, PRIOR_SCALE * math.log(most / weight), None))
            self.draw(choice, inner, end)

    def _repeat(self, repeat: Repeat, start: int, end: int) -> None:
        first, last = self.state(), self.state()
        self.silent[start].append((first, 0.0, None))
        self.draw(repeat.part, first, last)
        self.silent[last].append((end, 0.0, None))
        if repeat.many:
            self.silent[last].append((first, AGAIN, None))
        if repeat.least == 0:
            self.silent[start].append((end, 0.0, None))

    def _marks(self, marks: Marks, start: int, end: int) -> None:
        here = start
        for mark in marks:
            there = self.state()
            self.silent[here].append((there, 0.0, mark))
            here = there
        self.silent[here].append((end, 0.0, None))


def build_networks(rules: Mapping[str, Rule]) -> dict[str, Network]:
    """Return the network of each rule by full name.

    Raises:
        PlacedGrammarError: for a rule that can be silent, or a repeated part of one that can.
    """
    for rule in rules.values():
        for finding in silences(rule):
            raise PlacedGrammarError(finding)
    return {name: _build(rule.expansion) for name, rule in rules.items()}


def _build(expansion: Expansion) -> Network:
    draft = _Draft()
    start, final = draft.state(), draft.state()
    draft.draw(expansion, start, final)
    kept = _kept_states(draft, start, final)
    number = {state: at for at, state in enumerate(sorted(kept))}
    words, calls, jumps = [], [], []
    for state in sorted(kept):
        from_words: dict[str, list[Step]] = defaultdict(list)
        from_calls: list[Call] = []
        from_jumps: list[Step] = []
        for here, cost, marks in _silently_from(draft, state, kept):
            if here != state and here in kept:
                from_jumps.append((number[here], cost, marks))
                continue
            for word, end in draft.words.get(here, ()):
                from_words[word].append((number[end], cost, marks))
            for rule, end in draft.calls.get(here, ()):
                from_calls.append((rule, number[end], cost, marks))
        words.append({word: tuple(steps) for word, steps in from_words.items()})
        calls.append(tuple(from_calls))
        jumps.append(tuple(from_jumps))
    return Network(tuple(words), tuple(calls), tuple(jumps), number[start], number[final])


def _kept_states(draft: _Draft, start: int, final: int) -> set[int]:
    """Return the states that stay: ends of words and calls, and junctions of silent steps."""
    arrivals: dict[int, int] = defaultdict(int)
    for steps in draft.silent.values():
        for end, _, _ in steps:
            arrivals[end] += 1
    kept = {start, final, *(state for state, count in arrivals.items() if count > 1)}
    for arcs in (*draft.words.values(), *draft.calls.values()):
        kept.update(end for _, end in arcs)
    return kept


def _silently_from(draft: _Draft, state: int, kept: set[int]) -> Iterator[Step]:
    """Yield ``state`` and what it reaches in silence, going no further than kept states."""
    waiting: list[Step] = [(state, 0.0, ())]
    while waiting:
        here, cost, marks = waiting.pop()
        yield here, cost, marks
        if here != state and here in kept:
            continue
        for end, price, mark in draft.silent.get(here, ()):
            waiting.append((end, cost + price, marks if mark is None else (*marks, mark)))


def silent_reach(network: Network, start: int) -> set[int]:
    """Return the states that are reached from ``start`` without a word, itself included."""
    reached = {start}
    waiting = [start]
    while waiting:
        for end, _, _ in network.jumps[waiting.pop()]:
            if end not in reached:
                reached.add(end)
                waiting.append(end)
    return reached


#: What a rule begins with by itself: its words, and the rules that it calls at once.
Beginning = tuple[frozenset[str], frozenset[str]]


def first_words(
    networks: Mapping[str, Network],
    missing: Callable[[str], frozenset[str]] = lambda _: frozenset(),
) -> dict[str, frozenset[str]]:
    """Return the words each rule can begin with.

    ``missing`` gives the words that may be left out at the beginning of a rule.
    """
    return first_words_of({name: beginning(net, missing(name)) for name, net in networks.items()})


def first_words_of(beginnings: Mapping[str, Beginning]) -> dict[str, frozenset[str]]:
    """Return the words each rule can begin with, from what each begins with by itself."""
    firsts = {name: set(words) for name, (words, _) in beginnings.items()}
    callers: dict[str, list[str]] = defaultdict(list)
    for name, (_, called) in beginnings.items():
        for one in called:
            callers[one].append(name)
    waiting = list(firsts)
    while waiting:
        here = waiting.pop()
        for caller in callers[here]:
            if not firsts[here] <= firsts[caller]:
                firsts[caller] |= firsts[here]
                waiting.append(caller)
    return {name: frozenset(words) for name, words in firsts.items()}


def beginning(network: Network, missing: frozenset[str]) -> Beginning:
    """Return what a rule begins with, where words of ``missing`` may be left out."""
    found: set[str] = set()
    called: set[str] = set()
    seen = {network.start}
    waiting = [network.start]
    while waiting:
        here = waiting.pop()
        ends = [step[0] for step in network.jumps[here]]
        words = network.words[here]
        found.update(words)
        for word in missing.intersection(words):
            ends.extend(step[0] for step in words[word])
        called.update(call[0] for call in network.calls[here])
        for end in ends:
            if end not in seen:
                seen.add(end)
                waiting.append(end)
    return frozenset(found), frozenset(called)
