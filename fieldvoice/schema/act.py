"""What all notes share: when it was, what they are about, and how they are read back."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from fieldvoice.schema.base import Frozen, TreeId
from fieldvoice.schema.slot import ActSpec
from fieldvoice.schema.vocabulary import At, But, Tree, Trees, Which
from fieldvoice.segments import Condition, Level, Quantity, Quote, Text, Told, TreeRef, VesselRef

if TYPE_CHECKING:
    from fieldvoice.segments import Parts, Unit


class Act(Frozen):
    """A note. ``at`` is set only when a time was said (ISO 8601 with offset)."""

    spec: ClassVar[ActSpec]

    act: str
    at: At = None

    def told(self) -> Told:
        """Return the read-back: every stored slot but ``at``, which is told of all notes alike."""
        raise NotImplementedError(self.act)

    def question(self) -> Told:
        """Return what a yes would save, to be put before "yes or no?" or beside another reading."""
        told = self.told()
        return Told((), ((told.head, *told.details) if told.head else told.details))

    def work(self) -> str:
        """Return the work that begins with this note."""
        return self.spec.announces

    def subject(self) -> Parts:
        """Return what the note is about, "tree 12" or "tank 2"; empty when it names nothing."""
        trees: tuple[TreeId, ...] = getattr(self, "trees", None) or ()
        tree: TreeId | None = getattr(self, "tree", None)
        if tree is not None or trees:
            return (TreeRef(trees if tree is None else (tree,)),)
        site: str | None = getattr(self, "site", None)
        return (Text(site),) if site is not None else vessel(getattr(self, "vessel", None))


class OfTrees(Act):
    """A note that may be about one tree or several.

    ``which`` ("all" the trees of the book, the "rest", those not yet come to on this round, or
    "some" that the book cannot tell: "the north buckets") and ``but`` (those left out) are how
    several were said; in the book they are ``trees``.
    """

    tree: Tree = None
    trees: Trees = None
    which: Which = None
    but: But = None


# The pieces of a read-back; what was not said has none.


def words(text: str | None, before: str = "", after: str = "") -> Parts:
    """Return ``text`` between the words that belong to it; nothing without it."""
    return (Text(" ".join(one for one in (before, text, after) if one)),) if text else ()


def own_words(text: str | None) -> Parts:
    """Return somebody's own words as they are: no unit in them is told in another."""
    return (Quote(text, marks=False),) if text else ()


def vessel(name: str | None, before: str = "") -> Parts:
    """Return a vessel, "tank 2" or "into tank 2"."""
    return (*words(before), VesselRef(name)) if name else ()


def quantity(value: float | None, unit: Unit, before: str = "", after: str = "") -> Parts:
    """Return an amount between the words that belong to it: "low 26 °F", "3 in deep"."""
    return () if value is None else (*words(before), Quantity(value, unit), *words(after))


def looks(fill: float | None = None, sap: str | None = None) -> tuple[Parts, Parts]:
    """Return how full and in what condition sap is."""
    return (
        () if fill is None else (Level(fill),),
        () if sap is None else (Condition(sap),),
    )
