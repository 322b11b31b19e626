"""The caution before work that can hurt: with whatever announces it, once a day for each kind.

Notes of what is done already bring none: what can still be done then belongs to their checks.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.dialogue.context import by_rule
from fieldvoice.rules.hazards import CAUTIONS
from fieldvoice.schema import Act, Ask
from fieldvoice.schema.asks.season import Advice

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldvoice.dialogue.context import Turn, TurnContext
    from fieldvoice.schema import Meaning

#: Utterances looked through for what was said today: a long day's.
_A_DAYS_WORTH = 300

#: Cards that say the caution of a kind of work themselves.
_SAYS_IT: Mapping[str, str] = {
    "vented-boil": "boil", "hot-syrup": "draw", "drawing-off": "draw", "fill-temperature": "pack",
    "drilling-care": "tap", "ice-and-boots": "gather", "bleach-and-vinegar": "clean",
    "selling": "sell", "felling": "wood", "splitting-wood": "wood",
}  # fmt: skip

#: Subjects of advice that somebody asks about who is about to do the work.
_ANNOUNCED_BY: Mapping[str, str] = {
    "lighting-the-fire": "boil", "old-holes": "tap", "seating-spile": "tap", "giving-away": "sell",
    "label": "sell",
}  # fmt: skip

#: The work that a rule speaks before, by the rule.
_WORK_OF = {
    **{caution.rule: work for work, caution in CAUTIONS.items()},
    **{f"card-{card}": work for card, work in _SAYS_IT.items()},
}


def with_caution(turn: Turn, moment: TurnContext) -> Turn:
    """Return ``turn`` with the caution for the work that it announces, unless it was said today.

    A reply with a warning to stop has none: it says enough.
    """
    works = [work for one in turn.meanings if (work := _announced(one))]
    if turn.outcome not in ("saved", "answered") or not works:
        return turn
    if any(finding.level == "stop" for finding in turn.findings):
        return turn
    said = _said_today(moment) | {_WORK_OF.get(finding.rule) for finding in turn.findings}
    due = next((CAUTIONS[work] for work in works if work not in said), None)
    if due is None:
        return turn
    prompts = [at for at, one in enumerate(turn.told) if one.role == "prompt"]
    at = prompts[0] if prompts else len(turn.told)
    told = (*turn.told[:at], by_rule(due), *turn.told[at:])
    return replace(turn, told=told, findings=(*turn.findings, due))


def _announced(meaning: Meaning) -> str:
    """Return the work that a meaning announces; nothing for most."""
    if isinstance(meaning, Advice):
        return _ANNOUNCED_BY.get(meaning.topic or "", "")
    return meaning.work() if isinstance(meaning, Act | Ask) else ""


def _said_today(moment: TurnContext) -> set[str | None]:
    today = moment.now.date()
    return {
        _WORK_OF.get(one["rule"])
        for utterance in moment.book.utterances(newest=_A_DAYS_WORTH)
        if utterance.at.astimezone(moment.now.tzinfo).date() == today
        for one in utterance.findings
        if one.get("said")
    }
