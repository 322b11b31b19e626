"""Sap of a day gone by that is in the book already: most likely told twice."""

from __future__ import annotations

from datetime import datetime
from math import isclose
from typing import TYPE_CHECKING

from fieldvoice.dialogue import policy
from fieldvoice.dialogue.policy import Clarify
from fieldvoice.dialogue.put_right import day_of
from fieldvoice.dialogue.weighing import weigh
from fieldvoice.schema import Command
from fieldvoice.schema.acts import Gather
from fieldvoice.segments import Quantity, TreeRef, When, fact, prompt

if TYPE_CHECKING:
    from fieldvoice.dialogue.context import TurnContext


def noted_of_that_day(decided: policy.Decision, moment: TurnContext) -> policy.Decision:
    """Return what to do about sap of a day gone by, of a tree that the book has sap of that day.

    It is most likely the same sap, told anew; who means more says "another".
    """
    told = policy.noted_alone(decided)
    act = told[0] if len(told) == 1 else None
    if not isinstance(act, Gather) or act.at is None or act.tree is None or moment.tells_more:
        return decided
    at = datetime.fromisoformat(act.at).astimezone(moment.now.tzinfo)
    noted = [
        one.act.volume_gal for one in moment.book.entries_since(at.date())
        if isinstance(one.act, Gather) and one.act.tree == act.tree
        and day_of(one, moment) == at.date() != moment.now.date()
    ]  # fmt: skip
    if len(noted) != 1 or not noted[0] or not act.volume_gal:
        return decided
    had, now = Quantity(noted[0], "gal"), Quantity(act.volume_gal, "gal")
    has = fact(TreeRef((act.tree,)), "has", had, "in the book,", When(at, moment.now, "said"))
    if isclose(act.volume_gal, noted[0]):
        return Clarify(policy.yes_or_no(weigh((act,), moment), (has, prompt(now, "more"))))
    of = {"of": {"tree": act.tree}, "on": at.date().isoformat()}
    command = Command(do="correct", fields={"volume_gal": act.volume_gal, **of})
    asks = (has, prompt("Change it to", now))
    return Clarify(policy.yes_or_no(weigh((command,), moment), asks))
