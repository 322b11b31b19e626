"""Questions put together from pieces: one of what was asked in one breath, of the day it names."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.nlu.normalise import BREAK
from fieldvoice.nlu.role_search import Bound
from fieldvoice.schema import ASKS

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from fieldvoice.nlu.chunker import Span
    from fieldvoice.nlu.drafts import Draft

#: With none of these one thing was asked.
_JOINS = frozenset({"and", "or", "also", "then", BREAK})
#: These tell that a time runs on to now.
_SINCE = frozenset("since from after past last in over this all so the".split())
_BEFORE_SINCE = frozenset({"since", "from", "after"})
#: Where water boils on high hills, and in the valley on the best of days, in °F.
_WATER_BOILS = (190, 216)


def one_question(
    drafts: list[Draft], words: Collection[str], likely: Mapping[str, float]
) -> list[Draft]:
    """Return the likeliest of several questions made of one, with what the others have of it.

    "How many pints did we make last year" is of what was packed, and of last year.
    """
    if len(drafts) < 2 or not _JOINS.isdisjoint(words):
        return drafts
    if any(draft.kind not in ASKS for draft in drafts):
        return drafts
    first, *others = sorted(drafts, key=lambda draft: -likely.get(draft.kind, 0.0))
    slots = ASKS[first.kind].model_fields
    for draft in others:
        for name in draft.fields.keys() & slots.keys():
            first.fields.setdefault(name, draft.fields[name])
    return [first]


def of_that_day(drafts: Sequence[Draft], bounds: Sequence[Bound], words: Sequence[str]) -> None:
    """Make of a sum since a day that one day's, where no word says "since": "bring in monday"."""
    for draft in drafts:
        said = next((one for one in bounds if (one.kind, one.field) == (draft.kind, "since")), None)
        since = draft.fields.get("since")
        if draft.kind != "sap_total" or said is None or since in (None, "yesterday"):
            continue
        is_open = _BEFORE_SINCE.isdisjoint(words[max(said.start - 1, 0) : said.start])
        if is_open and _SINCE.isdisjoint(words[said.start : said.end]):
            draft.kind, draft.fields = "made_in", {"span": since}


def of_that_water(drafts: Sequence[Draft], bounds: list[Bound], pieces: Sequence[Span]) -> None:
    """Tell when to draw off by where water boils, if any number says so: never as at sea level."""
    low, high = _WATER_BOILS
    told = [one for one in pieces if one.sort == "number" and low <= one.value <= high]
    for draft in drafts:
        if draft.kind == "draw_off" and "water_boils_f" not in draft.fields and len(told) == 1:
            water = told[0]
            draft.fields["water_boils_f"] = float(water.value)
            role = ("draw_off", "water_boils_f", float(water.value))
            bounds.append(Bound(*role, water.start, water.end, chance=0.0))
