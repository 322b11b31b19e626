"""Which words may come next: for completion in the typed conversation and for the help."""

from __future__ import annotations

from heapq import heappop, heappush
from math import inf
from typing import TYPE_CHECKING

from fieldvoice.grammar.network import ANY_WORD

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fieldvoice.grammar.network import Network


def next_words(networks: Mapping[str, Network], top: str, said: Sequence[str]) -> list[str]:
    """Return the words with which the sentence begun by ``said`` can go on, none if it cannot.

    Those that are said most, by the grammar's weights, come first.
    """
    costs = _Walk(networks, said).reached(top, 0)[1]
    return sorted(costs.keys() - {ANY_WORD}, key=lambda word: (costs[word], word))


def accepts(networks: Mapping[str, Network], top: str, said: Sequence[str]) -> bool:
    """Return whether rule ``top`` has the sentence ``said``, word for word."""
    return len(said) in _Walk(networks, said).reached(top, 0)[0]


def is_unfinished(networks: Mapping[str, Network], top: str, said: Sequence[str]) -> bool:
    """Return whether ``said`` begins a sentence and is none: something is still to come."""
    ends, following = _Walk(networks, said).reached(top, 0)
    return len(said) not in ends and bool(following)


#: Where a rule can end, and the words that may come where the words said end: each at what cost.
_Reached = tuple[dict[int, float], dict[str, float]]


class _Walk:
    """Follows the words exactly, and notes what is expected where they end."""

    def __init__(self, networks: Mapping[str, Network], said: Sequence[str]) -> None:
        self._networks = networks
        self._said = said
        self._reached: dict[tuple[str, int], _Reached] = {}

    def reached(self, rule: str, at: int) -> _Reached:
        """Return what ``rule`` leads to that begins at word ``at``, by the cheapest ways."""
        known = self._reached.get((rule, at))
        if known is not None:
            return known
        network = self._networks[rule]
        costs = {(network.start, at): 0.0}
        waiting = [(0.0, network.start, at)]
        following: dict[str, float] = {}
        while waiting:
            cost, state, place = heappop(waiting)
            if cost > costs[state, place]:
                continue
            for more, end, after in self._steps(network, state, place, cost, following):
                if more < costs.get((end, after), inf):
                    costs[end, after] = more
                    heappush(waiting, (more, end, after))
        ends = {place: cost for (state, place), cost in costs.items() if state == network.final}
        self._reached[rule, at] = ends, following
        return ends, following

    def _steps(
        self, network: Network, state: int, at: int, cost: float, following: dict[str, float]
    ) -> Iterator[tuple[float, int, int]]:
        """Yield the ways on from a state, and take in the words that may come at the end."""
        for end, price, _ in network.jumps[state]:
            yield cost + price, end, at
        if at == len(self._said):
            cheapest = {word: min(price for _, price, _ in steps)
                        for word, steps in network.words[state].items()}  # fmt: skip
            _take_in(following, {word: cost + price for word, price in cheapest.items()})
        else:
            for word in (self._said[at], ANY_WORD):
                for end, price, _ in network.words[state].get(word, ()):
                    yield cost + price, end, at + 1
        for rule, end, price, _ in network.calls[state]:
            ends, begun = self.reached(rule, at)
            _take_in(following, {word: cost + price + dear for word, dear in begun.items()})
            for place, dear in ends.items():
                yield cost + price + dear, end, place


def _take_in(following: dict[str, float], found: Mapping[str, float]) -> None:
    for word, cost in found.items():
        following[word] = min(cost, following.get(word, inf))
