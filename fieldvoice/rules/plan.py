"""What to boil, in which order and when: what spoils first first, in the hours that one has.

Sap that is spoilt is dumped, cloudy and budding sap is boiled by itself. The order and the latest
start come from ``fieldvoice.rules.schedule``; here sap becomes jobs, and a schedule a plan with
its syrup, its least batch and the room it makes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fieldvoice.rules import sources
from fieldvoice.rules.boiling import FLAT_PAN_RATE
from fieldvoice.rules.limits import within
from fieldvoice.rules.measures import hours_of
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.sap import sap_advice
from fieldvoice.rules.schedule import (
    Job,
    Pan,
    Schedule,
    Turn,
    Window,
    latest_start,
    not_before,
    schedule,
    stage_cost,
)
from fieldvoice.rules.storage import (
    DEFAULT_LIMIT,
    StorageAge,
    sap_limit,
    spoilage_rate,
    storage_age,
)
from fieldvoice.rules.sugar import syrup_estimate

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldvoice.rules.finding import Finding

PlanAction = Literal["boil", "boil apart", "dump"]

#: Days at 38 °F that a condition is taken to have used up beyond the sap's age (a choice).
_WORN_DAYS: Mapping[str | None, float] = {"hazy": 1.0, "yellow": 1.0, "cloudy": 3.0, "buddy": 0.0}
#: Budding sap makes syrup that is hardly worth the wood, so that it never keeps good sap waiting.
_BUDDY_WORTH = 0.02
#: A boil by itself: the pan drawn down before it, and again after it (a choice).
_APART_H = 0.5
#: Sap stands about this deep in a pan at the boil (school and farm figures).
LEAST_DEPTH_IN = 2.0
#: Taken for a vessel of which nobody knows how much is in it, to give it a place in the order.
_UNKNOWN_GAL = 20.0
#: A pan of 2 by 4 feet, taken where nothing else is known.
USUAL_PAN_FT2 = 8.0
#: How far ahead the plan looks: five days.
HORIZON_H = 120.0

BOIL_ORDER = Rule(
    "boil-order", ("note", "care", "stop"), "Order of vessels to boil, what spoils first first",
    sources.OLLEY_RATKOWSKY_1973, "design choice",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Stored:
    """Sap in a vessel: hours since the oldest came in, and (hours ago, °F) readings.

    ``ahead`` are (hours from now, °F) that it is expected to have from then on; without them it
    stays as it was last read. ``volume_gal`` is None where nobody knows it. ``limit_name`` says how
    long sap is given.
    """

    name: str
    age_h: float
    readings: tuple[tuple[float, float], ...] = ()
    sap: str | None = None
    volume_gal: float | None = None
    brix: float = 2.0
    ahead: tuple[tuple[float, float], ...] = ()
    capacity_gal: float | None = None
    limit_name: str = DEFAULT_LIMIT


@dataclass(frozen=True, slots=True)
class Step:
    """One vessel's turn. ``hours_left`` until two days at 38 °F are used up; 0 when past.

    ``begin_h`` and ``end_h`` (hours from now) are its time on the pan called ``pan``, None when no
    window has room for it. ``now_share`` is the part boiled in the first window, ``left_share`` the
    part that no window has room for. ``lost_h`` is when it is too old to be worth the wood.
    """

    name: str
    action: PlanAction
    hours_left: float
    age: StorageAge
    pan: str | None = None
    begin_h: float | None = None
    end_h: float | None = None
    now_share: float = 0.0
    left_share: float = 0.0
    volume_gal: float | None = None
    syrup_gal: float = 0.0
    lost_h: float = 0.0


@dataclass(frozen=True, slots=True)
class BoilPlan:
    """Vessels in the order to deal with them; the first finding is the answer.

    ``now_gal`` is the sap boiled in the first window and ``now_syrup_gal`` what it makes, ``now_h``
    the hours that takes, lighting included. ``wait_h`` is how long the boil can wait and lose
    nothing; None when longer than the plan looks ahead. ``least_gal`` covers the pan.
    ``room_gal`` is the room in vessels of known size once the first window is over.
    """

    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]
    now_gal: float = 0.0
    now_syrup_gal: float = 0.0
    now_h: float = 0.0
    wait_h: float | None = None
    least_gal: float = 0.0
    room_gal: float | None = None

    @property
    def boiled(self) -> tuple[Step, ...]:
        """The steps that are no dumping, in order."""
        return tuple(step for step in self.steps if step.action != "dump")

    @property
    def dumped(self) -> tuple[Step, ...]:
        """The steps that are dumping."""
        return tuple(step for step in self.steps if step.action == "dump")


def boil_plan(
    vessels: Sequence[Stored],
    pans: Sequence[Pan] = (Pan("pan", USUAL_PAN_FT2 * FLAT_PAN_RATE),),
    windows: Sequence[Window] = (Window(0.0, HORIZON_H),),
    *,
    pan_ft2: float = USUAL_PAN_FT2,
) -> BoilPlan:
    """Return the order in which to boil vessels, those to dump first of all.

    ``windows`` are the hours (from now) in which somebody can boil, the first of them today's.

    Raises:
        RangeError: for an age or a temperature that ``storage_age`` refuses, an unknown sap, or a
            pan outside 0.25 to 500 ft².
    """
    if not vessels:
        text = "Nothing is stored."
        return BoilPlan((), (BOIL_ORDER.finding("note", text, "No vessel holds sap."),))
    weighed = [_weigh(vessel) for vessel in vessels]
    dumped = [one.as_dumped() for one in weighed if one.action == "dump"]
    boiled = {one.stored.name: one for one in weighed if one.action != "dump"}
    jobs = [one.job for one in boiled.values()]
    best = schedule(jobs, pans, windows, HORIZON_H)
    steps = [boiled[turn.job.name].as_step(turn) for turn in best.turns]
    findings = []
    if steps:
        findings.append(_first(steps))
    if dumped:
        findings.append(_dump(dumped))
    now_gal = sum((one.volume_gal or 0.0) * one.now_share for one in steps)
    return BoilPlan(
        steps=(*dumped, *steps),
        findings=tuple(findings),
        now_gal=now_gal,
        now_syrup_gal=sum(one.syrup_gal * one.now_share for one in steps),
        now_h=_now_h(best, windows),
        wait_h=latest_start(jobs, pans, windows, HORIZON_H) if jobs else None,
        least_gal=least_batch_gal(pan_ft2),
        room_gal=_room(weighed, steps),
    )


def loses_by_waiting(
    vessels: Sequence[Stored],
    pans: Sequence[Pan],
    windows: Sequence[Window],
    until_h: float,
    name: str | None = None,
) -> tuple[str, ...]:
    """Return the vessels boiled in a worse state when nothing is boiled before ``until_h``.

    ``name`` asks of one vessel alone.
    """
    weighed = [_weigh(vessel) for vessel in vessels]
    jobs = [one.job for one in weighed if one.action != "dump" and name in (None, one.stored.name)]
    soon = schedule(jobs, pans, windows, HORIZON_H)
    late = schedule(jobs, pans, not_before(windows, until_h), HORIZON_H)
    lost = {turn.job.name: _stages(soon, turn.job) for turn in soon.turns}
    return tuple(
        turn.job.name for turn in late.turns if _stages(late, turn.job) > lost[turn.job.name] + 1e-9
    )


def least_batch_gal(pan_ft2: float) -> float:
    """Return the sap that covers a pan two inches deep: less than that is not worth lighting it.

    Raises:
        RangeError: outside 0.25 to 500 ft².
    """
    return within(pan_ft2, 0.25, 500, "A pan", "square feet") * 144 * LEAST_DEPTH_IN / 231


@dataclass(frozen=True, slots=True)
class _Weighed:
    """A vessel with what is to be done with it, and its job on the pan."""

    stored: Stored
    action: PlanAction
    age: StorageAge
    job: Job
    syrup_gal: float

    def as_dumped(self) -> Step:
        return Step(
            self.stored.name, "dump", 0.0, self.age, volume_gal=self.stored.volume_gal
        )  # fmt: skip

    def as_step(self, turn: Turn) -> Step:
        pieces = turn.pieces
        return Step(
            name=self.stored.name,
            action=self.action,
            hours_left=self.job.reaches(sap_limit(self.stored.limit_name).boil_by_days),
            age=self.age,
            pan=turn.pan.name,
            begin_h=pieces[0].begin_h if pieces else None,
            end_h=pieces[-1].end_h if pieces else None,
            now_share=turn.share_in(0),
            left_share=turn.left,
            volume_gal=self.stored.volume_gal,
            syrup_gal=self.syrup_gal,
            lost_h=self.job.reaches(_LAST_DAYS),
        )


#: Days at 38 °F after which sap is no longer worth the wood.
_LAST_DAYS = 7.0


def _weigh(vessel: Stored) -> _Weighed:
    age = storage_age(vessel.age_h, vessel.readings, limit_name=vessel.limit_name)
    volume_gal = _UNKNOWN_GAL if vessel.volume_gal is None else vessel.volume_gal
    made = syrup_estimate(volume_gal, vessel.brix)
    action = _action(vessel.sap, age)
    job = Job(
        name=vessel.name,
        water_gal=made.water_gal,
        worth=made.syrup_gal * (_BUDDY_WORTH if vessel.sap == "buddy" else 1.0),
        worn_days=age.equivalent_days + _WORN_DAYS.get(vessel.sap, 0.0),
        rates=_rates(vessel, age),
        extra_h=_APART_H if action == "boil apart" else 0.0,
    )
    return _Weighed(vessel, action, age, job, made.syrup_gal)


def _rates(vessel: Stored, age: StorageAge) -> tuple[tuple[float, float], ...]:
    """Return how fast the sap wears from when on, in days at 38 °F a day."""
    now_f = 32.0 if vessel.sap == "frozen" else age.temp_f
    ahead = sorted(vessel.ahead)
    if ahead and ahead[0][0] <= 0:
        return tuple((max(0.0, hour), spoilage_rate(temp_f)) for hour, temp_f in ahead)
    return (
        (0.0, spoilage_rate(now_f)),
        *((hour, spoilage_rate(temp_f)) for hour, temp_f in ahead),
    )


def _stages(planned: Schedule, job: Job) -> float:
    """Return what a gallon of a job's syrup loses in worth by when it is boiled in a schedule."""
    turn = next(turn for turn in planned.turns if turn.job.name == job.name)
    boiled = sum(piece.share * stage_cost(job.worn_at(piece.end_h)) for piece in turn.pieces)
    return boiled + turn.left * stage_cost(job.worn_at(HORIZON_H))


