"""Questions that look back: what a month came to, what does not pay, what wood cost."""

from __future__ import annotations

from typing import ClassVar, Literal

from fieldvoice.schema.ask import Ask
from fieldvoice.schema.slot import AskSpec
from fieldvoice.schema.vocabulary import SpanBack


class Reminders(Ask):
    """What somebody is still to be reminded of."""

    ask: Literal["reminders"] = "reminders"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="past.reminders",
        about="reminders",
        examples=("What are my reminders?",),
    )


class TimeLeft(Ask):
    """How long it is to what somebody is to be reminded of next."""

    ask: Literal["time_left"] = "time_left"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="past.time_left",
        about="the timer",
        examples=("How long on the timer?",),
    )


class MadeIn(Ask):
    """How much sap and syrup a month or a year gave."""

    ask: Literal["made_in"] = "made_in"
    span: SpanBack = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="past.made_in",
        about="what was made",
        examples=("How much did we make in March?",),
        sums_up=True,
    )


class DropTrees(Ask):
    """Which trees are not worth tapping, and why."""

    ask: Literal["drop_trees"] = "drop_trees"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="past.drop_trees",
        about="which trees to drop",
        examples=("Which trees should I drop?",),
    )


class FuelCost(Ask):
    """What the wood in a gallon of syrup cost."""

    ask: Literal["fuel_cost"] = "fuel_cost"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="past.fuel_cost",
        about="what the wood costs",
        examples=("What does the gallon cost us in wood?",),
    )
