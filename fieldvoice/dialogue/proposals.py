"""What may be done with what the second reader proposes: the one table, line by line.

| exact parser found | second reader | what becomes of it |
| --- | --- | --- |
| a reading that is saved or answered | not asked | as it is |
| nothing | a note in the sure band | saved |
| asks, of what was typed, whether it is that | the same note, likely | saved |
| asks, of what was typed, whether it is another thing | a note in the sure band | saved |
| nothing, or only what is asked about | a note, likely | read back whole; a yes saves |
| nothing | a note of a certain kind, all numbers placed | the same |
| nothing | a question, likely, all numbers placed | answered, what it is about first |
| a question, words passed over | another one, likelier | the same |
| a question, words passed over | another one of the book, likely | both named |
| a question, words passed over | perhaps nothing | kept |
| nothing | two cards, or two bare questions, near each other | both named |
| nothing | a command, likely | put as a question |
| nothing | anything less likely | kept, with the two nearest things |

A proposal that says the same as what is asked about anyway changes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fieldvoice.dialogue.policy import (
    Answer,
    Clarify,
    Commit,
    Reject,
    ScoredHypothesis,
    choice,
    decide_meant,
    is_taken_freely,
    label_of,
    missing_slot,
)
from fieldvoice.dialogue.prompts import Prompt
from fieldvoice.handbook.loader import shipped
from fieldvoice.schema import ACTS, ASKS, Act, Ask, Command, meaning_from
from fieldvoice.schema.asks.season import Advice
from fieldvoice.segments import fact, prompt

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldvoice.dialogue.policy import Decision
    from fieldvoice.nlu.second_reader import SecondReading
    from fieldvoice.schema import Meaning


@dataclass(frozen=True, slots=True)
class Bands:
    """From which chance on a proposal is saved, put to the speaker, answered or named.

    Set by lines that the reader was not taught (``benchmarks.reading``). Of 790 notes in the sure
    band 99.0 % are right in all fields (98.0 to 99.5).
    """

    sure: float = 0.98
    #: Of what was typed, where every number and every need has its place: of 1,013 such lines not
    #: taught 1,000 are right, and of the 66 up to 0.95 64.
    sure_typed: float = 0.9
    #: What no piece tells but the sentence as a whole is to be so sure there: "dropped two pints
    #: off at my dad's" loses none.
    sure_states: float = 0.95
    #: And of what was typed and two readers read alike, or is told in known words alone (37 of 37
    #: from 0.5 to 0.95 were right).
    agreed: float = 0.8
    known: float = 0.6
    #: From 0.2 to here there are 9 notes not taught, 4 of them right, and 3 lines that are none.
    note: float = 0.25
    #: From 0.3 to here there are 4 questions not taught that are read right, 6 read wrong, and 17
    #: lines of other talk, of what names nothing of the trade (``OF_OURS``).
    ask: float = 0.4
    #: Here one right card in sixteen is refused, two in three of what no card answers, and one line
    #: of other talk in nine is answered.
    card: float = 0.24
    #: From here on it goes before a question of the grammar that passes over words: of 12 lines not
    #: taught that the two read otherwise, the grammar is right in 2 and this one in 6.
    freely: float = 0.7
    #: An emergency is known by its signs before this (``handbook.emergency``); of the askings that
    #: were not taught they miss none, and a false one frightens.
    urgent: float = 0.7
    command: float = 0.6
    nearest: float = 0.1


BANDS = Bands()

#: For words that fit the sound badly (``policy.may_be_put``): nothing of them is saved unasked, and
#: nothing done. Talk that is not meant for us fits badly too.
_NEVER = 2.0
FAINT = Bands(
    _NEVER, _NEVER, _NEVER, _NEVER,
    note=0.6, ask=0.8, card=0.8, urgent=_NEVER, command=_NEVER,
)  # fmt: skip
#: For a question that a listener held to no grammar is sure of, where the grammar fits badly, and
#: for words that do not have that form. Of 150 lines of talk read by voices 9 are answered with
#: these, and with 0.6 and 0.9 as well; of 136 askings not taught 96 instead of 88, 89 right for 81.
FREELY = replace(FAINT, ask=0.5, card=0.45)
TOLD_FREELY = replace(FAINT, ask=0.9, card=0.8)
#: For badly fitting words that do not have that form, and nobody is sure of: as like as not talk.
NOT_ASKED = replace(FAINT, ask=0.9, card=0.9)

#: For a question that was typed and names a thing of the trade: of a thousand questions of other
#: matters (``sayings/none``) ten of the book's own lie between this and the band, and those are of
#: buckets and wood; of the questions that were kept in a trial every third did.
OF_OURS = replace(BANDS, ask=0.12, urgent=0.4)
#: For what is surely a question at all: who asks what carbon monoxide feels like is not frightened.
ASKED = replace(BANDS, urgent=0.4)

#: For a card where it is known that something is asked: a note with a question behind it.
OF_NOTE = replace(BANDS, card=0.2)

#: A question of the grammar among words that it passes over is none where this is likelier: of
#: 1,500 questions 21 are so read, none above 0.2; of 1,500 lines of talk 15, and 11 above 0.5.
TALK = 0.28

#: What is likelier than this to be neither note nor question is only kept.
MOSTLY_NOTHING = 0.8

#: Notes that give a name or keep free words are never taken unasked; those that throw sap away or
#: end a tree's season only of trees that are named, and by what is surest.
_NEVER_UNASKED = frozenset({"name", "remark"})
_OF_NAMED_TREES = frozenset({"dump", "pull"})


def with_second(
    decided: Decision,
    reading: SecondReading | None,
    weigh: Callable[[tuple[Meaning, ...]], ScoredHypothesis],
    bands: Bands = BANDS,
    *,
    is_plain: bool = False,
) -> Decision:
    """Return what to do, given what was decided without the second reader and what it reads.

    Of plain words two readers who agree are enough; what was heard otherwise may be misheard.
    """
    if reading is None:
        return decided
    if reading.nothing > TALK and is_taken_freely(decided):
        return Reject("talk in which some words ask")
    if not reading.meanings:
        return decided
    if reading.chance < bands.nearest and not (reading.is_whole or reading.is_short):
        return decided
    candidate = replace(weigh(reading.meanings), left_out=reading.left_out)
    if all(isinstance(meaning, Ask) for meaning in candidate.meanings):
        return _question(decided, candidate, reading, bands)
    if any(isinstance(meaning, Command) for meaning in candidate.meanings):
        is_likely = isinstance(decided, Reject) and reading.chance >= bands.command
        return proposed(candidate) if is_likely else decided
    return _note(decided, candidate, reading, bands, is_plain)


def _question(
    decided: Decision, candidate: ScoredHypothesis, reading: SecondReading, bands: Bands
) -> Decision:
    topics = {meaning.topic for meaning in candidate.meanings if isinstance(meaning, Advice)}
    least = bands.card if topics else bands.ask
    if topics & shipped().urgent:
        least = bands.urgent
    if isinstance(decided, Answer) and is_taken_freely(decided):
        is_other = decided.candidate.meanings != candidate.meanings and not topics
        if is_other and candidate.gap is None and least <= reading.chance < bands.freely:
            return Clarify(choice(decided.candidate, candidate))
        least = max(least, bands.freely)
    elif not isinstance(decided, Reject):
        return decided
    if reading.chance < least or candidate.gap is not None or not reading.is_accounted:
        return decided
    if candidate.doubt is not None:
        return decide_meant(candidate)
    near = [meaning_of(kind) for kind, _ in reading.nearest]
    if reading.is_close and len(near) > 1 and None not in near:
        one, other = near[0], near[1]
        assert one is not None
        assert other is not None
        return Clarify(Prompt("choice", (), ((one,), (other,))))
    return Answer(candidate, echo=True)


def _note(
    decided: Decision,
    candidate: ScoredHypothesis,
    reading: SecondReading,
    bands: Bands,
    is_plain: bool,
) -> Decision:
    if is_taken_freely(decided) and reading.chance < bands.sure:
        return decided
    if candidate.gap is not None and candidate.left_out and not candidate.label:
        return decided  # of nothing, and telling nothing that could be read back
    tells_all = reading.is_whole or (is_plain and reading.is_short)
    if not puts(reading, bands) and not (tells_all and isinstance(decided, Reject)):
        return decided
    agrees = isinstance(decided, Clarify) and candidate.meanings in decided.question.options
    agrees_alone = agrees and _is_whether(decided)
    least = bands.sure
    if is_plain and reading.is_whole:
        least = bands.agreed if agrees_alone else bands.sure_typed
        if reading.states < bands.sure_states:
            least = bands.sure
        # Known words tell nothing of what only the sentence as a whole does: a fire lit, or out.
        if reading.is_known and reading.states >= bands.sure_states:
            least = bands.known
    if any(isinstance(one, Act) and one.act in _OF_NAMED_TREES for one in reading.meanings):
        least = bands.sure if _names_its_trees(reading) else _NEVER
    is_sure = reading.is_plain and reading.chance >= least and _may_be_saved(candidate)
    is_open = is_plain and _asks_about_words(decided) and not _is_choice_of_trees(decided)
    if is_sure and (isinstance(decided, Reject) or is_open):
        return Commit(candidate)
    if agrees:
        return decided
    return proposed(candidate)


def _names_its_trees(reading: SecondReading) -> bool:
    """Whether every note told of is of trees that the words themselves name, and tells all."""
    named = (one.json_fields().keys() & {"tree", "trees"} for one in reading.meanings)
    return reading.is_whole and not reading.left_out and all(named)


def puts(reading: SecondReading, bands: Bands = BANDS) -> bool:
    """Whether a note is likely enough to be put to the speaker."""
    return reading.chance >= bands.note


def _asks_about_words(decided: Decision) -> bool:
    """Whether it is asked if one or another reading is meant, since none is certain."""
    return isinstance(decided, Clarify) and decided.question.is_about_words


def _is_choice_of_trees(decided: Decision) -> bool:
    """Whether it is asked which of two trees was meant: "tree forty one quarter full"."""
    options = decided.question.options if isinstance(decided, Clarify) else ()
    trees = {option[0].json_fields().get("tree") for option in options if len(option) == 1}
    return len(options) > 1 and len(trees) == len(options) and None not in trees


def _is_whether(decided: Decision) -> bool:
    """Whether what is asked is only if the one reading is meant."""
    return isinstance(decided, Clarify) and len(decided.question.options) == 1


def _may_be_saved(candidate: ScoredHypothesis) -> bool:
    """Whether a reading has nothing in it that is to be asked about."""
    if candidate.gap is not None or candidate.doubt is not None or candidate.price > 0:
        return False
    return all(
        isinstance(meaning, Act) and meaning.act not in _NEVER_UNASKED
        for meaning in candidate.meanings
    )


def proposed(candidate: ScoredHypothesis) -> Decision:
    """Return the question whether a proposal is right: every field of it, and "Save that?".

    What is missing in it is asked for at once, beside what is known.
    """
    if candidate.gap is not None:
        told = () if candidate.gap.slot == "text" else (fact(label_of(candidate)),)
        return Clarify(missing_slot(candidate, candidate.gap, told))
    saves = any(isinstance(meaning, Act) for meaning in candidate.meanings)
    does = "Save that" if saves else "Do that"
    asks = (fact(label_of(candidate)), prompt(does))
    # A yes to the whole is none to a value that is unlikely: that is asked about after it.
    is_unlikely = candidate.doubt is not None and candidate.doubt.slot is not None
    return Clarify(Prompt("yes_no", asks, (candidate.meanings,), settles=not is_unlikely))


def meaning_of(kind: str) -> Meaning | None:
    """Return the bare meaning that a kind of the second reader stands for; None for a command."""
    key, _, name = kind.partition("=")
    if key == "card":
        return meaning_from({"ask": "advice", "topic": name})
    if (key == "act" and name in ACTS) or (key == "ask" and name in ASKS):
        return meaning_from({key: name})
    return None


def example_of(meaning: Act | Ask) -> str:
    """Return words that say a meaning of the same kind; of a card its first asking."""
    if isinstance(meaning, Advice):
        card = shipped().card(meaning.topic or "")
        return card.asked[0] if card is not None else meaning.spec.examples[0]
    return type(meaning).spec.examples[0]


def examples_of(reading: SecondReading | None) -> list[tuple[Meaning, str]]:
    """Return the two nearest things that are known, each with words that say it.

    None are named to what is likely neither note nor question.
    """
    if reading is None or reading.nothing > MOSTLY_NOTHING:
        return []
    found: list[tuple[Meaning, str]] = []
    for kind, _ in reading.nearest:
        meaning = meaning_of(kind)
        if isinstance(meaning, Act | Ask):
            found.append((meaning, example_of(meaning)))
    return found[:2]
