"""Which words may come next: for completion in the typed conversation and for the help."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.grammar.network import ANY_WORD

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldvoice.grammar.network import Network


def next_words(networks: Mapping[str, Network], top: str, said: Sequence[str]) -> frozenset[str]:
    """Return the words with which the sentence begun by ``said`` can go on, none if it cannot."""
    walk = _Walk(networks, said)
    walk.ends(top, 0)
    return frozenset(walk.next - {ANY_WORD})


def accepts(networks: Mapping[str, Network], top: str, said: Sequence[str]) -> bool:
    """Return whether rule ``top`` has the sentence ``said``, word for word."""
    return len(said) in _Walk(networks, said).ends(top, 0)


def is_unfinished(networks: Mapping[str, Network], top: str, said: Sequence[str]) -> bool:
    """Return whether ``said`` begins a sentence and is none: something is still to come."""
    walk = _Walk(networks, said)
    return len(said) not in walk.ends(top, 0) and bool(walk.next)


class _Walk:
    """Follows the words exactly, and notes what is expected where they end."""

    def __init__(self, networks: Mapping[str, Network], said: Sequence[str]) -> None:
        self._networks = networks
        self._said = said
        self._ends: dict[tuple[str, int], frozenset[int]] = {}
        self.next: set[str] = set()

    def ends(self, rule: str, at: int) -> frozenset[int]:
        """Return the places where ``rule`` can end that begins at word ``at``."""
        known = self._ends.get((rule, at))
        if known is not None:
            return known
        network = self._networks[rule]
        seen = {(network.start, at)}
        waiting = [(network.start, at)]
        while waiting:
            for step in self._steps(network, *waiting.pop()):
                if step not in seen:
                    seen.add(step)
                    waiting.append(step)
        found = frozenset(place for state, place in seen if state == network.final)
        self._ends[rule, at] = found
        return found

    def _steps(self, network: Network, state: int, at: int) -> list[tuple[int, int]]:
        steps = [(end, at) for end, _, _ in network.jumps[state]]
        if at == len(self._said):
            self.next.update(network.words[state])
        else:
            for word in (self._said[at], ANY_WORD):
                steps += [(end, at + 1) for end, _, _ in network.words[state].get(word, ())]
        for rule, end, _, _ in network.calls[state]:
            steps += [(end, place) for place in self.ends(rule, at)]
        return steps
