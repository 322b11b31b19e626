"""A rule as such: its name, what it watches, and where it was published."""

from __future__ import annotations

from dataclasses import dataclass

from fieldvoice.rules.finding import Certainty, Finding, Level


@dataclass(frozen=True, slots=True)
class Rule:
    """A named rule that can only speak with a source and at the levels it declares.

    ``what`` is one line for lists and help. ``source`` names author or institution, title and year,
    or says ``common practice``.
    """

    id: str
    levels: tuple[Level, ...]
    what: str
    source: str
    certainty: Certainty = "published"

    def finding(self, level: Level, text: str, why: str, *, source: str | None = None) -> Finding:
        """Return this rule's word on the facts; ``source`` replaces its usual one.

        Raises:
            ValueError: for a level that the rule does not declare.
        """
        if level not in self.levels:
            raise ValueError(f"rule {self.id} does not speak at level {level}")
        return Finding(self.id, level, text, why, source or self.source, self.certainty)


def warnings(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Return the findings that ask for something to be done: ``stop`` first, then ``care``."""
    return tuple(
        finding for level in ("stop", "care") for finding in findings if finding.level == level
    )
