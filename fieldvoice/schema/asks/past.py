"""Questions that look back: what a month came to, what does not pay, what wood cost."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from fieldvoice.schema.ask import Ask
from fieldvoice.schema.slot import AskSpec, Slot
from fieldvoice.schema.vocabulary import Size, SpanBack, SpanThen
from fieldvoice.segments import Text


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
    """Which trees are not worth tapping, and why; ``sick`` asks for those noted as failing."""

    ask: Literal["drop_trees"] = "drop_trees"
    sick: Annotated[Literal[True] | None, Slot(shown=lambda _: (Text("sick or damaged"),))] = None

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


class WeatherNoted(Ask):
    """The low and high that were noted of a day or several; the newest where none was named."""

    ask: Literal["weather_noted"] = "weather_noted"
    span: SpanThen = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.weather_noted",
        about="the weather noted",
        examples=("What was the low last night?", "How warm did it get on Monday?"),
    )


class WoodBurned(Ask):
    """How much wood or gas the boils took; ``left`` asks how much wood there is still."""

    ask: Literal["wood_burned"] = "wood_burned"
    span: SpanThen = None
    left: Annotated[Literal[True] | None, Slot(shown=lambda _: (Text("how much is left"),))] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.wood_burned",
        about="what we burned",
        examples=("How much wood have we burned this season?",),
        sums_up=True,
    )


class Money(Ask):
    """What the syrup brought in and what the wood cost."""

    ask: Literal["money"] = "money"
    span: SpanThen = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.money",
        about="our money",
        examples=("How much money did we make?",),
        sums_up=True,
    )


class JarsPacked(Ask):
    """What was packed, when, and under which lot."""

    ask: Literal["jars_packed"] = "jars_packed"
    size: Size = None
    span: SpanThen = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.jars_packed",
        about="what we packed",
        examples=("How many jars did we fill last year?", "When did we pack the pints?"),
        sums_up=True,
    )
