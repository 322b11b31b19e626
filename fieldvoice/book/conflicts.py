"""What two books (or a book and a spreadsheet) say differently of the same thing.

Nobody but the family can say which is right, so what is brought in and speaks against what stands
here is shown and left out. That which one book says later than itself is no conflict.
"""

from __future__ import annotations

import json
from collections import defaultdict
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from fieldvoice.book.rounds import trees_in
from fieldvoice.nlg.written import written
from fieldvoice.schema import acts
from fieldvoice.segments import Sentence

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from fieldvoice.schema import Act

#: Of what stands once: a tree is of one kind, a day has one low.
ONCE = ("measure", "weather", "vessel", "name")
#: Two books that have the same note so near to each other have heard it both.
_AT_ONCE = timedelta(minutes=2)
#: The origin of rows of spreadsheets: those are put right in the spreadsheet, and no later word.
ROW = "row"

_Fact = tuple[str, ...]


class Standing:
    """What a book says before anything is brought in, by what it is about."""

    def __init__(self, notes: Iterable[tuple[str, datetime, Act]]) -> None:
        """``notes`` are those not taken back: the id across books, when it was, and the note."""
        self._facts: dict[_Fact, tuple[Any, str, Act]] = {}
        self._said: dict[str, list[tuple[datetime, str]]] = defaultdict(list)
        for name, at, act in notes:
            for fact, value in _facts(act, at):
                self._facts[fact] = value, _origin(name), act
            self._said[_key(act)].append((at, _origin(name)))

    def against(self, name: str, at: datetime, act: Act) -> str | None:
        """Return what here speaks against a note of another origin, in words; else None."""
        origin = _origin(name)
        for fact, value in _facts(act, at):
            known = self._facts.get(fact)
            if known is None or known[0] == value:
                continue
            if known[1] != origin or origin == ROW:
                return f"{told_of(known[2])} stands here, {told_of(act)} there"
        if origin == ROW:
            return None
        for when, other in self._said.get(_key(act), ()):
            if other not in (origin, ROW) and abs(when - at) <= _AT_ONCE:
                return f"{told_of(act)} stands here already, {_apart(when, at)}"
        return None


def told_of(act: Act) -> str:
    """Return a note as it is told where two differ."""
    return f"“{written((Sentence('fact', act.told()),)).rstrip('.')}”"


def _apart(when: datetime, at: datetime) -> str:
    return f"said at {when:%H:%M} here and {at:%H:%M} there"


def _origin(name: str) -> str:
    return name.partition("-")[0] if name.startswith(f"{ROW}-") else name.rpartition("-")[0]


def _key(act: Act) -> str:
    fields = {name: value for name, value in act.json_fields().items() if name != "at"}
    return json.dumps(fields, sort_keys=True)


def _facts(act: Act, at: datetime) -> Iterator[tuple[_Fact, Any]]:
    """Yield what a note says once for all, or once for the day, with its value."""
    if act.act not in ONCE:
        return
    fields = act.json_fields()
    day = fields.get("day") or at.date().isoformat()
    if isinstance(act, acts.Weather):
        yield from (((act.act, day, name), fields[name]) for name in ("low_f", "high_f")
                    if name in fields)  # fmt: skip
    elif isinstance(act, acts.Measure):
        for tree in trees_in(act):
            if act.species is not None:
                yield (act.act, str(tree), "species"), act.species
            if act.diameter_in is not None:
                yield (act.act, str(tree), "diameter_in", day), act.diameter_in
    elif isinstance(act, acts.Vessel):
        yield from (((act.act, str(act.vessel), name), value) for name, value in fields.items()
                    if name not in ("act", "at", "vessel"))  # fmt: skip
    elif isinstance(act, acts.Name) and act.name is not None:
        yield (act.act, act.name), (act.tree, act.vessel, act.new)
