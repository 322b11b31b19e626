"""Two listeners: what is made of their opinions, with listeners of the test's own."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from fieldvoice.asr.free_listener import Written
from fieldvoice.asr.system_combination import (
    ASKABLE,
    DISAGREEMENT,
    SURE_BY,
    SecondListener,
    SystemCombination,
    ranked_by_both,
)
from fieldvoice.dialogue.policy import COST_TO_ASK, COST_TO_SAVE, FIT_FLOOR
from fieldvoice.errors import RecogniserError
from fieldvoice.grammar import Grammar
from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.nlu.costs import PER_HEARING_SCORE
from fieldvoice.nlu.normalise import words_of
from fieldvoice.transcript import NBestEntry, Transcript, Word
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from fieldvoice.asr import Samples
    from fieldvoice.grammar.ahead import Beginning

WEIGHT = 15.0
SOUND = np.zeros(32_000, dtype=np.int16)


class SaidToWrite:
    """In the place of the model: writes what it is told to, and likes texts as it is told to."""

    name = "written"
    weight = WEIGHT

    def __init__(
        self,
        writes: Sequence[str],
        likes: Mapping[str, float] | None = None,
        sentences: Sequence[str] | None = None,
    ) -> None:
        self._writes, self._likes, self._sentences = writes, likes or {}, sentences
        self.asked: list[list[str]] = []
        self.names: list[EntityNames] = []

    def learn(self, names: EntityNames) -> None:
        self.names.append(names)

    def listen(self, samples: Samples) -> Any:
        return None

    def write(self, sound: Any, most: int = 1) -> list[Written]:
        return [Written(text, (1,), -0.2) for text in self._writes[:most]]

    def write_held(self, sound: Any, beginning: Beginning, most: int) -> list[str]:
        assert self._sentences is not None, "nobody is held to fieldvoice's own grammar"
        assert beginning.next_words == {"the"}
        return list(self._sentences[:most])

    def log_likelihoods(self, sound: Any, texts: Sequence[str]) -> list[float]:
        self.asked.append(list(texts))
        return [self._likes.get(text, -40.0) for text in texts]

    def words(self, sound: Any, text: str, seconds: float) -> tuple[Word, ...]:
        return tuple(Word(one, 0.0, seconds, 0.5) for one in text.split())


class Broken(SaidToWrite):
    def listen(self, samples: Samples) -> Any:
        raise RecogniserError("the Whisper model cannot be opened")


class First:
    """In the place of the first listener."""

    name = "first"

    def __init__(self, heard: Transcript) -> None:
        self._heard = heard
        self.names: list[EntityNames] = []

    def learn(self, names: EntityNames) -> None:
        self.names.append(names)

    def recognise(self, samples: Samples) -> Transcript:
        return self._heard


def heard(*ranked: tuple[str, float], fit: float = 0.001, confidence: float = 0.5) -> Transcript:
    best = ranked[0][0]
    words = tuple(Word(one, at, at + 1.0, 0.5) for at, one in enumerate(best.split()))
    alternatives = tuple(NBestEntry(text, score) for text, score in ranked)
    return Transcript(best, words, confidence, alternatives, fit, "first")


def second(model: SaidToWrite, grammar: Grammar = GRAMMAR) -> SecondListener:
    return SecondListener(model, grammar, lambda text: " ".join(words_of(text, grammar.words)))


def both(model: SaidToWrite, first: Transcript) -> Transcript:
    """Return what both hear where the first heard so."""
    return SystemCombination(First(first), second(model), live=False).recognise(SOUND)


NINE, FIVE = "tree nine half full", "tree five half full"


def test_where_both_like_the_same_the_other_falls_back() -> None:
    weighed = both(
        SaidToWrite(["Tree 9 half full."], {NINE: -1.0, FIVE: -3.0}),
        heard((NINE, 0.0), (FIVE, -4.0)),
    )
    assert weighed.text == NINE
    assert weighed.alternatives[0] == NBestEntry(NINE, 0.0)
    assert weighed.alternatives[1] == NBestEntry(FIVE, -4.0 - 2 * WEIGHT)
    assert weighed.words[0].start_s == 0
    assert weighed.recogniser == "first+written"


def test_the_second_puts_right_what_the_first_could_not_tell() -> None:
    """And the words have their places from where they were written."""
    weighed = both(
        SaidToWrite(["Tree 5, half full."], {NINE: -9.0, FIVE: -1.0}),
        heard((NINE, 0.0), (FIVE, -1.0)),
    )
    assert weighed.text == FIVE
    assert [word.text for word in weighed.words] == FIVE.split()
    assert {word.end_s for word in weighed.words} == {2.0}


def test_what_the_second_made_of_it_by_itself_is_told() -> None:
    weighed = both(
        SaidToWrite(["How sour is that?"], {NINE: -1.0}), heard((NINE, 0.0), (FIVE, -4.0))
    )
    assert weighed.freely is not None
    assert weighed.freely.text == "how sour is that"
    assert weighed.freely.sure == pytest.approx(math.exp(-0.2 / 2))


def test_agreement_makes_surer_and_disagreement_less_sure() -> None:
    first = heard((NINE, 0.0), (FIVE, -30.0))
    agreed = both(SaidToWrite([NINE], {NINE: -1.0, FIVE: -4.0}), first)
    torn = both(SaidToWrite([FIVE], {NINE: -3.0, FIVE: -1.0}), first)
    assert agreed.confidence > torn.confidence
    assert agreed.alternatives[1].score < -60
    assert {one.text for one in torn.alternatives[:2]} == {NINE, FIVE}


def test_where_both_are_sure_of_different_texts_neither_falls_behind() -> None:
    """However much more one of them cares; what the first is unsure of is the second's to say."""
    likes = {NINE: -9.0, FIVE: -1.0}
    torn = ranked_by_both({NINE: 0.0, FIVE: -SURE_BY}, likes, NINE, WEIGHT)
    assert torn == (NBestEntry(FIVE, 0.0), NBestEntry(NINE, -DISAGREEMENT))
    settled = ranked_by_both({NINE: 0.0, FIVE: 0.1 - SURE_BY}, likes, NINE, WEIGHT)
    assert settled[0].text == FIVE
    assert settled[1].score < -100


