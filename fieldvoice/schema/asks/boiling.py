"""Questions about the boil: when, what, how long, and when it is syrup."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from fieldvoice.schema import vocabulary as v
from fieldvoice.schema.ask import Ask
from fieldvoice.schema.slot import AskSpec, Slot
from fieldvoice.segments import Text

if TYPE_CHECKING:
    from fieldvoice.segments import Parts


def so_many_hours(count: float) -> Parts:
    """Return "2.5 hours"."""
    return (Text(f"{count:g} hours"),)


def feet(height: float) -> Parts:
    """Return "1200 feet", a height above the sea."""
    return (Text(f"{height:.0f} feet"),)


class BoilPlan(Ask):
    """What to boil, in what order, in the time there is."""

    ask: Literal["boil_plan"] = "boil_plan"
    until: v.Until = None
    until_h: v.UntilHour = None
    hours: Annotated[float | None, Slot("ledger.for_hours", shown=so_many_hours)] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.boil_plan",
        about="what to boil",
        examples=(
            "What should I boil today?",
            "I have got till six.",
        ),
        announces="boil",
    )


class PlanRest(Ask):
    """The rest of the plan."""

    ask: Literal["plan_rest"] = "plan_rest"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="ledger.plan_rest",
        about="the rest of the day",
        examples=("And then what.",),
    )


class CanWait(Ask):
    """Whether sap can wait until then."""

    ask: Literal["can_wait"] = "can_wait"
    vessel: v.KnownVessel = None
    until: v.Until = None
    until_h: v.UntilHour = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="ledger.can_wait",
        about="whether the sap can wait",
        examples=("Can I wait till Saturday?",),
    )


class StartBy(Ask):
    """When the fire has to be lit."""

    ask: Literal["start_by"] = "start_by"
    vessel: v.KnownVessel = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="ledger.start_by",
        about="when to light the fire",
        examples=("When must I start?",),
    )


class LeastBatch(Ask):
    """The least that can be boiled."""

    ask: Literal["least_batch"] = "least_batch"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="ledger.least_batch",
        about="the least to boil",
        examples=("How much sap do I need to start?",),
    )


class BoilTime(Ask):
    """How long an amount of sap, or a vessel, takes to boil."""

    ask: Literal["boil_time"] = "boil_time"
    vessel: v.Vessel = None
    volume_gal: v.Volume = None
    area_sqft: Annotated[float | None, Slot("asks.in_pan", unit="sq ft")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.boil_time",
        about="how long the boil takes",
        examples=("How long to boil forty gallons?",),
        subject="vessel",
        instead=("volume_gal",),
    )


class SyrupEstimate(Ask):
    """How much syrup sap will make."""

    ask: Literal["syrup_estimate"] = "syrup_estimate"
    vessel: v.Vessel = None
    volume_gal: v.Volume = None
    brix: Annotated[float | None, v.BRIX.but(rule="asks.at_sugar")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.syrup_estimate",
        about="how much syrup it makes",
        examples=("How much syrup will forty gallons make at two percent?",),
        subject="vessel",
        instead=("volume_gal",),
    )


class FuelNeeded(Ask):
    """How much fuel a boil takes."""

    ask: Literal["fuel_needed"] = "fuel_needed"
    volume_gal: v.Volume = None
    vessel: v.Vessel = None
    fuel: Annotated[str | None, Slot("asks.fuel_kind")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.fuel_needed",
        about="how much fuel it takes",
        examples=(
            "How much wood to boil forty gallons?",
            "How much wood should I split?",
        ),
    )


class PanRate(Ask):
    """How fast the pan boils off."""

    ask: Literal["pan_rate"] = "pan_rate"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="ledger.pan_rate",
        about="how fast the pan is",
        examples=("How fast does my pan boil?",),
    )


class BoilReport(Ask):
    """What the boil took in and made."""

    ask: Literal["boil_report"] = "boil_report"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="ledger.boil_report",
        about="how the boil went",
        examples=("How did the boil go?",),
    )


class DrawOff(Ask):
    """At what temperature it is syrup, at this height or pressure."""

    ask: Literal["draw_off"] = "draw_off"
    elevation_ft: Annotated[float | None, Slot("asks.height_above_sea", shown=feet)] = None
    water_boils_f: Annotated[v.Hot, v.HOT.but(likely="water_boils_f")] = None
    pressure_inhg: Annotated[
        float | None, Slot("asks.pressure", unit="inHg", likely="pressure_inhg")
    ] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.draw_off",
        about="when to draw off",
        examples=("What temperature do I draw off at?",),
        announces="draw",
    )


class DrawCheck(Ask):
    """How far the pan is from syrup."""

    ask: Literal["draw_check"] = "draw_check"
    temp_f: Annotated[v.Hot, v.HOT.but(likely="pan_temp_f")] = None
    water_boils_f: Annotated[v.Hot, v.HOT.but(rule="asks.water_at", likely="water_boils_f")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.draw_check",
        about="whether the pan is done",
        examples=("I'm at two seventeen, am I done?",),
    )
