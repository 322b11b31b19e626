"""Commands in conversation: undo, correct, confirm and their like."""

from __future__ import annotations

from typing import Any

from pydantic import Field, model_validator

from fieldvoice.meaning.base import Frozen

COMMANDS: tuple[str, ...] = (
    "undo", "correct", "confirm", "deny", "repeat", "next", "finish_round", "quiet", "help",
)  # fmt: skip


class Command(Frozen):
    """A command; ``fields`` are the corrected fields, written beside ``do`` in JSON."""

    do: str
    fields: dict[str, Any] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _known(self) -> Command:
        if self.do not in COMMANDS:
            raise ValueError(f"unknown command {self.do!r}")
        if self.fields and self.do != "correct":
            raise ValueError(f"{self.do} carries no fields")
        return self

    def json_fields(self) -> dict[str, Any]:
        """Return ``{"do": …}`` with the corrected fields beside it."""
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
