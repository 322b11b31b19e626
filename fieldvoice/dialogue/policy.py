"""Whether to save, answer, act, ask back or keep for review. Every threshold stands here.

Costs are those of ``Hypothesis``: 0 for words exactly as the grammar has them. Wrong is ten times
worse than asked, so that every doubt ends in a question or in the review, never in the book.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from typing import TYPE_CHECKING

from fieldvoice.dialogue.fields import changed, number_into
from fieldvoice.dialogue.prompts import Prompt
from fieldvoice.rules.plausible import sound_alike, vessel_alike
from fieldvoice.schema import Act, Ask, Command, EntityMention
from fieldvoice.schema.acts import Remark
from fieldvoice.schema.commands import WHICH_NOTE
from fieldvoice.segments import Quote, TreeRef, fact, parts, prompt, whether

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from fieldvoice.nlu.hypothesis import Hypothesis
    from fieldvoice.schema import Meaning
    from fieldvoice.segments import Parts, Sentence
    from fieldvoice.transcript import Transcript

#: Dearer readings are not saved unasked. The unit is one word passed over (see the prices in
#: understanding): two small words, or one near-sounding word and a small one, still pass.
COST_TO_SAVE = 1.3
#: The same for what was heard: it comes in the grammar's own words, so that what has to be passed
#: over was misheard as like as not (of 2,328 field sentences 2 are read at such a price and would
#: come out right or wrong: one each).
COST_TO_SAVE_HEARD = 0.9
#: Dearer readings are not even asked about: the words are kept for review.
COST_TO_ASK = 2.6
#: A question is answered as it stands up to here, and with an echo of what it is about up to
#: ``COST_TO_ASK``: a wrong answer is noticed at once and harms nothing.
COST_TO_ANSWER = 1.45


@dataclass(frozen=True, slots=True)
class ConfidenceMargins:
    """How much dearer than the best a reading must be that means something else, by what differs.

    One unit is 20 log units of the recogniser (``PER_HEARING_SCORE`` in understanding). Set on
    1,188 development clips (six voices, a quiet room, wind and engines from 20 to 5 dB) and 1,140
    of 190 other sentences (``benchmarks.doubt``); a wrong record is worth ten questions. In
    brackets: best hearings, wrong and right, that no other margin asks about and whose nearest
    rival of the kind is within this one.
    """

    #: The same words read another way: the weights in the grammar tell which way is usual, and only
    #: a reading that costs nearly the same puts the first in doubt.
    same_words: float = 0.05
    #: The same words with a number parted elsewhere: "sixty three | point five". What is said more
    #: often tells nothing of which was meant.
    parted: float = 0.3
    #: The same words with another one taken for a misspelt or misheard one.
    mended: float = 0.12
    #: Another hearing that differs in numbers alone ("sixty four", "sixty five"): few are near, and
    #: of those that are one in three is right in the best one's place (8 wrong, 15 right).
    numbers: float = 3.0
    #: The same for numbers that every ear takes for each other ("nineteen", "ninety"): they are
    #: near whichever was said (1 wrong, 4 right).
    alike: float = 0.6
    #: And for those in a question: the answer names the tree (1 wrong, none right).
    alike_asked: float = 0.5
    #: Another hearing with anything else in it: another act, a field more or fewer, a question
    #: (3 wrong, 6 right). A wrong one with another wrong one beside it shows by it as well.
    other: float = 1.6
    #: Another hearing with more or fewer notes in the breath, or with free words in one of the two,
    #: which take in whatever was said (2 wrong, none right).
    parts: float = 1.2

    def times(self, factor: float) -> ConfidenceMargins:
        """Return what differs in hearing weighed ``factor`` times as much."""
        return replace(
            self,
            numbers=self.numbers * factor,
            alike=self.alike * factor,
            alike_asked=self.alike_asked * factor,
            other=self.other * factor,
            parts=self.parts * factor,
        )


MARGINS = ConfidenceMargins()
#: Log score a frame against a free phone loop, and by a net; below it the sound was no speech of
#: this grammar. Of 2,215 field sentences heard word for word, in a quiet room and in wind and
#: beside engines from 20 to 5 dB (which the engine allows for), 5 are below; of 72 utterances of
#: small talk and noise 4 are above. Short noises do not show by it; they are kept because nothing
#: of the grammar is in them.
FIT_FLOOR = -0.0004
#: Below this it is asked about: of 2,258 field sentences that came out right 12 are below it (2 in
#: quiet), of the 27 that came out wrong 4.
FIT_TO_SAVE = -0.0002
#: Words that the grammar does not have fit it badly by themselves. Down to this, where hearing was
#: as sure of them as this, the second reader may still know them, and puts them as a question.
FIT_TO_PUT, SURE_TO_PUT = -0.0015, 0.8
#: What has so large a share of its words from a listener held to no grammar is no making of one.
MOSTLY_FREE = 0.6
#: How well the grammar fits says nothing of words that a listener held to none heard: surer than
#: the first they may be read, and than the other they are as good as typed.
HEARD_FREELY, SURE_FREELY = 0.6, 0.9
#: A remark is begun by no fewer words ("remember" alone may be anything), each as sure as this.
OPENING_WORDS, PLAINLY = 2, 0.9


@dataclass(frozen=True, slots=True)
class MissingSlot:
    """A slot that a note or question cannot do without, and the question that fills it."""

    slot: str
    index: int
    text: str


@dataclass(frozen=True, slots=True)
class Confirmation:
    """A value that is unlikely, or an act that throws something away.

    ``told`` is what speaks against it or asks about it, ``does`` what a yes would do, asked after
    that: several of these are asked about in one. A new value for ``slot`` is an answer too. Where
    two ``values`` are named only one of them is an answer: a yes would say nothing. ``degrees`` are
    the note with its number as Celsius and as Fahrenheit.
    """

    told: tuple[Sentence, ...]
    index: int = 0
    slot: str | None = None
    does: Parts = ()
    values: tuple[float, ...] = ()
    degrees: tuple[Meaning, ...] = ()

    @property
    def asks(self) -> tuple[Sentence, ...]:
        """The question."""
        return (*self.told, whether(self.does)) if self.does else self.told


@dataclass(frozen=True, slots=True)
class ScoredHypothesis:
    """One reading, completed from the conversation and weighed against the book.

    ``price`` is what the book adds to the cost of the words: no tree 50 exists, a bucket holds
    five gallons. ``label`` is how it is named when two readings are put to the choice; ``words`` is
    which hearing it comes from, with the words taken for others; ``nouns`` those passed over or
    supplied in it. ``left_out`` are words that tell something and are not in it. ``strangers`` is
    how many trees and vessels of it the book does not know.
    """

    meanings: tuple[Meaning, ...]
    cost: float
    price: float = 0.0
    gap: MissingSlot | None = None
    doubt: Confirmation | None = None
    label: Parts = ()
    words: tuple[object, ...] = ()
    nouns: tuple[str, ...] = ()
    left_out: str = ""
    strangers: int = 0

    @property
    def total(self) -> float:
        """The price of believing this reading."""
        return self.cost + self.price


@dataclass(frozen=True, slots=True)
class Commit:
    """Write the notes of ``candidate``; answer the questions in the same breath.

    ``by_sound`` tells that its words are unsure, so that only the recording tells them.
    """

    candidate: ScoredHypothesis
    by_sound: bool = False


@dataclass(frozen=True, slots=True)
class Answer:
    """Answer the questions of ``candidate``.

    ``echo`` tells that the words were taken freely, so that what is answered is said first.
    """

    candidate: ScoredHypothesis
    echo: bool = False


@dataclass(frozen=True, slots=True)
class Execute:
    """Carry out the command, or take what was named in hand."""

    candidate: ScoredHypothesis


@dataclass(frozen=True, slots=True)
class Clarify:
    """Ask back."""

    question: Prompt


@dataclass(frozen=True, slots=True)
class Reject:
    """Keep the words (and the sound) for review; ``why`` is for people, not spoken."""

    why: str


Decision = Commit | Answer | Execute | Clarify | Reject


def decide(
    candidates: Sequence[ScoredHypothesis],
    heard: Transcript,
    margins: ConfidenceMargins = MARGINS,
    opening: int = 0,
    same_answer: Callable[[ScoredHypothesis, ScoredHypothesis], bool] = lambda one, other: False,
) -> Decision:
    """Return what to do about ``heard``, given its readings (in any order).

    ``opening`` is how many of its words begin a remark; ``same_answer`` tells whether two readings,
    of questions alone, are answered alike.
    """
    ranked = _known_first(sorted(candidates, key=lambda candidate: candidate.total), margins)
    if ranked and _is_dictated(ranked[0], heard, opening):
        return decide_meant(ranked[0], by_sound=_fits_badly(heard))
    if _fits_badly(heard):
        return Reject("it did not sound like anything that can be said")
    if not candidates:
        return Reject("nothing of the grammar was in it")
    best, rivals = ranked[0], ranked[1:]
    if _doubted_cost(best, heard) > COST_TO_ASK:
        return Reject("too far from anything that can be said")
    if _denies_its_note(best.meanings):
        return Reject("a no before a note turns it round")
    if all(_says_nothing(meaning) for meaning in best.meanings):
        return Reject("a number alone says nothing")
    rival = _close(best, rivals, margins, same_answer)
    if _only_asks(best):
        return _about_questions(best, rival, heard)
    return _about_notes(best, rival, heard)


def _known_first(
    ranked: Sequence[ScoredHypothesis], margins: ConfidenceMargins
) -> Sequence[ScoredHypothesis]:
    """Return ``ranked`` without things nobody knows that sound like one that is known.

    Where hearing can hardly tell tree nineteen from tree ninety, or the tank from the tote, and the
    book knows one of the two, that one was meant; the read-back names it. Amounts are not among
    these: both may be.
    """

    def is_dropped(one: ScoredHypothesis) -> bool:
        return any(
            other.strangers < one.strangers
            and other.words[:1] != ("alike",)
            and other.cost - one.cost < margins.alike
            and _name_things_alike(one, other)
            for other in ranked
        )

    return [one for one in ranked if not one.strangers or not is_dropped(one)]


def _name_things_alike(one: ScoredHypothesis, other: ScoredHypothesis) -> bool:
    """Whether two readings differ in a tree or vessel alone, whose names sound alike."""
    if len(one.meanings) != len(other.meanings):
        return False
    for mine, theirs in zip(one.meanings, other.meanings, strict=True):
        said, told = mine.json_fields(), theirs.json_fields()
        unlike = {key for key in said.keys() | told.keys() if said.get(key) != told.get(key)}
        if not unlike <= {"tree", "vessel"}:
            return False
        if not all(_are_named_alike(said.get(key), told.get(key)) for key in unlike):
            return False
    return True


def _are_named_alike(one: object, other: object) -> bool:
    if isinstance(one, int) and isinstance(other, int):
        return _are_twins(one, other)
    return isinstance(one, str) and isinstance(other, str) and vessel_alike(one) == other


def _about_notes(
    best: ScoredHypothesis, rival: ScoredHypothesis | None, heard: Transcript
) -> Decision:
    """Return what to do about notes and commands: save them, or ask, and how."""
    if rival is not None and _is_short_choice(best, rival):
        return Clarify(choice(best, rival))
    is_dear = _doubted_cost(best, heard) > _ceiling(heard) or _may_be_of_another_thing(best)
    if rival is None and best.gap is not None and _may_be_of_another_thing(best):
        return Clarify(missing_slot(best, best.gap, (fact(label_of(best)),)))
    if rival is not None or is_dear or _is_faint(best, heard) or _neither_heard(best, heard):
        if not any(map(_worth_asking, best.meanings)):
            return Reject("only a name or a passing word was understood")
        return Clarify(yes_or_no(best, (whether(label_of(best)),)))
    return decide_meant(best)


def _neither_heard(best: ScoredHypothesis, heard: Transcript) -> bool:
    """Whether two listeners heard the same words, and these are mostly others.

    "Pints total", no sentence of the grammar, was heard by both, and a high of two degrees noted.
    """
    free, said = heard.freely, next((one for one in best.words if one != "alike"), heard.text)
    if free is None or free.sure < HEARD_FREELY or free.text != heard.text:
        return False
    return _likeness(str(said), heard.text) < MOSTLY_FREE


def _likeness(one: str, other: str) -> float:
    """Return how many of the words of two texts are the same, from 0 to 1."""
    return SequenceMatcher(a=one.split(), b=other.split(), autojunk=False).ratio()


def _about_questions(
    best: ScoredHypothesis, rival: ScoredHypothesis | None, heard: Transcript
) -> Decision:
    """Return what to do about a question: an answer at once, or the choice of two that are near.

    No question is put about a question alone: where the words were taken freely, the answer first
    says what it is about.
    """
    if rival is not None and not all(isinstance(one, EntityMention) for one in rival.meanings):
        return Clarify(choice(best, rival))
    freely = rival is not None or _doubted_cost(best, heard) > COST_TO_ANSWER
    return decide_meant(best, echo=freely or _is_faint(best, heard))


def _only_asks(candidate: ScoredHypothesis) -> bool:
    return all(isinstance(meaning, Ask) for meaning in candidate.meanings)


def believable(
    readings: Sequence[Hypothesis], heard: Transcript, margins: ConfidenceMargins = MARGINS
) -> tuple[Hypothesis, ...]:
    """Return the readings that an open question may take as its answer.

    The best one and those too near it to tell; none when even the best is too doubtful.
    """
    if _fits_badly(heard) or not readings or readings[0].cost > COST_TO_SAVE:
        return ()
    best = _answer_of(readings[0])
    if _may_be_of_another_thing(best):
        return ()
    near = (_is_near(_answer_of(one), best, margins) for one in readings)
    return tuple(one for one, is_near in zip(readings, near, strict=True) if is_near)


def _answer_of(reading: Hypothesis) -> ScoredHypothesis:
    words = words_of(reading)
    return ScoredHypothesis(reading.meanings, reading.cost, words=words, nouns=reading.nouns)


def words_of(reading: Hypothesis) -> tuple[object, ...]:
    """Return which words a reading goes by: the hearing, and what was taken for something else."""
    return reading.text, reading.repaired


def decide_meant(
    candidate: ScoredHypothesis,
    *,
    settled: bool = False,
    by_sound: bool = False,
    echo: bool = False,
) -> Decision:
    """Return what to do with a reading that is not in doubt as such.

    ``settled`` tells that its unlikely value was confirmed already; ``by_sound`` as for ``Commit``,
    ``echo`` as for ``Answer``.
    """
    if candidate.gap is not None:
        return Clarify(missing_slot(candidate, candidate.gap))
    if candidate.doubt is not None and not settled:
        return Clarify(_about_value(candidate, candidate.doubt))
    if any(isinstance(meaning, Act) for meaning in candidate.meanings):
        return Commit(candidate, by_sound)
    if any(isinstance(meaning, Ask) for meaning in candidate.meanings):
        return Answer(candidate, echo)
    return Execute(candidate)


def label_of(candidate: ScoredHypothesis) -> Parts:
    """Return how a reading is named when it is put to the speaker, and what is not in it."""
    if not candidate.left_out:
        return candidate.label
    return parts(candidate.label, ";", not_got(candidate))


def not_got(candidate: ScoredHypothesis) -> Parts:
    """Return which words of the speaker's are not in a reading; nothing where all are."""
    if not candidate.left_out:
        return ()
    return parts("I did not get", Quote(candidate.left_out))


