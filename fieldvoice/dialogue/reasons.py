"""Why something was said: the reasoning and the source behind the last answer or warning."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from fieldvoice.rules.finding import Finding
from fieldvoice.rules.sources import spoken
from fieldvoice.segments import rules_told

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldvoice.book import Utterance
    from fieldvoice.segments import Sentence

#: Things said in between that one does not ask "why?" of.
_PASSED_OVER = ({"ask": "why"}, {"do": "repeat"}, {"do": "quiet"}, {"do": "help"})

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
        if not utterance.meanings or utterance.meanings[-1] not in _PASSED_OVER:
            return utterance
    return None


def reasons(utterance: Utterance) -> tuple[Finding, ...]:
    """Return the findings behind what was said of an utterance, those spoken aloud first."""
    found = tuple(_finding(fields) for fields in utterance.findings)
    aloud = tuple(one for one in found if said_aloud(one, utterance))
    unsaid = tuple(one for one in found if not one.rule.startswith("caution-"))
    told_of = (aloud or unsaid)[:_MOST]
    if len(" ".join(one.why for one in told_of).split()) > _MOST_WORDS:
        return told_of[:1]
    return told_of


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


def in_sentences(found: Sequence[Finding]) -> str:
    """Return the reasoning of findings with their sources, as it is spoken."""
    told: list[str] = []
    for index, finding in enumerate(found):
        told.append(finding.why)
        later = found[index + 1] if index + 1 < len(found) else None
        if later is None or later.source != finding.source:
            told.append(f"{_sureness(finding)}.")
    return " ".join(told)


def _sureness(finding: Finding) -> str:
    name = spoken(finding.source)
    if finding.certainty == "common practice":
        return f"That is {name}"
    if finding.certainty == "design choice":
        return f"That is this assistant's own choice, after {name}"
    return f"That is from {name}"


def as_fields(found: Sequence[Finding]) -> list[dict[str, Any]]:
    """Return findings as plain fields, for programs."""
    return [
        {"rule": one.rule, "text": one.text, "why": one.why, "source": one.source,
         "certainty": one.certainty}
        for one in found
    ]  # fmt: skip
