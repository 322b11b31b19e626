"""What the linter knows of meanings: which frames there are, and what each slot of them takes.

A frame is an act, a question, a command or a mention. All that comes from ``fieldvoice.schema``
comes through ``known_frames``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, get_args, get_origin, get_type_hints

from pydantic import TypeAdapter, ValidationError

from fieldvoice.schema import ACTS, ASKS, COMMANDS
from fieldvoice.schema.commands import WHICH_NOTE
from fieldvoice.schema.slot import slots_of

if TYPE_CHECKING:
    from fieldvoice.schema.base import Frozen

#: The keys of tags that say what frame it is, with what each kind is called.
KINDS = {"act": "act", "ask": "question", "do": "command", "mention": "mention"}

#: A frame's kind and name; a mention has no name.
FrameKey = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Slot:
    """What one slot takes: any value it ``accepts``, of the ``values`` named if it has such."""

    accepts: Callable[[object], bool] = lambda _: True
    values: tuple[str, ...] = ()
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Frame:
    """One kind of meaning. Of each group of ``needs`` one slot is asked for if none is said."""

    kind: str
    name: str
    slots: Mapping[str, Slot]
    needs: tuple[tuple[str, ...], ...] = ()

    @property
    def told(self) -> str:
        """What it is called: "act 'gather'"."""
        return f"{KINDS[self.kind]} {self.name!r}" if self.name else f"a {KINDS[self.kind]}"


Frames = Mapping[FrameKey, Frame]

#: The units that rules give (``@gives inches`` in their remark) by the declared ones of slots.
_UNITS = {
    "gal": "gallons", "syrup gal": "gallons", "in": "inches", "bit in": "inches", "ft": "feet",
    "°F": "degrees", "% sugar": "percent sugar",
}  # fmt: skip

#: Tags that reach a slot of another name, or none: they only help to find what is meant.
OTHER_NAMES = {"row": "site", "since_days": "since", "gear_number": "item", "instead_of": ""}

#: What may be set inside the words of a tag, for tags whose value is more than a number or words.
PARTS: dict[str, frozenset[str]] = {
    "at": frozenset(
        {"day", "part", "hour", "minute", "days_ago", "hours_ago", "month", "month_day"}
    ),
    "trees": frozenset({"item", "from", "upto", "but"}),
    "tree": frozenset({"name"}),
    "item": frozenset({"name"}),
    "vessel": frozenset({"kind", "of"}),
    "into": frozenset({"kind", "of"}),
}


def known_frames() -> Frames:
    """Return every frame by kind and name."""
    acts = {name: _slots(act) for name, act in ACTS.items()}
    # What is named alone, or corrected, may be any slot of a note; and some that are worked out.
    any_slot = {key: slot for slots in acts.values() for key, slot in slots.items()}
    named = {key: Slot(unit=slot.unit) for key, slot in any_slot.items()}
    named |= {"length_in": Slot(unit="inches"), **_free("number", "option", "unit")}
    carried = {name: _free(*(one.carries or ())) for name, one in COMMANDS.items()}
    carried["correct"] = {**named, **_free(*WHICH_NOTE, "wrong")}
    frames = [
        *(Frame("act", name, slots, ACTS[name].spec.needs) for name, slots in acts.items()),
        *(Frame("ask", name, _slots(ask)) for name, ask in ASKS.items()),
        *(Frame("do", name, slots) for name, slots in carried.items()),
        Frame("mention", "", named),
    ]
    return {(frame.kind, frame.name): frame for frame in frames}


def rules_by_slots() -> frozenset[str]:
    """Return the rules that declarations name: each reads a slot or a whole note by itself."""
    specs = {act.spec.rule for act in ACTS.values()} | {ask.spec.rule for ask in ASKS.values()}
    kinds = (*ACTS.values(), *ASKS.values())
    slots = {slot.rule for kind in kinds for slot in slots_of(kind).values() if slot.rule}
    return frozenset(slots | specs)


def _free(*keys: str) -> dict[str, Slot]:
    return {key: Slot() for key in keys}


def _slots(meaning: type[Frozen]) -> dict[str, Slot]:
    declared = slots_of(meaning)
    hints = get_type_hints(meaning, include_extras=True)
    return {
        key: _slot(hints[key], _UNITS.get(slot.unit or "", "")) for key, slot in declared.items()
    }


def _slot(kind: Any, unit: str) -> Slot:
    adapter = TypeAdapter[object](kind)

    def accepts(value: object) -> bool:
        try:
            adapter.validate_python(value)
        except ValidationError:
            return False
        return True

    return Slot(accepts, _values(kind), unit)


def _values(kind: Any) -> tuple[str, ...]:
    """Return the values that a type names: those of a Literal, true and false."""
    if kind is bool:
        return ("true", "false")
    if get_origin(kind) is Literal:
        return tuple("true" if value is True else str(value) for value in get_args(kind))
    return tuple(value for inner in get_args(kind) for value in _values(inner))
