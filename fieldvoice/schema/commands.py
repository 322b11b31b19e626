"""Commands in conversation: undo, correct, confirm and their like."""

from __future__ import annotations

from typing import Any

from pydantic import Field, model_validator

from fieldvoice.schema.base import Frozen
from fieldvoice.schema.slot import CommandSpec

#: Which note a correction or an undo is about: one further back (``back``, from the last note), the
#: last about something (``of``; ``on`` an ISO day), or the ``last`` few. Left out, the last thing
#: said.
WHICH_NOTE = frozenset({"back", "of", "on", "last"})
#: How it is to be called: by which ``word``, or in which ``way`` (``open``: everything is for it).
HOW_CALLED = frozenset({"word", "way"})

COMMANDS: dict[str, CommandSpec] = {
    "undo": CommandSpec(
        "take back the last note", "commands.undo", "Scratch that.", carries=WHICH_NOTE
    ),
    "correct": CommandSpec(
        "change the last note", "commands.correct", "No, I meant tree sixteen.", carries=None
    ),
    "confirm": CommandSpec("yes", "commands.confirm", "Yes."),
    "deny": CommandSpec("no", "commands.deny", "No."),
    "repeat": CommandSpec("say it again", "commands.repeat", "Say that again."),
    "next": CommandSpec("next tree", "commands.next", "Next tree."),
    "finish_round": CommandSpec("round finished", "commands.finish_round", "That's the round."),
    "quiet": CommandSpec("be quiet", "commands.quiet", "Quiet."),
    "help": CommandSpec("help", "commands.help", "Help."),
    "restore": CommandSpec("put back the last note", "talk.restore", "Put it back."),
    "forget_wording": CommandSpec(
        "forget the last wording learnt", "commands.forget_wording", "Forget that wording."
    ),
    "count_in": CommandSpec(
        "count in other units",
        "commands.count_in",
        "I count in liters and Celsius.",
        carries=frozenset({"units"}),
    ),
    "louder": CommandSpec("louder", "live.louder", "Louder."),
    "softer": CommandSpec("softer", "live.softer", "Softer."),
    "slower": CommandSpec("slower", "live.slower", "Slower."),
    "faster": CommandSpec("faster", "live.faster", "Faster."),
    "listen": CommandSpec(
        "another way of calling me", "live.listen", "Listen to everything.", carries=HOW_CALLED
    ),
    "wait_longer": CommandSpec("wait longer", "live.wait_longer", "Wait longer."),
    "wait_less": CommandSpec("wait less", "live.wait_less", "Don't wait so long."),
    "throw_away": CommandSpec("throw it away", "live.throw_away", "Throw it away."),
    "as_remark": CommandSpec("keep it as a remark", "live.as_remark", "Keep it as a remark."),
    "stop": CommandSpec("stop the review", "live.stop_review", "Stop the review."),
}


class Command(Frozen):
    """A command; ``fields`` stand beside ``do`` in JSON: what is corrected, and in which note."""

    do: str
    fields: dict[str, Any] = Field(default_factory=dict)

    @property
    def spec(self) -> CommandSpec:
        """What this command is."""
        return COMMANDS[self.do]

    @model_validator(mode="after")
    def _known(self) -> Command:
        if self.do not in COMMANDS:
            raise ValueError(f"unknown command {self.do!r}")
        if self.spec.carries is not None and not self.fields.keys() <= self.spec.carries:
            raise ValueError(f"{self.do} carries no fields")
        return self

    def json_fields(self) -> dict[str, Any]:
        """Return ``{"do": …}`` with the fields beside it."""
        return {"do": self.do, **self.fields}


class EntityMention(Frozen):
    """Something named without saying anything of it: "tree twelve", "two gallons", "twelve".

    It is the answer to a question, or it puts a tree or vessel in focus; it is never a record.
    A bare number is ``{"number": 12}``.
    """

    mention: dict[str, Any]

    def json_fields(self) -> dict[str, Any]:
        """Return ``{"mention": {…}}``."""
        return {"mention": dict(self.mention)}