def choice(one: ScoredHypothesis, other: ScoredHypothesis) -> Prompt:
    """Return the question which of two readings was meant."""
    asks = either((one.label, other.label))
    return Prompt("choice", (asks,), (one.meanings, other.meanings))


def _is_short_choice(one: ScoredHypothesis, other: ScoredHypothesis) -> bool:
    """Whether two readings can be told apart in a few words: one thing differs, of one kind.

    Where more does, whether the better one is right is the shorter question.
    """
    if len(one.meanings) != len(other.meanings):
        return False
    unlike = [pair for pair in zip(one.meanings, other.meanings, strict=True) if pair[0] != pair[1]]
    kinds = [tuple(_kind(meaning) for meaning in pair) for pair in unlike]
    return len(kinds) == 1 and kinds[0][0] == kinds[0][1]


def _kind(meaning: Meaning) -> type:
    return next(kind for kind in (Act, Ask, Command, EntityMention) if isinstance(meaning, kind))


def either(labels: tuple[Parts, Parts]) -> Sentence:
    """Return "Tree 13 or tree 30?" as a question; long labels are parted by a comma."""
    comma = "," if any(map(_is_long, labels)) else None
    return prompt(labels[0], comma, "or", labels[1])


def _is_long(label: Parts) -> bool:
    return len(label) > 1 or any(isinstance(one, TreeRef) and len(one.trees) > 1 for one in label)


