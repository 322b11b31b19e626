"""Saving notes: the read-back, and the one warning that matters."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.conversation.checks import check
from fieldvoice.conversation.focus import Focus
from fieldvoice.conversation.likely import new_trees
from fieldvoice.conversation.movements import aftermath
from fieldvoice.conversation.readback import readbacks
from fieldvoice.conversation.several import dumps_last, went_out
from fieldvoice.conversation.turn import Moment, Turn
from fieldvoice.conversation.wording import start, tree_names
from fieldvoice.meaning import plain_name
from fieldvoice.meaning.acts import Name
from fieldvoice.rules.rule import warnings

if TYPE_CHECKING:
    from fieldvoice.meaning import Act
    from fieldvoice.rules.finding import Finding

#: Utterances looked through for what was said today: a long day's.
_A_DAYS_WORTH = 300


def save(moment: Moment, acts: tuple[Act, ...]) -> Turn:
    """Return the turn that writes ``acts``: read back, then the worst warning, then no more."""
    acts = dumps_last(acts)
    kept = [act for act in acts if not went_out(act, acts)]
    findings = tuple(dict.fromkeys(one for act in kept for one in check(act, moment)))
    focus = moment.focus.after(acts, moment.now)
    told = readbacks(_as_said(acts, moment), moment.settings.metric, moment.now)
    told += [aftermath(act, moment) for act in acts]
    told += [_had_the_name(act, moment) for act in acts if isinstance(act, Name)]
    strangers = new_trees(acts, moment.season)
    if strangers:
        are = "is" if len(strangers) == 1 else "are"
        told.append(f"{start(tree_names(strangers))} {are} new to the book.")
    told.extend(one.text for one in warnings(findings)[:1] if not _just_said(one, focus, moment))
    text = " ".join(part for part in told if part)
    return Turn("saved", text, acts, findings, notes=acts, focus=focus)


def _as_said(acts: tuple[Act, ...], moment: Moment) -> list[Act]:
    """Return notes without the time that they only have from what is under review."""
    given = moment.said_at.isoformat() if moment.said_at else None
    return [act.replace(at=None) if act.at == given else act for act in acts]


def _had_the_name(act: Name, moment: Moment) -> str:
    """Return what had the name before, if it was something else: it has it no longer."""
    names, plain = moment.season.names, plain_name(act.name or "")
    before = names.trees.get(plain, names.vessels.get(plain))
    now = act.vessel if act.vessel is not None else act.tree
    if before is None or before == now:
        return ""
    thing = before if plain in names.vessels else tree_names((before,))
    return f"It was the name of {thing}."


def _just_said(finding: Finding, focus: Focus, moment: Moment) -> bool:
    """Whether it need not be said: the last reply gave this warning, about the same tree or vessel.

    A caution that belongs to the work is said once a day.
    """
    last = moment.last
    if finding.rule.startswith("caution-") and _said_today(finding, moment):
        return True
    if last is None or last.source != moment.source or finding.text not in last.reply:
        return False
    return bool(focus) and Focus.carried(last, moment.now, last.source).same_thing(focus)


def _said_today(finding: Finding, moment: Moment) -> bool:
    today = moment.now.date()
    return any(
        finding.text in utterance.reply
        for utterance in moment.book.utterances(newest=_A_DAYS_WORTH)
        if utterance.at.astimezone(moment.now.tzinfo).date() == today
    )
