"""What the rules have to say about a note, given what the book knows."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from fieldvoice.book import TreeState
from fieldvoice.dialogue import rule_inputs
from fieldvoice.dialogue.water_today import water_boils_today_f
from fieldvoice.errors import RangeError
from fieldvoice.nlu.times import date_of
from fieldvoice.rules.boiling import pan_check
from fieldvoice.rules.containers import container_advice
from fieldvoice.rules.finding import Finding
from fieldvoice.rules.finishing import draw_check
from fieldvoice.rules.holes import hole_check
from fieldvoice.rules.hydrometer import density_check
from fieldvoice.rules.packing import pack_check
from fieldvoice.rules.pulling import healing
from fieldvoice.rules.sap import boil_check, pour_check, sap_advice, sap_noticed
from fieldvoice.rules.storage import storage_age
from fieldvoice.rules.taps import check_taps
from fieldvoice.rules.weather import Day, flow_outlook
from fieldvoice.schema import acts
from fieldvoice.schema.registry import Registry

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.schema import Act, TreeId

Findings = tuple[Finding, ...]

#: A trunk that every schedule gives a tap to, for judging a tree by its health alone.
_BIG_ENOUGH_IN = 30.0


#: What the rules have to say to each kind of note.
checks: Registry[Callable[[Any, TurnContext], Findings]] = Registry()


def check(act: Act, moment: TurnContext) -> Findings:
    """Return the findings on ``act``, which is not yet in the book."""
    checking = checks.of(act)
    try:
        return checking(act, moment) if checking else ()
    except RangeError:
        # The value was asked about before it came here; a rule that does not reach so far has
        # nothing to say.
        return ()


@checks(acts.Inspect)
def _inspect(act: acts.Inspect, moment: TurnContext) -> Findings:
    if sap_noticed(act.sap, act.smell) is None:
        return ()
    where = "vessel" if act.vessel else "bucket"
    return sap_advice(act.sap, smell=act.smell, where=where).findings  # type: ignore[arg-type]


@checks(acts.Gather)
def _gather(act: acts.Gather, moment: TurnContext) -> Findings:
    trees = act.trees or ((act.tree,) if act.tree is not None else ())
    seen = [moment.season.trees[tree].sap for tree in trees if tree in moment.season.trees]
    sap: str | None = act.sap or next((one for one in seen if one), None)
    if act.vessel is not None:
        mixed = _poured(sap, act.vessel, moment)
        if mixed:
            return mixed
    return sap_advice(sap).findings if act.sap else ()


@checks(acts.Store)
def _store(act: acts.Store, moment: TurnContext) -> Findings:
    mixed = _poured(act.sap, act.vessel, moment)
    if mixed or act.sap is None:
        return mixed
    return sap_advice(act.sap, where="vessel").findings


def _poured(sap: str | None, name: str | None, moment: TurnContext) -> Findings:
    vessel = moment.season.vessels.get(name or "")
    held = vessel.sap if vessel else None
    empty = vessel is None or not rule_inputs.holds_sap(vessel)
    return pour_check(sap, held, vessel_is_empty=empty).findings


@checks(acts.Reading)
def _reading(act: acts.Reading, moment: TurnContext) -> Findings:
    findings: Findings = ()
    if act.sap is not None:
        findings += sap_advice(act.sap, where="vessel").findings
    if act.fill == 0 and (act.vessel or "").endswith("pan"):
        findings += pan_check(0.0)
    if act.temp_f is None:
        return findings
    return findings + _age_at(act.temp_f, act.vessel, moment)


def _age_at(temp_f: float, name: str | None, moment: TurnContext) -> Findings:
    """Return what the temperature just read means for the sap in a vessel."""
    vessel = moment.season.vessels.get(name or "")
    if vessel is None or vessel.oldest_at is None:
        # Nothing is known of its age, so only its warmth can be judged.
        return storage_age(0.0, [(0.0, temp_f)]).findings[1:]
    read = rule_inputs.with_reading(vessel, moment.now, temp_f)
    aged = rule_inputs.age_of_sap(read, moment)
    return () if aged is None else aged.findings


@checks(acts.Measure)
def _measure(act: acts.Measure, moment: TurnContext) -> Findings:
    if act.tree is None or (act.diameter_in is None and act.yard is None):
        return ()
    tree = _tree(act.tree, moment).with_note(moment.now, act)
    if act.diameter_in is not None:
        tree = replace(tree, diameter_in=act.diameter_in)
    limit = rule_inputs.limit_of(tree, moment.settings)
    if limit is None:
        return ()
    grown = rule_inputs.growth_of(tree)
    slow = grown.findings if grown is not None and not grown.enough else ()
    return (*check_taps(tree.taps_in, limit).findings, *limit.findings, *slow)


@checks(acts.Health)
def _health(act: acts.Health, moment: TurnContext) -> Findings:
    if act.tree is None or (act.condition is None and act.dieback is None):
        return ()
    tree = _tree(act.tree, moment).with_note(moment.now, act)
    tree = replace(tree, condition=act.condition or tree.condition)
    # Of the health alone, for a tree big enough for any schedule, where its size is not known.
    sized = tree if tree.diameter_in else replace(tree, diameter_in=_BIG_ENOUGH_IN)
    limit = rule_inputs.limit_of(sized, moment.settings)
    assert limit is not None
    over = check_taps(tree.taps_in, limit).findings if tree.diameter_in else ()
    return over or limit.findings[1:]


@checks(acts.Tap)
def _tap(act: acts.Tap, moment: TurnContext) -> Findings:
    tree = _tree(act.tree, moment) if act.tree is not None else None
    holes = hole_check(
        depth_in=act.depth_in,
        bit_in=act.bit_in,
        height_ft=act.height_ft,
        shavings=act.shavings,
        diameter_in=tree.diameter_in if tree else None,
        side=act.side,
        old_holes=rule_inputs.old_holes(tree),
        air_f=_high_today(moment),
    ).findings
    if tree is None:
        return holes
    limit = rule_inputs.limit_of(tree, moment.settings)
    if limit is None:
        return holes
    completed = tree.taps[-1].completed(moment.now, act) if tree.taps else None
    more = 0 if completed is not None else act.count or 1
    return (*check_taps(tree.taps_in + more, limit).findings, *holes)


def _high_today(moment: TurnContext) -> float | None:
    """Return today's high, the warmest that a trunk can be; None when it was not told."""
    today = moment.now.date()
    return next((day.high_f for day in moment.season.weather if day.day == today), None)


