"""The assistant's answer to one utterance: what every face shows, speaks or prints as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from fieldvoice.nlg.written import PLAIN, Style, written
from fieldvoice.segments import rules_told

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldvoice.rules.finding import Finding
    from fieldvoice.schema import Meaning
    from fieldvoice.segments import Sentence
    from fieldvoice.transcript import Transcript

Outcome = Literal["saved", "answered", "done", "asked", "kept"]


@dataclass(frozen=True, slots=True)
class Reply:
    """What came of one utterance. ``told`` is what is said to it, in the manner of ``style``.

    ``pending`` is the question left open by it, as the journal keeps it; ``nearest`` are the things
    that are near what was said, or that were put to the choice, each with words that say the like.
    """

    heard: Transcript
    outcome: Outcome
    told: tuple[Sentence, ...]
    meanings: tuple[Meaning, ...] = ()
    confidence: float = 1.0
    findings: tuple[Finding, ...] = ()
    records: tuple[str, ...] = ()
    pending: Mapping[str, Any] | None = None
    style: Style = PLAIN
    nearest: tuple[dict[str, Any], ...] = ()
    plan: tuple[dict[str, Any], ...] | None = None

    @property
    def text(self) -> str:
        """The reply as it is read."""
        return written(self.told, self.style)

    @property
    def spoken(self) -> str:
        """The reply as a voice says it."""
        from fieldvoice.nlg.spoken import spoken  # what is only read needs none of it

        return spoken(self.told, self.style)

    def says(self, finding: Finding) -> bool:
        """Whether the words of a finding stand in the reply."""
        return (finding.rule, finding.text) in rules_told(self.told)

    def as_json(self) -> dict[str, Any]:
        """Return the machine interface's object for one answer."""
        answer: dict[str, Any] = {
            "heard": self.heard.text,
            "outcome": self.outcome,
            "meanings": [meaning.json_fields() for meaning in self.meanings],
            "confidence": round(self.confidence, 3),
            "reply": self.text,
            "findings": [
                {
                    "rule": finding.rule,
                    "level": finding.level,
                    "text": finding.text,
                    "why": finding.why,
                    "source": finding.source,
                }
                for finding in self.findings
            ],
            "records": list(self.records),
        }
        if self.plan is not None:
            answer["plan"] = list(self.plan)
        if self.nearest:
            answer["nearest"] = list(self.nearest)
        if self.heard.audio is not None:
            audio = self.heard.audio
            answer["audio"] = {
                "file": audio.file,
                "start_s": round(audio.start_s, 2),
                "end_s": round(audio.end_s, 2),
            }
        return answer
