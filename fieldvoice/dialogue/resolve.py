"""Filling in what was left unsaid, from the breath and the conversation; the rest is asked.

Nothing is made up: a reference comes from the same breath, from the tree or vessel in hand, or from
there being only one vessel of the kind named.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fieldvoice.dialogue.fields import changed
from fieldvoice.dialogue.focus import named_in
from fieldvoice.dialogue.ledger_effects import all_carried, boil_source
from fieldvoice.dialogue.policy import MissingSlot
from fieldvoice.dialogue.references import spelled_out
from fieldvoice.dialogue.round import next_tree
from fieldvoice.dialogue.rule_inputs import vessels_with_sap
from fieldvoice.nlu.times import dated
from fieldvoice.rules.plausible import of_many_trees
from fieldvoice.schema import ACTS, Act, Ask, Command, EntityMention, Meaning, plain_name
from fieldvoice.schema.acts import (
    Boil,
    Clean,
    Dump,
    Filter,
    Inspect,
    Name,
    Reading,
    Store,
    Transfer,
)
from fieldvoice.schema.asks.boiling import DrawCheck
from fieldvoice.schema.names import VesselName
from fieldvoice.schema.slot import slots_of
from fieldvoice.schema.vocabulary import VESSEL

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from datetime import datetime

    from fieldvoice.book import Season
    from fieldvoice.dialogue.focus import Focus
    from fieldvoice.dialogue.settings import Settings
    from fieldvoice.schema import Names, TreeId


def completed(
    meanings: tuple[Meaning, ...],
    focus: Focus,
    season: Season,
    settings: Settings,
    now: datetime,
) -> tuple[tuple[Meaning, ...], MissingSlot | None]:
    """Return ``meanings`` with references filled in, and the first slot still missing.

    ``focus`` moves on within the breath: a tree named in one note holds for the next.
    """
    known = {*season.vessels, *settings.capacities_gal, *settings.vessels}
    meanings = tuple(one for meaning in meanings for one in _each_vessel(meaning, known))
    done: list[Meaning] = []
    gaps: list[MissingSlot] = []
    hand = focus
    several: Sequence[TreeId] | None = None
    for index, meaning in enumerate(meanings):
        pointed = spelled_out(dated(meaning, now), done, season, hand, now)
        full = _on_the_fire(all_carried(by_number(pointed, season.names), season, now), season)
        if several is not None and not named_in(full):
            full = changed(full, {"trees": several}) or full
        full, from_where = boil_source(full, index, season, now)
        full, gap = _completed_one(_as_vessel(full, known), index, hand, known, season)
        gap = gap or from_where
        done.append(full)
        gaps.extend([gap] if gap else [])
        if isinstance(full, Command) and full.do == "next":
            hand = replace(hand, tree=next_tree(season, hand.tree, now), vessel=None)
        if isinstance(full, Command) and full.do == "correct" and "tree" in full.fields:
            # "No, tree twelve, bucket half full": the rest of the breath is about tree twelve.
            hand = replace(hand, tree=full.fields["tree"], vessel=None)
        named = named_in(full)
        several = named.get("trees") if named else several
        hand = hand.after((full,), now)
        if isinstance(full, Filter):  # "filtered it, it's still cloudy" is said of the syrup
            hand = replace(hand, tree=None, vessel=None)
    return tuple(done), next(iter(gaps), None)


def by_number(meaning: Meaning, names: Names) -> Meaning:
    """Return ``meaning`` with the tree numbers and vessels that given names stand for."""
    if isinstance(meaning, EntityMention):
        return EntityMention(mention=names.numbered(meaning.mention))
    if isinstance(meaning, Command):
        return Command(do=meaning.do, fields=_command_by_number(meaning.fields, names))
    if isinstance(meaning, Name) and meaning.new and meaning.name is not None:
        named: Meaning = meaning.replace(tree=plain_name(meaning.name))
        return named
    if isinstance(meaning, Act | Ask):
        fields = meaning.json_fields()
        numbered = names.numbered(fields)
        return meaning if numbered == fields else _again(meaning, numbered)
    return meaning


def _command_by_number(fields: Mapping[str, Any], names: Names) -> dict[str, Any]:
    numbered = names.numbered(fields)
    if "of" in numbered:
        numbered["of"] = names.numbered(numbered["of"])
    return numbered


def _each_vessel(meaning: Meaning, known: Collection[str]) -> tuple[Meaning, ...]:
    """Return ``meaning`` for each vessel of a kind that it names in the plural: "both totes"."""
    name = getattr(meaning, "vessel", None)
    if not isinstance(meaning, Act | Ask) or name is None or name in known or name[-1:] != "s":
        return (meaning,)
    of_kind = sorted(one for one in known if VesselName.of(one).kind == name[:-1])
    has_amount = getattr(meaning, "volume_gal", None) is not None
    if len(of_kind) < 2 or has_amount:
        return (meaning,)
    return tuple(meaning.replace(vessel=one) for one in of_kind)


def _as_vessel(meaning: Meaning, known: Collection[str]) -> Meaning:
    """Return the washing of a piece of gear as that of the vessel which the book knows it as."""
    if not isinstance(meaning, Clean) or meaning.vessel is not None or meaning.item is None:
        return meaning
    meant = [meaning.item] if meaning.item in known else _of_kind(meaning.item, known)
    return Clean(vessel=meant[0], at=meaning.at) if len(meant) == 1 else meaning


def _completed_one(
    meaning: Meaning, index: int, hand: Focus, known: Collection[str], season: Season
) -> tuple[Meaning, MissingSlot | None]:
    if isinstance(meaning, Ask):
        return _completed_ask(meaning, index, hand, known, season)
    if isinstance(meaning, Reading):
        meaning = _at_the_pan(meaning, season)
    if isinstance(meaning, Act):
        return _completed_act(meaning, index, hand, known, season)
    if isinstance(meaning, EntityMention):
        said = _said_of_it(meaning, hand)
        return (_at_the_pan(said, season) if isinstance(said, Reading) else said or meaning), None
    return meaning, None


#: No sap in store is as hot as this, in °F.
_BOILING_HOT_F = 190.0


def _on_the_fire(meaning: Meaning, season: Season) -> Meaning:
    """Return sap poured into the pan as boiled, where a fire burns or it can come from a tank.

    Else it stands there, like any sap.
    """
    if not isinstance(meaning, Store) or meaning.vessel != "pan" or meaning.volume_gal is None:
        return meaning
    in_tanks = any(one.name != "pan" for one in vessels_with_sap(season))
    is_fed = _boils(season) or (in_tanks and season.carried is None)
    return Boil(volume_gal=meaning.volume_gal, at=meaning.at) if is_fed else meaning


def _boils(season: Season) -> bool:
    return bool(season.boilings) and season.boilings[-1].ended_at is None


def _at_the_pan(note: Reading, season: Season) -> Meaning:
    """Return what is read at the pan on the fire as what it is there.

    So hot a temperature asks how far it is from syrup.
    """
    said = note.json_fields().keys() - {"act", "at", "vessel", "temp_f"}
    is_there = _boils(season) or note.vessel in (None, "pan")
    if said or not is_there or (note.temp_f or 0) < _BOILING_HOT_F:
        return note
    return DrawCheck(temp_f=note.temp_f)


#: Fractions that at a tree can only be how full its bucket is.
_PARTS_FULL = (0.25, 0.5, 0.75)


def _said_of_it(mention: EntityMention, hand: Focus) -> Act | None:
    """Return the note that an amount with its unit makes of what is in hand, if it can be only one.

    "Two gallons" at a tree was gathered there, "half" is how full its bucket is, and "thirty six
    degrees" at a tank was read there. Two gallons at a tank may be poured in or what it holds, so
    that they say nothing by themselves.
    """
    if len(mention.mention) != 1:
        return None
    (field, value), *_ = mention.mention.items()
    if hand.tree is not None and field == "number" and value in _PARTS_FULL:
        return Inspect(tree=hand.tree, fill=value)
    things = {"tree": hand.tree, "vessel": hand.vessel}
    for kind in ACTS.values():
        for thing, bare in kind.spec.bare:
            if field == bare and things[thing] is not None:
                return kind.model_validate({thing: things[thing], field: value})
    return None


def _likely_for(act: Act, season: Season) -> set[str]:
    """Return the vessels that "the tank" means first: of notes about sap, those that have some."""
    is_of_sap = isinstance(act, Dump | Reading | Store | Transfer)
    return {vessel.name for vessel in vessels_with_sap(season)} if is_of_sap else set()


def _completed_act(
    act: Act, index: int, hand: Focus, known: Collection[str], season: Season
) -> tuple[Meaning, MissingSlot | None]:
    fields, slots = act.json_fields(), slots_of(type(act))
    for slot in (slots[name] for name in fields if name in slots):
        if slot.stands_for and slot.ask:
            return act, MissingSlot(slot.stands_for, index, slot.ask)
    about = act.spec.subject
    if about and not fields.keys() & set(about):
        at_a_tree = "tree" in about and hand.tree is not None
        if "all" in about and of_many_trees(fields.get("volume_gal"), at_a_tree=at_a_tree):
            fields["all"] = True
        elif at_a_tree:
            fields["tree"] = hand.tree
        elif "vessel" in about and hand.vessel is not None:
            fields["vessel"] = hand.vessel
        else:
            return act, MissingSlot(about[0], index, slots[about[0]].ask)
    if not _settle_vessel(fields, hand, known, likely=_likely_for(act, season)):
        return act, MissingSlot("vessel", index, VESSEL.ask)
    for group in act.spec.needs:
        if not fields.keys() & set(group):
            return _again(act, fields), MissingSlot(group[0], index, slots[group[0]].ask)
    return _again(act, fields), None


def _completed_ask(
    ask: Ask, index: int, hand: Focus, known: Collection[str], season: Season
) -> tuple[Meaning, MissingSlot | None]:
    fields, spec = ask.json_fields(), ask.spec
    if spec.subject and not fields.keys() & {spec.subject, *spec.instead}:
        in_hand = hand.tree if spec.subject == "tree" else hand.vessel
        if in_hand is not None:
            fields[spec.subject] = in_hand
        elif spec.required:
            return ask, MissingSlot(spec.subject, index, slots_of(type(ask))[spec.subject].ask)
    # What is asked of "the tank" is asked of the one that has sap, where only one has.
    with_sap = {vessel.name for vessel in vessels_with_sap(season)}
    if not _settle_vessel(fields, hand, known, likely=with_sap):
        return ask, MissingSlot("vessel", index, VESSEL.ask)
    return _again(ask, fields), None


def _settle_vessel(
    fields: dict[str, Any], hand: Focus, known: Collection[str], likely: Collection[str] = ()
) -> bool:
    """Make "the tank" the tank that is meant; False when it could be one of several.

    ``likely`` are those that are meant before others, where that leaves one.
    """
    _settle_other(fields, known)
    name = fields.get("vessel")
    if name is None or name in known:
        return True
    of_kind = _of_kind(name, known)
    if hand.vessel in of_kind:
        of_kind = [hand.vessel]
    if len(of_kind) > 1 and len(apart := [one for one in of_kind if one in likely]) == 1:
        of_kind = apart
    if len(of_kind) == 1:
        fields["vessel"] = of_kind[0]
    return len(of_kind) < 2


def _settle_other(fields: dict[str, Any], known: Collection[str]) -> None:
    """Make "into the barrel" the one barrel that there is besides where the sap comes from."""
    name = fields.get("into")
    if name is None or name in known:
        return
    of_kind = [one for one in _of_kind(name, known) if one != fields.get("vessel")]
    if len(of_kind) == 1:
        fields["into"] = of_kind[0]


def _of_kind(kind: str, known: Collection[str]) -> list[str]:
    """Return the vessels of a kind: "tank 1" is a tank, and so is the blue tank beside none."""
    numbered = sorted(one for one in known if VesselName.of(one).kind == kind)
    return numbered or sorted(one for one in known if one.endswith(f" {kind}"))


def _again(meaning: Act | Ask, fields: dict[str, Any]) -> Meaning:
    return type(meaning).model_validate(fields)
