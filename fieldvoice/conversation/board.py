"""The boil day as a board: vessel by vessel, with what goes first and what the day comes to."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from fieldvoice.conversation import known
from fieldvoice.conversation.boil_day import boil_day
from fieldvoice.conversation.reminders import going_boil
from fieldvoice.nlg import wording as w
from fieldvoice.rules.boiling import hours_in_words
from fieldvoice.rules.storage import BOIL_BY_DAYS

if TYPE_CHECKING:
    from datetime import datetime

    from fieldvoice.book import Season, VesselState
    from fieldvoice.conversation.boil_day import BoilDay
    from fieldvoice.conversation.settings import Settings
    from fieldvoice.rules.plan import Step


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
    """What stands on the wall: a headline, the vessels, and a few lines below."""

    at: datetime
    headline: str
    rows: tuple[Row, ...]
    lines: tuple[str, ...]

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
    return Board(now, _headline(day), tuple(rows), tuple(_lines(day, season, settings)))


def _row(vessel: VesselState, step: Step | None, order: int | None) -> Row:
    holds = step is not None and known.holds_sap(vessel)
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


def _headline(day: BoilDay) -> str:
    plan = day.plan
    if plan.boiled:
        held = sum(step.volume_gal or 0.0 for step in plan.boiled)
        known_all = all(step.volume_gal is not None for step in plan.boiled)
        if known_all and held < plan.least_gal:
            return "wait for more"
        first = plan.boiled[0]
        apart = " apart" if first.action == "boil apart" else ""
        return f"boil {first.name}{apart}"
    return f"dump {plan.dumped[0].name}" if plan.dumped else "nothing to boil"


def _lines(day: BoilDay, season: Season, settings: Settings) -> list[str]:
    plan, metric = day.plan, settings.metric
    lines = []
    going = going_boil(season, day.now)
    if going is not None:
        on = (
            f"{w.volume(round(going.sap_gal, 1), metric)} of sap"
            if going.sap_gal
            else "no sap noted"
        )
        lines.append(f"Boiling since {w.clock(going.started_at)}: {on} on it.")
    if plan.now_gal:
        syrup = w.syrup(plan.now_syrup_gal, metric)
        done = w.when(day.at(plan.now_h), day.now)
        lines.append(f"{w.start(hours_in_words(plan.now_h))}, done by {done}, {syrup} of syrup.")
    if plan.boiled and plan.wait_h is not None and going is None:
        by = "now" if plan.wait_h < 0.5 else f"by {w.when(day.at(plan.wait_h), day.now)}"
        lines.append(f"Light the fire {by}.")
    if plan.dumped:
        lines.append(f"Dump and wash {w.joined(step.name for step in plan.dumped)}.")
    gathered = season.gathered_by_day.get(day.now.date(), 0.0)
    if gathered:
        lines.append(f"Gathered today: {w.volume(round(gathered, 1), metric)}.")
    return lines


def _plain(value: Any) -> Any:
    return round(value, 3) if isinstance(value, float) else value
