"""What the machine interface knows, read off the declarations, for tools that check grammars."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.schema.acts import ACTS
from fieldvoice.schema.asks import ASKS
from fieldvoice.schema.commands import COMMANDS
from fieldvoice.schema.slot import Slot, slots_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldvoice.schema.base import Frozen


@dataclass(frozen=True, slots=True)
class FieldType:
    """What may stand in a field: its JSON ``types``, the only ``values`` where fixed."""

    slot: Slot
    types: frozenset[str]
    values: frozenset[object] | None = None


def frames() -> dict[str, Mapping[str, FieldType] | None]:
    """Return every kind of meaning by its tag, such as ``act=gather``, and the fields it may carry.

    None stands for any: a correction carries whatever is corrected.
    """
    known: dict[str, Mapping[str, FieldType] | None] = {}
    known |= {f"act={name}": fields_of(kind) for name, kind in ACTS.items()}
    known |= {f"ask={name}": fields_of(kind) for name, kind in ASKS.items()}
    for name, spec in COMMANDS.items():
        carried = spec.carries
        any_type = FieldType(Slot(), frozenset())
        known[f"do={name}"] = None if carried is None else dict.fromkeys(carried, any_type)
    return known


def fields_of(kind: type[Frozen]) -> dict[str, FieldType]:
    """Return the fields of a note or question and what may stand in each."""
    declared = kind.model_json_schema()["properties"]
    fields = {}
    for name, slot in slots_of(kind).items():
        kinds = [one for one in declared[name]["anyOf"] if one["type"] != "null"]
        values = {value for one in kinds for value in one.get("enum", [one.get("const")])}
        fixed = None if None in values else frozenset(values)
        fields[name] = FieldType(slot, frozenset(one["type"] for one in kinds), fixed)
    return fields
