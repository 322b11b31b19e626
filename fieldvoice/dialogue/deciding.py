"""What is to be done about words, by all who read them."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from fieldvoice.dialogue import policy
from fieldvoice.dialogue.dictation import with_words
from fieldvoice.dialogue.focus import Focus
from fieldvoice.dialogue.in_danger import eaten_after
from fieldvoice.dialogue.learning import may_be_learnt, readings_by_wording, with_wording
from fieldvoice.dialogue.narrowed import narrowed
from fieldvoice.dialogue.objections import Objection, objection
from fieldvoice.dialogue.policy import (
    Answer,
    Clarify,
    Commit,
    ConfidenceMargins,
    Reject,
    ScoredHypothesis,
)
from fieldvoice.dialogue.proposals import (
    ASKED,
    BANDS,
    FAINT,
    FREELY,
    NOT_ASKED,
    OF_OURS,
    TOLD_FREELY,
    proposed,
    with_second,
)
from fieldvoice.dialogue.waiting import (
    asks_to_agree,
    is_asked_of_ours,
    is_question,
    is_surely_question,
)
from fieldvoice.dialogue.weighing import answered_alike, sounding_alike, weigh, weigh_reading
from fieldvoice.schema import Act, Ask
from fieldvoice.schema.acts import Clean, Inspect, Reading, Remark
from fieldvoice.schema.asks.sap import LastWashed, SapAge, SapStored, VesselLevel
from fieldvoice.schema.asks.season import Advice
from fieldvoice.schema.asks.trees import TreeHistory, TreesSeen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.dialogue.context import Turn, TurnContext
    from fieldvoice.dialogue.household import Household
    from fieldvoice.dialogue.prompts import Meanings
    from fieldvoice.dialogue.proposals import Bands
    from fieldvoice.dialogue.reader import Reader
    from fieldvoice.nlu.chunker import Span
    from fieldvoice.nlu.second_reader import SecondReading
    from fieldvoice.nlu.wordings import Wording
    from fieldvoice.schema import Names
    from fieldvoice.transcript import Transcript


class Decider:
    """What the readers make of words: the exact parser, the wordings learnt, the second reader."""

    def __init__(self, household: Household, margins: ConfidenceMargins) -> None:
        self._household, self.margins = household, margins

    @property
    def reader(self) -> Reader:
        """Who reads, as the household counts now."""
        return self._household.reader

    def weighed(self, moment: TurnContext, heard: Transcript) -> list[ScoredHypothesis]:
        """Return the exact readings of what was heard, weighed against the book."""
        readings = self.reader.read(heard, names=moment.names)
        return [weigh_reading(reading, moment) for reading in readings]

    def by_all(
        self, moment: TurnContext, candidates: Sequence[ScoredHypothesis], heard: Transcript
    ) -> tuple[policy.Decision, Wording | None]:
        """Return what to do by the exact readings, or else by the wordings learnt, and by which."""
        opening = self.reader.opening(heard.text)
        decided = self.by_words(moment, candidates, heard, opening)
        remarks = is_unannounced(decided, heard, opening)
        if not remarks and not may_be_learnt(decided, heard):
            return decided, None
        readings = readings_by_wording(moment.book, self.reader, heard, moment.names)
        learnt = [
            (weigh_reading(one, moment), one.wording) for one in readings if one.wording is not None
        ]
        if not learnt:
            return decided, None
        told = [candidate for candidate, _ in learnt]
        candidates = [] if remarks else candidates
        everything = [*told, *sounding_alike(told, moment), *candidates]
        return with_wording(self.by_words(moment, everything, heard, opening), learnt)

    def by_words(
        self,
        moment: TurnContext,
        candidates: Sequence[ScoredHypothesis],
        heard: Transcript,
        opening: int = 0,
    ) -> policy.Decision:
        """Return what to do by the readings alone."""
        same_answer = partial(answered_alike, moment)
        return policy.decide(candidates, heard, self.margins, opening, same_answer)

    def second(
        self, moment: TurnContext, heard: Transcript, decided: policy.Decision
    ) -> SecondReading | None:
        """Return what the second reader makes of words that the grammar does not have, or doubts.

        What does not sound like speech of the grammar is not read at all; a question is no note.
        """
        if not may_be_learnt(decided, heard):
            return None
        asks = is_surely_question(heard.text, is_plain=heard.is_plain)
        reading = self.reader.second(heard, moment.names, asks_only=asks)
        if reading is None or not any(isinstance(one, Remark) for one in reading.meanings):
            return reading
        named = self.reader.named(heard.text, moment.names)
        return with_words(reading, heard.text, named)

    def by_second(
        self, moment: TurnContext, heard: Transcript, decided: policy.Decision
    ) -> tuple[policy.Decision, SecondReading | None]:
        """Return what is to be done when the second reader was asked too, and what it read.

        What was typed with a question mark is never saved unasked.
        """
        if is_asked(decided, heard):
            decided = Reject("asked, and no note")
        weighing = partial(weigh, moment=moment)
        if is_unannounced(decided, heard, self.reader.opening(heard.text)):
            return self._known_better(moment, heard, decided), None
        second = self.second(moment, heard, decided)
        bands = _bands_for(heard)
        decided = with_second(decided, second, weighing, bands, is_plain=heard.is_plain)
        if _tells_of_sap(decided, heard.text):
            decided = Reject("sap is told of, and no card asked for")
        if second is None and isinstance(decided, Reject) and moment.is_called:
            decided = self._faint(moment, heard, decided)
        decided = asked_first(decided, heard)
        if heard.is_typed and heard.text.rstrip().endswith("?"):
            decided = _how_it_looks(decided, moment)
        if isinstance(decided, Reject) and (eaten := eaten_after(heard.text, moment)):
            decided = Answer(weigh((eaten,), moment), echo=True)
        pieces = partial(self.reader.pieces, heard.text, moment.names)
        decided = narrowed(decided, heard.text, moment, pieces)
        return self._reasoned(moment, heard, decided), second

    def _reasoned(
        self, moment: TurnContext, heard: Transcript, decided: policy.Decision
    ) -> policy.Decision:
        """Return the card that says why a thing is as it is, where its state would be told."""
        if not isinstance(decided, Answer | Reject) or not _WHY.match(heard.text):
            return decided
        asked = decided.candidate.meanings if isinstance(decided, Answer) else ()
        if not all(isinstance(one, _STATES) for one in asked):
            return decided
        of_sap = heard.saying(_VESSEL.sub("the sap", heard.text))
        card = self.reader.second(of_sap, moment.names, cards_only=True)
        if card is None or not card.meanings or card.chance < BANDS.card:
            return decided
        return Answer(weigh(card.meanings, moment), echo=True)

    def _known_better(
        self, moment: TurnContext, heard: Transcript, decided: policy.Decision
    ) -> policy.Decision:
        """Return the note that the second reader surely has of words kept as a remark, if any."""
        weighing = partial(weigh, moment=moment)
        second = self.second(moment, heard, Reject("a remark"))
        better = with_second(Reject("a remark"), second, weighing, is_plain=True)
        is_note = isinstance(better, Commit) and not _is_of_remarks(better.candidate.meanings)
        return asked_first(better if is_note else decided, heard)

    def _faint(
        self, moment: TurnContext, heard: Transcript, decided: policy.Decision
    ) -> policy.Decision:
        """Return what is to be done about words that fit badly and were meant for us."""
        readings = []
        for text, bands in _faintly(heard).items():
            asks = is_surely_question(text, is_plain=False)
            reading = self.reader.second(heard.saying(text), moment.names, asks_only=asks)
            if reading and not any(isinstance(one, Remark) for one in reading.meanings):
                readings.append((reading, bands))
        readings.sort(key=lambda one: -one[0].chance)
        weighing = partial(weigh, moment=moment)
        known = (with_second(decided, reading, weighing, bands) for reading, bands in readings)
        return next((one for one in known if one is not decided), decided)

    def in_hand_after(self, moment: TurnContext, heard: Transcript, turn: Turn) -> Turn:
        """Return ``turn`` with nothing in hand where words not yet noted name something else.

        What is said next without a name may be of that.
        """
        if turn.outcome not in ("kept", "asked") or not turn.focus:
            return turn
        named = self.reader.named(heard.text, moment.names)
        is_other = any(not _is_in_hand(one, turn.focus, moment.season.names) for one in named)
        return replace(turn, focus=Focus()) if is_other else turn


def _bands_for(heard: Transcript) -> Bands:
    """Return the bands for what the second reader makes of words."""
    if not heard.is_plain or not is_surely_question(heard.text):
        return BANDS
    return OF_OURS if is_asked_of_ours(heard.text) else ASKED


def _tells_of_sap(decided: policy.Decision, text: str) -> bool:
    """Whether a card would be told where somebody tells what came: "the walnut had two gallons"."""
    is_told = isinstance(decided, Answer) and is_card(decided.candidate.meanings)
    return is_told and _GAVE.search(text) is not None and not is_question(text)


def _how_it_looks(decided: policy.Decision, moment: TurnContext) -> policy.Decision:
    """Return what the book has of a thing whose look was typed with a question mark: "t14 empty?".

    Where an amount was told it is asked whether that is to be saved.
    """
    options = decided.question.options if isinstance(decided, Clarify) else ()
    told = options[0][0] if len(options) == 1 and len(options[0]) == 1 else None
    ask: Ask | None = None
    if isinstance(told, Inspect) and told.tree in moment.season.trees:
        ask = TreeHistory(tree=told.tree)
    if isinstance(told, Reading) and told.volume_gal is None:
        ask = VesselLevel(vessel=told.vessel) if told.vessel in moment.season.vessels else None
    if isinstance(told, Clean):
        ask = LastWashed(vessel=told.vessel, item=told.item)
    return decided if ask is None else Answer(weigh((ask,), moment), echo=True)


_GAVE = re.compile(
    r"\b(?:had|gave|made|got|took|ran) (?:\w+ ){1,4}?(?:gal(?:lon)?s?|quarts?|lit(?:re|er)s?)\b",
    re.IGNORECASE,
)
#: "Why is the milk can cloudy" asks for a cause; what these tell is how it is.
_WHY = re.compile(r"(?:so |and |but )?(?:why|how come)\b", re.IGNORECASE)
_VESSEL = re.compile(
    r"\b(?:the )?(?:\w+ (?=can|barrel|tote))?(?:tank|barrel|tote|can|keg|drum)"
    r"(?: (?:one|two|three|four|five|six|\d+))?\b",
    re.IGNORECASE,
)
_STATES = (VesselLevel, SapAge, SapStored, TreeHistory, TreesSeen)


def _faintly(heard: Transcript) -> dict[str, Bands]:
    """Return the words in which what fits the grammar badly may be read, and the bands of each."""
    texts = {heard.text: (FAINT, NOT_ASKED)} if policy.may_be_put(heard) else {}
    free = heard.freely
    if free is not None and free.sure >= policy.HEARD_FREELY:
        is_sure = free.sure >= policy.SURE_FREELY
        texts[free.text] = (FREELY, TOLD_FREELY) if is_sure else (FAINT, NOT_ASKED)
    return {text: asks if is_question(text) else told for text, (asks, told) in texts.items()}


def is_asked(decided: policy.Decision, heard: Transcript) -> bool:
    """Whether what would be saved, or is asked about as a note, was plainly put as a question."""
    if not heard.is_plain:
        return False
    match decided:
        case Commit(candidate):
            asks = heard.text.rstrip().endswith("?") or asks_to_agree(heard.text)
            asks = asks or is_surely_question(heard.text)
            return asks and all(isinstance(one, Act) for one in candidate.meanings)
        case Clarify(question) if question.options:
            notes = all(isinstance(one, Act) for option in question.options for one in option)
            return notes and is_surely_question(heard.text)
    return False


def is_unannounced(decided: policy.Decision, heard: Transcript, opening: int) -> bool:
    """Whether plain words would be kept as a remark that nobody asked for: "t10 no lid"."""
    if not heard.is_plain or opening or not isinstance(decided, Commit):
        return False
    return _is_of_remarks(decided.candidate.meanings)


def _is_of_remarks(meanings: Meanings) -> bool:
    return all(isinstance(one, Remark) for one in meanings)


#: After these words something was still to be said.
_BREAKS_OFF = re.compile(
    r"\b(?:of|from|to|into|with|and|or|the|an?|our|my|than|because|but)\W*$", re.IGNORECASE
)


def asked_first(decided: policy.Decision, heard: Transcript) -> policy.Decision:
    """Return what is to be done, with notes put to the speaker that may be none as they stand.

    Those that were asked are, that break off, and those that something speaks against; where that
    is plain they are kept, put or not.
    """
    notes = _notes_of(decided)
    against = [objection(heard.text, one) for one in notes]
    if notes and all(one is Objection.KEEP for one in against):
        return Reject(Objection.KEEP.value)
    if not isinstance(decided, Commit):
        return decided
    breaks_off = _BREAKS_OFF.search(heard.text) and not _is_of_remarks(decided.candidate.meanings)
    if breaks_off or any(against) or is_asked(decided, heard):
        return proposed(decided.candidate)
    return decided


def _notes_of(decided: policy.Decision) -> tuple[Meanings, ...]:
    """Return the notes that would be saved, or each that is put to the speaker."""
    match decided:
        case Commit(candidate):
            return (candidate.meanings,)
        case Clarify(question):
            return question.options
    return ()


def _is_in_hand(named: Span, hand: Focus, names: Names) -> bool:
    """Whether a thing named is the one in hand; "the tank" may be tank 1."""
    if named.sort == "trees":
        return False
    value = names.numbered({named.sort: named.value})[named.sort]
    if named.sort == "tree":
        return bool(value == hand.tree)
    return hand.vessel is not None and f"{hand.vessel} ".startswith(f"{value} ")


def is_card(meanings: Meanings) -> bool:
    """Whether this is one card of the handbook and nothing else."""
    return len(meanings) == 1 and isinstance(meanings[0], Advice)
