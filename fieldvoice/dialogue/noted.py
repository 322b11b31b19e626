"""The notes of one kind and time, whatever season they are of."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from fieldvoice.nlu.times import days_of

if TYPE_CHECKING:
    from datetime import datetime

    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.schema import Act

Kind = TypeVar("Kind", bound="Act")


def noted(kind: type[Kind], span: str | None, moment: TurnContext) -> list[tuple[datetime, Kind]]:
    """Return the notes of a kind of a time, this year's where none is named."""
    first, last = days_of(span or f"{moment.now:%Y}")
    act = kind.model_fields["act"].default
    with moment.book.years(moment.settings.capacities_gal, now=moment.now) as years:
        notes = [
            one for year in range(first.year, last.year + 1) for one in years.of_act(act, year)
        ]
    zone = moment.now.tzinfo
    return [
        (at, one) for at, one in notes
        if isinstance(one, kind) and first <= at.astimezone(zone).date() <= last
    ]  # fmt: skip
