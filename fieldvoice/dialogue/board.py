"""The boil day as a board: vessel by vessel, with what goes first and what the day comes to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from fieldvoice.book import VesselState
from fieldvoice.dialogue.boil_day import boil_day, plan_as_json
from fieldvoice.dialogue.plan_told import plan_told, to_have_ready, what_fits
from fieldvoice.dialogue.to_remind import come_up
from fieldvoice.nlg.wording import sap_words
from fieldvoice.nlg.written import Style, phrase, written
from fieldvoice.segments import Quantity, Text, VesselRef, When, fact, parts

if TYPE_CHECKING:
    from datetime import datetime

    from fieldvoice.book import Season, ToRemind
    from fieldvoice.dialogue.boil_day import BoilDay
    from fieldvoice.dialogue.settings import Settings
    from fieldvoice.rules.plan import Step
    from fieldvoice.segments import Parts, Sentence

#: How a row or the whole board stands: nothing presses, today is the day, late or to be dumped.
Press = Literal["none", "today", "late"]


@dataclass(frozen=True, slots=True)
class Row:
    """One vessel. ``order`` is its turn, None when it is empty or to be dumped.

    ``do`` is what the plan says of it in few words: "by Sun 3:00 pm", "was due", "dump". ``sugar``
    and ``warmth`` are told in the book's units.
    """

    vessel: str
    level: str
    fill: float | None
    age_h: float | None
    do: str
    press: Press
    sap: str | None
    warmth: str
    sugar: str
    order: int | None


@dataclass(frozen=True, slots=True)
class Board:
    """What stands on the wall: a headline, the vessels, and the plan in sentences below."""

    at: datetime
    headline: str
    rows: tuple[Row, ...]
    lines: tuple[str, ...]
    press: Press
    plan: tuple[dict[str, Any], ...] = ()
    reminders: tuple[ToRemind, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the plan in the manner of the machine interface."""
        told = {"at": self.at.isoformat(), "plan": list(self.plan)}
        asked = [{"text": one.text, "due": one.due} for one in self.reminders]
        return {**told, "reminders": asked} if asked else told


def board(season: Season, settings: Settings, now: datetime) -> Board:
    """Return the board for the season as it stands.

    Raises:
        RangeError: for sap so sweet that no rule speaks of it.
    """
    day = boil_day(season, settings, now)
    style = Style(settings.metric, season.names)
    vessels = [*season.vessels.values(), *([season.carried] if season.carried else [])]
    named = {vessel.name for vessel in vessels}
    vessels += [
        VesselState(step.name, step.volume_gal, sap=step.sap)
        for step in day.plan.steps
        if step.name not in named
    ]
    place = {step.name: number for number, step in enumerate(day.plan.steps)}
    vessels.sort(key=lambda vessel: (place.get(vessel.name, len(place)), vessel.name))
    return Board(
        at=now,
        headline=phrase(_headline(day), style),
        rows=tuple(_row(vessel, day, style) for vessel in vessels),
        lines=tuple(written((line,), style) for line in _lines(day, season, settings)),
        press=_pressing(day),
        plan=plan_as_json(day.plan),
        reminders=come_up(season, now),
    )


def _row(vessel: VesselState, day: BoilDay, style: Style) -> Row:
    boiled = [step.name for step in day.plan.boiled]
    step = next((one for one in day.plan.steps if one.name == vessel.name), None)
    warm = None if step is None or step.assumed else Quantity(step.temp_f, "°F", 0)
    sweet = Quantity(vessel.brix, "% sugar", 1) if step and vessel.brix is not None else None
    return Row(
        vessel=phrase((VesselRef(vessel.name),), style),
        level=_level(vessel, style, known=step is not None),
        fill=vessel.fill,
        age_h=step.age_h if step else None,
        do="" if step is None else _do(step, day),
        press="none" if step is None else _presses(step, day),
        sap=sap_words(vessel.sap) if step and vessel.sap else None,
        warmth=phrase(parts(warm), style),
        sugar=phrase(parts(sweet), style).removesuffix(" sugar"),
        order=boiled.index(vessel.name) + 1 if vessel.name in boiled else None,
    )


def _level(vessel: VesselState, style: Style, *, known: bool) -> str:
    """Return how much is in a vessel, of what it holds where that was told."""
    held = vessel.volume_gal
    if held is None:
        return "?" if known else ""
    if not held:
        return "empty"
    told = phrase((Quantity(held, "gal", 0 if held >= 10 else 1),), style)
    if vessel.capacity_gal is None:
        return told
    holds = phrase((Quantity(vessel.capacity_gal, "gal", 0),), style)
    return f"{told.rsplit(' ', 1)[0]} of {holds}"


def _do(step: Step, day: BoilDay) -> str:
    if step.verdict == "dump":
        return "dump"
    local = step.by.astimezone(day.now.tzinfo)
    if step.by < day.now:
        return f"due {local:%a}" if local.date() < day.now.date() else "due now"
    hour = phrase((When(local, day.now, "clock"),))
    return f"by {hour}" if local.date() == day.now.date() else f"by {local:%a} {hour}"


def _presses(step: Step, day: BoilDay) -> Press:
    if step.verdict == "dump" or step.by < day.now:
        return "late"
    return "today" if step.verdict == "boil" else "none"


def _pressing(day: BoilDay) -> Press:
    """Return how the whole of it stands; sap to dump presses only where nothing else is left."""
    steps = day.plan.boiled or day.plan.dumped
    pressing = {_presses(step, day) for step in steps}
    return "late" if "late" in pressing else "today" if "today" in pressing else "none"


def _headline(day: BoilDay) -> Parts:
    plan = day.plan
    if not plan.boiled:
        return parts("dump", VesselRef(plan.dumped[0].name)) if plan.dumped else (_NOTHING,)
    first = plan.boiled[0]
    if first.verdict == "boil":
        return parts("boil", VesselRef(first.name), "apart" if first.apart else None)
    return (Text("wait for more" if plan.is_small else "it can wait"),)


_NOTHING = Text("nothing to boil")


def _lines(day: BoilDay, season: Season, settings: Settings) -> list[Sentence]:
    plan, fire = day.plan, day.fire
    lines = [fact("Reminder:", one.text) for one in come_up(season, day.now)]
    if fire is not None:
        since = parts("Boiling since", When(fire.started_at, day.now, "clock"))
        sap = parts(Quantity(round(fire.sap_gal, 1), "gal"), "of sap") if fire.sap_gal else None
        lines.append(fact(since, ":", sap or "no sap noted", "on it"))
    lines += [line for line in plan_told(day) if line.parts]
    if plan.boiled and not plan.is_small:
        lines += [what_fits(day), *to_have_ready(day, settings)]
    gathered = season.gathered_by_day.get(day.now.date(), 0.0)
    if gathered:
        lines.append(fact("Gathered today:", Quantity(round(gathered, 1), "gal")))
    return lines
