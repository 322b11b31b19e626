"""Confidence that means something: of hearings at 0.9, about nine in ten are right.

The engines' own figures are no probabilities. What is known of a hearing (how far others are
behind it, how well the sound fits) goes through a logistic curve each for utterances and for words
(J. Platt, "Probabilistic outputs for support vector machines and comparisons to regularized
likelihood methods", in Advances in Large Margin Classifiers, MIT Press, 2000, pages 61 to 74).
``python -m benchmarks.reliability FOLDER --fit`` reckons the constants from recordings and prints
them as they stand here.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.transcript import NBestEntry, Transcript

#: Scores of whole utterances overstate what they know, frame by frame; times this they behave like
#: log odds.
SCORE_TO_LOG_ODDS = 0.1
#: The furthest that shares are told apart, in log odds: beyond, hardly another hearing
#: was found, which says little.
MOST_LOG_ODDS = 6.0
#: A fit is in log likelihood a frame; times this it is a number about one.
FIT_SCALE = 1000.0

# What may stand between words and makes no other word.
_STOPS = re.compile(r"[.,;:!?]+(?=\s|$)")


@dataclass(frozen=True, slots=True)
class Curve:
    """A logistic curve: where it begins, and what each thing known adds in log odds.

    ``share`` is for each log odds of the share that a hearing, or a word at its place, has of the
    weight of all hearings; ``fit`` for each 0.001 of ``Transcript.fit``. Neither is negative, so
    that better evidence never lowers a confidence.
    """

    begin: float
    share: float
    fit: float = 0.0

    def at(self, share: float, fit: float) -> float:
        """Return the confidence, 0 to 1, for log odds of a share and a fit as scaled here."""
        return 1 / (1 + math.exp(-(self.begin + self.share * share + self.fit * fit)))


@dataclass(frozen=True, slots=True)
class Curves:
    """What a recogniser's hearings are worth, and their words."""

    utterance: Curve
    word: Curve


#: Of the bundled recogniser; of it and a second listener together; of one that hears any words.
FIRST = Curves(utterance=Curve(-1.05, 1.22, 0.73), word=Curve(-1.85, 1.40, 1.00))
BOTH = Curves(utterance=Curve(0.13, 0.76, 0.82), word=Curve(-0.07, 0.81, 1.42))
FREE_TEXT = Curves(utterance=Curve(0.31, 1.34), word=Curve(0.91, 0.81))


def with_confidence(heard: Transcript, curves: Curves) -> Transcript:
    """Return ``heard`` with the confidence of the whole and of each word."""
    if not heard.text:
        return replace(heard, confidence=0.0)
    fit = scaled_fit(heard.fit)
    shares = word_log_odds([word.text for word in heard.words], heard.alternatives)
    words = tuple(
        replace(word, confidence=curves.word.at(share, fit))
        for word, share in zip(heard.words, shares, strict=True)
    )
    sure = curves.utterance.at(best_log_odds(heard.alternatives), fit)
    return replace(heard, confidence=sure, words=words)


def best_log_odds(alternatives: Sequence[NBestEntry]) -> float:
    """Return the log odds of the first hearing's share of the weight of them all.

    Hearings that differ in stops and capitals alone are one.
    """
    weights = _weights(alternatives)
    best = _plain(alternatives[0].text) if alternatives else []
    having = sum(
        weight
        for one, weight in zip(alternatives, weights, strict=True)
        if _plain(one.text) == best
    )
    return _log_odds(having, sum(weights) - having)


def word_log_odds(words: Sequence[str], alternatives: Sequence[NBestEntry]) -> list[float]:
    """Return the log odds, for each word, of the weight of hearings that have it at its place."""
    having = [0.0] * len(words)
    weights = _weights(alternatives)
    said = [" ".join(_plain(word)) for word in words]
    for one, weight in zip(alternatives, weights, strict=True):
        matcher = SequenceMatcher(a=said, b=_plain(one.text), autojunk=False)
        for block in matcher.get_matching_blocks():
            for at in range(block.a, block.a + block.size):
                having[at] += weight
    whole = sum(weights)
    return [_log_odds(weight, whole - weight) for weight in having]


def scaled_fit(fit: float | None) -> float:
    """Return a fit as the curves take it; where it was not measured it says nothing."""
    return 0.0 if fit is None else min(2.0, max(-2.0, fit * FIT_SCALE))


def _plain(text: str) -> list[str]:
    return _STOPS.sub("", text.lower()).split()


def _weights(alternatives: Sequence[NBestEntry]) -> list[float]:
    return [math.exp(SCORE_TO_LOG_ODDS * one.score) for one in alternatives]


def _log_odds(weight: float, rest: float) -> float:
    """Return log odds that a rounding cannot carry away."""
    if weight <= 0:
        return -MOST_LOG_ODDS
    if rest <= weight * math.exp(-MOST_LOG_ODDS):
        return MOST_LOG_ODDS
    return max(-MOST_LOG_ODDS, math.log(weight / rest))
