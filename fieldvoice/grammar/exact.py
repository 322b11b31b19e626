"""Sentences read exactly as the grammar has them, with every meaning that they have.

This is the small sibling of the search in ``fieldvoice.nlu``: it passes over nothing and
mends nothing, and it is there to check grammars by.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from fieldvoice.grammar.network import ANY_WORD, Network, first_words
from fieldvoice.grammar.tags import ADD, CLOSE, DECIMAL, MULTIPLY, OPEN, SET, Mark

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

#: Ways kept from one place to another; the dearer ones are let go.
_KEPT = 6

Steps = tuple[Mark | str, ...]


class Reading(NamedTuple):
    """One way through the grammar: its cost, its meanings, and the rules it goes through."""

    cost: float
    meanings: tuple[tuple[str, object], ...]
    rules: tuple[str, ...]


class _Way(NamedTuple):
    cost: float
    steps: Steps
    rules: tuple[str, ...]


#: The cheapest ways by the place where they end.
_Ends = dict[int, list[_Way]]


class ExactReader:
    """Reads sentences by the networks of a grammar."""

    def __init__(self, networks: Mapping[str, Network], top: str) -> None:
        self._networks = networks
        self._top = top
        self._firsts = first_words(networks)

    def read(self, words: tuple[str, ...]) -> list[Reading]:
        """Return the readings of ``words`` that differ in meaning, the cheapest first."""
        walk = _Walk(self._networks, self._firsts, words)
        found: dict[tuple[tuple[str, object], ...], Reading] = {}
        for way in sorted(walk.rule(self._top, 0).get(len(words), []), key=lambda way: way.cost):
            meanings = meanings_of(way.steps)
            if meanings not in found:
                found[meanings] = Reading(way.cost, meanings, way.rules)
        return list(found.values())


class _Walk:
    def __init__(
        self,
        networks: Mapping[str, Network],
        firsts: Mapping[str, frozenset[str]],
        words: tuple[str, ...],
    ) -> None:
        self._networks = networks
        self._firsts = firsts
        self._words = words
        self._of_rule: dict[tuple[str, int], _Ends] = {}
        self._of_state: dict[tuple[str, int, int], _Ends] = {}

    def rule(self, name: str, at: int) -> _Ends:
        key = (name, at)
        if key not in self._of_rule:
            ends = self._state(name, self._networks[name].start, at)
            self._of_rule[key] = {
                end: [way._replace(rules=(name, *way.rules)) for way in ways]
                for end, ways in ends.items()
            }
        return self._of_rule[key]

    def _state(self, name: str, state: int, at: int) -> _Ends:
        key = (name, state, at)
        if key not in self._of_state:
            found: _Ends = {at: [_Way(0.0, (), ())]} if self._ends(name, state) else {}
            for before, there, end in self._ways_on(name, state, at):
                for place, ways in self._state(name, end, there).items():
                    found.setdefault(place, []).extend(
                        _Way(before.cost + way.cost, before.steps + way.steps,
                             before.rules + way.rules)
                        for way in ways
                    )  # fmt: skip
            self._of_state[key] = {place: _cheapest(ways) for place, ways in found.items()}
        return self._of_state[key]

    def _ends(self, name: str, state: int) -> bool:
        return state == self._networks[name].final

    def _ways_on(self, name: str, state: int, at: int) -> Iterator[tuple[_Way, int, int]]:
        """Yield what is done, the word and the state it leads to, for each step from a state."""
        network = self._networks[name]
        for end, cost, marks in network.jumps[state]:
            yield _Way(cost, marks, ()), at, end
        if at == len(self._words):
            return
        word = self._words[at]
        for said in (word, ANY_WORD):
            for end, cost, marks in network.words[state].get(said, ()):
                yield _Way(cost, (*marks, word), ()), at + 1, end
        for called, end, cost, marks in network.calls[state]:
            if self._firsts[called] & {word, ANY_WORD}:
                for there, ways in self.rule(called, at).items():
                    for way in ways:
                        yield _Way(cost + way.cost, marks + way.steps, way.rules), there, end


def _cheapest(ways: list[_Way]) -> list[_Way]:
    """Return the cheapest ways that differ in more than the rules they go through."""
    found: dict[Steps, _Way] = {}
    for way in sorted(ways, key=lambda way: way.cost):
        found.setdefault(way.steps, way)
        if len(found) == _KEPT:
            break
    return list(found.values())


@dataclass(slots=True)
class _Scope:
    """What is set and counted between a tag's two marks."""

    fields: list[tuple[str, object]] = field(default_factory=list)
    number: Fraction | None = None
    decimals: int = 0
    words: list[str] = field(default_factory=list)

    def value(self) -> object:
        """Return what a tag takes: a number, what was set inside, or else the words."""
        if self.fields:
            number = () if self.number is None else (("", self.number),)
            return tuple(sorted({*self.fields, *number}, key=repr))
        return " ".join(self.words) if self.number is None else self.number


def meanings_of(steps: Steps) -> tuple[tuple[str, object], ...]:
    """Return what the marks of a way set, as it was said; equal meanings are equal."""
    scopes = [_Scope()]
    for step in steps:
        here = scopes[-1]
        if isinstance(step, str):
            here.words.append(step)
            continue
        kind, key, value = step
        if kind == OPEN:
            scopes.append(_Scope())
        elif kind == CLOSE:
            closed = scopes.pop()
            scopes[-1].fields.append((key, closed.value()))
        elif kind == SET:
            here.fields.append((key, value))
        else:
            _count(here, kind, Fraction(str(value)))
    return tuple(scopes[0].fields)


def _count(scope: _Scope, kind: str, value: Fraction) -> None:
    if kind == DECIMAL:
        scope.decimals += 1
        value /= 10**scope.decimals
    if kind in (ADD, DECIMAL):
        scope.number = (scope.number or Fraction(0)) + value
    elif kind == MULTIPLY:
        scope.number = (Fraction(1) if scope.number is None else scope.number) * value
