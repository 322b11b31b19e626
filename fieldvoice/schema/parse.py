"""From plain fields (the grammar's tags, or stored JSON) to a checked meaning."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldvoice.schema.acts import ACTS, Act
from fieldvoice.schema.asks import ASKS, Ask
from fieldvoice.schema.commands import Command, EntityMention

if TYPE_CHECKING:
    from collections.abc import Mapping

Meaning = Act | Ask | Command | EntityMention


def meaning_from(fields: Mapping[str, Any]) -> Meaning:
    """Return the act, ask or command that ``fields`` describe.

    Raises:
        ValueError: (pydantic's ``ValidationError`` included) for unknown kinds, fields or values.
    """
    if "act" in fields:
        if fields["act"] not in ACTS:
            raise ValueError(f"unknown act {fields['act']!r}")
        return ACTS[fields["act"]].model_validate(fields)
    if "ask" in fields:
        if fields["ask"] not in ASKS:
            raise ValueError(f"unknown question {fields['ask']!r}")
        return ASKS[fields["ask"]].model_validate(fields)
    if "do" in fields:
        rest = {key: value for key, value in fields.items() if key != "do"}
        return Command(do=fields["do"], fields=rest)
    if "mention" in fields:
        return EntityMention(mention=dict(fields["mention"]))
    raise ValueError("a meaning has an act, an ask or a do")
