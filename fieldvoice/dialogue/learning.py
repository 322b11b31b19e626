"""Learning wordings: a yes to a proposal, or a kept note told anew, teaches how it was said.

| what happens | what it teaches |
| --- | --- |
| a yes to what the second reader proposed, or reads as the exact one did | its wording |
| a no, another value, no answer | nothing |
| a kept note told anew in the review | the wording that was kept, if its pieces say all of it |
| a note made or taught by a wording is taken back or put right | that wording no more |
| "forget that wording" | the last one learnt or used no more |

What is read by a wording is weighed like any exact reading: what is missing is asked for, and what
is unlikely or throws sap away is asked about. Where the exact reader knows what to do, no wording
is looked for.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Protocol

from fieldvoice.book import Taught
from fieldvoice.dialogue.context import Turn
from fieldvoice.dialogue.policy import (
    COST_TO_SAVE,
    Clarify,
    Commit,
    Reject,
    is_taken_freely,
    may_be_read,
)
from fieldvoice.dialogue.proposals import proposed
from fieldvoice.nlu.wordings import Wording
from fieldvoice.schema import Act, Command
from fieldvoice.schema.acts import Dump
from fieldvoice.segments import fact

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Sequence

    from fieldvoice.book import Book, LearntWording, Utterance
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.dialogue.policy import Decision, ScoredHypothesis
    from fieldvoice.dialogue.prompts import Prompt
    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.nlu.hypothesis import Hypothesis
    from fieldvoice.nlu.second_reader import SecondReading
    from fieldvoice.schema import Meaning
    from fieldvoice.transcript import Transcript

    Weigh = Callable[[tuple[Meaning, ...], TurnContext], ScoredHypothesis]


class Learner(Protocol):
    """What learning needs of understanding."""

    def read(self, heard: Transcript, *, names: EntityNames = ...) -> Sequence[Hypothesis]:
        """Return the exact readings of what was heard."""
        ...

    def second(
        self, heard: Transcript, names: EntityNames = ..., *, cards_only: bool = False,
        asks_only: bool = False,
    ) -> SecondReading | None:  # fmt: skip
        """Return what the second reader makes of what was heard."""
        ...

    def by_wording(
        self,
        heard: Transcript,
        learnt: Sequence[Wording] = ...,
        barred: Collection[str] = ...,
        names: EntityNames = ...,
    ) -> Sequence[Hypothesis]:
        """Return what was heard as ``learnt`` wordings have it, and those that come along."""
        ...

    def wording_of(
        self,
        text: str,
        meanings: Sequence[Meaning],
        names: EntityNames = ...,
        stands_for: Callable[[str, Any], Any] = ...,
        *,
        by_pieces_alone: bool = ...,
    ) -> Wording | None:
        """Return the wording of a text that means ``meanings``."""
        ...


def readings_by_wording(
    book: Book, reader: Learner, heard: Transcript, names: EntityNames
) -> Sequence[Hypothesis]:
    """Return what ``heard`` says by the wordings that count.

    What the book has once learnt or used is its own from then on: a wording that came along and
    does not count in this book is not gone by.
    """
    newest = {one.masked: one for one in book.wordings()}
    own = [Wording(one.masked, one.shape, one.id) for one in newest.values() if one.counts]
    return reader.by_wording(heard, own, newest.keys(), names)


def with_wording(
    decided: Decision, learnt: Sequence[tuple[ScoredHypothesis, Wording]]
) -> tuple[Decision, Wording | None]:
    """Return what to do, and the wording that it goes by, given what was decided with them all.

    Sap that would be thrown away is asked about, however little it is.
    """
    for candidate, wording in learnt:
        if isinstance(decided, Commit) and decided.candidate.meanings == candidate.meanings:
            throws_away = any(isinstance(meaning, Dump) for meaning in candidate.meanings)
            return (proposed(candidate) if throws_away else decided), wording
        if isinstance(decided, Clarify) and candidate.meanings in decided.question.options:
            return decided, wording
    return decided, None


def may_be_learnt(decided: Decision, heard: Transcript) -> bool:
    """Whether words are open to another reading than the exact one."""
    is_asked_whole = isinstance(decided, Clarify) and decided.question.is_about_words
    is_open = isinstance(decided, Reject) or is_asked_whole or is_taken_freely(decided)
    return is_open and may_be_read(heard)


def going_by(turn: Turn, wording: Wording | None) -> Turn:
    """Return a turn with the wording it went by; one that came along becomes the book's."""
    if wording is None or turn.outcome not in ("saved", "asked"):
        return turn
    if wording.id is not None:
        return replace(turn, wording=wording.id)
    return replace(turn, taught=Taught(wording.masked, wording.shape))


