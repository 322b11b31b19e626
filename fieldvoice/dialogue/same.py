"""Readings that come to the same: one form for all of them, so that none rivals itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue.focus import named_in
from fieldvoice.schema import Act, Command, EntityMention
from fieldvoice.schema.acts import Boil, Gather, Inspect, Reading, Store, Tap

if TYPE_CHECKING:
    from fieldvoice.schema import Meaning


def poured_at_once(meanings: tuple[Meaning, ...]) -> tuple[Meaning, ...]:
    """Return notes with what was gathered and poured in one breath as gathered into the vessel.

    "Forty gallons today, all in the tote" is one note; where an amount was poured they are two.
    """
    last = meanings[-1] if meanings else None
    gathered = [
        one for one in meanings[:-1]
        if isinstance(one, Gather) and one.vessel is None and one.volume_gal is not None
    ]  # fmt: skip
    if not isinstance(last, Store) or last.volume_gal is not None or len(meanings) < 2:
        return meanings
    if last.vessel is None:  # and what was told to be poured is in its place already
        poured = all(isinstance(one, Gather) and one.vessel is not None for one in meanings[:-1])
        return meanings[:-1] if poured else meanings
    if len(gathered) < len(meanings) - 1:
        return meanings
    return tuple(one.replace(vessel=last.vessel) for one in gathered)


def simplest(meanings: tuple[Meaning, ...]) -> tuple[Meaning, ...]:
    """Return completed ``meanings`` without names that the next note repeats, notes joined.

    "Tree 12" and "tree 12 half full" is one note; so are "tree 12 half full" and "tree 12 clear".
    """
    kept: list[Meaning] = []
    for index, meaning in enumerate(meanings):
        following = meanings[index + 1] if index + 1 < len(meanings) else None
        if isinstance(meaning, Command) and meaning.do == "confirm" and len(meanings) > 1:
            continue  # "Right, tree twelve is empty" confirms nothing.
        if isinstance(meaning, EntityMention) and following is not None:
            named = named_in(following)
            if all(named.get(key) == value for key, value in named_in(meaning).items()):
                continue
        joined = (_joined(kept[-1], meaning) or _tapped_alike(kept[-1], meaning)) if kept else None
        if joined is not None:
            kept[-1] = joined
        else:
            kept.append(meaning)
    return tuple(kept)


def _joined(one: Meaning, other: Meaning) -> Meaning | None:
    """Return two notes of the same act about the same thing as one, if they say different things.

    What happened twice stays two notes: only looks are joined, not gatherings or taps; but "tapped
    seven" before how it was tapped is no second time, nor is what else is told of one hole.
    """
    if isinstance(one, Reading) and isinstance(other, Inspect) and other.smell is None:
        other = Reading(vessel=other.vessel, at=other.at, sap=other.sap, fill=other.fill)
    if not isinstance(one, Act) or not isinstance(other, Act) or one.act != other.act:
        return None
    if isinstance(one, Boil) and isinstance(other, Boil) and (fire := _one_fire(one, other)):
        return fire
    about = named_in(one)
    if about != named_in(other) or one.at != other.at:
        return None
    fields, more = one.json_fields(), other.json_fields()
    same = {"act", "at", *about}
    is_heading = fields.keys() <= same < more.keys() | {"at"}
    is_one_hole = isinstance(one, Tap) and not {"count"} & more.keys()
    if not (one.spec.joins or is_heading or is_one_hole):
        return None
    if (fields.keys() & more.keys()) - same:
        return None
    joined: Meaning = one.replace(**{**more, "act": one.act})
    return joined


def _tapped_alike(one: Meaning, other: Meaning) -> Meaning | None:
    """Return trees tapped alike, one after the other, as one note: "one tap each"."""
    if not isinstance(one, Tap) or not isinstance(other, Tap) or other.tree is None:
        return None
    trees = (*(one.trees or () if one.tree is None else (one.tree,)), other.tree)
    is_alike = one.replace(tree=None, trees=None) == other.replace(tree=None)
    if len(trees) < 2 or len(set(trees)) < len(trees) or not is_alike:
        return None
    alike: Meaning = one.replace(tree=None, trees=trees)
    return alike


def _one_fire(one: Boil, other: Boil) -> Meaning | None:
    """Return "the fire is lit, boiling tank one" as one start: a fire is lit once in a breath."""
    fields, more = one.json_fields(), other.json_fields()
    if one.phase is None or any(fields[name] != more[name] for name in fields.keys() & more.keys()):
        return None
    joined: Meaning = one.replace(**{**fields, **more})
    return joined if one.phase == other.phase else None
