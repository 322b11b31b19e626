"""Questions about sap: how much, how old, how good, where it went."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from fieldvoice.schema import vocabulary as v
from fieldvoice.schema.ask import Ask
from fieldvoice.schema.slot import AskSpec, Slot
from fieldvoice.segments import Count, Share, Text

if TYPE_CHECKING:
    from fieldvoice.segments import Parts


def so_many_days(count: float) -> Parts:
    """Return "3 days"."""
    return (Count(round(count), "day"),)


def ice(share: float) -> Parts:
    """Return "a third ice"."""
    return (Share(share), Text("ice"))


class SapAge(Ask):
    """How old the sap in a vessel is, and how long it will keep."""

    ask: Literal["sap_age"] = "sap_age"
    vessel: v.Vessel = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.sap_age",
        about="how old the sap is",
        examples=("How old is the sap in tank two?",),
        subject="vessel",
    )


class SapAdvice(Ask):
    """What to do with sap in bad condition."""

    ask: Literal["sap_advice"] = "sap_advice"
    sap: Annotated[v.Sap, v.SAP.but(rule="asks.bad")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.sap_advice",
        about="what to do with sap",
        examples=("What do I do with cloudy sap?",),
    )


class VesselLevel(Ask):
    """How much is in a vessel."""

    ask: Literal["vessel_level"] = "vessel_level"
    vessel: v.Vessel = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.vessel_level",
        about="how full it is",
        examples=("How full is tank one?",),
        subject="vessel",
    )


class Sugar(Ask):
    """How sweet the sap of a tree or in a vessel tested last."""

    ask: Literal["sugar"] = "sugar"
    vessel: v.Vessel = None
    tree: v.Tree = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.sugar_tested",
        about="how sweet it is",
        examples=("How sweet is tank one?", "How sweet is tree nine?"),
        subject="vessel",
        instead=("tree",),
    )


class SapTotal(Ask):
    """How much sap came in since a day."""

    ask: Literal["sap_total"] = "sap_total"
    since: v.Since = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.sap_total",
        about="how much sap came in",
        examples=("How much sap did we collect today?",),
        sums_up=True,
    )


class SapKeeps(Ask):
    """How long sap keeps, by days and temperature."""

    ask: Literal["sap_keeps"] = "sap_keeps"
    days: Annotated[float | None, Slot("asks.for_days", shown=so_many_days)] = None
    temp_f: Annotated[v.Temp, v.TEMP.but(rule="asks.how_warm")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.sap_keeps",
        about="how long sap keeps",
        examples=("How long does sap keep at forty degrees?",),
    )


class IceSugar(Ask):
    """What ice does to the sugar of sap."""

    ask: Literal["ice_sugar"] = "ice_sugar"
    ice_share: Annotated[v.Part, Slot("asks.ice_part", shown=ice)] = None
    brix: Annotated[float | None, v.BRIX.but(rule="quantities.sugar")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.ice_sugar",
        about="ice in the sap",
        examples=("A third of the bucket is ice, what does that do to the sugar?",),
    )


class Mix(Ask):
    """What two lots of sap come to."""

    ask: Literal["mix"] = "mix"
    volume_gal: Annotated[v.Volume, v.VOLUME.but(rule="asks.first_part")] = None
    brix: Annotated[float | None, v.BRIX.but(rule="asks.first_part")] = None
    other_gal: Annotated[v.Volume, v.VOLUME.but(rule="asks.other_part")] = None
    other_brix: Annotated[float | None, v.BRIX.but(rule="asks.other_part")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.mix",
        about="mixing two lots",
        examples=(
            "If I mix ten gallons at two percent and fifteen gallons at three percent "
            "what do I get?",
        ),
    )


class MixCheck(Ask):
    """Whether a vessel may be poured into another."""

    ask: Literal["mix_check"] = "mix_check"
    vessel: v.KnownVessel = None
    into: v.Into = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="ledger.mix_check",
        about="pouring together",
        examples=("Can I pour tank two into tank one?",),
    )


class SapNeeded(Ask):
    """How much sap an amount of syrup takes."""

    ask: Literal["sap_needed"] = "sap_needed"
    volume_gal: v.Volume = None
    size: Annotated[str | None, Slot("asks.wanted")] = None
    brix: Annotated[float | None, v.BRIX.but(rule="quantities.sugar")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.sap_needed",
        about="how much sap it takes",
        examples=("How much sap do I need for a pint?",),
    )


class SapBalance(Ask):
    """Where all the sap went."""

    ask: Literal["sap_balance"] = "sap_balance"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="ledger.sap_balance",
        about="where the sap went",
        examples=("Where did the sap go?",),
        sums_up=True,
    )


class SapAverage(Ask):
    """What the season's sap comes to for each tap, each tree that gave, and each day with sap."""

    ask: Literal["sap_average"] = "sap_average"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.sap_average",
        about="our sap for each tap",
        examples=("How much sap did we get per tap?",),
        sums_up=True,
    )


class SapDays(Ask):
    """On how many days sap came in, from when to when, and which day was the best."""

    ask: Literal["sap_days"] = "sap_days"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.sap_days",
        about="the days with sap",
        examples=("What was our best day?", "When did we collect the first sap?"),
        sums_up=True,
    )


class VesselTemp(Ask):
    """How warm the sap in a vessel was when it was last measured."""

    ask: Literal["vessel_temp"] = "vessel_temp"
    vessel: v.Vessel = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.vessel_temp",
        about="how warm the sap is",
        examples=("How warm is the sap in tank one?",),
        subject="vessel",
    )


class VesselFlow(Ask):
    """What went into a vessel and what came out of it: when, how much, told by whom."""

    ask: Literal["vessel_flow"] = "vessel_flow"
    vessel: v.Vessel = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.vessel_flow",
        about="what went in and out",
        examples=("What went into tank one?", "Who poured into tank one?"),
        subject="vessel",
        required=True,
    )


class SapStored(Ask):
    """How much sap there is in all vessels, whichever is in hand."""

    ask: Literal["sap_stored"] = "sap_stored"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.sap_stored",
        about="how much sap there is",
        examples=("How much sap do we have?",),
        sums_up=True,
    )


class RoomLeft(Ask):
    """How much more the vessels hold."""

    ask: Literal["room_left"] = "room_left"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.room_left",
        about="how much room there is",
        examples=("How much room do we have left?",),
    )


class VesselSize(Ask):
    """How much a vessel holds when full."""

    ask: Literal["vessel_size"] = "vessel_size"
    vessel: v.Vessel = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.vessel_size",
        about="how much the tanks hold",
        examples=("How big is tank one?",),
        subject="vessel",
    )


class LastWashed(Ask):
    """When a vessel or a piece of gear was last washed."""

    ask: Literal["last_washed"] = "last_washed"
    vessel: v.Vessel = None
    item: v.Gear = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.last_washed",
        about="when it was washed",
        examples=("When did I last wash tank two?",),
        subject="vessel",
        instead=("item",),
    )
