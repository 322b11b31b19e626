"""What to boil, in which order, and the last hour to light the fire for it: a promise.

The plan is made of facts alone: when sap came in, what was read of it, the weather told, the pan.
From them follows until when each vessel keeps, and from that, counted back over the hours in which
people boil, the last hour to light the fire for it. Nobody's asking moves either. Time passing does
one thing: "can wait" becomes "boil" on the day on which the last hour falls. What is more than half
a day's work is not left to wait at all. Only a sign (sour, ropey) dumps sap, never the clock.

What keeps least goes first. On pans that share the work no other order boils everything in time
where this one does not (Jackson 1955, earliest due date).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import accumulate
from typing import TYPE_CHECKING, Literal, NamedTuple

from fieldvoice.rules import sources
from fieldvoice.rules.boiling import FLAT_PAN_RATE, START_UP_H
from fieldvoice.rules.limits import within
from fieldvoice.rules.rule import Rule
from fieldvoice.rules.sap import sap_advice
from fieldvoice.rules.sap_clock import SapClock, SapLot, clock_of, keeps_until
from fieldvoice.rules.storage import DEFAULT_LIMIT, sap_limit
from fieldvoice.rules.sugar import syrup_estimate

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from datetime import tzinfo

    from fieldvoice.rules.finding import Finding
    from fieldvoice.rules.sap_clock import At

Verdict = Literal["can wait", "boil", "dump"]

#: The hours of a day in which people boil, where nobody says otherwise (a choice).
FROM_HOUR, TO_HOUR = 8, 21
#: Late in the evening there is still this much time for sap that is due (a choice).
_LATE = timedelta(hours=3)
#: No more hours at the boil than half a day's are left waiting: sap to come needs hours too (a
#: choice; in simulated seasons it costs under a hundredth of what boiling at once keeps in time).
_MAY_WAIT_H = (TO_HOUR - FROM_HOUR) / 2
#: A boil by itself: the pan drawn down before it, and again after it (a choice).
_APART_H = 0.5
#: Sap stands about this deep in a pan at the boil (school and farm figures).
LEAST_DEPTH_IN = 2.0
#: Less than this is not worth a fire, where no pan's size was told (a choice).
LEAST_GAL = 10.0
#: So much of that is as good as enough.
_NEARLY = 0.9
#: Taken for a vessel of which nobody knows how much is in it, to give it a place in the order.
_UNKNOWN_GAL = 20.0
#: A pan of 2 by 4 feet, taken where nothing else is known.
USUAL_PAN_FT2 = 8.0
#: A last hour is told in whole tens of minutes, never later than it is.
_STEP = timedelta(minutes=10)
#: A boil longer than this is counted no further: the amount was misheard.
_LONGEST_BOIL_H = 2000.0

BOIL_ORDER = Rule(
    "boil-order", ("note", "care", "stop"), "Order of vessels to boil, what spoils first first",
    sources.OLLEY_RATKOWSKY_1973, "design choice",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Stored:
    """Sap in a vessel, lot by lot. ``volume_gal`` is None where nobody knows it.

    ``brix`` and ``sap`` are those of all that is in it; ``outdoors`` tells that the weather warms
    and cools it.
    """

    name: str
    lots: tuple[SapLot, ...]
    volume_gal: float | None = None
    sap: str | None = None
    brix: float = 2.0
    outdoors: bool = True
    capacity_gal: float | None = None


@dataclass(frozen=True, slots=True)
class Pans:
    """All pans together: gallons of water boiled off in an hour, and hours to get them rolling.

    ``least_gal`` is the sap that is worth a fire. ``busy_until`` is when the sap on the fire that
    burns is boiled; None while no fire burns.
    """

    gal_h: float = USUAL_PAN_FT2 * FLAT_PAN_RATE
    start_up_h: float = START_UP_H
    least_gal: float = LEAST_GAL
    busy_until: datetime | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """What is to be done with one vessel.

    ``by`` is the last hour to light the fire for it, and for sap to be dumped when that was plain.
    ``keeps_until`` is when it should be boiled; ``apart`` tells that it is boiled by itself.
    ``begin`` and ``end`` are its turn if one begins now, ``now_share`` the part (0 to 1) boiled in
    today's hours. ``age_h`` is that of its oldest sap, ``temp_f`` what its sap has by now,
    ``is_held`` tells that it is taken to stay so to the end, for want of weather told; ``worn`` how
    much of the limit it has used up (1 is all), ``boil_h`` its hours at the boil,
    ``sap`` the worst condition of anything in it.
    """

    name: str
    verdict: Verdict
    by: datetime
    keeps_until: datetime
    volume_gal: float | None
    age_h: float
    temp_f: float
    assumed: bool
    is_held: bool
    worn: float
    sap: str | None = None
    apart: bool = False
    boil_h: float = 0.0
    syrup_gal: float = 0.0
    begin: datetime | None = None
    end: datetime | None = None
    now_share: float = 0.0

    @property
    def is_late(self) -> bool:
        """Whether it will not be boiled in time, even if one begins now."""
        return self.end is not None and self.end > self.keeps_until


@dataclass(frozen=True, slots=True)
class BoilPlan:
    """Vessels in the order to deal with them, those to dump last; the first finding is the answer.

    ``now_gal`` is the sap that today's hours have room for, ``now_syrup_gal`` what it makes,
    ``now_h`` the hours that takes, lighting included, until ``now_end``; ``until`` is when today's
    hours end. ``held_gal`` is all that can be boiled, None where a level is not known. ``room_gal``
    is the room in vessels of known size once today's hours are over.
    """

    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]
    until: datetime
    least_gal: float
    now_gal: float = 0.0
    now_syrup_gal: float = 0.0
    now_end: datetime | None = None
    held_gal: float | None = None
    room_gal: float | None = None

    @property
    def boiled(self) -> tuple[Step, ...]:
        """The steps that are no dumping, in order."""
        return tuple(step for step in self.steps if step.verdict != "dump")

    @property
    def dumped(self) -> tuple[Step, ...]:
        """The steps that are dumping."""
        return tuple(step for step in self.steps if step.verdict == "dump")

    @property
    def due(self) -> tuple[Step, ...]:
        """The steps to boil today."""
        return tuple(step for step in self.steps if step.verdict == "boil")

    @property
    def is_small(self) -> bool:
        """Whether all of it together is less than is worth a fire, by more than a tenth."""
        return self.held_gal is not None and self.held_gal < _NEARLY * self.least_gal


def boil_plan(
    stored: Sequence[Stored],
    pans: Pans,
    now: datetime,
    *,
    air: Sequence[At] = (),
    until: datetime | None = None,
    limit_name: str = DEFAULT_LIMIT,
) -> BoilPlan:
    """Return what to do with the sap in store, as it stands ``now``.

    ``air`` are the means of days told of, at their noons. ``until`` is when somebody has to stop
    today; it says what fits, and moves no deadline.

    Raises:
        RangeError: for an unknown limit, or a condition that sap does not have.
    """
    held = [one for one in stored if one.lots]
    if not held:
        nothing = BOIL_ORDER.finding("note", "Nothing is stored.", "No vessel holds sap.")
        return BoilPlan((), (nothing,), until or _at(now, TO_HOUR), pans.least_gal)
    days = sap_limit(limit_name).boil_by_days
    jobs = sorted((_job(one, pans, air, days) for one in held), key=lambda job: job.place)
    boiled = [job for job in jobs if job.action != "dump"]
    zone = max(lot.gathered_at for one in held for lot in one.lots).tzinfo
    hours = _last_hours(boiled, pans, zone)
    today, pile = now.astimezone(zone).date(), _pile(boiled)
    is_due = [by.date() <= today or much for by, much in zip(hours, pile, strict=True)]
    ends = until or _evening(now, presses=any(is_due))
    turns = _turns(boiled, pans, now, ends)
    steps = [
        job.step(now, by, turn, is_today=is_today, days=days)
        for job, by, turn, is_today in zip(boiled, hours, turns, is_due, strict=True)
    ]
    dumped = [job.dumped(now, days) for job in jobs if job.action == "dump"]
    known = [job.stored.volume_gal for job in boiled]
    return BoilPlan(
        steps=(*steps, *dumped),
        findings=tuple(_findings(steps, dumped, limit_name)),
        until=ends,
        least_gal=pans.least_gal,
        now_gal=sum((one.volume_gal or 0.0) * one.now_share for one in steps),
        now_syrup_gal=sum(one.syrup_gal * one.now_share for one in steps),
        now_end=max((turn.now_end for turn in turns if turn.now_end), default=None),
        held_gal=None if None in known else sum(gallons or 0.0 for gallons in known),
        room_gal=_room(held, steps),
    )


def least_batch_gal(pan_ft2: float) -> float:
    """Return the sap that covers a pan two inches deep: less than that is not worth lighting it.

    Raises:
        RangeError: outside 0.25 to 500 ft².
    """
    return within(pan_ft2, 0.25, 500, "A pan", "square feet") * 144 * LEAST_DEPTH_IN / 231


class _Turn(NamedTuple):
    """When a vessel is on the pan if one begins now; ``now_end`` is its end within today."""

    begin: datetime
    end: datetime
    now_share: float
    now_end: datetime | None


@dataclass(frozen=True, slots=True)
class _Job:
    """A vessel with its clock and what it takes to boil it."""

    stored: Stored
    clock: SapClock
    lot: SapLot
    keeps_until: datetime
    clock_until: datetime
    action: str
    boil_h: float
    syrup_gal: float

    @property
    def place(self) -> tuple[bool, datetime, str]:
        """Where it comes in the order; budding sap never keeps good sap waiting."""
        return (self.is_budding, self.keeps_until, self.stored.name)

    @property
    def is_budding(self) -> bool:
        return self.stored.sap == "buddy"

    @property
    def known_at(self) -> datetime:
        """When it came in, or was seen to turn where that decides: no fire is asked for before."""
        turned = self.lot.turned_at
        return turned if turned and turned == self.keeps_until else self.lot.gathered_at

    def unseen(self) -> _Job:
        """Return it as if its sap had shown no sign."""
        return replace(self, keeps_until=self.clock_until)

    def dumped(self, now: datetime, days: float) -> Step:
        """Return it as sap to throw away, since its sign was seen."""
        plain = max(lot.turned_at or lot.gathered_at for lot in self.stored.lots)
        turn = _Turn(now, now, 0.0, None)
        step = self.step(now, plain, turn, is_today=False, days=days)
        return replace(step, verdict="dump", begin=None, end=None)

    def step(
        self, now: datetime, by: datetime, turn: _Turn, *, is_today: bool, days: float
    ) -> Step:
        """Return what is to be done with it as it stands now."""
        oldest = min(lot.gathered_at for lot in self.stored.lots)
        hours = max(0.0, _hours(self.lot.gathered_at, now))
        return Step(
            name=self.stored.name,
            verdict="boil" if is_today else "can wait",
            by=by,
            keeps_until=self.keeps_until,
            volume_gal=self.stored.volume_gal,
            age_h=max(0.0, _hours(oldest, now)),
            temp_f=self.clock.temp_at(hours),
            assumed=not self.lot.readings,
            is_held=_hours(self.lot.gathered_at, self.keeps_until) > self.clock.points[-1][0],
            worn=self.clock.worn_at(hours) / days,
            sap=self.stored.sap,
            apart=self.action == "boil apart",
            boil_h=self.boil_h,
            syrup_gal=self.syrup_gal,
            begin=turn.begin,
            end=turn.end,
            now_share=turn.now_share,
        )


def _job(stored: Stored, pans: Pans, air: Sequence[At], days: float) -> _Job:
    """Return a vessel as a job. The lot that keeps least speaks for all that is in with it."""
    told = air if stored.outdoors else ()
    clocks = [(lot, clock_of(lot, told, stored.brix)) for lot in stored.lots]
    ends = [(keeps_until(lot, clock, days), lot, clock) for lot, clock in clocks]
    end, lot, clock = min(ends, key=lambda one: one[0])
    made = syrup_estimate(
        _UNKNOWN_GAL if stored.volume_gal is None else stored.volume_gal, stored.brix
    )
    action = _action(stored.sap)
    boil_h = min(_LONGEST_BOIL_H, made.water_gal / pans.gal_h)
    boil_h += _APART_H if action == "boil apart" else 0.0
    clear = min(keeps_until(replace(one, sap=None), line, days) for one, line in clocks)
    return _Job(stored, clock, lot, end, clear, action, boil_h, made.syrup_gal)


def _action(sap: str | None) -> str:
    doing = "keep" if sap is None else sap_advice(sap, where="vessel").action
    if doing == "dump and wash":
        return "dump"
    return "boil apart" if doing in ("boil now", "boil apart") else "boil"


def _last_hours(jobs: Sequence[_Job], pans: Pans, zone: tzinfo | None) -> list[datetime]:
    """Return the last hour to light the fire for each, so that all are boiled in time.

    What is seen in sap brings its last hour nearer and never puts it off, so that the plan without
    the signs is asked too.
    """
    unseen = sorted(map(_Job.unseen, jobs), key=lambda job: job.place)
    unseen_by = _counted_back(unseen, pans, zone)
    before = {job.stored.name: by for job, by in zip(unseen, unseen_by, strict=True)}
    return [
        min(by, before[job.stored.name])
        for job, by in zip(jobs, _counted_back(jobs, pans, zone), strict=True)
    ]


def _pile(jobs: Sequence[_Job]) -> list[bool]:
    """Return which jobs are not to wait, for with them half a day's work would be waiting.

    Sap to come needs hours too. It is counted from the last in the order, that can wait longest.
    """
    waiting = accumulate(job.boil_h for job in reversed(jobs))
    return [hours > _MAY_WAIT_H for hours in waiting][::-1]


def _counted_back(jobs: Sequence[_Job], pans: Pans, zone: tzinfo | None) -> list[datetime]:
    """Return the last hours, counted back from the last job.

    Each must be done by its own time and before the next one's turn; budding sap gives way to all.
    """
    found: list[datetime] = []
    start: datetime | None = None
    for job in reversed(jobs):
        end = job.keeps_until.astimezone(zone)
        if start is not None and start < end:
            end = start
        begin = _back(end, job.boil_h, pans.start_up_h)
        start = None if job.is_budding else begin
        lit = max(begin - timedelta(hours=pans.start_up_h), job.known_at.astimezone(zone))
        found.append(_floored(lit))
    return found[::-1]


def _back(end: datetime, boil_h: float, start_up_h: float) -> datetime:
    """Return when a boil must begin to be done at ``end``, counted back over the hours of days."""
    start_up = timedelta(hours=start_up_h)
    day_h = TO_HOUR - FROM_HOUR - start_up_h
    begin, close = _at(end, FROM_HOUR) + start_up, _at(end, TO_HOUR)
    last = max(begin, min(end, close))
    left = boil_h - _hours(begin, last)
    if left <= 0:
        return last - timedelta(hours=boil_h)
    days, left = divmod(left, day_h)
    return close - timedelta(days=days + 1, hours=left)


def _turns(jobs: Sequence[_Job], pans: Pans, now: datetime, until: datetime) -> list[_Turn]:
    """Return each vessel's turn if one begins now and goes on day by day."""
    windows = _windows(pans, now, until)
    begin, end = next(windows)
    today, is_today = end, True
    turns = []
    for job in jobs:
        left, on, now_h, now_end = job.boil_h, None, 0.0, None
        while True:
            room = max(0.0, _hours(begin, end))
            took = min(left, room)
            on = on or (begin if took > 0 or left == 0 else None)
            begin, left = begin + timedelta(hours=took), left - took
            if is_today:
                now_h, now_end = now_h + took, min(begin, today) if took else now_end
            if left <= 1e-9:
                break
            (begin, end), is_today = next(windows), False
        share = now_h / job.boil_h if job.boil_h else float(is_today)
        turns.append(_Turn(on or begin, begin, share, now_end))
    return turns