def taught_by_yes(
    moment: TurnContext,
    reader: Learner,
    question: Prompt,
    said: Sequence[Meaning],
    names: EntityNames,
    weigh: Weigh,
) -> Taught | None:
    """Return the wording that ``said``, an answer to ``question``, teaches: a yes to a proposal.

    What the exact reader took too freely, and asked about, is one too where both readers agree.
    Which piece fills which field is told by the second reader, who reads the words once more; it
    must come to what was asked about.
    """
    is_yes = len(said) == 1 and isinstance(said[0], Command) and said[0].do == "confirm"
    is_proposal = question.kind == "yes_no" and question.slot is None
    if not (is_yes and is_proposal and question.asked_by):
        return None
    asked = moment.book.utterance(question.asked_by)
    exact = reader.read(asked.heard, names=names)
    if not may_be_read(asked.heard) or any(one.cost <= COST_TO_SAVE for one in exact[:1]):
        return None
    if readings_by_wording(moment.book, reader, asked.heard, names):
        return None
    second = reader.second(asked.heard, names)
    if second is None or not second.meanings:
        return None
    if weigh(second.meanings, replace(moment, now=asked.at)).meanings != question.options[0]:
        return None
    wording = reader.wording_of(asked.text, second.meanings, names)
    return None if wording is None else Taught(wording.masked, wording.shape, asked.id)


def taught_by_retelling(
    moment: TurnContext, reader: Learner, kept: Utterance, notes: Sequence[Act], names: EntityNames
) -> Taught | None:
    """Return the wording of ``kept``, which was these ``notes``; None unless its pieces say them.

    In other words more may have been told than in the first ones: what those do not say by a piece
    that has the value is never taken for theirs.
    """
    # What two books say differently is told in the book's words, not in the family's.
    if not notes or kept.source == "import" or not may_be_read(kept.heard):
        return None
    if readings_by_wording(moment.book, reader, kept.heard, names):
        return None
    at = kept.at.isoformat()
    plain = [note.replace(at=None) if note.at == at else note for note in notes]

    def stands_for(field: str, value: Any) -> Any:
        return moment.season.names.numbered({field: value})[field]

    wording = reader.wording_of(kept.text, plain, names, stands_for, by_pieces_alone=True)
    return None if wording is None else Taught(wording.masked, wording.shape, kept.id)


def forget_last(moment: TurnContext, command: Command) -> Turn:
    """Have the wording that was learnt or used last forgotten."""
    counting = [one for one in moment.book.wordings() if one.counts]
    if not counting:
        return Turn("done", (fact("No wording has been learnt"),), (command,), focus=moment.focus)
    return forgetting(moment, max(counting, key=lambda one: one.last_met))


def forgetting(moment: TurnContext, wording: LearntWording) -> Turn:
    """Return the turn that has ``wording`` forgotten; the notes made by it stay."""
    told = fact(f'Forgotten; "{wording.said}" is asked about again')
    command = Command(do="forget_wording")
    return Turn("done", (told,), (command,), forgets=(wording.id,), focus=moment.focus)
