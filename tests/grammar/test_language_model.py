"""The trigram model, against hand-worked figures and the laws every such model obeys."""

from __future__ import annotations

import itertools
import random
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldvoice.grammar.language_model import END, NEVER, START, Smoothing, train
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from pathlib import Path

SMOOTHINGS: tuple[Smoothing, ...] = ("kneser-ney", "witten-bell")
WORDS = ("tree", "tank", "two", "full")
sentences = st.lists(st.lists(st.sampled_from(WORDS), max_size=5).map(tuple), min_size=1)


def histories(words: frozenset[str]) -> list[tuple[str, ...]]:
    """Return all histories of up to two words, known and never seen."""
    known = sorted(words - {END})
    pairs = itertools.product([START, *known], known)
    return [(), (START,), *((word,) for word in known), *pairs]


@pytest.mark.parametrize("smoothing", SMOOTHINGS)
@given(spoken=sentences)
def test_what_may_come_next_adds_up_to_one(
    smoothing: Smoothing, spoken: list[tuple[str, ...]]
) -> None:
    """After any history, seen or not, the probabilities of all words sum to 1 and none is 0."""
    model = train(spoken, smoothing=smoothing, words=WORDS)
    for history in histories(model.vocabulary):
        shares = [model.probability(word, history) for word in model.vocabulary]
        assert sum(shares) == pytest.approx(1)
        assert min(shares) > 0


def test_witten_bell_by_hand() -> None:
    """Chen and Goodman, TR-10-98, section 2.5: p = (c + kinds · lower) / (total + kinds).

    Sentences "a b" and "a c". Of 6 words (end marks counted) 4 kinds: a 2, b 1, c 1, </s> 2, and
    1/4 each below that: p(a) = (2 + 4/4) / (6 + 4) = 0.3, p(b) = (1 + 4/4) / 10 = 0.2.
    After "a" came b and c, once each: p(b | a) = (1 + 2 · 0.2) / (2 + 2) = 0.35, and
    p(a | a) = 2 · 0.3 / 4 = 0.15. After "<s> a" the same again: p(b | <s> a) =
    (1 + 2 · 0.35) / 4 = 0.425.
    """
    model = train([("a", "b"), ("a", "c")], smoothing="witten-bell")
    assert model.probability("a") == pytest.approx(0.3)
    assert model.probability("b") == pytest.approx(0.2)
    assert model.probability("b", ["a"]) == pytest.approx(0.35)
    assert model.probability("a", ["a"]) == pytest.approx(0.15)
    assert model.probability("b", [START, "a"]) == pytest.approx(0.425)


def test_kneser_ney_by_hand() -> None:
    """Chen and Goodman, TR-10-98, section 2.7, as a bigram model.

    Sentences "san francisco" three times and "to francisco", "to town", "no town" once each.
    Bigrams seen once: "<s> no", "to francisco", "to town", "no town" (n1 = 4); twice: "<s> to",
    "town </s>" (n2 = 2); so D = 4 / (4 + 2·2) = 0.5. Below, a word counts by the words it follows:
    san, to, no 1 each, francisco, town, </s> 2 each, 9 in all; n1 = 3, n2 = 3, D = 3 / 9 = 1/3.
    That leaves 6 · 1/3 / 9 = 2/9 for 6 words alike, 1/27 each. "francisco" was said twice as often
    as "town", but after no more words: p(francisco) = p(town) = (2 - 1/3) / 9 + 1/27 = 2/9, and
    p(no) = p(san) = (1 - 1/3) / 9 + 1/27 = 1/9.
    p(town | to) = (1 - 0.5) / 2 + (0.5 · 2 / 2) · 2/9 = 0.25 + 1/9.
    """
    spoken = [("san", "francisco")] * 3 + [("to", "francisco"), ("to", "town"), ("no", "town")]
    model = train(spoken, order=2, smoothing="kneser-ney")
    assert model.probability("francisco") == pytest.approx(2 / 9)
    assert model.probability("town") == pytest.approx(2 / 9)
    assert model.probability("no") == pytest.approx(1 / 9)
    assert model.probability("town", ["to"]) == pytest.approx(0.25 + 1 / 9)
    assert model.probability("san", ["to"]) == pytest.approx(0.5 * 1 / 9)


