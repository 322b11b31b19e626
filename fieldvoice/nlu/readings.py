"""From a way through the grammar to the reading it stands for, with its bill."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.nlu.hypothesis import Hypothesis
from fieldvoice.nlu.normalise import BREAK
from fieldvoice.nlu.parser import (
    ANY,
    NEAR,
    SAID,
    SILENT,
    SKIPPED,
    SUPPLIED,
    bill_of,
    marks_of,
    trace,
)
from fieldvoice.nlu.semantics import compose
from fieldvoice.nlu.times import times_in
from fieldvoice.schema import Act

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fieldvoice.nlu.parser import Way


def reading_of(way: Way, text: str, before: Sequence[tuple[str, float]]) -> Hypothesis | None:
    """Return what a way says, charged with what its words cost ``before`` it; None for nothing."""
    steps = list(trace(way))
    try:
        meanings = compose(marks_of(way))
    except ValueError:
        return None
    if not meanings:
        return None
    runs = _runs(steps)
    bill = tuple((what, price) for what, price in (*before, *bill_of(way)) if price)
    return Hypothesis(
        meanings=meanings,
        cost=sum(price for _, price in bill),
        bill=bill,
        text=text,
        skipped=tuple(word for run in runs for word in run),
        runs=runs,
        repaired=tuple(
            payload for _, kind, payload in steps if kind == NEAR and isinstance(payload, tuple)
        ),
        supplied=tuple(str(payload) for _, kind, payload in steps if kind == SUPPLIED),
        rules=tuple(
            payload for _, kind, payload in steps if kind == SILENT and isinstance(payload, str)
        ),
    )


def _runs(steps: Sequence[tuple[object, int, object]]) -> tuple[tuple[str, ...], ...]:
    """Return the words passed over, those that stood side by side together."""
    runs: list[list[str]] = [[]]
    for _, kind, payload in steps:
        if kind == SKIPPED and payload != BREAK:
            runs[-1].append(str(payload))
        elif kind in (SAID, ANY, NEAR):
            runs.append([])
    return tuple(tuple(run) for run in runs if run)


def each_time(reading: Hypothesis) -> Iterator[Hypothesis]:
    """Yield ``reading`` with each of the times said, where two in one note differ."""
    for at, meaning in enumerate(reading.meanings):
        times = times_in(meaning.at or "") if isinstance(meaning, Act) else []
        if len(times) > 1:
            for time in times:
                meanings = list(reading.meanings)
                meanings[at] = meaning.replace(at=time)
                yield replace(reading, meanings=tuple(meanings))
            return
    yield reading