def _windows(pans: Pans, now: datetime, until: datetime) -> Iterator[tuple[datetime, datetime]]:
    """Yield the hours at the boil from now on: today's, then those of the days to come."""
    start_up = timedelta(hours=pans.start_up_h)
    if pans.busy_until is None:
        yield now + start_up, max(until, now + start_up)
    else:
        free = max(now, pans.busy_until.astimezone(now.tzinfo))
        yield free, max(until, free)
    day = now
    while True:
        day += timedelta(days=1)
        begin = max(_at(day, FROM_HOUR), until) + start_up
        yield begin, max(begin, _at(day, TO_HOUR))


def _evening(now: datetime, *, presses: bool) -> datetime:
    """Return when today's hours end: later in the evening where something has to be boiled."""
    evening = _at(now, TO_HOUR)
    return max(evening, now + _LATE) if presses else evening


def _at(day: datetime, hour: int) -> datetime:
    return day.replace(hour=hour, minute=0, second=0, microsecond=0)


def _hours(begin: datetime, end: datetime) -> float:
    return (end - begin) / timedelta(hours=1)


def _floored(at: datetime) -> datetime:
    return at - timedelta(
        minutes=at.minute % (_STEP // timedelta(minutes=1)),
        seconds=at.second,
        microseconds=at.microsecond,
    )


def _room(held: Iterable[Stored], steps: Sequence[Step]) -> float | None:
    """Return the room left once today's hours are over; None where no vessel's size is known."""
    boiled = {step.name: step.now_share for step in steps}
    known = [one for one in held if one.capacity_gal is not None]
    if not known:
        return None
    left = (
        (one.capacity_gal or 0.0) - (one.volume_gal or 0.0) * (1 - boiled.get(one.name, 1))
        for one in known
    )
    return sum(max(0.0, gallons) for gallons in left)


def _findings(steps: Sequence[Step], dumped: Sequence[Step], limit_name: str) -> Iterator[Finding]:
    if steps:
        limit = sap_limit(limit_name)
        why = " ".join(f"{_reason(step)} {limit.short} end {_when(step)}." for step in steps[:3])
        first = steps[0]
        late = first.is_late or first.worn >= 1
        yield BOIL_ORDER.finding("care" if late else "note", _told(steps), why)
    if dumped:
        names = " and ".join(step.name for step in dumped)
        why = "Sour or ropey sap is not worth the wood, and taints what it is mixed with."
        yield BOIL_ORDER.finding("stop", f"Don't boil {names}: dump and wash.", why)


def _told(steps: Sequence[Step]) -> str:
    first, rest = steps[0], steps[1:]
    alone = ", by itself" if first.apart else ""
    then = "".join(f", then {one.name}{' by itself' if one.apart else ''}" for one in rest)
    if first.verdict == "can wait":
        return "It can wait." if not rest else f"All of it can wait; {first.name} goes first{then}."
    return f"Boil {first.name} first{alone}{then}." if rest else f"Boil {first.name}{alone}."


def _reason(step: Step) -> str:
    days = step.age_h / 24
    old = f"{days:.1f} days" if step.age_h >= 36 else _hours_told(round(step.age_h))
    taken = " taken" if step.assumed else ""
    return (
        f"{step.name[:1].upper()}{step.name[1:]} is {old} old, at {step.temp_f:.0f} °F{taken}, and "
        f"takes about {step.boil_h:.1f} hours at the boil;"
    )


def _hours_told(hours: int) -> str:
    return {0: "under an hour", 1: "an hour"}.get(hours, f"{hours} hours")


def _when(step: Step) -> str:
    hour = step.keeps_until.hour
    half = "am" if hour < 12 else "pm"
    return f"on {step.keeps_until:%A} about {hour % 12 or 12} {half}"
