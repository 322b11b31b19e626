"""What a question that names nothing is about: "is that bad", "how much is that in syrup"."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fieldvoice.dialogue.focus import FOCUS_LASTS
from fieldvoice.dialogue.rule_inputs import vessels_with_sap
from fieldvoice.nlu.times import BEFORE_THAT, before_that, date_of, span_of
from fieldvoice.schema import Act, Ask, EntityMention, Meaning, meaning_from
from fieldvoice.schema.acts import Boil, Draw, Fuel, Pack, StockOut
from fieldvoice.schema.asks.boiling import (
    BoilPlan,
    BoilReport,
    BoilTime,
    CanWait,
    FuelNeeded,
    StartBy,
    SyrupEstimate,
)
from fieldvoice.schema.asks.follow_ups import OfThat, SpanThen, Verdict, WhatIf
from fieldvoice.schema.asks.past import MadeIn
from fieldvoice.schema.asks.sap import SapAge, SapKeeps, SapStored, SapTotal, VesselLevel
from fieldvoice.schema.asks.season import Advice
from fieldvoice.schema.asks.syrup import JarsFilled, JarsNeeded, Stock
from fieldvoice.schema.asks.trees import TapLimit, TreeHistory

if TYPE_CHECKING:
    from fieldvoice.book import Entry, Utterance
    from fieldvoice.dialogue.context import TurnContext

#: Utterances looked through for what was last told.
_LOOK_BACK = 40
#: Questions that are themselves about what was told before them.
_STAYS = frozenset({"why", "says_who", "more", "in_units", "amount_then", "waiting"})
#: Warmer or colder is so much, in °F, where nobody says how much (a design choice).
_STEP_F = 10.0
#: The temperature of sap that nobody told, in °F: the rules take stored sap as this cold.
_USUAL_F = 38.0
#: What is about syrup, and not about sap.
_OF_SYRUP = (Draw, Pack, StockOut)
#: What is asked of all the sap in store, or of that of one vessel.
_OF_SAP = (BoilTime, CanWait, FuelNeeded, JarsNeeded, StartBy, SyrupEstimate)
#: After these "how long" is of the boil.
_OF_BOILS = (Boil, Fuel, BoilPlan, BoilReport, BoilTime, CanWait, FuelNeeded, StartBy, SapStored)


@dataclass(frozen=True, slots=True)
class LastTold:
    """The notes and questions last dealt with, and the utterance they came in, once written."""

    acts: tuple[Act, ...] = ()
    asks: tuple[Ask, ...] = ()
    utterance: Utterance | None = None

    def __bool__(self) -> bool:
        return bool(self.acts or self.asks)

    def field(self, name: str) -> Any:
        """Return a field of the newest note or question that has it."""
        values = (getattr(one, name, None) for one in reversed((*self.asks, *self.acts)))
        return next((value for value in values if value is not None), None)


def last_told(moment: TurnContext) -> LastTold:
    """Return what the newest utterance told that anything can be asked of.

    Words that were not understood and questions about the answer before are passed over; so is a
    note that was taken back since. A question still open is about the notes that it would save.
    """
    utterances = moment.book.utterances(_LOOK_BACK)
    written = moment.book.newest_entries(_LOOK_BACK)
    for one in reversed(utterances):
        if (one.source == "memo") != (moment.source == "memo"):
            continue
        acts = tuple(entry.act for entry in written if entry.utterance_id == one.id)
        meant = [meaning_from(fields) for fields in one.meanings] if not acts else []
        asks = tuple(_asks_of(one))
        if one.outcome == "asked" and one.pending is not None:
            acts = tuple(meaning for meaning in meant if isinstance(meaning, Act))
        if acts or asks:
            return LastTold(acts, asks, one)
    return LastTold()


def _asks_of(utterance: Utterance) -> list[Ask]:
    if utterance.outcome not in ("answered", "saved"):
        return []
    meant = [fields for fields in utterance.meanings if "ask" in fields]
    found = [meaning_from(fields) for fields in meant if fields["ask"] not in _STAYS]
    return [one for one in found if isinstance(one, Ask)]


def pointed(meanings: tuple[Meaning, ...], moment: TurnContext) -> tuple[Meaning, ...]:
    """Return ``meanings`` with what their questions point at.

    That is a note of the same breath, or else what was last told.
    """
    found: list[Meaning] = []
    for meaning in meanings:
        if moment.of_another:
            meaning = _asked_of(meaning, moment)
        if moment.goes_on:
            meaning = _of_the_same(meaning, moment)
        if isinstance(meaning, SpanThen):
            meaning = _of_another_time(meaning, recent(moment), moment)
        if isinstance(meaning, Verdict | OfThat | WhatIf):
            said = tuple(one for one in found if isinstance(one, Act))
            told = LastTold(said) if said else recent(moment)
            meaning = _at(meaning, told, moment)
        found.append(meaning)
    return tuple(found)


def _asked_of(meaning: Meaning, moment: TurnContext) -> Meaning:
    """Return the question before, of the tree or vessel that is named now and nothing else."""
    if isinstance(meaning, EntityMention):
        named = meaning.mention
    elif isinstance(meaning, Ask):
        named = {name: one for name, one in meaning.json_fields().items() if name != "ask"}
    else:
        return meaning
    if len(named) != 1 or not named.keys() <= _THINGS:
        return meaning
    before = recent(moment).asks
    (thing,) = named
    is_one = len({type(one) for one in before}) == 1
    if not is_one or any(_THINGS.isdisjoint(one.json_fields()) for one in before):
        return meaning
    slots = type(before[0]).model_fields.keys()
    if thing not in slots:  # asked of a tree and now of a tank: how it stands
        is_bare = isinstance(meaning, EntityMention)
        return _HOW_IT_STANDS[thing].model_validate(named) if is_bare else meaning
    asked: Meaning = before[0].replace(**{**dict.fromkeys(_THINGS & slots), **named})
    return asked


def _of_the_same(meaning: Meaning, moment: TurnContext) -> Meaning:
    """Return a question about sap, of the vessel that the question before was of."""
    if not isinstance(meaning, _OF_SAP) or len(meaning.json_fields()) > 1:
        return meaning
    vessels = {getattr(one, "vessel", None) for one in recent(moment).asks}
    vessel = vessels.pop() if len(vessels) == 1 else None
    asked: Meaning = meaning.replace(vessel=vessel)
    return asked


def _of_another_time(ask: SpanThen, told: LastTold, moment: TurnContext) -> Meaning:
    """Return the question before, of the time that is named now."""
    if len(told.asks) != 1 or ask.span is None:
        return ask
    (before,) = told.asks
    timed = type(before).model_fields.keys() & _TIMES
    kind = MadeIn if isinstance(before, SapTotal) else type(before)
    if not timed:
        return ask
    span = ask.span
    if span == BEFORE_THAT:
        asked = told.field("span") or told.field("since") or f"{moment.now.date()}"
        span = before_that(span_of(asked, moment.now.date()))
    kept = {name: one for name, one in before.json_fields().items() if name not in ("ask", *_TIMES)}
    again: Meaning = kind.model_validate({**kept, "span": span})
    return again


_TIMES = frozenset({"since", "span"})
_THINGS = frozenset({"tree", "vessel"})
_HOW_IT_STANDS: dict[str, type[Ask]] = {"tree": TreeHistory, "vessel": VesselLevel}


def recent(moment: TurnContext) -> LastTold:
    """Return what was last told, if it is no longer ago than a tree stays in hand."""
    told = last_told(moment)
    if told.utterance is None or not is_recent(told.utterance, moment):
        return LastTold()
    return told


def is_recent(said: Utterance | Entry, moment: TurnContext) -> bool:
    """Whether "that" may still mean what was said then."""
    return moment.now - said.at <= FOCUS_LASTS


def _at(ask: Verdict | OfThat | WhatIf, told: LastTold, moment: TurnContext) -> Meaning:
    if isinstance(ask, Verdict):
        return _judged(ask, told)
    if isinstance(ask, WhatIf):
        return _warmer(ask, told, moment)
    if ask.of_it == "keeping":
        return _keeping(told, moment)
    if ask.of_it == "taps":
        tree = told.field("tree")
        across = told.field("diameter_in")
        return ask if tree is None else TapLimit(tree=tree, diameter_in=across)
    if ask.of_it == "jars":
        return _in_jars(told)
    if ask.of_it is None and any(isinstance(act, Pack) for act in told.acts):
        return _keeping(told, moment)
    if ask.of_it == "syrup" and any(isinstance(act, _OF_SYRUP) for act in told.acts):
        return Stock()
    kind = SyrupEstimate if ask.of_it == "syrup" else BoilTime
    return _reckoned(ask, kind, told, moment)


def _judged(ask: Verdict, told: LastTold) -> Verdict:
    if ask.tree is not None or ask.vessel is not None:
        return ask
    sap, smell = told.field("sap"), told.field("smell")
    tree, vessel = told.field("tree"), told.field("vessel")
    if tree is not None:
        vessel = None  # where its sap was poured
    judged: Verdict = ask.replace(tree=tree, vessel=vessel, sap=sap, smell=smell)
    return judged


def _in_jars(told: LastTold) -> Meaning:
    """Return how many jars the syrup just told fills, or that of the sap just told."""
    size = told.field("size")
    drawn = next((act.syrup_gal for act in told.acts if isinstance(act, Draw)), None)
    if drawn is not None:
        return JarsFilled(volume_gal=drawn, size=size)
    return JarsNeeded(vessel=told.field("vessel"), volume_gal=told.field("volume_gal"), size=size)


def _keeping(told: LastTold, moment: TurnContext) -> Meaning:
    if any(isinstance(act, _OF_SYRUP) for act in told.acts):
        return Advice(topic="how-long-it-keeps")
    vessel = told.field("vessel") or moment.focus.vessel
    if told.field("tree") is not None:
        return SapKeeps()
    return SapAge(vessel=vessel)


def _warmer(ask: WhatIf, told: LastTold, moment: TurnContext) -> Meaning:
    """Return the question how long sap keeps at another temperature."""
    of_sap = (SapKeeps, SapAge, BoilPlan, CanWait)
    if told.acts or any(isinstance(one, of_sap) for one in told.asks):
        kept = next((one for one in told.asks if isinstance(one, SapKeeps)), SapKeeps())
        return SapKeeps(days=kept.days, temp_f=_other_temperature(ask, kept, told, moment))
    return _of_number(ask, told, moment) or ask


def _of_number(ask: WhatIf, told: LastTold, moment: TurnContext) -> Meaning | None:
    """Return the question before, of the tree or vessel that a bare number is: "what about two"."""
    if len(told.asks) != 1 or ask.temp_f is None:
        return None
    (before,), number = told.asks, int(ask.temp_f)
    vessel = f"{(getattr(before, 'vessel', None) or '').rpartition(' ')[0]} {number}"
    named: dict[str, Any] = {"vessel": vessel} if vessel in moment.season.vessels else {}
    if getattr(before, "tree", None) is not None and number in moment.season.trees:
        named = {"tree": number}
    asked: Meaning = before.replace(**named)
    return asked if named else None


def _other_temperature(ask: WhatIf, kept: SapKeeps, told: LastTold, moment: TurnContext) -> float:
    if ask.temp_f is not None:
        return ask.temp_f
    vessel = moment.season.vessels.get(told.field("vessel") or "")
    read = vessel.temps[-1][1] if vessel is not None and vessel.temps else _USUAL_F
    now_f = kept.temp_f or told.field("temp_f") or read
    return max(0.0, min(100.0, now_f + (_STEP_F if ask.warmer else -_STEP_F)))


def _reckoned(
    ask: OfThat, kind: type[SyrupEstimate] | type[BoilTime], told: LastTold, moment: TurnContext
) -> Meaning:
    """Return how much syrup, or how long a boil, what was last told comes to."""
    volume_gal, vessel = told.field("volume_gal"), told.field("vessel")
    total = next((one for one in told.asks if isinstance(one, SapTotal)), None)
    if total is not None:
        volume_gal = _total(total, moment)
    fields = {"volume_gal": volume_gal, "vessel": vessel, "brix": told.field("brix")}
    known = {name: one for name, one in fields.items() if one is not None}
    if not known.keys() & {"volume_gal", "vessel"}:
        # With nothing told that it could mean, it means the sap in store.
        told_else = [one for one in (*told.acts, *told.asks) if not isinstance(one, _OF_BOILS)]
        is_of_sap = ask.of_it is not None or not told_else
        return kind() if is_of_sap and vessels_with_sap(moment.season) else ask
    return kind.model_validate({name: known[name] for name in known if name in kind.model_fields})


def _total(ask: SapTotal, moment: TurnContext) -> float | None:
    """Return the sap that was told of: since a day, or all of it where none came in since."""
    today = moment.now.date()
    since = today if ask.since is None else date_of(ask.since, today)
    by_day = moment.season.gathered_by_day
    return sum(gal for day, gal in by_day.items() if day >= since) or sum(by_day.values()) or None
