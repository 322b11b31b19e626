"""Why something was said: the reasoning and the source behind the last answer or warning."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from fieldvoice.rules.finding import Finding
from fieldvoice.rules.reminding import REMINDER
from fieldvoice.rules.sources import spoken
from fieldvoice.segments import rules_told

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldvoice.book import Utterance
    from fieldvoice.segments import Sentence

#: Things said in between that one does not ask "why?" of.
_PASSED_OVER = frozenset({"why", "says_who", "more", "in_units", "repeat", "quiet", "help"})

#: Questions that go on from the one before: where no rule answered, "why?" is still of that one.
_GOES_ON = frozenset({"what_if", "of_that", "amount_then"})

#: What there is to say where no rule spoke, by what came of the utterance.
WITHOUT_A_RULE = {
    "asked": "I wasn't sure of what I heard.",
    "kept": "I didn't understand it, so I kept the words.",
    "saved": "It was only noted; no rule has anything to say of it.",
    "answered": "That comes from your own notes, not from a rule.",
    "done": "You asked me to.",
}

#: So many findings are explained, and the second only within so many words: about fifteen seconds
#: aloud. More would be a lecture.
_MOST, _MOST_WORDS = 2, 40


def utterance_in_question(newest_last: Sequence[Utterance]) -> Utterance | None:
    """Return the newest utterance whose answer somebody may ask the reason of."""
    for utterance in reversed(newest_last):
        last = utterance.meanings[-1] if utterance.meanings else {}
        is_unanswered = last.get("ask") in _GOES_ON and not utterance.findings
        if _PASSED_OVER.isdisjoint((last.get("ask"), last.get("do"))) and not is_unanswered:
            return utterance
    return None


def reasons(utterance: Utterance) -> tuple[Finding, ...]:
    """Return the findings behind what was said of an utterance, those spoken aloud first."""
    everything = found(utterance)
    asked = {one["ask"] for one in utterance.meanings if "ask" in one}
    if asked and asked.isdisjoint(("reminders", "time_left")):
        # A reminder that was told beside an answer is not what anybody means.
        everything = tuple(one for one in everything if one.rule != REMINDER.id)
    aloud = tuple(one for one in everything if said_aloud(one, utterance))
    unsaid = tuple(one for one in everything if not one.rule.startswith("caution-"))
    told_of = (aloud or unsaid)[:_MOST]
    if len(" ".join(one.why for one in told_of).split()) > _MOST_WORDS:
        return told_of[:1]
    return told_of


def found(utterance: Utterance) -> tuple[Finding, ...]:
    """Return all findings on an utterance, said or not."""
    return tuple(_finding(fields) for fields in utterance.findings)


def said_aloud(finding: Finding, utterance: Utterance) -> bool:
    """Whether the same words of the same rule stood in a reply.

    Rows of older books do not tell what was said; a warning is then said once more.
    """
    said = {(one["rule"], one["text"]) for one in utterance.findings if one.get("said")}
    return (finding.rule, finding.text) in said


def kept(findings: Sequence[Finding], told: Sequence[Sentence]) -> list[dict[str, Any]]:
    """Return findings as the journal keeps them: each with whether it was ``said``."""
    said = rules_told(told)
    return [{**asdict(one), "said": (one.rule, one.text) in said} for one in findings]


def _finding(fields: Mapping[str, Any]) -> Finding:
    return Finding(**{key: value for key, value in fields.items() if key != "said"})


def in_sentences(findings: Sequence[Finding]) -> str:
    """Return the reasoning of findings with their sources, as it is spoken."""
    told: list[str] = []
    for index, finding in enumerate(findings):
        told.append(finding.why)
        later = findings[index + 1] if index + 1 < len(findings) else None
        if later is None or later.source != finding.source:
            told.append(f"{sureness(finding)}.")
    return " ".join(told)


def sureness(finding: Finding) -> str:
    """Return whose word a finding is."""
    name = spoken(finding.source)
    if finding.certainty == "common practice":
        return f"That is {name}"
    if finding.certainty == "design choice":
        return f"That is this assistant's own choice, after {name}"
    return f"That is {name}" if name.startswith("from ") else f"That is from {name}"


def as_fields(findings: Sequence[Finding]) -> list[dict[str, Any]]:
    """Return findings as plain fields, for programs."""
    return [
        {"rule": one.rule, "text": one.text, "why": one.why, "source": one.source,
         "certainty": one.certainty}
        for one in findings
    ]  # fmt: skip
