"""The value that an answer is, and how the rules' findings become one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from fieldvoice.dialogue.context import by_rule, rule_text
from fieldvoice.rules.rule import warnings
from fieldvoice.schema.registry import Registry
from fieldvoice.segments import Quantity, Sentence, Told, fact, parts

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.dialogue.prompts import Prompt
    from fieldvoice.rules.finding import Finding
    from fieldvoice.segments import Piece


@dataclass(frozen=True, slots=True)
class Answered:
    """What is said, and the findings with reasons and sources behind it.

    ``metric`` is whether it is told in metric units; None for as the book is. ``plan`` is the boil
    plan for programs, where it is told from; ``question`` stays open after it.
    """

    told: tuple[Sentence, ...]
    findings: tuple[Finding, ...] = ()
    plan: tuple[dict[str, Any], ...] | None = None
    question: Prompt | None = None
    metric: bool | None = None


#: Who answers which question.
answers: Registry[Callable[[Any, TurnContext], Answered]] = Registry()


def answer(*pieces: Piece, findings: tuple[Finding, ...] = ()) -> Answered:
    """Return an answer of one sentence."""
    return Answered((fact(*pieces),), findings)


def told_gal(amount_gal: float) -> Quantity:
    """Return an amount as it is told: to a hundredth of a gallon, under one to the last cup."""
    return Quantity(round(amount_gal, 2 if amount_gal >= 1 else 4), "gal")


def month_day(day: date) -> str:
    """Return "March 10"."""
    return f"{day:%B} {day.day}"


def from_findings(
    findings: tuple[Finding, ...],
    *,
    about: Piece = None,
    before: Sentence | None = None,
    after: Piece = None,
    more: int = 1,
) -> Answered:
    """Return the first finding as the answer, and up to ``more`` warnings after it.

    ``about`` is what the answer is about, told at its head: "Tree 7: one tap". ``before`` and
    ``after`` are sentences of the book's own facts.
    """
    first = findings[:1]
    further = tuple(one for one in warnings(findings) if one not in first)[:more]
    told = [by_rule(one) for one in (*first, *further)]
    if about and first:
        told[0] = replace(told[0], parts=Told(parts(about), (rule_text(first[0]),)))
    return Answered((before or fact(), *told, fact(after)), findings)
