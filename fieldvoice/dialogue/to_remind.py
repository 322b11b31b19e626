"""Reminders that somebody asked for: which have come up, which is meant, told once a day."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.dialogue.context import by_rule
from fieldvoice.dialogue.words_found import telling_words
from fieldvoice.rules.reminding import REMINDER, reminder
from fieldvoice.segments import Example, fact

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import datetime

    from fieldvoice.book import Season, ToRemind
    from fieldvoice.dialogue.context import Turn, TurnContext

#: Utterances looked through for what was said today: a long day's.
_A_DAYS_WORTH = 300
#: As many reminders as are told at once beside another answer (a design choice).
_MOST = 3


def awaited(season: Season, now: datetime) -> tuple[ToRemind, ...]:
    """Return the reminders that are not done with, the soonest first."""
    still = (one for one in season.to_remind if one.is_open(now))
    return tuple(sorted(still, key=lambda one: one.comes_up(now.tzinfo)))


def come_up(season: Season, now: datetime) -> tuple[ToRemind, ...]:
    """Return the reminders whose time has come and that nobody ended, the oldest first."""
    return tuple(one for one in awaited(season, now) if one.comes_up(now.tzinfo) <= now)


def key_of(one: ToRemind, now: datetime) -> str:
    """Return what tells a reminder from others, on the day on which it is told."""
    return f"asked {now:%Y-%m-%d} {one.due} {one.text}"


def reminder_meant(said: str | None, season: Season, now: datetime) -> str | None:
    """Return the reminder that words mean, as it was asked for; None where nobody can tell.

    Without words it is the one that has come up, the timer that runs, or the only one there is.
    """
    still = awaited(season, now)
    texts = [one.text for one in still]
    if said in texts:
        return said
    if said is None:
        timers = [one.text for one in still if one.is_timer]
        found = [one.text for one in come_up(season, now)] or timers or texts
    else:
        wanted = telling_words(said)
        found = [text for text in texts if wanted and wanted <= telling_words(text)]
    return found[0] if len(dict.fromkeys(found)) == 1 else None


def with_reminders(turn: Turn, moment: TurnContext, called: Collection[str]) -> Turn:
    """Return ``turn`` with the reminders that have come up and were not told today.

    ``called`` are the keys of those told unasked. Live all are; a memo is of another time than
    when it is heard.
    """
    if turn.outcome not in ("saved", "answered", "done") or moment.source not in ("typed", "phone"):
        return turn
    due = [one for one in come_up(moment.season, moment.now)
           if key_of(one, moment.now) not in called]  # fmt: skip
    if not due:
        return turn
    told = {finding.text for finding in turn.findings} | _told_today(moment)
    fresh = [one for one in map(reminder, dict.fromkeys(one.text for one in due))
             if one.text not in told][:_MOST]  # fmt: skip
    prompts = [at for at, one in enumerate(turn.told) if one.role == "prompt"]
    at = prompts[0] if prompts else len(turn.told)
    ending = [_HOW_TO_END] if fresh and all(_is_of_before(one, moment.now) for one in due) else []
    said = (*turn.told[:at], *map(by_rule, fresh), *ending, *turn.told[at:])
    return replace(turn, told=said, findings=(*turn.findings, *fresh))


def _is_of_before(one: ToRemind, now: datetime) -> bool:
    """Whether it came up on an earlier day already."""
    return one.comes_up(now.tzinfo).astimezone(now.tzinfo).date() < now.date()


#: What ends a reminder that was told before: else it comes every day.
_HOW_TO_END = fact("Done? Say", Example("the reminder is done"))


def _told_today(moment: TurnContext) -> set[str]:
    today = moment.now.date()
    return {
        one["text"]
        for utterance in moment.book.utterances(newest=_A_DAYS_WORTH)
        if utterance.at.astimezone(moment.now.tzinfo).date() == today
        for one in utterance.findings
        if one["rule"] == REMINDER.id
    }
