"""What may come after each beginning of a sentence, word by word.

For a search that follows many beginnings side by side: what is known of a beginning is kept with
it, and each further word costs no more than what that word can lead to. The method is that of
J. Earley, "An efficient context-free parsing algorithm" (Communications of the ACM 13, 1970), on
the grammar's networks.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from fieldvoice.grammar.network import ANY_WORD

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from fieldvoice.grammar.network import Network


class _Item(NamedTuple):
    """A rule that has come to a state, and the beginning at which it was called."""

    rule: str
    state: int
    called: Beginning


class Beginning:
    """The words said so far, and what they may go on with.

    Words of remarks, which may be any, are left out.
    """

    def __init__(
        self, networks: Mapping[str, Network], top: str, reached: Iterable[_Item] | None = None
    ) -> None:
        self._networks, self._top = networks, top
        self._callers: dict[str, list[_Item]] = {}
        self._after: dict[str, list[_Item]] = {}
        self._known: dict[str, Beginning] = {}
        #: Whether the words so far are a whole sentence.
        self.is_whole = False
        first = _Item(top, networks[top].start, self)
        self._explore([first] if reached is None else list(reached))

    @cached_property
    def next_words(self) -> frozenset[str]:
        """The words that may come next."""
        return frozenset(self._after) - {ANY_WORD}

    def then(self, word: str) -> Beginning:
        """Return what has been said when ``word``, one of ``next_words``, is said too."""
        if word not in self._known:
            self._known[word] = Beginning(self._networks, self._top, self._after[word])
        return self._known[word]

    def _explore(self, waiting: list[_Item]) -> None:
        seen = set(waiting)
        while waiting:
            for found in self._beyond(waiting.pop()):
                if found not in seen:
                    seen.add(found)
                    waiting.append(found)

    def _beyond(self, item: _Item) -> Iterable[_Item]:
        """Yield what an item leads to without a word, and note the words that it waits for."""
        rule, state, called = item
        network = self._networks[rule]
        for word, steps in network.words[state].items():
            ends = (_Item(rule, end, called) for end, _, _ in steps)
            self._after.setdefault(word, []).extend(ends)
        for end, _, _ in network.jumps[state]:
            yield _Item(rule, end, called)
        for other, end, _, _ in network.calls[state]:
            self._callers.setdefault(other, []).append(_Item(rule, end, called))
            yield _Item(other, self._networks[other].start, self)
        if state == network.final:
            self.is_whole |= rule == self._top
            yield from called._callers.get(rule, ())
