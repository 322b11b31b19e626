"""How likely a text is, beside every way to say it written out."""

from __future__ import annotations

import math
from itertools import groupby, product
from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.asr.ctc import BLANK, log_likelihoods

if TYPE_CHECKING:
    from fieldvoice.asr.ctc import Ways

MOMENTS, LABELS = 6, 4
_CHANCE = np.random.default_rng(1)
PROBABILITIES = _CHANCE.dirichlet(np.ones(LABELS), MOMENTS)

TEXTS: dict[str, list[Ways]] = {
    "one word": [((1, 2),)],
    "a word said in two ways": [((1,), (3, 1)), ((2,),)],
    "the same phone twice in a word": [((1, 1),), ((2,),)],
    "the same phone at the end and the beginning": [((1, 2), (2,)), ((2, 3), (3,))],
    "a phone more than once": [((1,),), ((2,),), ((1,),)],
}


def written_out(words: list[Ways]) -> float:
    """Return the likelihood of a text as the definition has it: sum over all fillings of time."""
    said = {sum(ways, ()) for ways in product(*words)}
    total = 0.0
    for labels in product(range(LABELS), repeat=MOMENTS):
        phones = tuple(label for label, _ in groupby(labels) if label != BLANK)
        if phones in said:
            total += math.prod(PROBABILITIES[at, label] for at, label in enumerate(labels))
    return math.log(total)


@pytest.mark.parametrize("words", TEXTS.values(), ids=TEXTS)
def test_a_text_is_as_likely_as_all_its_ways_together(words: list[Ways]) -> None:
    assert log_likelihoods(PROBABILITIES, [words]) == pytest.approx([written_out(words)])


def test_texts_are_reckoned_each_by_itself() -> None:
    together = log_likelihoods(PROBABILITIES, list(TEXTS.values()))
    assert together == pytest.approx([written_out(words) for words in TEXTS.values()])


def test_no_text_is_all_blank_and_no_texts_are_none() -> None:
    blank = math.log(PROBABILITIES[:, BLANK].prod())
    assert log_likelihoods(PROBABILITIES, [[]]) == pytest.approx([blank])
    assert log_likelihoods(PROBABILITIES, []) == []


def test_more_phones_than_moments_cannot_have_been_said() -> None:
    long, short = [((1, 2, 3, 1),), ((2, 3, 1),)], [((1,),)]
    assert log_likelihoods(PROBABILITIES, [long, short]) == [
        -math.inf,
        pytest.approx(written_out(short)),
    ]


def test_a_text_far_less_likely_than_another_is_still_reckoned() -> None:
    """Over a thousand moments likelihoods are far below what a number can hold."""
    sure = np.tile([[0.97, 0.01, 0.01, 0.01]], (1000, 1))
    first, never = log_likelihoods(sure, [[((1,),)], [((1,) * 1001,)]])
    # one stretch of a phone k moments long is left for each place and k: the sum by hand
    lengths = sum((1001 - k) * 0.01**k * 0.97 ** (1000 - k) for k in range(1, 60))
    assert first == pytest.approx(math.log(lengths))
    assert never == -math.inf
