"""Notes of the yard itself: where trees stand, what hangs on them, which were passed by."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from fieldvoice.schema import vocabulary as v
from fieldvoice.schema.act import OfTrees, words
from fieldvoice.schema.base import TreeId
from fieldvoice.schema.slot import ActSpec, Slot
from fieldvoice.segments import Count, Quantity, Text, Told, TreeRef, details


def where_it_is(site: str) -> str:
    """Return where a part of the woods is, as it is told: "in the back row", "behind the barn"."""
    if site.startswith(_PLACING):
        return site
    return f"in {site}" if site.startswith(("row ", "the ")) else f"in the {site}"


#: A place that begins so tells by itself how to get there.
_PLACING = tuple(f"{one} " for one in "along by near behind beside around next under".split())


class Stand(OfTrees):
    """In which part of the woods a tree stands (``site``), or that it was ``felled``."""

    act: Literal["stand"] = "stand"
    site: Annotated[str | None, v.SITE.but(ask="Where do they stand?")] = None
    felled: Annotated[Literal[True] | None, Slot("places.felled")] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="places.stand",
        examples=("Tree nine is in the back row.", "We cut down tree fourteen."),
        subject=("tree", "trees"),
        needs=(("site", "felled"),),
        makes_known=True,
    )

    def told(self) -> Told:
        """Return "tree 9: in the back row" or "tree 14: cut down"."""
        where = () if self.site is None else (Text(where_it_is(self.site)),)
        return Told(self.subject(), details(where, words(self.felled and "cut down")))


class Hang(OfTrees):
    """What hangs on a tree: ``count`` of an ``item`` that holds ``capacity_gal`` each.

    ``lid`` tells whether it has one. ``gone`` is one that hangs there no longer, ``off`` the tree
    that it was moved from.
    """

    act: Literal["hang"] = "hang"
    item: Annotated[str | None, Slot("places.hung_item", ask="What hangs there?")] = None
    count: Annotated[int | None, Slot("places.hung_count", whole=True)] = None
    capacity_gal: Annotated[float | None, Slot("places.hung_size", unit="gal")] = None
    lid: Annotated[Literal["on", "off"] | None, Slot("places.lid_state")] = None
    gone: Annotated[Literal[True] | None, Slot("places.gone")] = None
    off: Annotated[TreeId | None, Slot("places.moved_from", shown=v.TREE.shown)] = None

    spec: ClassVar[ActSpec] = ActSpec(
        rule="places.hang",
        examples=("A five gallon pail hangs on tree nine.", "The lid is off tree two."),
        subject=("tree", "trees"),
        needs=(("item", "lid"),),
        makes_known=True,
    )

    def told(self) -> Told:
        """Return "tree 9: 2 buckets, 3 gal each, lid off" or "tree 4: bucket gone"."""
        several = self.count is not None and self.count > 1
        what = words(self.item)
        if self.count is not None:
            what = (Count(self.count, self.item or "container"),)
        holds = (
            () if self.capacity_gal is None
            else (Quantity(self.capacity_gal, "gal"), *words("each" if several else None))
        )  # fmt: skip
        moved = () if self.off is None else (Text("moved from"), TreeRef((self.off,)))
        lid = words(self.lid, "lid")
        gone = words(self.gone and "gone")
        return Told(self.subject(), details((*what, *gone), holds, lid, moved))


class Skip(OfTrees):
    """A tree passed by on the round: it was not looked at."""

    act: Literal["skip"] = "skip"

    spec: ClassVar[ActSpec] = ActSpec(
        rule="places.skipped",
        examples=("Skipped tree three.",),
        subject=("tree", "trees"),
        in_season=True,
        folds=False,
    )

    def told(self) -> Told:
        """Return "tree 3: skipped"."""
        return Told(self.subject(), (words("skipped"),))
