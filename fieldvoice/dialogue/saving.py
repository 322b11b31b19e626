"""Saving notes: the read-back, and the one warning that matters."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.dialogue.checks import check
from fieldvoice.dialogue.context import Turn, TurnContext, by_rule
from fieldvoice.dialogue.focus import Focus
from fieldvoice.dialogue.ledger_effects import aftermath
from fieldvoice.dialogue.plausibility import new_trees
from fieldvoice.dialogue.readback import as_said, told
from fieldvoice.dialogue.reasons import said_aloud
from fieldvoice.dialogue.references import dumps_last, went_out
from fieldvoice.rules.rule import warnings
from fieldvoice.schema import Act, plain_name
from fieldvoice.schema.acts import Name
from fieldvoice.segments import TreeRef, VesselRef, fact

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding
    from fieldvoice.segments import Sentence


def save(moment: TurnContext, acts: tuple[Act, ...]) -> Turn:
    """Return the turn that writes ``acts``: read back, then the worst warning, then no more."""
    acts = dumps_last(acts)
    kept = [act for act in acts if not went_out(act, acts)]
    findings = tuple(dict.fromkeys(one for act in kept for one in check(act, moment)))
    focus = moment.focus.after(acts, moment.now)
    said = as_said(acts, moment.said_at)
    read_back = [told(act, moment.now) for act in said if isinstance(act, Act)]
    after = replace(moment, noted=acts)
    read_back += dict.fromkeys(aftermath(act, after) for act in acts)
    read_back += [_had_the_name(act, moment) for act in acts if isinstance(act, Name)]
    strangers = new_trees(acts, moment.season)
    if strangers:
        are = "is" if len(strangers) == 1 else "are"
        read_back.append(fact(TreeRef(strangers), are, "new to the book"))
    worst = (one for one in warnings(findings)[:1] if not _just_said(one, focus, moment))
    read_back.extend(map(by_rule, worst))
    return Turn("saved", tuple(read_back), acts, findings, notes=acts, focus=focus)


def _had_the_name(act: Name, moment: TurnContext) -> Sentence:
    """Return what had the name before, if it was something else: it has it no longer."""
    names, plain = moment.season.names, plain_name(act.name or "")
    before = names.trees.get(plain, names.vessels.get(plain))
    now = act.vessel if act.vessel is not None else act.tree
    if before is None or before == now:
        return fact()
    vessel = names.vessels.get(plain)
    return fact("It was the name of", TreeRef((before,)) if vessel is None else VesselRef(vessel))


def _just_said(finding: Finding, focus: Focus, moment: TurnContext) -> bool:
    """Whether it need not be said: the last reply gave this warning, about the same thing."""
    last = moment.last
    if last is None or last.source != moment.source or not said_aloud(finding, last):
        return False
    return bool(focus) and Focus.carried(last, moment.now, last.source).same_thing(focus)
