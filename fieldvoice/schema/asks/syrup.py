"""Questions about syrup: density, grade, jars, and what else is made of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from fieldvoice.schema import vocabulary as v
from fieldvoice.schema.ask import Ask
from fieldvoice.schema.slot import AskSpec, Slot
from fieldvoice.segments import Text

if TYPE_CHECKING:
    from fieldvoice.segments import Parts


class DensityCheck(Ask):
    """Whether a hydrometer's reading of hot syrup is dense enough."""

    ask: Literal["density_check"] = "density_check"
    reading_brix: Annotated[
        float | None, Slot("asks.syrup_brix", unit="Brix", likely="gauge_brix")
    ] = None
    temp_f: Annotated[v.Hot, v.HOT.but(likely="gauge_temp_f")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.density_check",
        about="how dense the syrup is",
        examples=("The hydrometer reads fifty nine at two eleven, is it light?",),
    )


class Grade(Ask):
    """The grade that a transmittance makes."""

    ask: Literal["grade"] = "grade"
    transmittance: Annotated[float | None, Slot("asks.transmit", unit="%")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.grade",
        about="the grade of the syrup",
        examples=("What grade is sixty percent transmittance?",),
    )


class AdjustDensity(Ask):
    """How syrup that is too thick is thinned."""

    ask: Literal["adjust_density"] = "adjust_density"
    volume_gal: v.Volume = None
    brix: Annotated[float | None, v.BRIX.but(rule="asks.strength")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.adjust_density",
        about="thinning syrup",
        examples=("How much sap do I add to five gallons at sixty nine brix?",),
    )


class ProductTarget(Ask):
    """How hot to boil for cream, candy or sugar."""

    ask: Literal["product_target"] = "product_target"
    product: Annotated[str | None, Slot("asks.product")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.product_target",
        about="how hot to boil it",
        examples=("What temperature for candy?",),
    )


class JarsFilled(Ask):
    """How many containers an amount of syrup fills."""

    ask: Literal["jars_filled"] = "jars_filled"
    volume_gal: v.Volume = None
    size: v.Size = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.jars_filled",
        about="how many jars it fills",
        examples=("How many pints from two and a half gallons of syrup?",),
    )


class JarsNeeded(Ask):
    """How many containers the next boil will need."""

    ask: Literal["jars_needed"] = "jars_needed"
    vessel: v.Vessel = None
    volume_gal: v.Volume = None
    size: v.Size = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="ledger.jars_needed",
        about="how many jars are needed",
        examples=("How many jars will I need?",),
    )


class Weight(Ask):
    """What syrup weighs."""

    ask: Literal["weight"] = "weight"
    volume_gal: v.Volume = None
    size: v.Size = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.weight",
        about="what syrup weighs",
        examples=("How much does a quart weigh?",),
    )


class OffFlavour(Ask):
    """What made syrup taste so."""

    ask: Literal["off_flavour"] = "off_flavour"
    taste: Annotated[str | None, Slot("asks.any_taste")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.off_flavour",
        about="an off taste",
        examples=("The syrup tastes like cabbage, what happened?",),
    )


class Stock(Ask):
    """What syrup there is."""

    ask: Literal["stock"] = "stock"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.stock",
        about="what syrup there is",
        examples=("How much syrup do we have?",),
        sums_up=True,
    )


def gone(why: str) -> Parts:
    """Return the way out of the pantry as it is told."""
    return (Text({"given": "given away", "spoiled": "lost"}.get(why, why)),)


class SyrupGone(Ask):
    """Whom the season's syrup went to, or that of a time; by one way (``why``), or to one."""

    ask: Literal["syrup_gone"] = "syrup_gone"
    why: Annotated[
        Literal["sold", "given", "eaten", "spoiled"] | None, Slot("ledger.gone_why", shown=gone)
    ] = None
    to: Annotated[str | None, Slot("ledger.gone_to")] = None
    span: v.SpanThen = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="ledger.syrup_gone",
        about="where the syrup went",
        examples=("Whom did the syrup go to?",),
    )


class Recall(Ask):
    """Which containers have sap from there, or an agent in them."""

    ask: Literal["recall"] = "recall"
    vessel: v.KnownVessel = None
    tree: v.Tree = None
    agent: Annotated[str | None, Slot("ledger.agent")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="ledger.recall",
        about="where it went",
        examples=("Which jars have sap from tank two?",),
    )
