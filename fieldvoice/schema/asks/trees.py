"""Questions about trees: the round, what they gave, and what was noted of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from fieldvoice.schema import vocabulary as v
from fieldvoice.schema.ask import Ask
from fieldvoice.schema.slot import AskSpec, Slot
from fieldvoice.segments import Count, Text

if TYPE_CHECKING:
    from fieldvoice.segments import Parts


def taps(count: int) -> Parts:
    """Return "2 taps"."""
    return (Count(count, "tap"),)


class TapLimit(Ask):
    """How many taps a tree, or a trunk of a size, may carry."""

    ask: Literal["tap_limit"] = "tap_limit"
    tree: v.Tree = None
    diameter_in: Annotated[float | None, v.LENGTH.but(rule="asks.trunk")] = None
    species: v.Kind = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.tap_limit",
        about="how many taps a tree can take",
        examples=(
            "How many taps can tree seven take?",
            "How many taps for a twenty inch sugar maple?",
        ),
        subject="tree",
        required=True,
        instead=("diameter_in",),
    )


class MissedTrees(Ask):
    """Trees not yet come to on this round."""

    ask: Literal["missed_trees"] = "missed_trees"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.missed_trees",
        about="which trees were missed",
        examples=("Which trees have I missed?",),
        sums_up=True,
    )


class LastVisit(Ask):
    """When somebody was last at a tree."""

    ask: Literal["last_visit"] = "last_visit"
    tree: v.Tree = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.last_visit",
        about="when a tree was seen last",
        examples=("When was tree fifty last emptied?",),
        subject="tree",
        required=True,
    )


class SlowTrees(Ask):
    """Trees that give less than others."""

    ask: Literal["slow_trees"] = "slow_trees"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.slow_trees",
        about="which trees are slow",
        examples=("Which trees are slow?",),
    )


class BestTrees(Ask):
    """Trees that give the most."""

    ask: Literal["best_trees"] = "best_trees"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.best_trees",
        about="which trees are best",
        examples=("Which trees give the most?",),
    )


class SweetestTrees(Ask):
    """Trees with the most sugar."""

    ask: Literal["sweetest_trees"] = "sweetest_trees"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.sweetest_trees",
        about="which trees are sweetest",
        examples=("Which tree is the sweetest?",),
    )


class TreeCount(Ask):
    """How many trees and taps there are."""

    ask: Literal["tree_count"] = "tree_count"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.tree_count",
        about="how many trees there are",
        examples=("How many trees do I have?",),
        sums_up=True,
    )


class TreesSeen(Ask):
    """Trees whose buckets were seen so full, or their sap in such condition."""

    ask: Literal["trees_seen"] = "trees_seen"
    sap: v.Sap = None
    fill: Annotated[v.Fill, v.FILL.but(rule="asks.seen_fill")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.trees_seen",
        about="which trees were seen so",
        examples=(
            "Which buckets are full?",
            "Which trees are cloudy?",
        ),
    )


class TreeHistory(Ask):
    """What the book has of a tree."""

    ask: Literal["tree_history"] = "tree_history"
    tree: v.Tree = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.tree_history",
        about="the story of a tree",
        examples=("Tell me about tree seventeen.",),
        subject="tree",
        required=True,
    )


class HoleAdvice(Ask):
    """Where and how to drill."""

    ask: Literal["hole_advice"] = "hole_advice"
    tree: v.Tree = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.hole_advice",
        about="drilling",
        examples=("Where should I drill tree forty?",),
        subject="tree",
        announces="tap",
    )


class Growth(Ask):
    """How fast a tree grows."""

    ask: Literal["growth"] = "growth"
    tree: v.Tree = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.growth",
        about="how fast a tree grows",
        examples=("How fast is tree seven growing?",),
        subject="tree",
        required=True,
    )


class HolesHealed(Ask):
    """Whether the old holes of a tree have closed."""

    ask: Literal["holes_healed"] = "holes_healed"
    tree: v.Tree = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.holes_healed",
        about="how its holes heal",
        examples=("Are the holes on tree nine healed?",),
        subject="tree",
        required=True,
    )


class TappingZone(Ask):
    """Whether a tree can keep its taps for good."""

    ask: Literal["tapping_zone"] = "tapping_zone"
    tree: v.Tree = None
    count: Annotated[int | None, Slot("notes.tap_count", whole=True, shown=taps)] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.tapping_zone",
        about="taps for good",
        examples=("Can tree twelve keep two taps for good?",),
        subject="tree",
        required=True,
    )


class WhenToPull(Ask):
    """When spiles are to be pulled."""

    ask: Literal["when_to_pull"] = "when_to_pull"
    tree: v.Tree = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.when_to_pull",
        about="when to pull the spiles",
        examples=("When should we pull the spiles?",),
    )


class Diameter(Ask):
    """A trunk's diameter from its girth."""

    ask: Literal["diameter"] = "diameter"
    diameter_in: Annotated[float | None, v.LENGTH.but(rule="asks.round_the_trunk")] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.diameter",
        about="how thick a trunk is",
        examples=("What's thirty eight inches around across?",),
    )


class GearNeeded(Ask):
    """What gear so many taps need."""

    ask: Literal["gear_needed"] = "gear_needed"
    count: Annotated[int | None, Slot("asks.for_taps", whole=True, shown=taps)] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.gear_needed",
        about="how much gear it takes",
        examples=("How many spiles do we need?",),
    )


class SpeciesAdvice(Ask):
    """What a kind of maple is good for."""

    ask: Literal["species_advice"] = "species_advice"
    species: v.Kind = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="asks.species_advice",
        about="kinds of maple",
        examples=("Can I tap a red maple?",),
    )


class TreeSap(Ask):
    """What a tree gave in a time, or what several gave, each and together."""

    ask: Literal["tree_sap"] = "tree_sap"
    tree: v.Tree = None
    trees: v.Trees = None
    since: v.Since = None
    span: v.SpanThen = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.tree_sap",
        about="what trees gave",
        examples=(
            "How much did tree three give yesterday?",
            "How much did trees one to four give?",
        ),
        subject="tree",
        required=True,
        instead=("trees",),
        sums_up=True,
    )


class TreeKinds(Ask):
    """Which trees are of which kind; of one kind which, and how many."""

    ask: Literal["tree_kinds"] = "tree_kinds"
    species: v.Kind = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.tree_kinds",
        about="which kinds my trees are",
        examples=("Which of my trees are red maples?", "What kinds of trees do I have?"),
    )


class TreeSizes(Ask):
    """Which trees are the thickest and the thinnest; or which, and how many, are over a size.

    With ``under`` those that are thinner than ``diameter_in``.
    """

    ask: Literal["tree_sizes"] = "tree_sizes"
    diameter_in: v.Length = None
    under: Annotated[Literal[True] | None, Slot(shown=lambda _: (Text("or less"),))] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.tree_sizes",
        about="how thick my trees are",
        examples=("Which tree is the biggest?",),
    )


class TapRoom(Ask):
    """Which trees could carry more taps, and which are too small for any."""

    ask: Literal["tap_room"] = "tap_room"

    spec: ClassVar[AskSpec] = AskSpec(
        rule="own.tap_room",
        about="which trees could take more taps",
        examples=("Which trees could take another tap?",),
    )
