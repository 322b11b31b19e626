"""How notes and questions are declared: what each of their fields is, and what each of them is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING, Any

from fieldvoice.segments import Quantity

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from fieldvoice.schema.base import Frozen
    from fieldvoice.segments import Parts, Unit


@dataclass(frozen=True, slots=True)
class Slot:
    """What a field of a note or question is.

    ``rule`` is the grammar's rule that reads it by itself, its cue words included where another
    value could be meant without them; a field without one is derived, or comes with its wording.
    ``unit`` is that of the stored value. ``ask`` asks for it when it is missing. ``likely`` is the
    field of the rule that judges it (``rules.plausible``). A ``whole`` one takes whole numbers.
    ``stands_for`` names the slot that the book has in its place: "the rest", "same as the last".
    ``shown`` tells a value by itself; one with a unit needs none.
    """

    rule: str = ""
    unit: Unit | None = None
    ask: str = ""
    likely: str = ""
    whole: bool = False
    stands_for: str = ""
    shown: Callable[[Any], Parts] | None = None

    def but(self, **other: Any) -> Slot:
        """Return this slot with something else about it."""
        return replace(self, **other)

    def told(self, value: Any) -> Parts:
        """Return a value as it is told by itself; empty where alone it says nothing to anybody."""
        if self.shown is not None:
            return self.shown(value)
        return () if self.unit is None else (Quantity(value, self.unit),)


@dataclass(frozen=True, slots=True)
class ActSpec:
    """What a note is, to all that handles notes.

    ``rule`` is the grammar's; ``examples`` say it in full, ``here`` the first of them where its
    tree or vessel is in hand. ``subject`` are the slots that it may be about: one is said, in hand,
    or asked for. ``needs`` are groups of values without which it says nothing; of each one is
    needed, and the first is asked for. ``bare`` are pairs of a thing in hand and a value that,
    said alone there, is this note. ``keeps`` are references left alone when another is corrected.
    ``announces`` is the work that begins with it (``rules.hazards``).

    ``visits`` shows that a tree has a bucket; ``in_season`` is out of place in summer;
    ``makes_known`` makes a new tree known; ``joins`` takes in what else is seen in the same breath;
    ``at_the_pan`` is far from the trees.

    What other layers register is promised here: that the season changes by it (``folds``), that
    the rules have something to say to it (``checks``), that the ledger may speak against it
    (``doubts``) or has something to add (``effects``).
    """

    rule: str
    examples: tuple[str, ...]
    here: str = ""
    subject: tuple[str, ...] = ()
    needs: tuple[tuple[str, ...], ...] = ()
    bare: tuple[tuple[str, str], ...] = ()
    keeps: tuple[str, ...] = ()
    announces: str = ""
    visits: bool = False
    in_season: bool = False
    makes_known: bool = False
    joins: bool = False
    at_the_pan: bool = False
    folds: bool = True
    checks: bool = False
    doubts: bool = False
    effects: bool = False


@dataclass(frozen=True, slots=True)
class AskSpec:
    """What a question is.

    ``about`` tells its subject in a few words. ``subject`` is the slot that is filled with what is
    in hand; where it is ``required`` it is asked for, unless one of ``instead`` was said.
    ``announces`` is the work that somebody is about to do who asks it (``rules.hazards``). Where
    the answer ``sums_up`` the book, it is told beside it that notes wait which are not in there.
    """

    rule: str
    about: str
    examples: tuple[str, ...]
    subject: str = ""
    required: bool = False
    instead: tuple[str, ...] = ()
    announces: str = ""
    sums_up: bool = False


@dataclass(frozen=True, slots=True)
class CommandSpec:
    """What a command is: how it is named when it is put to the speaker, and what it carries."""

    about: str
    rule: str
    example: str = ""
    carries: frozenset[str] | None = frozenset()


@cache
def slots_of(kind: type[Frozen]) -> Mapping[str, Slot]:
    """Return the declared slots of a note or question; what was declared last of one holds."""
    return {
        name: slot
        for name, field in kind.model_fields.items()
        for slot in field.metadata
        if isinstance(slot, Slot)
    }
