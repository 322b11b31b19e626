"""Which sap goes on which pan when: a small scheduling problem, solved exactly.

Sap waits in vessels and wears with time; a pan boils it off at its rate, in the hours that somebody
has. An order is judged by what the syrup is worth when its sap is boiled: sap past its two days
makes darker syrup, past four only clear sap is still worth it, past seven it is lost. Among orders
that are as good, worn sap goes first. Every vessel has its turn on one pan; a turn that does not
fit into the hours of a day goes on in those of the next.

For each pan the best order of every set of vessels is found by dynamic programming over sets (the
time at which a set is done does not depend on its order), and the sets are then shared out among
the pans; together that is the best of all orders and shares.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

#: Days at 38 °F after which sap counts for less, and what a gallon of its syrup then costs.
_STAGES: tuple[tuple[float, float], ...] = ((2.0, 0.0), (4.0, 1.0), (7.0, 3.0))
_LOST = 10.0
#: How much more an older vessel counts among orders that are as good (power of its age).
_URGENCY = 3
#: More vessels than this are not set against each other in every order; the least worn follow.
MOST_VESSELS = 8


@dataclass(frozen=True)
class Job:
    """Sap in one vessel: water to boil off, what its syrup is worth, and how it wears.

    ``worn_days`` is its age now in days at 38 °F, ``rates`` how many such days it wears a day from
    so many hours ahead on. ``extra_h`` is time it costs beside the boiling, for a boil by itself.
    """

    name: str
    water_gal: float
    worth: float
    worn_days: float
    rates: tuple[tuple[float, float], ...] = ((0.0, 1.0),)
    extra_h: float = 0.0

    def worn_at(self, hours: float) -> float:
        """Return its age in days at 38 °F so many hours from now."""
        worn = self.worn_days
        for (begin, rate), (end, _) in pairwise((*self.rates, (float("inf"), 0.0))):
            if hours > begin:
                worn += (min(hours, end) - begin) / 24 * rate
        return worn

    def reaches(self, days: float) -> float:
        """Return in how many hours it will be as old as ``days`` at 38 °F; 0 when it is."""
        worn = self.worn_days
        if worn >= days:
            return 0.0
        for (begin, rate), (end, _) in pairwise((*self.rates, (float("inf"), 0.0))):
            if rate <= 0:
                continue
            more = (days - worn) / rate * 24
            if begin + more <= end:
                return begin + more
            worn += (end - begin) / 24 * rate
        return float("inf")


@dataclass(frozen=True)
class Pan:
    """A pan: gallons of water it boils off in an hour, and the hours to get it rolling."""

    name: str
    rate_gal_h: float
    start_up_h: float = 0.4


class Window(NamedTuple):
    """Hours from now in which somebody can boil."""

    begin_h: float
    end_h: float


class Piece(NamedTuple):
    """A part (0 to 1) of a vessel boiled without a break, from and to hours from now."""

    window: int
    begin_h: float
    end_h: float
    share: float


@dataclass(frozen=True)
class Turn:
    """A vessel's time on a pan; what does not fit into any window is left."""

    job: Job
    pan: Pan
    pieces: tuple[Piece, ...]

    @property
    def left(self) -> float:
        """The part (0 to 1) that no window has room for."""
        return max(0.0, 1.0 - sum(piece.share for piece in self.pieces))

    def share_in(self, window: int) -> float:
        """Return the part boiled in one window."""
        return sum(piece.share for piece in self.pieces if piece.window == window)


class Cost(NamedTuple):
    """What an order loses of the syrup's worth, and how worn the sap is when it is boiled."""

    worth: float
    wear: float

    def plus(self, other: Cost) -> Cost:
        """Return both together."""
        return Cost(self.worth + other.worth, self.wear + other.wear)

    def is_below(self, other: Cost) -> bool:
        """Whether it is really less, beyond the noise of sums."""
        slack = 1e-9 * (1 + abs(other.worth))
        if abs(self.worth - other.worth) > slack:
            return self.worth < other.worth
        return self.wear < other.wear - 1e-9 * (1 + abs(other.wear))


