"""What changed for good in a few trees, put into later states without all notes gone through.

A hole drilled years ago is in its tree ever since, so that no later state comes out as it was. But
what is known of a trunk and its holes (``_OF_THE_TREE``) is changed by notes that name the tree, or
all of them, and nothing else of the season is reckoned from it: where two states differ in that
alone, so do the later ones that the same notes lead to.
"""

from __future__ import annotations

import zlib
from copy import deepcopy
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from pydantic_core import from_json, to_json

from fieldvoice.book.fold import begun
from fieldvoice.book.season import TreeState
from fieldvoice.book.states import written_state

if TYPE_CHECKING:
    from datetime import datetime

    from fieldvoice.book.fold import State
    from fieldvoice.schema import Act, TreeId

#: What is known of a tree that the fold reckons nothing else from.
_OF_THE_TREE = frozenset(
    "diameter_in species condition taps pulled_count pulled site felled_at has_bucket".split()
)
#: In the order in which they are written.
_FIELDS = tuple(one.name for one in fields(TreeState))
#: In more trees than this all notes are as soon gone through.
_FEW = 5


def trees_that_differ(old: bytes, new: bytes) -> list[str]:
    """Return the few trees in which alone two written states differ, in what is known of a tree.

    Where they differ in more than that, or are the same, there are none.
    """
    before, after = _read(old), _read(new)
    trees, others = before.pop("trees"), after.pop("trees")
    if before != after or list(trees) != list(others):
        return []
    differ = [key for key, tree in trees.items() if tree != others[key]]
    is_known = all(_others_of(trees[key]) == _others_of(others[key]) for key in differ)
    return differ if is_known and len(differ) <= _FEW else []


class FewTrees:
    """A few trees of a state on their way through the notes on them."""

    def __init__(self, state: State, keys: list[str]) -> None:
        self._state = begun({})
        self._state.names, self._state.year = state.names, state.year
        self._state.trees = {key: deepcopy(state.trees[key]) for key in keys}
        self._keys = keys

    @property
    def ids(self) -> list[TreeId]:
        """What the trees are called."""
        return [self._state.trees[key].id for key in self._keys]

    def take(self, at: datetime, act: Act) -> None:
        """Take in one note, which happened no earlier than the last."""
        self._state.take(at, act)

    def put_into(self, written: bytes) -> bytes:
        """Return a written state of this moment with what is known of these trees."""
        state = _read(written)
        self._state.come_to(state["year"])
        known = _read(written_state(self._state))["trees"]
        for key in self._keys:
            tree = {**_others_of(state["trees"][key]), **_known_of(known[key])}
            state["trees"][key] = {name: tree[name] for name in _FIELDS if name in tree}
        return zlib.compress(to_json(state), level=1)


def _read(written: bytes) -> dict[str, Any]:
    state: dict[str, Any] = from_json(zlib.decompress(written))
    return state


def _known_of(tree: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in tree.items() if name in _OF_THE_TREE}


def _others_of(tree: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in tree.items() if name not in _OF_THE_TREE}
