"""What the ledger adds to a note about sap or syrup, and what it fills in.

It adds how far a level read is from what the notes came to, and the lot's code for the label. What
it asks before is in ``ledger_doubts``.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.book.movements import CARRIED_LASTS
from fieldvoice.book.sugarhouse import lot_code
from fieldvoice.dialogue import rule_inputs
from fieldvoice.dialogue.answers.pantry import MILK
from fieldvoice.dialogue.boil_day import pan_rate
from fieldvoice.dialogue.policy import MissingSlot
from fieldvoice.dialogue.reminders import reaches
from fieldvoice.schema import Meaning, acts
from fieldvoice.schema.acts.pantry import containers
from fieldvoice.schema.registry import Registry
from fieldvoice.segments import (
    Example,
    Lot,
    Quantity,
    Span,
    VesselRef,
    fact,
    listed,
    parts,
)

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from fieldvoice.book import Season, VesselState
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.schema import Act
    from fieldvoice.segments import Parts, Sentence

#: A level read this near to the notes is the same: half a gallon, or three in a hundred.
_SAME_GAL, _SAME_SHARE = 0.5, 0.03
#: The same for sugar, in Brix.
_SAME_BRIX = 0.15
#: A boil that nobody ended for so long is not ended now.
_LONGEST_BOIL_H = 20.0


#: What the ledger adds after a kind of note.
effects: Registry[Callable[..., Sentence]] = Registry()


def aftermath(act: Act, moment: TurnContext) -> Sentence:
    """Return what the ledger has to add to the read-back of ``act``; mostly nothing."""
    telling = effects.of(act)
    return telling(act, moment) if telling else fact()


def boil_source(
    meaning: Meaning, index: int, season: Season, now: datetime
) -> tuple[Meaning, MissingSlot | None]:
    """Return a boil of some gallons with the vessel they come from: the only one, or asked for.

    Where as much is carried still it may come straight from the pails.
    """
    if not isinstance(meaning, acts.Boil) or meaning.vessel or meaning.volume_gal is None:
        return meaning, None
    if meaning.phase == "stop" or _may_be_carried(meaning.volume_gal, season, now):
        return meaning, None
    held = rule_inputs.vessels_with_sap(season)
    if len(held) == 1:
        found: Meaning = meaning.replace(vessel=held[0].name)
        return found, None
    return meaning, MissingSlot("vessel", index, "From which tank?") if held else None


def _may_be_carried(gallons: float, season: Season, now: datetime) -> bool:
    """Whether so much may be in the pails still, or nobody knows how much is."""
    if season.carried is None:
        return False
    lately = [one for one in season.carried.parcels if now - one.at <= CARRIED_LASTS]
    carried = sum(one.volume_gal for one in lately)
    return season.carried.volume_gal is None or gallons <= carried + _SAME_GAL


def all_carried(meaning: Meaning, season: Season, now: datetime) -> Meaning:
    """Return sap poured without an amount as all that is carried, where the book knows how much.

    What was gathered too long ago to be carried still is meant only where there is no other.
    """
    if not isinstance(meaning, acts.Store) or meaning.volume_gal is not None:
        return meaning
    carried = season.carried.volume_gal if season.carried is not None else None
    if carried and season.carried is not None:
        lately = [one for one in season.carried.parcels if now - one.at <= CARRIED_LASTS]
        carried = sum(one.volume_gal for one in lately) or carried
    poured: Meaning = meaning.replace(volume_gal=round(carried, 2)) if carried else meaning
    return poured


def _about(gallons: float) -> Quantity:
    return Quantity(round(gallons, 1), "gal")


@effects(acts.Reading)
def _level_told(act: acts.Reading, moment: TurnContext) -> Sentence:
    vessel, it = moment.season.vessels.get(act.vessel or ""), VesselRef(act.vessel or "")
    if act.depth_in is None:
        read = act.volume_gal
        if read is None and act.fill is not None and vessel is not None and vessel.capacity_gal:
            read = act.fill * vessel.capacity_gal
        return fact(_difference(read, vessel, moment))
    if vessel is None or not vessel.capacity_gal or not vessel.depth_in:
        return fact("Tell me what", it, "holds and how deep it is, to make gallons of that")
    read = min(1.0, act.depth_in / vessel.depth_in) * vessel.capacity_gal
    return fact("That's", _about(read), ".", _difference(read, vessel, moment))


def _difference(read: float | None, vessel: VesselState | None, moment: TurnContext) -> Parts:
    """Return what the notes had, where a level read is another."""
    if read is None or vessel is None or vessel.volume_gal is None:
        return ()
    carried = moment.season.carried
    had = vessel.volume_gal
    gained = min(max(0.0, read - had), (carried.volume_gal or 0.0) if carried else 0.0)
    if abs(read - had - gained) <= max(_SAME_GAL, _SAME_SHARE * had):
        return ()
    return parts("The book had", _about(had + gained))


@effects(acts.Sweetness)
def _sugar_told(act: acts.Sweetness, moment: TurnContext) -> Sentence:
    named = act.gauge == "refractometer" and act.temp_f is not None
    if named and not moment.settings.sap_instrument.startswith("refractometer"):
        before = [one for _, one in moment.season.sweetness if one.gauge == "refractometer"]
        return fact(None if before else "I took it to say ATC, as most do; set it if not")
    vessel = moment.season.vessels.get(act.vessel or "")
    if act.brix is None or vessel is None or vessel.brix is None or not vessel.parcels:
        return fact()
    if abs(act.brix - vessel.brix) <= _SAME_BRIX:
        return fact()
    return fact("The book had", Quantity(vessel.brix, "%", 1))


@effects(acts.Boil)
def _boil_told(act: acts.Boil, moment: TurnContext) -> Sentence:
    """Return what the boil that ends now took in, in how many hours."""
    going = moment.season.boilings[-1] if moment.season.boilings else None
    if act.phase != "stop" or going is None or going.ended_at is not None or not going.sap_gal:
        return fact()
    hours = rule_inputs.hours(going.boiling_at or going.started_at, moment.now)
    if hours > _LONGEST_BOIL_H:
        return fact()
    return fact(_about(going.sap_gal), "of sap in", Span(hours * 3600, "work"))


@effects(acts.Pan)
def _pan_told(act: acts.Pan, moment: TurnContext) -> Sentence:
    """Return how long the pan takes from the depth just read to an inch, while it boils."""
    going = moment.season.boilings[-1] if moment.season.boilings else None
    if act.depth_in is None or going is None or going.ended_at is not None:
        return fact()
    rate = pan_rate(moment.season, moment.settings)
    now_read = replace(going, levels=((moment.now, act.depth_in),), feeds=())
    low_at = reaches(now_read, 1.0, rate.gal_h, rate.ft2)
    if low_at is None or low_at <= moment.now:
        return fact("That's low: add sap")
    left = Span(rule_inputs.hours(moment.now, low_at) * 3600, "work")
    return fact("An inch left in", left, "at this rate")


@effects(acts.Pack)
def _pack_told(act: acts.Pack, moment: TurnContext) -> Sentence:
    boil = moment.season.boilings[-1] if moment.season.boilings else None
    milk = [agent for agent in boil.agents if agent in MILK] if boil else []
    label = parts(". It has", listed(milk), "in it: milk, for the label") if milk else None
    return fact("Lot", Lot(lot_code(moment.now)), label)


@effects(acts.Remark)
def _no_day_told(act: acts.Remark, moment: TurnContext) -> Sentence:
    """Return how to be reminded, after "remind me to buy filters": it named no day."""
    if not (act.text or "").startswith("to "):
        return fact()
    return fact("To be reminded, say", Example(f"remind me tomorrow {act.text}"))


@effects(acts.StockOut)
def _stock_told(act: acts.StockOut, moment: TurnContext) -> Sentence:
    size = act.size or "container"
    there = sum(lot.left for lot in moment.season.pantry if lot.size == size)
    for one in moment.noted or (act,):  # what was packed and what left in the same breath
        if isinstance(one, acts.Pack | acts.StockOut) and one.size == act.size:
            there += (one.count or 0) * (1 if isinstance(one, acts.Pack) else -1)
    left = containers(there, size) if there > 0 else parts("no", containers(None, size))
    return fact(left, "left")


@effects(acts.Clean)
def _clean_told(act: acts.Clean, moment: TurnContext) -> Sentence:
    washed = moment.season.vessels.get(act.vessel or "")
    if washed is None or not washed.volume_gal:
        return fact()
    still = parts("The book has", Quantity(washed.volume_gal, "gal"), "in", VesselRef(washed.name))
    return fact(still, "; say where it went")


@effects(acts.Defoam)
def _defoam_told(act: acts.Defoam, moment: TurnContext) -> Sentence:
    milk = "That's milk: an allergen for the label" if act.agent in MILK else None
    return fact(milk)
