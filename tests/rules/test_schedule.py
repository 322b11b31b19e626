"""The order on the pans, set against trying every order and every sharing out.

The trial is written apart from the scheduler: it goes through the hours minute for minute's sake of
nothing but plain loops over permutations, and shares no code with the sets of the scheduler.
"""

from __future__ import annotations

import math
from itertools import pairwise, permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldvoice.rules.schedule import (
    Job,
    Pan,
    Window,
    latest_start,
    not_before,
    schedule,
    stage_cost,
)

HORIZON_H = 120.0


def simulated(order, pan, windows):
    """Return (lost worth, wear) of one order on one pan, by going through its hours."""
    lost = wear = 0.0
    clock = iter(windows)
    now, end = None, None
    for job in order:
        need = job.water_gal / pan.rate_gal_h + job.extra_h
        todo = need
        while todo > 1e-12:
            if now is None or now >= end - 1e-12:
                window = next(clock, None)
                if window is None:
                    break
                now, end = window.begin_h + pan.start_up_h, window.end_h
                if now >= end:
                    now = None
                    continue
            step = min(todo, end - now)
            now += step
            todo -= step
            worn = job.worn_at(now)
            lost += step / need * job.worth * stage_cost(worn)
            wear += step / need * job.worth * worn**3
        if todo > 1e-12:
            worn = job.worn_at(HORIZON_H)
            lost += todo / need * job.worth * stage_cost(worn)
            wear += todo / need * job.worth * worn**3
    return lost, wear


def tried(jobs, pans, windows):
    """Return the least (lost worth, wear) of all orders on all sharings out among the pans."""
    best = (math.inf, math.inf)
    for places in product(range(len(pans)), repeat=len(jobs)):
        queues = [
            [job for job, at in zip(jobs, places, strict=True) if at == k] for k in range(len(pans))
        ]
        totals = (0.0, 0.0)
        for pan, queue in zip(pans, queues, strict=True):
            one = min(simulated(order, pan, windows) for order in permutations(queue))
            totals = (totals[0] + one[0], totals[1] + one[1])
        best = min(best, totals)
    return best


JOBS = st.lists(
    st.builds(
        Job,
        name=st.uuids().map(str),
        water_gal=st.floats(1, 120),
        worth=st.floats(0.05, 3),
        worn_days=st.floats(0, 8),
        rates=st.one_of(
            st.floats(0.4, 4).map(lambda rate: ((0.0, rate),)),
            st.tuples(st.floats(0.4, 2), st.floats(5, 60), st.floats(0.4, 4)).map(
                lambda r: ((0.0, r[0]), (r[1], r[2]))
            ),
        ),
        extra_h=st.sampled_from([0.0, 0.5]),
    ),
    min_size=1,
    max_size=4,
)
PANS = st.lists(
    st.builds(Pan, st.just("pan"), st.floats(3, 30), st.just(0.4)), min_size=1, max_size=2
)
HOURS = st.floats(0.3, 13)
WINDOWS = st.tuples(HOURS, HOURS, HOURS).map(
    lambda hours: [Window(24.0 * day, 24.0 * day + length) for day, length in enumerate(hours)]
)


@settings(max_examples=150, deadline=None)
@given(JOBS, PANS, WINDOWS)
def test_no_order_is_better(jobs, pans, windows):
    """Up to four vessels on up to two pans in three days: the best of all there are."""
    found = schedule(jobs, pans, windows, HORIZON_H)
    lost, wear = tried(jobs, pans, windows)
    assert found.cost.worth == pytest.approx(lost, rel=1e-6, abs=1e-6)
    if lost < 1e-9:
        assert found.cost.wear <= wear * (1 + 1e-6) + 1e-6


@settings(max_examples=100, deadline=None)
@given(JOBS, PANS, WINDOWS)
def test_a_schedule_is_what_it_says(jobs, pans, windows):
    """Each vessel once; pieces within the hours, none at once on one pan, and all of it told."""
    found = schedule(jobs, pans, windows, HORIZON_H)
    assert sorted(turn.job.name for turn in found.turns) == sorted(job.name for job in jobs)
    for pan in pans:
        pieces = [piece for turn in found.turns if turn.pan is pan for piece in turn.pieces]
        for piece in pieces:
            window = windows[piece.window]
            assert window.begin_h + pan.start_up_h - 1e-9 <= piece.begin_h
            assert piece.end_h <= window.end_h + 1e-9
        pieces.sort()
        for one, other in pairwise(pieces):
            assert one.end_h <= other.begin_h + 1e-9
    for turn in found.turns:
        assert sum(piece.share for piece in turn.pieces) + turn.left == pytest.approx(1)


@settings(max_examples=60, deadline=None)
@given(JOBS, PANS, WINDOWS)
def test_later_than_the_latest_start_costs_more(jobs, pans, windows):
    """Beginning then loses nothing more than now; an hour after it does."""
    latest = latest_start(jobs, pans, windows, HORIZON_H)
    best = schedule(jobs, pans, windows, HORIZON_H).cost.worth
    at = HORIZON_H if latest is None else latest
    kept = schedule(jobs, pans, not_before(windows, at), HORIZON_H).cost.worth
    assert kept == pytest.approx(best, rel=1e-6, abs=1e-6)
    if latest is not None:
        late = schedule(jobs, pans, not_before(windows, HORIZON_H), HORIZON_H).cost.worth
        assert late > best


def test_wearing_is_counted_by_the_days_ahead():
    """A day at once the rate and then twice: 1.0 + 24 h + 12 h at double is three days."""
    job = Job("a", 1, 1, 1.0, ((0.0, 1.0), (24.0, 2.0)))
    assert job.worn_at(36) == pytest.approx(3.0)
    assert job.reaches(3.0) == pytest.approx(36)
    assert job.reaches(1.0) == 0


def test_more_vessels_than_are_set_against_each_other_all_get_a_turn():
    """Twelve vessels: the eight most worn first, in some order, then the rest."""
    jobs = [Job(f"tank {n}", 5, 0.1, n / 10) for n in range(12)]
    found = schedule(jobs, [Pan("pan", 10)], [Window(0, 100)], HORIZON_H)
    names = [turn.job.name for turn in found.turns]
    assert len(set(names)) == 12
    assert set(names[:8]) == {f"tank {n}" for n in range(4, 12)}
