"""Questions about the yard itself: which trees there are and where, and what hangs on them."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from fieldvoice.schema import vocabulary as v
from fieldvoice.schema.ask import Ask
from fieldvoice.schema.asks.trees import taps
from fieldvoice.schema.slot import AskSpec, Slot
from fieldvoice.segments import Text


class TreeList(Ask):
    """Which trees there are: all, of one part of the woods, felled, with taps in or so many."""

    ask: Literal["tree_list"] = "tree_list"
    site: v.Site = None
    felled: Annotated[
        Literal[True] | None, Slot("places.felled", shown=lambda _: (Text("cut down"),))
    ] = None
    tapped: Annotated[
        Literal[True] | None, Slot("places.in_tap", shown=lambda _: (Text("tapped"),))
    ] = None
    count: Annotated[int | None, Slot("notes.tap_count", whole=True, shown=taps)] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="places.tree_list",
        about="which trees there are",
        examples=("List my trees.", "Which trees are in the back row?"),
    )


class WhereTree(Ask):
    """Where a tree stands."""

    ask: Literal["where_tree"] = "where_tree"
    tree: v.Tree = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="places.where_tree",
        about="where a tree stands",
        examples=("Where is tree nine?",),
        subject="tree",
        required=True,
    )


class WhenTapped(Ask):
    """When a tree was tapped last."""

    ask: Literal["when_tapped"] = "when_tapped"
    tree: v.Tree = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="places.when_tapped",
        about="when a tree was tapped",
        examples=("When did I tap tree twelve?",),
        subject="tree",
    )


class Hangs(Ask):
    """What hangs on a tree, or in the yard altogether; ``lid`` asks for those without one."""

    ask: Literal["hangs"] = "hangs"
    tree: v.Tree = None
    lid: Annotated[
        Literal["off"] | None, Slot("places.lid_missing", shown=lambda _: (Text("without a lid"),))
    ] = None

    spec: ClassVar[AskSpec] = AskSpec(
        rule="places.hangs",
        about="what hangs on the trees",
        examples=("What hangs on tree nine?", "What buckets are out?"),
    )
