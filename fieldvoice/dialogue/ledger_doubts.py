"""What the ledger asks before a note about sap or syrup is saved, as a person would.

More taken than there is, more poured than there is room for, good sap spoilt, a pour that may be in
the level read already, taps that may be told again; more gathered than the trees give, drawn than
the sap held, packed than was drawn. A yes saves it all the same.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from fieldvoice.book import VesselState
from fieldvoice.dialogue import rule_inputs
from fieldvoice.dialogue.answers.answered import told_gal
from fieldvoice.dialogue.context import by_rule
from fieldvoice.dialogue.policy import Confirmation
from fieldvoice.errors import RangeError
from fieldvoice.rules.jurisdictions import jurisdiction
from fieldvoice.rules.movements import (
    SWEETEST_USUAL_BRIX,
    most_from_taps_gal,
    most_packed_gal,
    most_syrup_gal,
    usual_gal,
)
from fieldvoice.rules.packing import container_gal
from fieldvoice.rules.sap import boil_check, pour_check, spoils_others, worst_sap
from fieldvoice.rules.sugar import sap_per_syrup
from fieldvoice.schema import acts
from fieldvoice.schema.acts.pantry import containers
from fieldvoice.schema.names import VesselName
from fieldvoice.schema.registry import Registry
from fieldvoice.schema.slot import slots_of
from fieldvoice.segments import (
    Condition,
    Count,
    Quantity,
    TreeRef,
    VesselRef,
    When,
    fact,
    parts,
    prompt,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.book import BoilState, TreeState
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.schema import Act
    from fieldvoice.segments import Parts, Piece

#: So much over the brim, or over what is there, is only the measure's doing: half a gallon, or
#: three in a hundred.
SLACK_GAL, SLACK_SHARE = 0.5, 0.03
#: A level read so long ago may have had in it what is now told as poured (a choice).
_READ_LATELY = timedelta(hours=3)
#: A tree's second bucket is told within so long of its first.
_SAME_VISIT = timedelta(minutes=15)
#: A yard of which so many taps stand in the book is taken to stand there whole.
_WHOLE_YARD_TAPS = 5
#: Syrup of a boil so long ago may still be in the pan, undrawn.
_BOILED_LATELY = timedelta(days=3)
#: What a bucket tree carries that nobody counted the taps of.
_USUAL_TAPS = 2

#: What the ledger asks before a kind of note is saved.
doubts: Registry[Callable[..., Confirmation | None]] = Registry()
#: The amount of a note that is in doubt by the ledger.
_AMOUNTS = ("volume_gal", "syrup_gal", "count")


def doubt_about_movement(act: Act, index: int, moment: TurnContext) -> Confirmation | None:
    """Return the question to ask before ``act`` is saved, where the ledger speaks against it."""
    asking = doubts.of(act)
    if asking is None:
        return None
    asked = asking(act, moment)
    if not asked:
        return None
    slot = next((name for name in _AMOUNTS if name in slots_of(type(act))), None)
    return replace(asked, index=index, slot=slot)


@doubts(acts.Tap)
def _tap_doubt(act: acts.Tap, moment: TurnContext) -> Confirmation | None:
    named = act.trees or ((act.tree,) if act.tree is not None else ())
    known = (moment.season.trees[one] for one in named if one in moment.season.trees)
    tapped = [tree for tree in known if tree.taps_in > 0]
    tells_more = act.side or act.height_ft or act.depth_in or act.bit_in or act.shavings
    if not tapped or not act.count or tells_more or moment.tells_more:
        return None
    more = parts(Count(act.count, "more tap"), "each" if act.trees else None)
    trees = TreeRef(tuple(tree.id for tree in tapped))
    if len(tapped) > 1:
        return _sure(more, trees, "have taps")
    return _sure(more, trees, "has", Count(tapped[0].taps_in, "tap"))


@doubts(acts.Transfer)
def _transfer_doubt(act: acts.Transfer, moment: TurnContext) -> Confirmation | None:
    if act.vessel is not None and act.vessel == act.into:
        return _sure(parts("Out of and into", VesselRef(act.vessel)), "Nothing would move")
    source, target = _vessel(act.vessel, moment), _vessel(act.into, moment)
    held = source.volume_gal if source else None
    moved = act.volume_gal
    if moved is None and held is not None:
        moved = held * (1.0 if act.fill is None else act.fill)
    return (
        _more_than_there(act.vessel, act.volume_gal, moment)
        or _over_the_brim(target, moved)
        or _taints(source.sap if source else None, target)
        or _spoilt_there(source.sap if source else None, target)
    )


@doubts(acts.Store)
def _store_doubt(act: acts.Store, moment: TurnContext) -> Confirmation | None:
    target = _vessel(act.vessel, moment)
    carried = moment.season.carried.sap if moment.season.carried else None
    sap = worst_sap((act.sap, carried))
    return (
        _over_the_brim(target, act.volume_gal)
        or _taints(sap, target)
        or _spoilt_there(sap, target)
        or _read_already(act, target, moment)
    )


@doubts(acts.Gather)
def _gather_doubt(act: acts.Gather, moment: TurnContext) -> Confirmation | None:
    target = _vessel(act.vessel, moment)
    trees = act.trees or ((act.tree,) if act.tree is not None else ())
    seen = [moment.season.trees[tree].sap for tree in trees if tree in moment.season.trees]
    sap = act.sap or worst_sap(seen)
    return (
        _over_the_brim(target, act.volume_gal)
        or _taints(sap, target)
        or _spoilt_there(sap, target)
        or _more_than_they_give(act, moment)
    )


@doubts(acts.Reading)
def _reading_doubt(act: acts.Reading, moment: TurnContext) -> Confirmation | None:
    vessel = _vessel(act.vessel, moment)
    if vessel is None:
        return None
    it, holds, depth = VesselRef(vessel.name), _holds(vessel), vessel.depth_in
    if holds and act.volume_gal is not None and act.volume_gal > holds + SLACK_GAL:
        return _sure(Quantity(act.volume_gal, "gal"), it, *_held_by(vessel))
    if depth and act.depth_in is not None and act.depth_in > depth:
        return _sure(Quantity(act.depth_in, "in"), it, "is", Quantity(depth, "in"), "deep")
    return None


@doubts(acts.Boil)
def _boil_doubt(act: acts.Boil, moment: TurnContext) -> Confirmation | None:
    if act.phase == "stop":
        return None
    return _spoiled(act, moment) or _more_than_there(act.vessel, act.volume_gal, moment)


def _spoiled(act: acts.Boil, moment: TurnContext) -> Confirmation | None:
    """Return the question before sap that ought to be dumped goes on the fire."""
    vessel = _vessel(act.vessel, moment)
    if vessel is None or not rule_inputs.holds_sap(vessel):
        return None
    stop = [one for one in boil_check(vessel.sap).findings if one.level == "stop"]
    if not stop:
        return None
    return Confirmation((by_rule(stop[0]),), does=parts("boil", VesselRef(vessel.name)))


@doubts(acts.IceOut)
def _ice_doubt(act: acts.IceOut, moment: TurnContext) -> Confirmation | None:
    return _more_than_there(act.vessel, act.volume_gal, moment)


@doubts(acts.Dump)
def _dump_doubt(act: acts.Dump, moment: TurnContext) -> Confirmation | None:
    return _more_than_there(act.vessel, act.volume_gal, moment)


@doubts(acts.Draw)
def _draw_doubt(act: acts.Draw, moment: TurnContext) -> Confirmation | None:
    """Ask where more syrup is drawn than the boil's sap held sugar for."""
    boils = moment.season.boilings
    if act.syrup_gal is None or not boils or not boils[-1].sap_gal:
        return None
    lately = [one for one in boils if _at(act, moment) - one.started_at <= _BOILED_LATELY]
    if not lately or not all(one.is_all_known for one in lately):
        return None
    *before, boil = lately
    most_gal = _most_of(boil, moment) - boil.syrup_gal
    most_gal += sum(max(0.0, _most_of(one, moment) - one.syrup_gal) for one in before)
    if act.syrup_gal <= most_gal:
        return None
    drawn_before = parts(",", Quantity(boil.syrup_gal, "gal"), "drawn") if boil.syrup_gal else None
    sugar = Quantity(boil.brix or SWEETEST_USUAL_BRIX, "% sugar")
    at_most = None if boil.brix is not None else "at most"
    about = Quantity(_sugar_gal(boil, moment), "syrup gal")
    held = fact(_about(boil.sap_gal), "of sap at", sugar, "make", at_most, about, drawn_before)
    return Confirmation((held,), does=parts("draw off", Quantity(act.syrup_gal, "gal")))