def noted_alone(decided: Decision) -> tuple[Meaning, ...]:
    """Return what would be saved, or the one thing that is asked about; else nothing."""
    match decided:
        case Commit(candidate):
            return candidate.meanings
        case Clarify(question) if len(question.options) == 1:
            return question.options[0]
    return ()


def yes_or_no(
    candidate: ScoredHypothesis, asks: tuple[Sentence, ...], doubt: Confirmation | None = None
) -> Prompt:
    """Return the question whether ``candidate`` is right; a new value answers a doubt too."""
    return Prompt(
        "yes_no",
        asks,
        (candidate.meanings,),
        slot=doubt.slot if doubt else None,
        index=doubt.index if doubt else 0,
        # A yes to the whole is one to doing it too.
        settles=doubt is not None or (candidate.doubt is not None and candidate.doubt.slot is None),
    )


def _about_value(candidate: ScoredHypothesis, doubt: Confirmation) -> Prompt:
    """Return the question about an unlikely value, or which of two that sound alike was meant."""
    options = _with_each(candidate.meanings, doubt)
    if len(options) < 2:
        return yes_or_no(candidate, doubt.asks, doubt)
    return Prompt(
        "choice",
        doubt.asks,
        options,
        slot=doubt.slot,
        index=doubt.index,
        settles=True,
        is_about_degrees=bool(doubt.degrees),
    )