def test_what_the_first_heard_stays_near_enough_for_a_question() -> None:
    """Where only the second heard something else, which may be no sentence of the grammar."""
    likes = {NINE: -31.0, FIVE: -31.0, "x": -1.0}
    ranked = ranked_by_both({NINE: 0.0, FIVE: -20.0}, likes, NINE, WEIGHT)
    assert [one.text for one in ranked] == ["x", NINE, FIVE]
    assert ranked[1].score == -ASKABLE
    price = ASKABLE * PER_HEARING_SCORE
    assert COST_TO_SAVE < price < COST_TO_ASK


@pytest.mark.parametrize(
    ("written", "likely", "asked"),
    [
        ("what a nice dog that is", -1.0, False),  # no sentence has these, and by far likelier
        ("what a nice dog that is", -18.0, True),
        ("nine was not half full", -1.0, True),
    ],
)
def test_of_other_speech_nothing_is_asked(written: str, likely: float, asked: bool) -> None:
    weighed = both(
        SaidToWrite([written], {NINE: -25.0, FIVE: -30.0, written: likely}),
        heard((NINE, 0.0), (FIVE, -4.0)),
    )
    assert weighed.text == written
    assert (weighed.alternatives[1].score >= -ASKABLE) == asked


@pytest.mark.parametrize(
    ("writes", "fit", "found"),
    [(NINE, -0.002, 0.0), (NINE, 0.001, 0.001), (FIVE, -0.002, -0.002)],
)
def test_a_text_that_each_has_found_fits(writes: str, fit: float, found: float) -> None:
    weighed = both(SaidToWrite([writes], {NINE: -1.0}), heard((NINE, 0.0), fit=fit))
    assert weighed.text == NINE
    assert weighed.fit == found


def test_what_only_the_second_heard_is_weighed_too() -> None:
    model = SaidToWrite(["343, half full."], {NINE: -30.0, "tree forty three half full": -1.0})
    weighed = both(model, heard((NINE, 0.0)))
    assert weighed.text == "tree forty three half full"
    assert model.asked == [
        [NINE, "tree forty three half full", "three hundred forty three half full"]
    ]


def test_what_the_second_wrote_over_again_was_said_once() -> None:
    """Over a poor line such models go on with what they have just written."""
    model = SaidToWrite(["Tree 9 half full, tree 9 half full."], {NINE: -1.0, FIVE: -9.0})
    weighed = both(model, heard((NINE, 0.0)))
    assert weighed.text == NINE
    assert model.asked == [[NINE]]


def test_a_remark_has_the_words_of_the_one_who_hears_any() -> None:
    """No other remark stands beside it, and the fit to the grammar says nothing any more."""
    said = "Make a note, the gate by the creek squeaks."
    weighed = both(
        SaidToWrite([said]),
        heard(
            ("make a note the gate by the tree", 0.0),
            ("make a note the great", -1.0),
            ("tree four", -9.0),
            fit=2 * FIT_FLOOR,
        ),
    )
    assert weighed.text == said
    assert [one.text for one in weighed.alternatives] == [said, "tree four"]
    assert weighed.fit is None


