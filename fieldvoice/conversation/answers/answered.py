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

    ``before`` and ``after`` are sentences of the book's own facts; before may be what the answer
    is about, such as "Tree 7:".
    """
    first = findings[:1]
    further = tuple(one for one in warnings(findings) if one not in first)[:more]
    texts = [one.text for one in (*first, *further)]
    if before.endswith(":") and texts:
        texts[0] = texts[0][:1].lower() + texts[0][1:]
    told = [before, *texts, after]
    return Answered(" ".join(part for part in told if part), findings)