def _most_of(boil: BoilState, moment: TurnContext) -> float:
    return most_syrup_gal(boil.sap_gal, boil.brix or None, _syrup_brix(moment))


def _sugar_gal(boil: BoilState, moment: TurnContext) -> float:
    """Return what a boil's sap makes by its sugar, in gallons of syrup."""
    return boil.sap_gal / sap_per_syrup(boil.brix or SWEETEST_USUAL_BRIX, _syrup_brix(moment))


def _syrup_brix(moment: TurnContext) -> float:
    return jurisdiction(moment.settings.jurisdiction).minimum_brix


@doubts(acts.Pack)
def _pack_doubt(act: acts.Pack, moment: TurnContext) -> Confirmation | None:
    """Ask where more is packed than was drawn and not packed yet, if drawing is noted at all."""
    draws = moment.season.draws
    if act.count is None or not draws or any(one.syrup_gal is None for _, one in draws):
        return None
    try:
        packed_gal = act.count * container_gal(act.size or "")
    except RangeError:
        return None  # a size of the user's own: counted, not measured
    drawn_gal = moment.season.can_gal
    if packed_gal <= most_packed_gal(drawn_gal):
        return None
    left = told_gal(drawn_gal) if drawn_gal >= 0.05 else "no syrup"
    has = fact("The book has", left, "drawn and not packed")
    jars = parts(containers(act.count, act.size), ",", told_gal(packed_gal))
    return Confirmation((has,), does=parts("packed", jars))


