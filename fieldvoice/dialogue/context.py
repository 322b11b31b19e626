"""What came of one utterance before it is written down: the note of a decision carried out."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Self

from fieldvoice.dialogue.focus import Focus
from fieldvoice.dialogue.prompts import open_question
from fieldvoice.segments import RuleText, Sentence, parts

if TYPE_CHECKING:
    from datetime import datetime

    from fieldvoice.book import Book, Season, Source, Taught, Utterance
    from fieldvoice.dialogue.prompts import Prompt
    from fieldvoice.dialogue.settings import Settings
    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.reply import Outcome
    from fieldvoice.rules.finding import Finding
    from fieldvoice.schema import Act, Meaning
    from fieldvoice.segments import Parts, Piece, Role


@dataclass(frozen=True, slots=True)
class TurnContext:
    """What is known when an utterance comes in: time, source, book, season, focus, choices.

    ``names`` are those that trees and vessels have been given.
    ``said_at`` is the time of the words under review, which notes without one of their own get.
    ``noted`` are the notes of the same breath, which are not yet in the book. ``of_several`` tells
    that its words speak of more than the one tree in hand, ``of_another`` that they go on with the
    question before, ``goes_on`` that they ask more of its thing, ``tells_more`` that they tell of
    more of the same, ``degrees_named`` that they name Celsius or Fahrenheit; ``is_name_doubtful``
    that they tell of a new vessel whose name may be another one's, mistyped; ``left_out`` are notes
    that ``season`` leaves out; ``unheard`` that whoever said it had not heard the reply before it;
    not ``is_called`` that it may not be meant for the assistant.
    """

    now: datetime
    source: Source
    book: Book
    season: Season
    settings: Settings
    focus: Focus
    last: Utterance | None
    names: EntityNames
    said_at: datetime | None = None
    noted: tuple[Act, ...] = ()
    of_several: bool = False
    of_another: bool = False
    goes_on: bool = False
    tells_more: bool = False
    is_name_doubtful: bool = False
    degrees_named: bool = False
    left_out: frozenset[str] = frozenset()
    unheard: bool = False
    is_called: bool = True

    @property
    def question(self) -> Prompt | None:
        """The question that is open, if any, and was heard by whoever speaks now."""
        return None if self.unheard else open_question(self.last, self.now, self.source)


@dataclass(frozen=True, slots=True)
class Turn:
    """One utterance dealt with: what to say, what to write, and what is open afterwards.

    ``voids`` are ids of notes taken back; ``resolves`` is the utterance settled by this one;
    ``question`` stays open after it. ``taught`` is a wording learnt by it, ``wording`` the id
    of the one that it was read by; ``forgets`` are those no longer gone by. ``metric`` tells that
    this reply alone is in metric units, or that it is not; None for the book's own. ``plan`` is
    the boil plan for programs, where it was asked for.
    """

    outcome: Outcome
    told: tuple[Sentence, ...]
    meanings: tuple[Meaning, ...] = ()
    findings: tuple[Finding, ...] = ()
    notes: tuple[Act, ...] = ()
    voids: tuple[str, ...] = ()
    question: Prompt | None = None
    resolves: str | None = None
    focus: Focus = field(default_factory=Focus)
    nearest: tuple[tuple[Meaning, str], ...] = ()
    taught: Taught | None = None
    wording: str | None = None
    forgets: tuple[str, ...] = ()
    metric: bool | None = None
    plan: tuple[dict[str, Any], ...] | None = None

    @property
    def is_by_wording(self) -> bool:
        """Whether its own words were read by a wording learnt before."""
        return self.wording is not None or (
            self.taught is not None and self.taught.utterance_id is None
        )

    def then(self, later: Self) -> Self:
        """Return this turn and a later one of the same breath as one."""
        return replace(
            later,
            told=self.told + later.told,
            meanings=self.meanings + later.meanings,
            findings=self.findings + later.findings,
            notes=self.notes + later.notes,
            voids=self.voids + later.voids,
            resolves=later.resolves or self.resolves,
            forgets=self.forgets + later.forgets,
            plan=self.plan if later.plan is None else later.plan,
        )


def by_rule(finding: Finding) -> Sentence:
    """Return a rule's word on the facts as a sentence."""
    role: Role = "fact" if finding.level == "note" else "warning"
    return Sentence(role, rule_text(finding))


def rule_text(finding: Finding, *told: Piece) -> Parts:
    """Return a rule's word as part of a sentence; ``told`` is the same with the things in it."""
    return (RuleText(finding.rule, finding.text, parts(*told)),)