def _now_h(planned: Schedule, windows: Sequence[Window]) -> float:
    """Return the hours of the first window that the plan uses, lighting included."""
    ends = [
        piece.end_h for turn in planned.turns for piece in turn.pieces if piece.window == 0
    ]  # fmt: skip
    return max(ends) - windows[0].begin_h if ends else 0.0


def _room(weighed: Sequence[_Weighed], steps: Sequence[Step]) -> float | None:
    """Return the room left once the first window is over; None where no vessel's size is known."""
    boiled = {step.name: step.now_share for step in steps}
    known = [one.stored for one in weighed if one.stored.capacity_gal is not None]
    if not known:
        return None
    return sum(
        max(
            0.0, (one.capacity_gal or 0.0) - (one.volume_gal or 0.0) * (1 - boiled.get(one.name, 1))
        )
        for one in known
    )


def _action(sap: str | None, age: StorageAge) -> PlanAction:
    doing = "keep" if sap is None else sap_advice(sap, where="vessel").action
    if doing == "dump and wash" or age.level == "discard":
        return "dump"
    return "boil apart" if doing in ("boil now", "boil apart") else "boil"


def _first(steps: Sequence[Step]) -> Finding:
    first, rest = steps[0], steps[1:]
    alone = ", by itself" if first.action == "boil apart" else ""
    then = "".join(f", then {_turn(step)}" for step in rest)
    urgent = first.hours_left == 0
    text = f"Boil {first.name} first{alone}{then}." if rest else f"Boil {first.name}{alone}."
    why = "; ".join(
        f"{step.name} is {_old(step.age.age_h)} old, like {_old(step.age.equivalent_days * 24)} "
        f"at 38 °F, with {_left(step.hours_left)} left of two days"
        for step in steps
    )
    why = why[:1].upper() + why[1:]
    return BOIL_ORDER.finding("care" if urgent else "note", text, f"{why}.")


def _turn(step: Step) -> str:
    return f"{step.name} by itself" if step.action == "boil apart" else step.name


def _old(hours: float) -> str:
    """Return an age without more precision than there is: hours, from two days on half days."""
    if hours < 1:
        return "under an hour"
    return hours_of(hours) if hours < 48 else f"{round(hours / 12) / 2:g} days"


def _left(hours: float) -> str:
    return hours_of(hours) if hours else "none"


def _dump(steps: Sequence[Step]) -> Finding:
    names = " and ".join(step.name for step in steps)
    why = "Sour or ropey sap, or sap more than 7 days old at 38 °F, is not worth the wood."
    return BOIL_ORDER.finding("stop", f"Don't boil {names}: dump and wash.", why)
