"""The value that an answer is, and how the rules' findings become one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fieldvoice.rules.rule import warnings

if TYPE_CHECKING:
    from fieldvoice.rules.finding import Finding


@dataclass(frozen=True, slots=True)
class Answered:
    """What is said, and the findings with reasons and sources behind it."""

    text: str
    findings: tuple[Finding, ...] = ()


def from_findings(
    findings: tuple[Finding, ...], before: str = "", after: str = "", more: int = 1
) -> Answered:
    """Return the first finding as the answer, and up to ``more`` warnings after it.

    ``before`` and ``after`` are sentences of the book's own facts.
    """
    first = findings[:1]
    further = tuple(one for one in warnings(findings) if one not in first)[:more]
    told = [before, *(one.text for one in (*first, *further)), after]
    return Answered(" ".join(part for part in told if part), findings)