@checks(acts.Sweetness)
def _sweetness(act: acts.Sweetness, moment: TurnContext) -> Findings:
    """Say what a reading comes to where the sample was not at the hydrometer's own temperature."""
    if act.brix is None or act.temp_f is None:
        return ()
    return rule_inputs.sugar_read(act.brix, act.temp_f, moment.settings, act.gauge)


@checks(acts.Pull)
def _pull(act: acts.Pull, moment: TurnContext) -> Findings:
    return healing().findings if act.tree is not None else ()


@checks(acts.Boil)
def _boil(act: acts.Boil, moment: TurnContext) -> Findings:
    vessel = moment.season.vessels.get(act.vessel or "")
    if act.phase == "stop" or vessel is None or not rule_inputs.holds_sap(vessel):
        return ()
    return boil_check(vessel.sap).findings


@checks(acts.Pan)
def _pan(act: acts.Pan, _: TurnContext) -> Findings:
    return pan_check(act.depth_in) if act.depth_in is not None else ()


@checks(acts.Draw)
def _draw(act: acts.Draw, moment: TurnContext) -> Findings:
    place = moment.settings.jurisdiction
    if act.brix is not None and act.temp_f is not None:
        return density_check(
            act.brix,
            act.temp_f,
            jurisdiction_name=place,
            made_for_f=moment.settings.syrup_hydrometer_f,
            reads_high_by=moment.settings.syrup_hydrometer_reads_high,
        ).findings
    water_f = water_boils_today_f(moment)
    if act.temp_f is None or water_f is None:
        return ()
    return draw_check(act.temp_f, water_f, jurisdiction_name=place).findings


@checks(acts.Pack)
def _pack(act: acts.Pack, moment: TurnContext) -> Findings:
    return pack_check(count=act.count, size=act.size, temp_f=act.temp_f).findings


@checks(acts.Equipment)
def _equipment(act: acts.Equipment, moment: TurnContext) -> Findings:
    return container_advice(
        act.material, item=act.item, food_grade=act.food_grade, rust=act.rust, solder=act.solder
    ).findings


@checks(acts.Weather)
def _weather(act: acts.Weather, moment: TurnContext) -> Findings:
    if act.low_f is None or act.high_f is None or act.low_f > act.high_f:
        return ()
    today = moment.now.date() if act.day is None else date_of(act.day, moment.now.date())
    before = rule_inputs.days(moment.season, until=today - timedelta(days=1))
    return flow_outlook([*before, Day(act.low_f, act.high_f)]).findings


def _tree(tree: TreeId, moment: TurnContext) -> TreeState:
    return moment.season.trees.get(tree) or TreeState(tree)