def _with_each(
    meanings: tuple[Meaning, ...], doubt: Confirmation
) -> tuple[tuple[Meaning, ...], ...]:
    """Return the meanings with each of the values in doubt."""
    meant = meanings[doubt.index]
    if doubt.degrees and not isinstance(meant, Command):
        before, after = meanings[: doubt.index], meanings[doubt.index + 1 :]
        return tuple((*before, one, *after) for one in doubt.degrees)
    options = []
    for value in doubt.values:
        fields = number_into(doubt.slot or "", value, meant)
        if isinstance(meant, Command):  # what was to be put right is told anew, under its own name
            which = {key: one for key, one in meant.fields.items() if key in WHICH_NOTE}
            new: Meaning | None = Command(do=meant.do, fields={**which, **fields})
        else:
            new = changed(meant, fields)
        if new is not None:
            options.append((*meanings[: doubt.index], new, *meanings[doubt.index + 1 :]))
    return tuple(options)


def as_one(doubts: Sequence[Confirmation]) -> Confirmation:
    """Return the first doubt; where all are whether to do something, one question about all."""
    if len(doubts) == 1 or not all(doubt.does for doubt in doubts):
        return doubts[0]
    first, *others = (doubt.does for doubt in doubts)
    all_of_it = parts(first, *(parts(", and", other) for other in others))
    told = tuple(one for doubt in doubts for one in doubt.told)
    return replace(doubts[0], told=told, does=all_of_it)


