"""Confidence: better evidence never lowers it, and its curve is found from cases."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchmarks.reliability import Case, cases_of, fitted, off_by
from fieldvoice.asr.confidence import (
    BOTH,
    FIRST,
    FREE_TEXT,
    MOST_LOG_ODDS,
    Curve,
    best_log_odds,
    scaled_fit,
    with_confidence,
    word_log_odds,
)
from fieldvoice.transcript import NBestEntry, Transcript, Word

CURVES = [
    pytest.param(curve, id=f"{name} {part}")
    for name, curves in (("first", FIRST), ("both", BOTH), ("free", FREE_TEXT))
    for part, curve in (("utterance", curves.utterance), ("word", curves.word))
]
SOME = st.floats(-MOST_LOG_ODDS, MOST_LOG_ODDS)


def hearings(*ranked: tuple[str, float]) -> tuple[NBestEntry, ...]:
    return tuple(NBestEntry(text, score) for text, score in ranked)


def words(text: str) -> tuple[Word, ...]:
    return tuple(Word(one, at, at + 1.0, 0.5) for at, one in enumerate(text.split()))


@pytest.mark.parametrize("curve", CURVES)
@given(share=SOME, more=st.floats(0, 6), fit=st.floats(-2, 2), better=st.floats(0, 2))
def test_better_evidence_never_lowers_a_confidence(
    curve: Curve, share: float, more: float, fit: float, better: float
) -> None:
    before = curve.at(share, fit)
    assert 0 <= before <= 1
    assert curve.at(share + more, fit) >= before
    assert curve.at(share, fit + better) >= before


@pytest.mark.parametrize(
    ("ranked", "log_odds"),
    [
        ([("tree nine", 0.0), ("tree five", 0.0)], 0.0),
        ([("tree nine", 0.0), ("tree five", -20.0)], 2.0),
        ([("tree nine", 0.0), ("tree five", -500.0)], MOST_LOG_ODDS),
        ([("tree nine", 0.0)], MOST_LOG_ODDS),
        ([("Tree nine.", 0.0), ("tree nine", 0.0), ("tree five", -20.0)], 2 + np.log(2)),
        ([("tree ten", 0.0), ("tree nine", 0.0), ("tree five", 0.0)], -np.log(2)),
        ([], -MOST_LOG_ODDS),
    ],
)
def test_the_weight_of_the_best_hearing_against_the_others(
    ranked: list[tuple[str, float]], log_odds: float
) -> None:
    """Stops and capitals make no other hearing."""
    assert best_log_odds(hearings(*ranked)) == pytest.approx(log_odds)


def test_a_word_is_as_sure_as_the_hearings_that_have_it_in_its_place() -> None:
    said = "tree nine half full"
    ranked = hearings((said, 0.0), ("tree five half full", -5.0), ("tree nine is half full", -8.0))
    odds = word_log_odds(said.split(), ranked)
    assert odds[0] == odds[2] == odds[3] == MOST_LOG_ODDS
    others = np.exp(-0.5)
    assert odds[1] == pytest.approx(np.log((1 + np.exp(-0.8)) / others))


def test_the_confidence_of_a_hearing_and_its_words() -> None:
    said = "tree nine half full"
    ranked = hearings((said, 0.0), ("tree five half full", -2.0))
    heard = with_confidence(Transcript(said, words(said), 0.0, ranked, fit=0.001), FIRST)
    clear = with_confidence(Transcript(said, words(said), 0.0, ranked[:1], fit=0.001), FIRST)
    tree, nine, *_ = heard.words
    assert nine.confidence < tree.confidence
    assert heard.confidence < clear.confidence
    assert [word.start_s for word in heard.words] == [0, 1, 2, 3]


def test_nothing_heard_is_nothing_to_be_sure_of() -> None:
    assert with_confidence(Transcript("", confidence=0.7), FIRST).confidence == 0


@pytest.mark.parametrize(("fit", "scaled"), [(None, 0.0), (0.0005, 0.5), (-0.1, -2.0), (0.1, 2.0)])
def test_a_fit_as_the_curves_take_it(fit: float | None, scaled: float) -> None:
    assert scaled_fit(fit) == pytest.approx(scaled)


def test_a_curve_is_found_again_from_what_it_makes() -> None:
    """From cases that a known curve has drawn, to a few in a hundred."""
    true = Curve(-0.5, 0.8, 0.6)
    chance = np.random.default_rng(4)
    drawn = [(chance.uniform(-6, 6), chance.uniform(-2, 2)) for _ in range(4000)]
    cases = [Case(share, fit, chance.random() < true.at(share, fit)) for share, fit in drawn]
    found = fitted(cases)
    assert found.share == pytest.approx(true.share, abs=0.1)
    assert found.fit == pytest.approx(true.fit, abs=0.15)
    assert off_by(cases, found) < 0.03
    assert off_by(cases, Curve(2.0, 0.0)) > 0.2


def test_what_counts_as_right() -> None:
    """Words in figures are those said; a word that was not said is wrong, and so is the whole."""
    right = cases_of(
        "tree nine half full", Transcript("Tree 9 half full.", words("Tree 9 half")), ()
    )
    assert [case.right for case in right.utterances] == [True]
    wrong = Transcript("tree five half full", words("tree five half full"))
    cases = cases_of("tree nine half full", wrong, ())
    assert [case.right for case in cases.utterances] == [False]
    assert [case.right for case in cases.words] == [True, False, True, True]
    assert cases_of("tree nine", Transcript(""), ()).utterances == []
