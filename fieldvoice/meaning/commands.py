"""Commands in conversation: undo, correct, confirm and their like."""

from __future__ import annotations

from typing import Any

from pydantic import Field, model_validator

from fieldvoice.meaning.base import Frozen

COMMANDS: tuple[str, ...] = (
    "undo", "correct", "confirm", "deny", "repeat", "next", "finish_round", "quiet", "help",
    "restore", "louder", "softer", "slower", "faster", "throw_away", "as_remark", "stop",
)  # fmt: skip


#: Which note a correction or an undo is about: one further back (``back``, from the last note), the
#: last about something (``of``), or the ``last`` few. Left out, the last thing said.
WHICH_NOTE = frozenset({"back", "of", "last"})


class Command(Frozen):
    """A command; ``fields`` stand beside ``do`` in JSON: what is corrected, and in which note."""

    do: str
    fields: dict[str, Any] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _known(self) -> Command:
        if self.do not in COMMANDS:
            raise ValueError(f"unknown command {self.do!r}")
        may_carry = self.do == "correct" or (self.do == "undo" and self.fields.keys() <= WHICH_NOTE)
        if self.fields and not may_carry:
            raise ValueError(f"{self.do} carries no fields")
        return self

    def json_fields(self) -> dict[str, Any]:
        """Return ``{"do": …}`` with the fields beside it."""
        return {"do": self.do, **self.fields}


class Mention(Frozen):
    """Something named without saying anything of it: "tree twelve", "two gallons", "twelve".

    It is the answer to a question, or it puts a tree or vessel in focus; it is never a record.
    A bare number is ``{"number": 12}``.
    """

    mention: dict[str, Any]

    def json_fields(self) -> dict[str, Any]:
        """Return ``{"mention": {…}}``."""
        return {"mention": dict(self.mention)}