def test_a_remark_with_another_number_is_no_less_doubtful_than_a_note() -> None:
    ours, theirs = "make a note tree nine is split", "make a note tree five is split"
    weighed = both(SaidToWrite([theirs], {ours: -2.0, theirs: -1.0}), heard((ours, 0.0)))
    assert {ours, theirs} <= {one.text for one in weighed.alternatives}
    assert weighed.fit == 0.001


def test_where_the_first_heard_nothing_the_second_is_not_asked() -> None:
    """In noise it may write what it was told to expect."""
    model = SaidToWrite(["tree one."])
    nothing = Transcript("", confidence=0.0, recogniser="first")
    assert both(model, nothing) is nothing
    assert model.asked == []


def test_a_model_that_is_broken_stops_a_memo_and_no_live_note() -> None:
    first = First(heard((NINE, 0.0)))
    with pytest.raises(RecogniserError, match="cannot be opened"):
        SystemCombination(first, second(Broken([])), live=False).recognise(SOUND)
    live = SystemCombination(first, second(Broken([])), live=True)
    assert live.recognise(SOUND).text == NINE


def test_both_learn_the_names() -> None:
    first, model = First(heard((NINE, 0.0))), SaidToWrite([])
    both = SystemCombination(first, second(model), live=False)
    names = EntityNames(trees=frozenset({"big yard"}))
    both.learn(names)
    assert first.names == model.names == [names]
    assert both.name == "first+written"


def test_scores_of_both_are_relative_to_the_best() -> None:
    ranked = ranked_by_both({"a": 0.0, "b": -10.0}, {"a": -3.0, "b": -3.0, "c": -60.0}, "a", WEIGHT)
    assert [one.text for one in ranked] == ["a", "b", "c"]
    assert ranked[0].score == 0
    assert ranked[1].score == pytest.approx(-10.0)


@pytest.fixture
def lamps(tmp_path: Path) -> Grammar:
    """Another narrow domain than fieldvoice's own."""
    sentence = "the (green | red) lamp (on | off)"
    (tmp_path / "fieldvoice.jsgf").write_text(
        f"#JSGF V1.0;\ngrammar fieldvoice;\npublic <utterance> = {sentence};\n"
    )
    return Grammar(tmp_path)


GREEN, RED, GRIN = "the green lamp on", "the red lamp on", "the grin lamp on"


@pytest.mark.parametrize(
    ("first", "likes", "best"),
    [
        # its own words are none of a sentence: its likeliest sentence is heard instead
        ((RED, "the red lamp off"), {GRIN: -1.0, GREEN: -3.0, RED: -20.0}, GREEN),
        # what the first heard is no sentence either, and is left out
        (("lamp red", "the lamp"), {GRIN: -1.0, GREEN: -3.0, RED: -20.0}, GREEN),
        # the first's sentence stands where the second likes it nearly as well
        ((RED, "the red lamp off"), {GRIN: -1.0, GREEN: -2.0, RED: -2.1}, RED),
    ],
)
def test_of_another_grammar_one_of_its_sentences_is_heard(
    lamps: Grammar, first: Sequence[str], likes: Mapping[str, float], best: str
) -> None:
    model = SaidToWrite(["The grin lamp on."], likes, [GREEN, RED])
    heard_first = heard(*((text, -float(at)) for at, text in enumerate(first)))
    combined = SystemCombination(First(heard_first), second(model, lamps), live=False)
    weighed = combined.recognise(SOUND)
    assert weighed.text == best
    assert GRIN not in [one.text for one in weighed.alternatives]


def test_a_part_of_a_sentence_is_not_made_a_whole_one(lamps: Grammar) -> None:
    said = "the green"
    model = SaidToWrite([said], {said: -1.0, GREEN: -9.0}, [GREEN, RED])
    combined = SystemCombination(First(heard((said, 0.0))), second(model, lamps), live=False)
    assert combined.recognise(SOUND).text == said


def test_other_speech_is_made_none_of_the_sentences_of_another_grammar(lamps: Grammar) -> None:
    said = "please pass me the salt"
    model = SaidToWrite([said], {said: -1.0}, [GREEN, RED])
    combined = SystemCombination(First(heard((RED, 0.0))), second(model, lamps), live=False)
    assert combined.recognise(SOUND).text == said