@dataclass(frozen=True)
class Schedule:
    """The best order: turns in order of time, and what they cost."""

    turns: tuple[Turn, ...]
    cost: Cost


def schedule(
    jobs: Sequence[Job], pans: Sequence[Pan], windows: Sequence[Window], horizon_h: float
) -> Schedule:
    """Return the best order of ``jobs`` on ``pans`` within ``windows``.

    What no window has room for is judged as if it were boiled at ``horizon_h``. Beyond
    ``MOST_VESSELS`` jobs the most worn are put in the best order and the rest follow by age.
    """
    ordered = sorted(jobs, key=lambda job: (-job.worn_days, job.name))
    first, rest = ordered[:MOST_VESSELS], ordered[MOST_VESSELS:]
    timetables = [_Timetable(pan, tuple(windows), horizon_h) for pan in pans]
    queues = _shared_out(first, timetables)
    for job in rest:
        min(zip(timetables, queues, strict=True), key=lambda pair: pair[0].hours(pair[1]))[
            1
        ].append(job)
    turns = [
        turn
        for timetable, queue in zip(timetables, queues, strict=True)
        for turn in timetable.turns(queue)
    ]
    turns.sort(key=lambda turn: turn.pieces[0].begin_h if turn.pieces else horizon_h)
    total = Cost(0.0, 0.0)
    for timetable, queue in zip(timetables, queues, strict=True):
        total = total.plus(timetable.cost(queue))
    return Schedule(tuple(turns), total)


def latest_start(
    jobs: Sequence[Job], pans: Sequence[Pan], windows: Sequence[Window], horizon_h: float
) -> float | None:
    """Return the latest hour from now to begin without losing more than by beginning now.

    None when nothing is lost within the horizon however late one begins.
    """
    best = schedule(jobs, pans, windows, horizon_h).cost.worth

    def costs_no_more(begin_h: float) -> bool:
        late = schedule(jobs, pans, not_before(windows, begin_h), horizon_h).cost.worth
        return late <= best + 1e-9 * (1 + abs(best))

    if costs_no_more(horizon_h):
        return None
    low, high = 0.0, horizon_h
    while high - low > 0.05:
        middle = (low + high) / 2
        low, high = (middle, high) if costs_no_more(middle) else (low, middle)
    return low


def not_before(windows: Sequence[Window], begin_h: float) -> tuple[Window, ...]:
    """Return what is left of the windows from ``begin_h`` on; one that is over has no length."""
    return tuple(Window(min(end, max(begin, begin_h)), end) for begin, end in windows)


def stage_cost(worn_days: float) -> float:
    """Return what a gallon of syrup loses in worth when its sap is boiled at this age."""
    return next((cost for days, cost in _STAGES if worn_days <= days), _LOST)