def missing_slot(
    candidate: ScoredHypothesis, gap: MissingSlot, before: tuple[Sentence, ...] = ()
) -> Prompt:
    """Return the question for a slot that was not said, after ``before``."""
    asks = (*before, prompt(gap.text))
    return Prompt("slot", asks, (candidate.meanings,), slot=gap.slot, index=gap.index)


def may_be_read(heard: Transcript) -> bool:
    """Whether words may go to the second reader: plain, or sounding like speech of the grammar.

    A closed vocabulary makes words of any chatter; those fit the sound badly.
    """
    return heard.is_plain or heard.fit is None or heard.fit >= FIT_TO_SAVE


def is_taken_freely(decided: Decision) -> bool:
    """Whether an answer passes over words that tell something: another reader may know them all."""
    return isinstance(decided, Answer) and decided.candidate.cost > COST_TO_ANSWER


def may_be_put(heard: Transcript) -> bool:
    """Whether words that fit badly may still be what they are taken for, if that is likely."""
    if heard.is_typed or heard.fit is None or not FIT_TO_PUT <= heard.fit < FIT_TO_SAVE:
        return False
    return heard.confidence >= SURE_TO_PUT or _is_mostly_free(heard)


def _is_mostly_free(heard: Transcript) -> bool:
    """Whether two listeners, of whom one is held to no grammar, agree in most of the words."""
    if heard.freely is None or heard.freely.sure < HEARD_FREELY:
        return False
    return _likeness(heard.text, heard.freely.text) >= MOSTLY_FREE


