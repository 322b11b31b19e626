"""Questions that stay with what was last said or told, and what is still open."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from fieldvoice.schema import vocabulary as v
from fieldvoice.schema.ask import Ask
from fieldvoice.schema.slot import AskSpec, Slot
from fieldvoice.segments import Text

if TYPE_CHECKING:
    from fieldvoice.segments import Parts

#: What somebody wants to know of a thing: whether to worry, whether it is right, what to do.
Use = Literal["worry", "fine", "dump", "boil", "do"]

_USES: dict[str, str] = {
    "worry": "whether that is bad",
    "fine": "whether that is right",
    "dump": "whether to throw it away",
    "boil": "whether to boil it",
    "do": "what to do with it",
}


def use_told(use: str) -> Parts:
    """Return "whether to boil it"."""
    return (Text(_USES[use]),)


_OF_IT: dict[str, str] = {
    "syrup": "how much syrup that makes",
    "boiling": "how long that takes to boil",
    "keeping": "how long that keeps",
    "jars": "how many jars that fills",
    "taps": "how many taps that tree can take",
}


def of_it_told(of_it: str) -> Parts:
    """Return "how long that keeps"."""
    return (Text(_OF_IT[of_it]),)


def warmer_told(warmer: bool) -> Parts:
    """Return "warmer" or "colder"."""
    return (Text("warmer" if warmer else "colder"),)


def units_told(units: str) -> Parts:
    """Return the units by a word that everybody knows."""
    known = {"metric": "liters and Celsius", "us": "gallons and Fahrenheit"}
    return (Text(f"in {known.get(units, units)}"),)


class Verdict(Ask):
    """Whether what was last told is bad, or right, or to be dumped or boiled.

    ``tree``, ``vessel``, ``sap`` and ``smell`` are what it is about, once that is known.
    """

    ask: Literal["verdict"] = "verdict"
    use: Annotated[Use | None, Slot("follow_ups.judged", shown=use_told)] = None
    tree: v.Tree = None
    vessel: v.KnownVessel = None
    sap: v.Sap = None
    smell: v.Smell = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="follow_ups.verdict",
        about="that",
        examples=("Is that bad?", "Should I dump it?", "Can I still boil it?"),
    )


class OfThat(Ask):
    """What comes of what was last told: how much syrup, how many jars, how long to boil or keep."""

    ask: Literal["of_that"] = "of_that"
    of_it: Annotated[
        Literal["syrup", "boiling", "keeping", "jars", "taps"] | None,
        Slot("follow_ups.reckoned", shown=of_it_told),
    ] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="follow_ups.of_that",
        about="that",
        examples=(
            "How much is that in syrup?",
            "How long will that take to boil?",
            "How long will that keep?",
        ),
    )


class InUnits(Ask):
    """What was last told, in other units."""

    ask: Literal["in_units"] = "in_units"
    units: Annotated[
        Literal["metric", "us", "quarts", "pints"] | None,
        Slot("follow_ups.other_units", shown=units_told),
    ] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="follow_ups.in_units",
        about="the last answer",
        examples=("And in liters?",),
    )


class SpanThen(Ask):
    """The last question once more, of another time."""

    ask: Literal["span_then"] = "span_then"
    span: v.SpanThen = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="follow_ups.span_then_asked",
        about="that of another time",
        examples=("And the day before?", "And last week?"),
    )


class AmountThen(Ask):
    """How much of what was last told of."""

    ask: Literal["amount_then"] = "amount_then"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="follow_ups.amount_then",
        about="how much of it",
        examples=("How much then?",),
    )


class WhatIf(Ask):
    """The last answer, if it were warmer or colder, or of another temperature."""

    ask: Literal["what_if"] = "what_if"
    warmer: Annotated[bool | None, Slot("follow_ups.warmth", shown=warmer_told)] = None
    temp_f: Annotated[v.Temp, v.TEMP.but(rule="follow_ups.at_degrees")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="follow_ups.what_if",
        about="what it would be",
        examples=("What if it is warmer?",),
    )


class SaysWho(Ask):
    """By whom the last answer is."""

    ask: Literal["says_who"] = "says_who"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="follow_ups.says_who",
        about="who says so",
        examples=("Who says so?",),
    )


class More(Ask):
    """More about what was last told."""

    ask: Literal["more"] = "more"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="follow_ups.more",
        about="more of that",
        examples=("Say more.",),
    )


class Waiting(Ask):
    """What is still open: the question last asked, and what waits for review."""

    ask: Literal["waiting"] = "waiting"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="follow_ups.waiting",
        about="what is still open",
        examples=("What do I still have to answer?",),
    )
