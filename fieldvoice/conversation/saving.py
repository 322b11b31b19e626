"""Saving notes: the read-back, and the one warning that matters."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.conversation.checks import check
from fieldvoice.conversation.likely import new_trees
from fieldvoice.conversation.readback import readback
from fieldvoice.conversation.turn import Moment, Turn
from fieldvoice.conversation.wording import start, tree_names
from fieldvoice.rules.rule import warnings

if TYPE_CHECKING:
    from fieldvoice.meaning import Act


def save(moment: Moment, acts: tuple[Act, ...]) -> Turn:
    """Return the turn that writes ``acts``: read back, then the worst warning, then no more."""
    findings = tuple(dict.fromkeys(one for act in acts for one in check(act, moment)))
    told = [readback(act, moment.settings.metric) for act in acts]
    strangers = new_trees(acts, moment.season)
    if strangers:
        told.append(f"{start(tree_names(strangers))} is new to the book.")
    told.extend(finding.text for finding in warnings(findings)[:1])
    return Turn(
        "saved",
        " ".join(told),
        acts,
        findings,
        notes=acts,
        focus=moment.focus.after(acts, moment.now),
    )
