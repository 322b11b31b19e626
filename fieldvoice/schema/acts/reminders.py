"""Notes of what is to be thought of on a day to come, and of what things cost."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from fieldvoice.schema.act import Act, own_words, quantity, words
from fieldvoice.schema.acts.pantry import dollars
from fieldvoice.schema.slot import ActSpec, Slot
from fieldvoice.segments import Day, Text, Told, When, details

if TYPE_CHECKING:
    from fieldvoice.segments import Parts


def on_the_day(due: str, now: datetime | None = None) -> Parts:
    """Return "Friday, March 12" or "Friday, March 12, 8:00 am"; of the day of ``now`` "8:00 am".

    What was said comes as it is before it is a day.
    """
    try:
        at = datetime.fromisoformat(due)
    except ValueError:
        return (Text(due),)
    day, hour = (Day(at.date()),), (When(at, at, "exact"),)
    if "T" not in due:
        return day
    return hour if now is not None and at.date() == now.date() else (*day, Text(","), *hour)


class Remind(Act):
    """Something to be thought of: ``due`` is an ISO date, or a time with its offset.

    A timer is one whose time comes soon.
    """

    act: Literal["remind"] = "remind"
    text: Annotated[str | None, Slot("past.any_words", ask="Remind you of what?")] = None
    due: Annotated[str | None, Slot("past.ahead", ask="When?", shown=on_the_day)] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="past.remind",
        examples=("Remind me on Friday to wash the filter.", "Check the pan in ten minutes."),
        needs=(("text",), ("due",)),
    )

    def told(self, now: datetime | None = None) -> Told:
        """Return "reminder for Friday, March 12: wash the filter"; of today the hour alone."""
        due = on_the_day(self.due, now) if self.due else ()
        return Told(
            (*words("reminder for" if due else "reminder"), *due), details(own_words(self.text))
        )


class Reminded(Act):
    """A reminder done with; ``text`` is what it was of."""

    act: Literal["reminded"] = "reminded"
    text: Annotated[
        str | None,
        Slot("past.any_words", ask="Which one"),
    ] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="past.reminded",
        examples=("The reminder is done.",),
        needs=(("text",),),
    )

    def told(self) -> Told:
        """Return "reminder done: wash the filter"."""
        return Told(words("reminder done"), details(own_words(self.text)))


class Cost(Act):
    """What wood cost: ``price`` (dollars) for so many ``cords``, one if none were said."""

    act: Literal["cost"] = "cost"
    price: Annotated[float | None, Slot("past.dollars", ask="How many dollars?", shown=dollars)] = (
        None
    )
    cords: Annotated[float | None, Slot("past.so_many_cords", unit="cord")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="past.cost",
        examples=("Paid two hundred dollars for a cord of wood.",),
        needs=(("price",),),
    )

    def told(self) -> Told:
        """Return "wood: 200 dollars a cord" or "wood: 400 dollars for 2 cords"."""
        price = () if self.price is None else dollars(self.price)
        cords = quantity(self.cords, "cord", "for") or words("a cord")
        return Told(words("wood"), details((*price, *cords)))