def _fits_badly(heard: Transcript) -> bool:
    """Whether the sound was hardly speech of this grammar, and what was said is in doubt."""
    return not heard.is_plain and heard.fit is not None and heard.fit < FIT_FLOOR


def _is_dictated(best: ScoredHypothesis, heard: Transcript, opening: int) -> bool:
    """Whether a remark was plainly begun: "make a note", and then words of any kind.

    They are free, so that how they fit the grammar says nothing; the remark is kept with its sound.
    """
    if heard.is_typed or opening < OPENING_WORDS or len(best.meanings) != 1:
        return False
    begun = all(word.confidence >= PLAINLY for word in heard.words[:opening])
    return begun and isinstance(best.meanings[0], Remark)


def _is_faint(best: ScoredHypothesis, heard: Transcript) -> bool:
    """Whether free phones explain the sound better than the words do.

    The free words of a remark never fit well: it is kept with its sound.
    """
    if heard.is_plain or heard.fit is None:
        return False
    is_remark = all(isinstance(meaning, Remark) for meaning in best.meanings)
    return heard.fit < FIT_TO_SAVE and not is_remark


def _doubted_cost(candidate: ScoredHypothesis, heard: Transcript) -> float:
    """Return the cost to hold against the ceilings.

    What the book finds odd ranks typed readings but does not make typed words doubtful.
    """
    return candidate.cost if heard.is_typed else candidate.total


def _ceiling(heard: Transcript) -> float:
    return COST_TO_SAVE if heard.is_typed else COST_TO_SAVE_HEARD


def _close(
    best: ScoredHypothesis,
    rivals: Sequence[ScoredHypothesis],
    margins: ConfidenceMargins,
    same_answer: Callable[[ScoredHypothesis, ScoredHypothesis], bool],
) -> ScoredHypothesis | None:
    """Return the nearest reading that comes to something else, if it is too near."""
    for rival in rivals:
        if _same_but_for_free_words(rival, best) or all(map(_says_nothing, rival.meanings)):
            continue
        if not _is_near(rival, best, margins):
            continue
        if not (_only_asks(best) and _only_asks(rival) and same_answer(best, rival)):
            return rival
    return None


def _same_but_for_free_words(one: ScoredHypothesis, other: ScoredHypothesis) -> bool:
    """Whether two readings mean the same, or are remarks in other words about the same thing.

    No recogniser that is held to a grammar hears free words surely; a remark is kept with its
    sound, and nothing is reckoned from its words. Nor is it another remark when what ``other`` is
    about ("tree twelve") stands among the words of ``one``.
    """
    mine, theirs = _without_free_words(one), _without_free_words(other)
    if len(mine) != len(theirs):
        return False
    return all(
        said == told or _says_less(said, told) for said, told in zip(mine, theirs, strict=True)
    )


def _says_less(one: Meaning, other: Meaning) -> bool:
    if not (isinstance(one, Remark) and isinstance(other, Remark)):
        return False
    return one.json_fields().items() <= other.json_fields().items()


def _without_free_words(candidate: ScoredHypothesis) -> tuple[Meaning, ...]:
    return tuple(
        meaning.replace(text="") if isinstance(meaning, Remark) else meaning
        for meaning in candidate.meanings
    )


def _is_near(rival: ScoredHypothesis, best: ScoredHypothesis, margins: ConfidenceMargins) -> bool:
    return rival.total - best.total < _margin_between(rival, best, margins)