@doubts(acts.StockOut)
def _stock_doubt(act: acts.StockOut, moment: TurnContext) -> Confirmation | None:
    there = sum(
        lot.left
        for lot in moment.season.pantry
        if act.size in (None, lot.size) and act.colour in (None, lot.colour)
    )
    if act.count is None or act.count <= there:
        return None
    some = containers(there or None, act.size)
    colour = f"of {act.colour}" if act.colour else None
    have = fact("I have", None if there else "no", some, colour, "in stock")
    gone = {"given": "given away", "spoiled": "lost", None: "gone"}.get(act.why, act.why)
    return Confirmation((have, prompt("note", Count(act.count, "", ""), gone, "all the same")))


def _vessel(name: str | None, moment: TurnContext) -> VesselState | None:
    """Return a vessel as the book knows it; one not yet used, as the settings have it."""
    if name is None or name in moment.season.vessels:
        return moment.season.vessels.get(name or "")
    return VesselState(name, capacity_gal=moment.settings.capacities_gal.get(name))


def _holds(vessel: VesselState) -> float | None:
    """Return what a vessel holds: as told, or as its kind usually does."""
    return vessel.capacity_gal or usual_gal(VesselName.of(vessel.name).kind)


def _held_by(vessel: VesselState) -> tuple[Piece, ...]:
    """Return "holds 50 gal"; of a size that nobody told: "holds 55 gal as a rule"."""
    as_a_rule = None if vessel.capacity_gal else "as a rule"
    return "holds", Quantity(_holds(vessel) or 0.0, "gal"), as_a_rule