@dataclass(frozen=True)
class _Timetable:
    """The hours that one pan is at the boil, laid end to end."""

    pan: Pan
    windows: tuple[Window, ...]
    horizon_h: float

    @cached_property
    def _boiling(self) -> tuple[tuple[int, float, float], ...]:
        """(window, hour from now at which it boils, hours at the boil)."""
        found = []
        for number, (begin, end) in enumerate(self.windows):
            boils_h = begin + self.pan.start_up_h
            if end > boils_h:
                found.append((number, boils_h, end - boils_h))
        return tuple(found)

    def needs(self, job: Job) -> float:
        """Return the hours that a job keeps the pan."""
        return job.water_gal / self.pan.rate_gal_h + job.extra_h

    def hours(self, queue: Sequence[Job]) -> float:
        return sum(self.needs(job) for job in queue)

    def pieces(self, job: Job, after_h: float) -> Iterator[Piece]:
        """Yield the pieces of a job that comes on after ``after_h`` hours at the boil."""
        need = self.needs(job)
        begin, end = after_h, after_h + need
        passed = 0.0
        for number, boils_h, length in self._boiling:
            a, b = max(begin, passed), min(end, passed + length)
            if b > a or (need == 0 and passed <= begin < passed + length):
                share = (b - a) / need if need else 1.0
                yield Piece(number, boils_h + a - passed, boils_h + b - passed, share)
                if need == 0:
                    return
            passed += length

    def turns(self, queue: Sequence[Job]) -> Iterator[Turn]:
        starts = accumulate((self.needs(job) for job in queue), initial=0.0)
        for job, after_h in zip(queue, starts, strict=False):
            yield Turn(job, self.pan, tuple(self.pieces(job, after_h)))

    def cost(self, queue: Sequence[Job]) -> Cost:
        total, after_h = Cost(0.0, 0.0), 0.0
        for job in queue:
            total = total.plus(self.cost_of(job, after_h))
            after_h += self.needs(job)
        return total

    def cost_of(self, job: Job, after_h: float) -> Cost:
        """Return what one job costs that comes on after ``after_h`` hours at the boil."""
        worth = wear = 0.0
        left = 1.0
        for piece in self.pieces(job, after_h):
            worn = job.worn_at(piece.end_h)
            worth += piece.share * job.worth * stage_cost(worn)
            wear += piece.share * job.worth * worn**_URGENCY
            left -= piece.share
        if left > 1e-9:
            worn = job.worn_at(self.horizon_h)
            worth += left * job.worth * stage_cost(worn)
            wear += left * job.worth * worn**_URGENCY
        return Cost(worth, wear)


def _shared_out(jobs: Sequence[Job], timetables: Sequence[_Timetable]) -> list[list[Job]]:
    """Return each pan's queue in the best sharing of the jobs."""
    everything = (1 << len(jobs)) - 1
    best = [_best_orders(jobs, timetable) for timetable in timetables]
    # shares[k][s]: the best cost of the set s on the first k + 1 pans, and the last pan's own set.
    shares: list[dict[int, tuple[Cost, int]]] = [
        {which: (cost, which) for which, (cost, _) in best[0].items()}
    ]
    for orders in best[1:]:
        shares.append(
            {which: _best_share(which, orders, shares[-1]) for which in range(everything + 1)}
        )
    queues: list[list[Job]] = []
    left = everything
    for orders, share in zip(reversed(best), reversed(shares), strict=True):
        own = share[left][1]
        queues.append(_in_order(jobs, orders, own))
        left &= ~own
    return queues[::-1]


def _best_share(
    which: int,
    orders: Mapping[int, tuple[Cost, int]],
    others: Mapping[int, tuple[Cost, int]],
) -> tuple[Cost, int]:
    """Return the cheapest way to give one pan a part of the set and the others the rest."""
    own = which
    best = (orders[own][0].plus(others[0][0]), own)
    while own:
        own = (own - 1) & which
        cost = orders[own][0].plus(others[which & ~own][0])
        if cost.is_below(best[0]):
            best = (cost, own)
    return best


def _best_orders(jobs: Sequence[Job], timetable: _Timetable) -> dict[int, tuple[Cost, int]]:
    """Return for every set of jobs the cost of its best order, and which job comes last in it."""
    needs = [timetable.needs(job) for job in jobs]
    best: dict[int, tuple[Cost, int]] = {0: (Cost(0.0, 0.0), -1)}
    for which in range(1, 1 << len(jobs)):
        members = [index for index in range(len(jobs)) if which >> index & 1]
        total_h = sum(needs[index] for index in members)
        found: tuple[Cost, int] | None = None
        # The jobs are by age, so that of equals the older comes first: the younger is tried last.
        for last in reversed(members):
            before = best[which & ~(1 << last)][0]
            cost = before.plus(timetable.cost_of(jobs[last], total_h - needs[last]))
            if found is None or cost.is_below(found[0]):
                found = (cost, last)
        assert found is not None
        best[which] = found
    return best


def _in_order(jobs: Sequence[Job], orders: Mapping[int, tuple[Cost, int]], which: int) -> list[Job]:
    queue: list[Job] = []
    while which:
        last = orders[which][1]
        queue.append(jobs[last])
        which &= ~(1 << last)
    return queue[::-1]