def _margin_between(
    rival: ScoredHypothesis, best: ScoredHypothesis, margins: ConfidenceMargins
) -> float:
    """Return how much dearer ``rival`` must be; the book may speak for one of two numbers."""
    if rival.words == best.words:
        return margins.parted if _part_a_number(rival, best) else margins.same_words
    if rival.words[:1] == best.words[:1]:
        return margins.mended
    if len(rival.meanings) != len(best.meanings):
        return margins.parts
    if _but_for_numbers(rival) != _but_for_numbers(best) and _is_free(rival, best):
        return margins.parts
    if _but_for_numbers(rival) != _but_for_numbers(best):
        return margins.other
    if rival.price > best.price:
        return margins.mended
    if not _sound_alike(rival, best):
        return margins.numbers
    asked = all(isinstance(one, Ask) for one in (*rival.meanings, *best.meanings))
    return margins.alike_asked if asked else margins.alike


def _part_a_number(one: ScoredHypothesis, other: ScoredHypothesis) -> bool:
    """Whether the tree of one is the other's tens alone: the rest was taken for something else."""
    trees = [[getattr(said, "tree", None) for said in each.meanings] for each in (one, other)]
    pairs = [
        sorted((mine, theirs))
        for mine, theirs in zip(*trees, strict=False)
        if isinstance(mine, int) and isinstance(theirs, int) and mine != theirs
    ]
    return any(low % 10 == 0 and 0 < high - low < 10 for low, high in pairs)


def _is_free(*candidates: ScoredHypothesis) -> bool:
    """Whether free words are in any of these: they take in whatever was said."""
    return any(isinstance(meaning, Remark) for one in candidates for meaning in one.meanings)


def _but_for_numbers(candidate: ScoredHypothesis) -> list[object]:
    return [meaning.without_numbers() for meaning in candidate.meanings]


def _sound_alike(one: ScoredHypothesis, other: ScoredHypothesis) -> bool:
    """Whether the numbers of two readings differ as thirteen and thirty do, and in no other way."""
    numbers = ([n for said in each.meanings for n in said.numbers()] for each in (one, other))
    return all(a == b or _are_twins(a, b) for a, b in zip(*numbers, strict=True))


def _are_twins(one: float, other: float) -> bool:
    """Whether these are 13 and 30, 90 and 19, 115 and 150; 4 and 40, 108 and 180; 2 and 10."""
    hundreds = one // 100 * 100
    rests = {one - hundreds, other - hundreds}
    return sound_alike(one - hundreds) == other - hundreds or rests in _ALSO_ALIKE


#: Numbers that hearing takes for each other as it does teens and tens: a last syllable is lost or
#: made up, and for speakers from Britain "two" and "ten" are near.
_ALSO_ALIKE = ({4, 40}, {6, 60}, {7, 70}, {8, 80}, {9, 90}, {2, 10})


def _denies_its_note(meanings: tuple[Meaning, ...]) -> bool:
    """Whether this is "don't dump tank two", or "no" and a note in one breath."""
    denied = any(isinstance(meaning, Command) and meaning.do == "deny" for meaning in meanings)
    return denied and len(meanings) > 1


def _may_be_of_another_thing(candidate: ScoredHypothesis) -> bool:
    """Whether a thing was named that is not in the note or the correction, or is not said but is.

    "The bucket at tree six is dead" is no dying tree; "tree four has no bucket" no empty one.
    """
    return bool(candidate.nouns) and any(
        isinstance(one, Act) or (isinstance(one, Command) and one.do in ("correct", "undo"))
        for one in candidate.meanings
    )


def _worth_asking(meaning: Meaning) -> bool:
    """Whether a doubtful reading is worth a question; "no: yes or no?" is none."""
    if isinstance(meaning, Command):
        return meaning.do in ("undo", "correct", "restore", "finish_round")
    return not isinstance(meaning, EntityMention)


def _says_nothing(meaning: Meaning) -> bool:
    """Whether this is a bare value: "twelve", "two gallons"."""
    return isinstance(meaning, EntityMention) and not meaning.mention.keys() & {
        "tree", "trees", "vessel",
    }  # fmt: skip