def _sure(said: Piece | Parts, *against: Piece) -> Confirmation:
    """Return the question whether what was said is right, with what speaks against it."""
    return Confirmation((prompt(said), fact(*against), prompt("yes or no")))


def _about(gallons: float) -> Quantity:
    return Quantity(round(gallons, 1), "gal")


def _at(act: Act, moment: TurnContext) -> datetime:
    """Return when a note happened: the time that was said, or now."""
    return datetime.fromisoformat(act.at) if act.at else moment.now


def _more_than_there(
    name: str | None, volume_gal: float | None, moment: TurnContext
) -> Confirmation | None:
    """Return the question when more is taken out of a vessel than the notes know of."""
    vessel = moment.season.vessels.get(name or "")
    if vessel is None or vessel.volume_gal is None or volume_gal is None:
        return None
    if volume_gal <= vessel.volume_gal + max(SLACK_GAL, vessel.volume_gal * SLACK_SHARE):
        return None
    has = fact("The book has", _about(vessel.volume_gal), "in", VesselRef(vessel.name))
    return Confirmation((has,), does=parts("take", Quantity(volume_gal, "gal")))


def _over_the_brim(target: VesselState | None, volume_gal: float | None) -> Confirmation | None:
    """Return the question when more is poured into a vessel than it has room for."""
    holds = _holds(target) if target is not None else None
    if target is None or not holds or volume_gal is None:
        return None
    held = target.volume_gal or 0.0
    if held + volume_gal <= holds + SLACK_GAL:
        return None
    has = parts("and has", _about(held), "in it") if held else None
    more = parts(_about(volume_gal), "more")
    return _sure(more, VesselRef(target.name), *_held_by(target), has)


def _taints(sap: str | None, target: VesselState | None) -> Confirmation | None:
    """Return the question when spoiling sap would join good sap, or was told to have joined it."""
    empty = target is None or not rule_inputs.holds_sap(target)
    if target is None or not pour_check(sap, target.sap, vessel_is_empty=empty).findings:
        return None
    all_of_it = parts("and would turn all of", VesselRef(target.name))
    turns = fact("That sap is", Condition(sap or ""), all_of_it)
    return Confirmation((turns,), does=parts("pour it in"))


def _spoilt_there(sap: str | None, target: VesselState | None) -> Confirmation | None:
    """Return the question when good sap would join spoiling sap that a vessel holds."""
    if target is None or not rule_inputs.holds_sap(target) or spoils_others(sap):
        return None
    if not spoils_others(target.sap):
        return None
    spoils = fact(VesselRef(target.name), "is", Condition(target.sap), "and would spoil it")
    return Confirmation((spoils,), does=parts("pour it in"))


def _read_already(
    act: acts.Store, target: VesselState | None, moment: TurnContext
) -> Confirmation | None:
    """Return the question whether a pour was in the level that was read just before it."""
    read_at = _level_read_at(act, moment)
    if target is None or target.volume_gal is None or act.volume_gal is None or read_at is None:
        return None
    carried = moment.season.carried.parcels if moment.season.carried else ()
    since = sum(parcel.volume_gal for parcel in carried if parcel.at >= read_at)
    held = target.volume_gal
    if since >= act.volume_gal - SLACK_GAL or act.volume_gal > held + SLACK_GAL:
        return None
    had = fact(
        VesselRef(target.name), "had", _about(held), "at", When(read_at, moment.now, "clock")
    )
    more = parts(Quantity(act.volume_gal, "gal"), "more,", _about(held + act.volume_gal), "in all")
    return Confirmation((had,), does=more)


