"""The names that owners gave to trees and vessels, as rules of the grammar.

The grammar leaves a place for them (``<tree_name>``, ``<vessel_name>``). A book's names are put
there when words are read, and into the finished language model where a name was expected, so that
both know a name from the moment it is given.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.grammar.jsgf import (
    CLITIC,
    OPTIONAL,
    Alternatives,
    Repeat,
    Rule,
    Sequence,
    Tagged,
    Token,
)
from fieldvoice.grammar.network import build_networks

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldvoice.grammar.jsgf import Expansion
    from fieldvoice.grammar.network import Network

TREE_NAME, VESSEL_NAME = "things.tree_name", "things.vessel_name"

#: What stands for any name in the sentences that a language model is made from.
SLOTS = {TREE_NAME: "%tree", VESSEL_NAME: "%vessel"}

#: Left off where enough remains: "the big yard tree" is "big yard".
_GENERIC = frozenset({"tree", "maple", "one", "tank", "bucket", "tote", "barrel"})
_ENOUGH = 2
_WORD = re.compile(r"'s\b|[^\W_]+(?:'(?!s\b)[^\W_]+)*")
_ARTICLES = ("the", "a", "an")


@dataclass(frozen=True, slots=True)
class EntityNames:
    """What trees and vessels are called, beside their numbers."""

    trees: frozenset[str] = frozenset()
    vessels: frozenset[str] = frozenset()

    def __bool__(self) -> bool:
        return bool(self.trees or self.vessels)

    @property
    def words(self) -> frozenset[str]:
        """Every word in the names."""
        return frozenset(word for name in (*self.trees, *self.vessels) for word in words_in(name))

    def networks(self) -> dict[str, Network]:
        """Return the networks of the two rules that the grammar leaves open."""
        trees = [Tagged(_said(name), (f"name={name}",)) for name in sorted(self.trees)]
        vessels = [Tagged(_said(name), (f"kind={name}",)) for name in sorted(self.vessels)]
        return build_networks(
            {TREE_NAME: _rule(TREE_NAME, trees), VESSEL_NAME: _rule(VESSEL_NAME, vessels)}
        )


def words_in(name: str) -> tuple[str, ...]:
    """Return a name in words as the grammar has them, without a leading article."""
    words = tuple(_WORD.findall(name.casefold()))
    return words[1:] if words[:1] and words[0] in _ARTICLES and len(words) > 1 else words


def slot_rules() -> dict[str, Rule]:
    """Return the two rules that the grammar leaves open, each with the word for any name."""
    return {name: _rule(name, [Token(slot)]) for name, slot in SLOTS.items()}


def _rule(name: str, choices: Iterable[Expansion]) -> Rule:
    said = tuple(choices)
    return Rule(name, Alternatives(said, (1.0,) * len(said)), public=True, about="")


def _said(name: str) -> Expansion:
    words = words_in(name)
    parts: list[Expansion] = [
        Repeat(Token(word), *OPTIONAL) if word == CLITIC else Token(word) for word in words
    ]
    if words[-1] in _GENERIC and len(words) > _ENOUGH:
        parts[-1] = Repeat(parts[-1], *OPTIONAL)
    return Sequence(tuple(parts))
