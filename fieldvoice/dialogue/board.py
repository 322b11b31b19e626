"""The boil day as a board: vessel by vessel, with what goes first and what the day comes to."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from fieldvoice.dialogue import rule_inputs
from fieldvoice.dialogue.boil_day import boil_day
from fieldvoice.dialogue.reminders import going_boil
from fieldvoice.nlg.written import Style, phrase, written
from fieldvoice.rules.storage import BOIL_BY_DAYS
from fieldvoice.segments import Quantity, Span, Text, VesselRef, When, fact, listed, parts

if TYPE_CHECKING:
    from datetime import datetime

    from fieldvoice.book import Season, VesselState
    from fieldvoice.dialogue.boil_day import BoilDay
    from fieldvoice.dialogue.settings import Settings
    from fieldvoice.rules.plan import Step
    from fieldvoice.segments import Parts, Sentence


@dataclass(frozen=True, slots=True)
class Row:
    """One vessel. ``order`` is its turn, None when it is empty or to be dumped.

    ``days_left`` are days until its sap has been two days at 38 °F, 0 when past; None when empty.
    """

    vessel: str
    volume_gal: float | None
    capacity_gal: float | None
    fill: float | None
    age_h: float | None
    days_left: float | None
    sap: str | None
    temp_f: float | None
    brix: float | None
    order: int | None
    action: str | None


@dataclass(frozen=True, slots=True)
class Board:
    """What stands on the wall: a headline, the vessels, and a few lines below.

    ``dumps`` tells that nothing is left but to throw sap away.
    """

    at: datetime
    headline: str
    rows: tuple[Row, ...]
    lines: tuple[str, ...]
    dumps: bool = False

    def as_json(self) -> dict[str, Any]:
        """Return the board in the manner of the machine interface."""
        return {
            "at": self.at.isoformat(),
            "headline": self.headline,
            "vessels": [
                {key: _plain(value) for key, value in asdict(row).items() if value is not None}
                for row in self.rows
            ],
            "lines": list(self.lines),
        }


def board(season: Season, settings: Settings, now: datetime) -> Board:
    """Return the board for the season as it stands.

    Raises:
        RangeError: for sap so old or so warm that no rule speaks of it.
    """
    day = boil_day(season, settings, now)
    steps = {step.name: step for step in day.plan.steps}
    order = {step.name: number for number, step in enumerate(day.plan.boiled, start=1)}
    vessels = [*season.vessels.values(), *([season.carried] if season.carried else [])]
    rows = [_row(vessel, steps.get(vessel.name), order.get(vessel.name)) for vessel in vessels]
    rows.sort(key=lambda row: (row.order or 99, row.action != "dump", row.vessel))
    style = Style(settings.metric)
    lines = tuple(written((line,), style) for line in _lines(day, season))
    dumps = bool(day.plan.dumped) and not day.plan.boiled
    return Board(now, phrase(_headline(day), style), tuple(rows), lines, dumps)


def _row(vessel: VesselState, step: Step | None, order: int | None) -> Row:
    holds = step is not None and rule_inputs.holds_sap(vessel)
    fresh = step is None or step.age.assumed
    return Row(
        vessel=vessel.name,
        volume_gal=vessel.volume_gal,
        capacity_gal=vessel.capacity_gal,
        fill=vessel.fill,
        age_h=step.age.age_h if step and holds else None,
        days_left=_days_left(step) if step and holds else None,
        sap=vessel.sap if holds else None,
        temp_f=None if fresh or step is None else step.age.temp_f,
        brix=vessel.brix if holds else None,
        order=order,
        action=step.action if step else None,
    )


def _days_left(step: Step) -> float:
    return 0.0 if step.action == "dump" else min(step.hours_left / 24, BOIL_BY_DAYS * 5)


def _headline(day: BoilDay) -> Parts:
    plan = day.plan
    if plan.boiled:
        held = sum(step.volume_gal or 0.0 for step in plan.boiled)
        known_all = all(step.volume_gal is not None for step in plan.boiled)
        if known_all and held < plan.least_gal:
            return (Text("wait for more"),)
        first = plan.boiled[0]
        apart = "apart" if first.action == "boil apart" else None
        return parts("boil", VesselRef(first.name), apart)
    if plan.dumped:
        return parts("dump", VesselRef(plan.dumped[0].name))
    return parts("nothing to boil")


def _lines(day: BoilDay, season: Season) -> list[Sentence]:
    plan = day.plan
    lines = []
    going = going_boil(season, day.now)
    if going is not None:
        since = parts("Boiling since", When(going.started_at, day.now, "clock"))
        sap = parts(Quantity(round(going.sap_gal, 1), "gal"), "of sap") if going.sap_gal else None
        lines.append(fact(since, ":", sap or "no sap noted", "on it"))
    if plan.now_gal:
        took, done = Span(plan.now_h * 3600, "work"), When(day.at(plan.now_h), day.now, "coming")
        syrup = Quantity(plan.now_syrup_gal, "syrup gal")
        lines.append(fact(took, ", done by", done, ",", syrup, "of syrup"))
    if plan.boiled and plan.wait_h is not None and going is None:
        latest = parts("by", When(day.at(plan.wait_h), day.now, "coming"))
        lines.append(fact("Light the fire", "now" if plan.wait_h < 0.5 else latest))
    if plan.dumped:
        dumped = listed(VesselRef(step.name) for step in plan.dumped)
        lines.append(fact("Dump and wash", dumped))
    gathered = season.gathered_by_day.get(day.now.date(), 0.0)
    if gathered:
        lines.append(fact("Gathered today:", Quantity(round(gathered, 1), "gal")))
    return lines


def _plain(value: Any) -> Any:
    return round(value, 3) if isinstance(value, float) else value