def _level_read_at(act: acts.Store, moment: TurnContext) -> datetime | None:
    """Return when the vessel's level was read, if lately and with nothing poured or taken since."""
    at = _at(act, moment)
    about = [
        entry
        for entry in moment.book.entries_since((at - _READ_LATELY).date())
        if at - _READ_LATELY <= entry.at <= at
        and entry.id not in moment.left_out
        and act.vessel in (getattr(entry.act, "vessel", None), getattr(entry.act, "into", None))
        and not isinstance(entry.act, acts.Sweetness | acts.Vessel | acts.Remark)
    ]
    for entry in reversed(about):
        if not isinstance(entry.act, acts.Reading):
            return None
        if entry.act.volume_gal or entry.act.depth_in or entry.act.fill:
            return entry.at
    return None


_A_DAY_H = 24.0


def _more_than_they_give(act: acts.Gather, moment: TurnContext) -> Confirmation | None:
    """Return the question when more was gathered than the trees give since they were emptied."""
    if act.volume_gal is None:
        return None
    trees = _gathered_from(act, moment)
    since = [_hours_since(tree, act, moment) for tree in trees]
    if not trees or None in since:
        return None
    pairs = [(tree, h) for tree, h in zip(trees, since, strict=True) if h is not None]
    if moment.tells_more:  # what was left behind or filled up meanwhile, as the speaker knows
        pairs = [(tree, max(h, _A_DAY_H)) for tree, h in pairs]
    most_gal = sum(most_from_taps_gal(_taps(tree), h) for tree, h in pairs)
    if act.volume_gal <= most_gal:
        return None
    if len(pairs) == 1:
        tree, hours = pairs[0]
        at = _at(act, moment) - timedelta(hours=hours)
        told = fact(TreeRef((tree.id,)), "was emptied", When(at, moment.now, "past"))
        if not tree.last_emptied:
            told = fact(TreeRef((tree.id,)), "was tapped", When(at, moment.now, "past"))
    else:
        taps = Count(sum(_taps(tree) for tree, _ in pairs), "tap")
        told = fact(taps, "give", _about(most_gal), "at the very most since the last visit")
    return Confirmation((told,), does=parts("gathered", Quantity(act.volume_gal, "gal")))


def _gathered_from(act: acts.Gather, moment: TurnContext) -> list[TreeState]:
    """Return the trees that a gathering is from: those named, or for a total all that are tapped.

    None where the book does not know them all.
    """
    known = moment.season.trees
    named = act.trees or ((act.tree,) if act.tree is not None else ())
    if named:
        return [known[tree] for tree in named] if all(tree in known for tree in named) else []
    if act.site is not None:
        return []
    tapped = [tree for tree in known.values() if tree.taps_in > 0]
    return tapped if sum(tree.taps_in for tree in tapped) >= _WHOLE_YARD_TAPS else []


def _taps(tree: TreeState) -> int:
    return tree.taps_in if tree.taps_in > 0 else _USUAL_TAPS


def _hours_since(tree: TreeState, act: acts.Gather, moment: TurnContext) -> float | None:
    """Return the hours since a tree was last emptied or was tapped; None when nobody knows.

    Of one emptied just now with more buckets than one, the other bucket may be meant.
    """
    at = _at(act, moment)
    # Holes and the first sap of a book are told in one sitting: a tapping counts from the next day.
    tapped = [hole.at for hole in tree.taps[-1:] if at - hole.at > timedelta(days=1)]
    known = [one for one in (tree.last_emptied, *tapped) if one]
    if act.all or not (act.tree or act.trees):
        totals = [when for when, one in moment.season.gathers if one.all or not _names_trees(one)]
        known += totals[-1:]
    if not known:
        return None
    last = max(known)
    if last > at or (at - last <= _SAME_VISIT and _taps(tree) > 1):
        return None
    return (at - last).total_seconds() / 3600


def _names_trees(act: acts.Gather) -> bool:
    return act.tree is not None or bool(act.trees)
