"""Questions about the season, the gear, and the notes themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from fieldvoice.schema import vocabulary as v
from fieldvoice.schema.ask import Ask
from fieldvoice.schema.slot import AskSpec, Slot
from fieldvoice.segments import Text

if TYPE_CHECKING:
    from fieldvoice.segments import Parts


def rusty(rust: bool) -> Parts:
    """Return "rusty" or "not rusty"."""
    return (Text("rusty" if rust else "not rusty"),)


def to_boil_in(heated: bool) -> Parts:
    """Return "to boil in" or "not to boil in"."""
    return (Text("to boil in" if heated else "not to boil in"),)


def buds_out(_: bool) -> Parts:
    """Return "buds"."""
    return (Text("buds"),)


def bleach_of(strength: float) -> Parts:
    """Return "bleach of 5.25 %"."""
    return (Text(f"bleach of {strength:g} %"),)


#: What can be helped with: the modules of the notes and questions of each are in ``sayable``.
HelpSubject = Literal["trees", "sap", "boiling", "syrup", "reminders", "season"]


def about(subject: str) -> Parts:
    """Return "about boiling"."""
    return (Text(f"about {subject}"),)


class TimeToTap(Ask):
    """Whether it is time to tap."""

    ask: Literal["time_to_tap"] = "time_to_tap"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.time_to_tap",
        about="when to tap",
        examples=("Is it time to tap?",),
        announces="tap",
    )


class Before(Ask):
    """Work that somebody is about to do: what to mind."""

    ask: Literal["before"] = "before"
    task: Annotated[
        Literal["boil", "draw", "pack", "tap", "gather", "clean", "sell", "wood"] | None,
        Slot("asks.task"),
    ] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.before",
        about="what to mind",
        examples=("About to draw off.", "Tapping today."),
    )

    def work(self) -> str:
        """Return the work."""
        return self.task or ""


class FlowOutlook(Ask):
    """Whether sap will run, by the weather noted or told."""

    ask: Literal["flow_outlook"] = "flow_outlook"
    low_f: Annotated[v.Temp, v.TEMP.but(rule="asks.low_tonight", likely="low_f")] = None
    high_f: Annotated[v.Temp, v.TEMP.but(rule="asks.high_then", likely="high_f")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.flow_outlook",
        about="whether sap will run",
        examples=(
            "Will it run tomorrow?",
            "Will it run, twenty four tonight and forty two?",
        ),
    )


class TimeToStop(Ask):
    """When the season is over."""

    ask: Literal["time_to_stop"] = "time_to_stop"
    buds: Annotated[bool | None, Slot("asks.buds_out", shown=buds_out)] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.time_to_stop",
        about="when to stop",
        examples=("When do we stop?",),
    )


class BudOutlook(Ask):
    """How near the buds are."""

    ask: Literal["bud_outlook"] = "bud_outlook"
    species: Annotated[v.Kind, v.KIND.but(rule="asks.of_species")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.bud_outlook",
        about="when the buds come",
        examples=("How close are the buds?",),
    )


class SeasonSummary(Ask):
    """What the season came to so far."""

    ask: Literal["season_summary"] = "season_summary"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.season_summary",
        about="the season so far",
        examples=("How is the season going?",),
        sums_up=True,
    )


class ContainerAdvice(Ask):
    """Whether a container is fit for sap."""

    ask: Literal["container_advice"] = "container_advice"
    item: v.Gear = None
    material: v.Material = None
    rust: Annotated[bool | None, Slot("asks.a_container", shown=rusty)] = None
    heated: Annotated[bool | None, Slot("asks.container_words", shown=to_boil_in)] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.container_advice",
        about="what gear is fit for food",
        examples=("Can I use an old galvanized bucket?",),
    )


class Cleaning(Ask):
    """How gear is washed."""

    ask: Literal["cleaning"] = "cleaning"
    volume_gal: Annotated[v.Volume, v.VOLUME.but(rule="asks.of_water")] = None
    strength: Annotated[float | None, Slot("asks.bleach_strength", shown=bleach_of)] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.cleaning",
        about="washing gear",
        examples=("How much bleach in five gallons of water?",),
    )


class WhatCanISay(Ask):
    """What can be said, here or about a ``subject``."""

    ask: Literal["what_can_i_say"] = "what_can_i_say"
    subject: Annotated[HelpSubject | None, Slot("asks.help_subject", shown=about)] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.what_can_i_say",
        about="what can be said",
        examples=("What can I say?", "Help with boiling."),
    )


class Why(Ask):
    """What the last answer goes by."""

    ask: Literal["why"] = "why"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.why",
        about="why",
        examples=("Why?",),
    )


class Advice(Ask):
    """A card of the handbook, by its name in ``topic``. Most are found by their askings."""

    ask: Literal["advice"] = "advice"
    topic: Annotated[str | None, Slot("asks.other_tree")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.advice",
        about="",
        examples=("Can we tap a walnut?",),
    )


class Clock(Ask):
    """What day and hour it is by the clock that notes are dated with."""

    ask: Literal["clock"] = "clock"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.clock_asked",
        about="what time it is",
        examples=("What time is it?",),
    )


class Said(Ask):
    """What was said of a tree or vessel, with some ``words`` in it, in a ``span``, or last."""

    ask: Literal["said"] = "said"
    tree: Annotated[v.Tree, v.TREE.but(rule="things.a_tree")] = None
    vessel: v.KnownVessel = None
    count: Annotated[int | None, Slot("talk.notes_back", whole=True)] = None
    since: Annotated[v.Since, v.SINCE.but(rule="times.since")] = None
    span: v.SpanThen = None
    words: Annotated[str | None, Slot("past.any_words")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="talk.said",
        about="what was said",
        examples=("What did I say about tree nine?",),
    )