@pytest.mark.parametrize("smoothing", SMOOTHINGS)
def test_the_arpa_text_says_what_the_model_says(smoothing: Smoothing) -> None:
    """Read back by the rules of ngram-format(5), the text gives every probability again."""
    chance = random.Random(3)
    spoken = [tuple(chance.choices(WORDS, k=chance.randint(1, 6))) for _ in range(40)]
    model = train(spoken, smoothing=smoothing)
    counts, tables = read_arpa(model.arpa())
    assert counts == [len(table) for table in tables]
    assert tables[0][START,][0] == NEVER

    def log10(gram: tuple[str, ...]) -> float:
        table = tables[len(gram) - 1]
        if gram in table:
            return table[gram][0]
        past = tables[len(gram) - 2].get(gram[:-1], (0.0, 0.0))
        return past[1] + log10(gram[1:])

    for history in histories(model.vocabulary):
        for word in model.vocabulary:
            expected = model.probability(word, history)
            assert 10 ** log10((*history, word)) == pytest.approx(expected, rel=1e-3)


def read_arpa(text: str) -> tuple[list[int], list[dict[tuple[str, ...], tuple[float, float]]]]:
    """Return the counts in the head of an ARPA file and its tables of (log10, back-off)."""
    head, *sections = text.split("-grams:\n")
    counts = [int(line.split("=")[1]) for line in head.splitlines() if line.startswith("ngram")]
    tables = []
    for order, section in enumerate(sections, start=1):
        table = {}
        for line in section.splitlines():
            if not line or line.startswith("\\"):
                break
            fields = line.split()
            weight = float(fields[order + 1]) if len(fields) > order + 1 else 0.0
            table[tuple(fields[1 : order + 1])] = (float(fields[0]), weight)
        tables.append(table)
    assert text.endswith("\\end\\\n")
    return counts, tables


def test_the_recogniser_reads_the_same_probabilities(tmp_path: Path) -> None:
    """The recogniser's own reader of ARPA files agrees, back-off included."""
    from pocketsphinx import Config, LogMath, NGramModel

    model = train([("tree", "two", "full"), ("tank", "two"), ("tree", "full")])
    path = tmp_path / "model.arpa"
    path.write_text(model.arpa())
    theirs = NGramModel(Config(lw=1.0, wip=1.0, loglevel="FATAL"), LogMath(), str(path))
    scale = LogMath()
    for history in [("tree",), ("two",), (START, "tree"), ("tank", "two"), ("two", "tank")]:
        for word in ("tree", "two", "full", "tank"):
            log = theirs.prob([word, *reversed(history)])
            assert scale.exp(log) == pytest.approx(model.probability(word, history), rel=2e-3)


def test_words_of_no_sentence_can_still_be_heard() -> None:
    model = train([("tree", "two")], words=["sugarbush"])
    assert 0 < model.probability("sugarbush", ["tree"]) < model.probability("two", ["tree"])
    assert model.probability("never", ["tree"]) == 0


def test_nothing_to_learn_from_is_an_error() -> None:
    with pytest.raises(ValueError, match="no sentences"):
        train([])


def test_the_same_sentences_give_the_same_text() -> None:
    spoken = list(GRAMMAR.sentences(300, seed=5))
    shuffled = random.Random(1).sample(spoken, len(spoken))
    assert train(spoken).arpa() == train(shuffled).arpa()


def test_kneser_ney_foresees_the_grammar_better() -> None:
    """Why it is the one used: on sentences not learnt from, its perplexity is lower."""
    grammar = GRAMMAR
    spoken, unseen = list(grammar.sentences(4_000, seed=1)), list(grammar.sentences(500, seed=2))
    known = {word for sentence in unseen for word in sentence}
    perplexity = {
        smoothing: train(spoken, smoothing=smoothing, words=known).perplexity(unseen)
        for smoothing in SMOOTHINGS
    }
    assert perplexity["kneser-ney"] < perplexity["witten-bell"]
    one_word = train(spoken, order=1, words=known).perplexity(unseen)
    assert perplexity["kneser-ney"] < one_word / 3
