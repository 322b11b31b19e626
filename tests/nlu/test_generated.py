"""Whatever the grammar can say is understood as it was meant; whatever is typed does no harm."""

from __future__ import annotations

import random
from itertools import groupby, pairwise
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldvoice.grammar.expect import accepts
from fieldvoice.grammar.sentences import Drawing
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.parser import WIDTH
from fieldvoice.nlu.semantics import compose
from fieldvoice.transcript import Transcript, typed
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Sequence

UNDERSTANDER = Interpreter(GRAMMAR)

# Some sentences mean two things by themselves ("tree eight sixty eight inches around"): the one
# they were drawn from must then be close behind, so that the conversation asks.
CLOSE = 0.35

NUMBERS = GRAMMAR.words_of("numbers.number_words")


def ways_to_cut(run: tuple[str, ...]) -> int:
    """Return into how many rows of whole numbers a run of number words can be cut."""
    if not run:
        return 1
    heads = (run[:end] for end in range(1, len(run) + 1))
    return sum(
        ways_to_cut(run[len(head) :])
        for head in heads
        if accepts(GRAMMAR.networks, "numbers.whole", head)
    )


def can_be_cut_anywhere(words: list[str]) -> bool:
    """Whether numbers stand in a row that has more cuts than the search keeps ways.

    "Tree five fifty three seventeen gallons": tree 553 and 17 gallons, tree 550 and 317, and so on;
    "trees nine ninety three hundred and twelve", whose hundreds may be of one or of the other.
    """
    runs = (tuple(run) for number, run in groupby(words, NUMBERS.__contains__) if number)
    return any(ways_to_cut(run) > WIDTH or "hundred" in run[2:] for run in runs)


def parts_a_number(trees: Sequence[int | str]) -> bool:
    """Whether a list has two trees for the words of one: "ninety five nine" is 95 and 9."""
    whole = [one for one in trees if isinstance(one, int)]
    return any(ten in range(20, 100, 10) and 0 < one < 10 for ten, one in pairwise(whole))


def test_few_sentences_can_be_cut_anywhere() -> None:
    """What is left out below is rare, and not what numbers are usually said like."""
    assert can_be_cut_anywhere("tree five fifty three seventeen gallons".split())
    for plain in (
        "tree twenty two two and a half gallons",
        "tank two has two hundred fifty gallons",
    ):
        assert not can_be_cut_anywhere(plain.split())
    samples = list(GRAMMAR.samples(600, seed=11))
    assert sum(can_be_cut_anywhere(sample.words) for sample in samples) < len(samples) / 50


@pytest.mark.long
def test_generated_sentences_parse_back_to_the_meaning_they_were_drawn_from() -> None:
    checked = first = 0
    for sample in GRAMMAR.samples(600, seed=11):
        try:
            wanted = [one.json_fields() for one in compose(sample.marks)]
        except ValueError:
            continue  # a range that runs backwards, or a remark without words
        if any(parts_a_number(one.get("trees", ())) for one in wanted):
            continue
        if any(one.get("text") == "" or one.get("name") == "" for one in wanted):
            continue
        if can_be_cut_anywhere(sample.words):
            continue
        readings = UNDERSTANDER.read(typed(" ".join(sample.words)))
        found = {repr([m.json_fields() for m in one.meanings]): one.cost for one in readings}
        checked += 1
        assert repr(wanted) in found, sample.words
        assert found[repr(wanted)] - readings[0].cost < CLOSE, sample.words
        first += repr(wanted) == repr([m.json_fields() for m in readings[0].meanings])
    assert checked > 550
    assert first / checked > 0.97


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=200))
def test_no_text_raises(text: str) -> None:
    for reading in UNDERSTANDER.read(typed(text)):
        assert reading.meanings


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "\x00\x07\x1b[31m", "🍁" * 200, "tree 🍁 nine", "дерево девять полное", "樹九滿了",
        "شجرة تسعة",
        "tree nine " * 2000, "9" * 5000, "a" * 50_000, "½" * 300, "tree\u202enine full",
    ],
)  # fmt: skip
def test_strange_text_is_read_or_not_but_never_raises(text: str) -> None:
    """Nothing at all, signs, other scripts and very long texts leave no note in the book."""
    for reading in UNDERSTANDER.read(typed(text)):
        assert reading.meanings


@settings(max_examples=150, deadline=None)
@given(st.lists(st.sampled_from(sorted(GRAMMAR.words)), max_size=12), st.booleans())
def test_no_mixture_of_the_grammars_own_words_raises(words: list[str], spoken: bool) -> None:
    text = " ".join(words)
    heard = Transcript(text, recogniser="trial") if spoken else typed(text)
    costs = [reading.cost for reading in UNDERSTANDER.read(heard)]
    assert costs == sorted(costs)


@pytest.mark.parametrize("seed", range(25))
def test_a_number_is_never_mended_into_another(seed: int) -> None:
    """Every number word replaced by a stranger leaves no reading with a number in its place."""
    chance = random.Random(seed)
    numbers = sorted(GRAMMAR.words_of("numbers.ones") | GRAMMAR.words_of("numbers.number_words"))
    sample = Drawing(GRAMMAR.sayable_rules, chance).draw("things.tree")
    said = [word for word in sample.words if word in numbers]
    strange = [chance.choice(numbers) if word in numbers else word for word in sample.words]
    swapped = [word for word in strange if word in numbers]
    for reading in UNDERSTANDER.read(typed(" ".join([*strange, "is", "empty"]))):
        taken = {word for pair in reading.repaired for word in pair}
        assert not taken & set(numbers), (said, swapped, reading)


@pytest.mark.parametrize(
    "text",
    ["tree seventeen wobbly smells sour", "tree one hundred and five wobbly bucket empty"],
)
def test_what_was_passed_over_are_words_of_the_sentence(text: str) -> None:
    readings = UNDERSTANDER.read(typed(text))
    passed_over = [word for reading in readings for word in reading.skipped]
    assert "wobbly" in passed_over
    assert set(passed_over) <= set(text.split())


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.integers(0, 10**9))
def test_any_sentence_of_the_grammar_is_read_as_it_was_meant_or_asked_about(seed: int) -> None:
    """What was meant is the first reading, or so close behind it that the conversation asks."""
    sample = next(GRAMMAR.samples(1, seed=seed))
    try:
        wanted = repr([one.json_fields() for one in compose(sample.marks)])
    except ValueError:
        return
    readings = UNDERSTANDER.read(typed(" ".join(sample.words)))
    if "'text': ''" in wanted or "'name': ''" in wanted or can_be_cut_anywhere(sample.words):
        return
    found = {repr([m.json_fields() for m in one.meanings]): one.cost for one in readings}
    assert wanted in found, sample.words
    assert found[wanted] - readings[0].cost < CLOSE, sample.words
