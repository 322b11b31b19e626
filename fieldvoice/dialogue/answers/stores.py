"""Answers about vessels themselves: how big, how warm, how clean, what went in and out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue.answers.answered import Answered, answer, answers, told_gal
from fieldvoice.dialogue.answers.vessels import NO_SAP
from fieldvoice.dialogue.boil_day import boil_day, plan_as_json, step_of
from fieldvoice.dialogue.plan_told import step_told
from fieldvoice.dialogue.round import trees_in_words
from fieldvoice.dialogue.rule_inputs import vessels_with_sap
from fieldvoice.schema.acts import Boil, Dump, Gather, Store, Transfer
from fieldvoice.schema.asks.sap import LastWashed, RoomLeft, VesselFlow, VesselSize, VesselTemp
from fieldvoice.segments import (
    Count,
    Example,
    Quantity,
    VesselRef,
    When,
    fact,
    listed,
    parts,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from fieldvoice.book import Entry, VesselState
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.segments import Parts, Sentence

#: As many as one can follow by ear (design choices).
_WASHINGS_TOLD, _TREES_TOLD = 3, 4


@answers(VesselTemp)
def _vessel_temp(ask: VesselTemp, moment: TurnContext) -> Answered:
    names = [ask.vessel] if ask.vessel else [one.name for one in vessels_with_sap(moment.season)]
    if not names:
        return answer(NO_SAP)
    day = boil_day(moment.season, moment.settings, moment.now)
    told: list[Sentence] = []
    for name in names:
        vessel, it = moment.season.vessels.get(name), VesselRef(name)
        if vessel is None or not vessel.temps:
            told.append(fact("Nobody measured how warm", it, "is"))
        else:
            at, temp_f = vessel.temps[-1]
            told.append(fact(it, ":", Quantity(temp_f, "°F"), When(at, moment.now, "ago")))
        step = step_of(day, name)
        if ask.vessel and step is not None:
            told.append(fact(step_told(step, day)))
    return Answered(tuple(told), day.plan.findings, plan_as_json(day.plan))


@answers(VesselFlow)
def _vessel_flow(ask: VesselFlow, moment: TurnContext) -> Answered:
    assert ask.vessel is not None
    it = VesselRef(ask.vessel)
    vessel = moment.season.vessels.get(ask.vessel)
    begun = moment.now.replace(month=1, day=1)
    noted = moment.book.entries_naming(vessel=ask.vessel, since=begun)
    here = [one for one in noted if one.at.year == moment.now.year]
    into = [one for one in here if _is_into(one, ask.vessel)]
    out = [one for one in here if _is_out_of(one, ask.vessel)]
    if not into and not out:
        return answer("Nothing that went into", it, "is in the book")
    told = fact(it, ":", _flow("in", into, moment))
    return Answered((told, fact(_flow("out", out, moment)), _from_trees(vessel)))


def _flow(way: str, notes: Sequence[Entry], moment: TurnContext) -> Parts:
    """Return "13 gal in, last 8 gal 4 days ago, by Ann"; of what nobody noted "nothing in"."""
    if not notes:
        return parts("nothing noted as poured in") if way == "in" else ()
    known = sum(getattr(one.act, "volume_gal", None) or 0.0 for one in notes)
    last = notes[-1]
    gallons = getattr(last.act, "volume_gal", None)
    by = moment.book.utterance(last.utterance_id).by
    head = parts(told_gal(known), way) if known else parts("some", way)
    of_last = Quantity(gallons, "gal") if gallons else None
    ago = When(last.at, moment.now, "ago")
    return parts(head, ", last", of_last, ago, f", by {by}" if by else None)


def _is_into(note: Entry, vessel: str) -> bool:
    act = note.act
    if isinstance(act, Store | Gather):
        return act.vessel == vessel
    return isinstance(act, Transfer) and act.into == vessel


def _is_out_of(note: Entry, vessel: str) -> bool:
    act = note.act
    if isinstance(act, Boil):
        return act.phase != "stop" and act.vessel == vessel
    return isinstance(act, Transfer | Dump) and act.vessel == vessel


def _from_trees(vessel: VesselState | None) -> Sentence:
    trees = {tree for parcel in (vessel.parcels if vessel else ()) for tree in parcel.trees}
    if not trees:
        return fact()
    few = len(trees) <= _TREES_TOLD
    return fact("Sap of", trees_in_words(tuple(trees)) if few else Count(len(trees), "tree"))


@answers(RoomLeft)
def _room_left(ask: RoomLeft, moment: TurnContext) -> Answered:
    rooms = {
        vessel.name: max(0.0, vessel.capacity_gal - (vessel.volume_gal or 0.0))
        for vessel in moment.season.vessels.values()
        if vessel.capacity_gal is not None
        and (vessel.volume_gal is not None or not vessel.oldest_at)
    }
    if not rooms:
        example = Example("tank one holds fifty gallons")
        return Answered((fact("I don't know how big the tanks are"), fact("Say", example)))
    most = sorted(rooms, key=rooms.__getitem__, reverse=True)
    each = listed(parts(Quantity(rooms[name], "gal"), "in", VesselRef(name)) for name in most)
    if len(rooms) == 1:
        return answer("Room for", each)
    return answer("Room for", Quantity(sum(rooms.values()), "gal"), ":", each)


@answers(VesselSize)
def _vessel_size(ask: VesselSize, moment: TurnContext) -> Answered:
    sizes = {
        vessel.name: vessel.capacity_gal
        for vessel in moment.season.vessels.values()
        if vessel.capacity_gal is not None and ask.vessel in (None, vessel.name)
    }
    if not sizes:
        it = VesselRef(ask.vessel) if ask.vessel else "a tank"
        example = Example("tank one holds fifty gallons")
        return Answered((fact("How much", it, "holds is not in the book"), fact("Say", example)))
    most = sorted(sizes, key=sizes.__getitem__, reverse=True)
    each = (parts(VesselRef(name), "holds", Quantity(sizes[name], "gal")) for name in most)
    return answer(listed(each), "when full")


@answers(LastWashed)
def _last_washed(ask: LastWashed, moment: TurnContext) -> Answered:
    vessels = {one.name: one.cleaned_at for one in moment.season.vessels.values()}
    if ask.item is not None:
        return _washed(ask.item, moment.season.cleaned.get(ask.item), moment)
    if ask.vessel is not None:
        return _washed(VesselRef(ask.vessel), vessels.get(ask.vessel), moment)
    washed: list[tuple[VesselRef | str, datetime]] = [
        (VesselRef(name), at) for name, at in vessels.items() if at is not None
    ]
    washed += moment.season.cleaned.items()
    if not washed:
        return answer("No washing is in the book")
    newest = sorted(washed, key=lambda one: one[1], reverse=True)[:_WASHINGS_TOLD]
    told = listed(parts(it, When(at, moment.now, "ago")) for it, at in newest)
    return answer("Washed:", told)


def _washed(it: VesselRef | str, at: datetime | None, moment: TurnContext) -> Answered:
    if at is None:
        return answer("No washing of", it if isinstance(it, VesselRef) else f"the {it}", "is noted")
    return answer(it if isinstance(it, VesselRef) else f"the {it}", "was washed",
                  When(at, moment.now, "ago"))  # fmt: skip
