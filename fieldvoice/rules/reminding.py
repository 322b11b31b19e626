"""What somebody asked to be reminded of, when its day has come."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.rules.finding import COMMON_PRACTICE
from fieldvoice.rules.rule import Rule

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding

REMINDER = Rule(
    "reminder", ("note",), "What somebody asked to be reminded of, from its day on till it is done",
    COMMON_PRACTICE, "design choice",
)  # fmt: skip


def reminder(text: str) -> Finding:
    """Return what to say of a reminder whose time has come."""
    return REMINDER.finding(
        "note", f"Reminder: {text}.", "Somebody asked to be told so. Say “the reminder is done”."
    )
