"""What is said by pointing at other trees, places or notes: "the rest are dry"."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldvoice.dialogue.round import missed_trees, round_trees
from fieldvoice.dialogue.to_remind import reminder_meant
from fieldvoice.schema.acts import (
    Dump,
    Gather,
    Inspect,
    OfTrees,
    Reading,
    Reminded,
    Sweetness,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from fieldvoice.book import Season
    from fieldvoice.dialogue.focus import Focus
    from fieldvoice.schema import Act, Meaning, TreeId

#: What a look tells.
_SEEN = ("fill", "sap", "smell")


def spelled_out(
    meaning: Meaning, before: Sequence[Meaning], season: Season, hand: Focus, now: datetime
) -> Meaning:
    """Return ``meaning`` with the trees and the state that it points at.

    ``before`` are the notes of the same breath, completed. What cannot be told from the breath and
    the book stays as it was said, and is asked for.
    """
    if isinstance(meaning, Inspect) and meaning.same:
        meaning = _as_seen(meaning, before, season, hand)
    if isinstance(meaning, Reading | Sweetness) and before and isinstance(before[-1], Gather):
        meaning = _after_gathering(meaning, before[-1])
    if isinstance(meaning, Reminded):
        meaning = meaning.replace(text=reminder_meant(meaning.text, season, now))
    if isinstance(meaning, Gather) and meaning.which == "all" and not meaning.but:
        # So many gallons from all the trees are a total; without an amount each was emptied.
        whole = meaning.volume_gal is not None
        meaning = meaning.replace(which=None, all=True) if whole else meaning
    if isinstance(meaning, OfTrees) and meaning.which is not None:
        trees = _pointed_at(meaning, before, season, now)
        meaning = meaning.replace(trees=trees, which=None, but=None) if trees else meaning
    return meaning


def dumps_last(acts: tuple[Act, ...]) -> tuple[Act, ...]:
    """Return the notes of a breath with dumping after the look at what was dumped.

    "Dumped tree two, it was yellow": it was yellow before, and the bucket is empty now.
    """
    if not any(went_out(act, acts) for act in acts):
        return acts
    return tuple(sorted(acts, key=lambda act: isinstance(act, Dump)))


def went_out(look: Act, acts: tuple[Act, ...]) -> bool:
    """Return whether ``look`` is at sap that the same breath tells was dumped."""
    if not isinstance(look, Inspect | Reading):
        return False
    seen = _places(look)
    return any(isinstance(act, Dump) and seen & _places(act) for act in acts)


def _places(act: Dump | Inspect | Reading) -> set[TreeId | str]:
    trees = () if isinstance(act, Reading) else _named(act)
    return {*trees, *(() if act.vessel is None else (act.vessel,))}


def _after_gathering(note: Reading | Sweetness, gathered: Gather) -> Meaning:
    """Return a note that names nothing as one of where the sap just gathered was or went."""
    if isinstance(note, Reading):
        there: Meaning = note if note.vessel else note.replace(vessel=gathered.vessel)
        return there
    named = _named(note) or note.vessel or note.site
    tested: Meaning = note if named else note.replace(site=gathered.site)
    return tested


def _as_seen(meaning: Inspect, before: Sequence[Meaning], season: Season, hand: Focus) -> Meaning:
    """Return a look at a tree that is like the one before it."""
    in_hand = season.trees.get(hand.tree) if hand.tree is not None else None
    noted = [act for _, act in in_hand.noted(Inspect)] if in_hand is not None else []
    looks = [*noted, *(look for look in before if isinstance(look, Inspect))]
    seen = _seen(meaning) or (_seen(looks[-1]) if looks else {})
    same: Meaning = meaning.replace(same=None, **seen) if seen else meaning
    return same


def _seen(look: Inspect) -> dict[str, Any]:
    told = {name: getattr(look, name) for name in _SEEN}
    return {name: value for name, value in told.items() if value is not None}


def _pointed_at(
    meaning: OfTrees, before: Sequence[Meaning], season: Season, now: datetime
) -> tuple[TreeId, ...]:
    if meaning.which == "some":
        return ()
    trees = round_trees(season) if meaning.which == "all" else missed_trees(season, now)
    named = {tree for one in before if isinstance(one, OfTrees) for tree in _named(one)}
    left_out = {*(meaning.but or ()), *(named if meaning.which == "rest" else ())}
    found = tuple(tree for tree in trees if tree not in left_out)
    is_all_of_one = meaning.which == "all" and len(trees) < 2
    return () if is_all_of_one else found  # a book that knows one tree does not know them all


def _named(note: OfTrees) -> tuple[TreeId, ...]:
    return note.trees or (() if note.tree is None else (note.tree,))
