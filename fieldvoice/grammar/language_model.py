"""A language model of what is said: n-grams, trained on sentences and written as ARPA text.

Interpolated smoothing, so that a probability and its history's back-off weight add up exactly:

    p(w | u v) = f(u v w) + weight(u v) · p(w | v)

where f is the discounted share of w after u v. Two ways of discounting: Kneser and Ney's (one
absolute discount an order; the lower orders count in how many contexts a word comes), after Chen
and Goodman, "An Empirical Study of Smoothing Techniques for Language Modeling", Harvard TR-10-98,
section 2.7; and Witten and Bell's (section 2.5 there). The ARPA form is that of the SRILM manual
page ngram-format(5).
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

Gram = tuple[str, ...]
Smoothing = Literal["kneser-ney", "witten-bell"]

START, END = "<s>", "</s>"
#: The log10 that ARPA files give to what never happens: a start mark inside a sentence.
NEVER = -99.0


@dataclass(frozen=True, slots=True)
class LanguageModel:
    """Probabilities of n-grams and back-off weights of histories, one mapping an order from 1."""

    probabilities: tuple[Mapping[Gram, float], ...]
    weights: Mapping[Gram, float]

    @property
    def order(self) -> int:
        """The longest n-gram's length."""
        return len(self.probabilities)

    @property
    def vocabulary(self) -> frozenset[str]:
        """Every word that may come next, the end mark included and the start mark not."""
        return frozenset(gram[0] for gram in self.probabilities[0])

    def probability(self, word: str, history: Sequence[str] = ()) -> float:
        """Return p(``word`` | ``history``), backing off as a recogniser does; 0 if unknown."""
        kept = tuple(history)[max(0, len(history) - self.order + 1) :]
        weight = 1.0
        while True:
            found = self.probabilities[len(kept)].get((*kept, word))
            if found is not None:
                return weight * found
            if not kept:
                return 0.0
            weight *= self.weights.get(kept, 1.0)
            kept = kept[1:]

    def perplexity(self, sentences: Iterable[Sequence[str]]) -> float:
        """Return the perplexity a word (end marks counted) of sentences of known words."""
        total, count = 0.0, 0
        for sentence in sentences:
            words = (START, *sentence, END)
            for at in range(1, len(words)):
                total -= math.log(self.probability(words[at], words[:at]))
            count += len(words) - 1
        return math.exp(total / count)

    def arpa(self) -> str:
        """Return the model as the text of an ARPA file, in sorted order."""
        tables = [dict(table) for table in self.probabilities]
        tables[0][(START,)] = 0.0
        parts = ["\\data\\\n"]
        parts += [f"ngram {order}={len(table)}\n" for order, table in enumerate(tables, start=1)]
        for order, table in enumerate(tables, start=1):
            parts.append(f"\n\\{order}-grams:\n")
            for gram in sorted(table):
                line = f"{_log10(table[gram]):.4f} {' '.join(gram)}"
                weight = self.weights.get(gram)
                parts.append(f"{line}\n" if weight is None else f"{line} {_log10(weight):.4f}\n")
        parts.append("\n\\end\\\n")
        return "".join(parts)


def train(
    sentences: Iterable[Sequence[str]],
    order: int = 3,
    smoothing: Smoothing = "kneser-ney",
    words: Iterable[str] = (),
) -> LanguageModel:
    """Return the model of ``sentences``; ``words`` that come in none get a small share as well.

    Raises:
        ValueError: when there are no sentences.
    """
    counts = _counts(sentences, order)
    if not counts[0]:
        raise ValueError("no sentences to learn from")
    if smoothing == "kneser-ney":
        counts = [*_contexts(counts), counts[-1]]
    vocabulary = {gram[0] for gram in counts[0]} | {END, *words}
    lower: dict[Gram, float] = {}
    probabilities: list[dict[Gram, float]] = []
    weights: dict[Gram, float] = {}
    for table in counts:
        share, weight = (_kneser_ney if smoothing == "kneser-ney" else _witten_bell)(table)
        if not probabilities:
            spare = weight[()] / len(vocabulary)
            lower = {(word,): share.get((word,), 0.0) + spare for word in sorted(vocabulary)}
        else:
            below = lower
            lower = {
                gram: part + weight[gram[:-1]] * below[gram[1:]] for gram, part in share.items()
            }
            weights.update(weight)
        probabilities.append(lower)
    return LanguageModel(tuple(probabilities), weights)


def _counts(sentences: Iterable[Sequence[str]], order: int) -> list[Counter[Gram]]:
    """Count the n-grams of each order, the start mark never as the word to come."""
    same = Counter(tuple(sentence) for sentence in sentences)
    counts: list[Counter[Gram]] = [Counter() for _ in range(order)]
    for sentence, times in same.items():
        words = (START, *sentence, END)
        for length, table in enumerate(counts, start=1):
            first = 1 if length == 1 else 0
            for at in range(first, len(words) - length + 1):
                table[words[at : at + length]] += times
    return counts


def _contexts(counts: list[Counter[Gram]]) -> list[Counter[Gram]]:
    """Return, for each order but the highest, in how many contexts an n-gram comes.

    What begins a sentence has no word before it and keeps its count, as in SRILM.
    """
    tables: list[Counter[Gram]] = []
    for length in range(1, len(counts)):
        table: Counter[Gram] = Counter()
        for gram in counts[length]:
            table[gram[1:]] += 1
        for gram, count in counts[length - 1].items():
            if gram[0] == START:
                table[gram] = count
        tables.append(table)
    return tables


def _kneser_ney(table: Mapping[Gram, int]) -> tuple[dict[Gram, float], dict[Gram, float]]:
    """Return the discounted share of each n-gram and what its history has left over.

    The discount is n1 / (n1 + 2 n2), n1 and n2 being how many n-grams were seen once and twice;
    one half where too little was seen to tell.
    """
    once = sum(1 for count in table.values() if count == 1)
    twice = sum(1 for count in table.values() if count == 2)
    discount = once / (once + 2 * twice) if once and twice else 0.5
    totals, kinds = _histories(table)
    share = {gram: (count - discount) / totals[gram[:-1]] for gram, count in table.items()}
    return share, {past: discount * kinds[past] / totals[past] for past in totals}


def _witten_bell(table: Mapping[Gram, int]) -> tuple[dict[Gram, float], dict[Gram, float]]:
    """The same by Witten and Bell: as much is left over as there are kinds of words seen."""
    totals, kinds = _histories(table)
    share = {gram: count / (totals[gram[:-1]] + kinds[gram[:-1]]) for gram, count in table.items()}
    return share, {past: kinds[past] / (totals[past] + kinds[past]) for past in totals}


def _histories(table: Mapping[Gram, int]) -> tuple[dict[Gram, int], dict[Gram, int]]:
    """Return for each history how often it comes and how many kinds of words follow it."""
    totals: dict[Gram, int] = defaultdict(int)
    kinds: dict[Gram, int] = defaultdict(int)
    for gram, count in table.items():
        totals[gram[:-1]] += count
        kinds[gram[:-1]] += 1
    return totals, kinds


def _log10(share: float) -> float:
    return math.log10(share) if share > 0 else NEVER
