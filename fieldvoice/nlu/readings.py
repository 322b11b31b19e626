"""From a way through the grammar to the reading it stands for, with its bill."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fieldvoice.nlu import costs
from fieldvoice.nlu.hypothesis import Hypothesis
from fieldvoice.nlu.normalise import BREAK, spell
from fieldvoice.nlu.parser import (
    ANY,
    HALTS,
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


def each_tree(reading: Hypothesis, words: Sequence[str]) -> Iterator[Hypothesis]:
    """Yield ``reading``, and with the next tree where its number may go on: "fifty one third full".

    Of "one third" the one may be the tree's: people say "third full", as they say "half full".
    """
    yield reading
    for at, meaning in enumerate(reading.meanings):
        tree = getattr(meaning, "tree", None)
        share = getattr(meaning, "fill", None)
        if not isinstance(meaning, Act) or not isinstance(tree, int) or tree % 10 or share is None:
            continue
        said = (*spell(tree).split(), "one")
        places = (at for at in range(len(words)) if tuple(words[at : at + len(said)]) == said)
        if 20 <= tree < 100 and any(
            _BARE_SHARES.intersection(words[one + 2 : one + 3]) for one in places
        ):
            other = (
                *reading.meanings[:at],
                meaning.replace(tree=tree + 1),
                *reading.meanings[at + 1 :],
            )
            bill = (*reading.bill, ("a tree of one more", costs.FILLER))
            yield replace(reading, meanings=other, cost=reading.cost + costs.FILLER, bill=bill)


#: Shares that are said without an article too.
_BARE_SHARES = frozenset({"third", "fourth", "fifth"})


def with_whole_texts(readings: Sequence[Hypothesis]) -> tuple[Hypothesis, ...]:
    """Return readings without those whose free words lack one: "call the wood (man) on monday".

    What is nothing elsewhere is a word of a text like any other, but for thanks.
    """
    told = [(_without_text(one), _texts(one)) for one in readings]
    return tuple(
        reading for reading, (rest, texts) in zip(readings, told, strict=True)
        if not any(
            other_rest == rest and others != texts and all(map(_is_better, others, texts))
            for other_rest, others in told
            if texts
        )
    )  # fmt: skip


def _is_better(text: str, other: str) -> bool:
    """Whether one text has a word that another lacks, or the other only thanks or halts besides."""
    more, less = _besides(text, other), _besides(other, text)
    tells = more and not (_POLITE | _LEADS_TO_WHEN).issuperset(more)
    return bool(tells) or bool(less and _POLITE.issuperset(less))


def _besides(text: str, other: str) -> list[str]:
    """Return what a text has besides all the words of another, in their order; else nothing."""
    more, left = [], other.split()
    for word in text.split():
        if left[:1] == [word]:
            left.pop(0)
        else:
            more.append(word)
    return [] if left else more


#: Of "add wood in an hour" these are the time's.
_LEADS_TO_WHEN = frozenset({"in", "at", "on", "by"})
_POLITE = HALTS | {"thank", "you"}


def _texts(reading: Hypothesis) -> list[str]:
    told = (meaning.json_fields().get("text") for meaning in reading.meanings)
    return [one for one in told if isinstance(one, str)]


def _without_text(reading: Hypothesis) -> list[dict[str, Any]]:
    return [
        {key: value for key, value in meaning.json_fields().items() if key != "text"}
        for meaning in reading.meanings
    ]
