"""When a card found is the answer: ``python -m models.reader.answering FOLDER``.

Fits the curve of ``card_finder.Answering`` to part "set" of the askings and of the lines that are
no notes (``models.reader.corpus.part``), each found among the askings that were taught, and writes
``answering.json`` beside the net in FOLDER. How it comes out on part "test" and on the askings held
out is printed: the error of the chance in ten bins of it, and what is answered at some thresholds.
"""

from __future__ import annotations

import json
import sys
from collections import defaultdict
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fieldvoice.grammar import load_grammar
from fieldvoice.handbook.loader import handbook_folder, load
from fieldvoice.nlu.card_finder import Answering, CardFinder, marks_of
from fieldvoice.nlu.normalise import words_of
from fieldvoice.nlu.reader_net import ReaderNet
from fieldvoice.nlu.second_reader import shares
from models.reader.corpus import part
from tests.handbook.other_mouths import held_out
from tests.nlu import tables

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from fieldvoice.handbook.card import Card

ROOT = Path(__file__).parents[2]


#: What keeps the weights of the curve small, and how often it is bettered.
_RIDGE, _ROUNDS = 0.05, 60


@dataclass(frozen=True)
class Line:
    """A line, the part it is for, and the card that answers it ("" for none)."""

    words: str
    part: str
    card: str


def lines(cards: Sequence[Card], split: Callable[[str], tuple[str, ...]]) -> Iterator[Line]:
    """Yield the lines that were not taught."""
    for card in cards:
        for asking in card.asked:
            yield Line(asking, part(split(asking), "card"), card.id)
    for path in sorted((ROOT / "sayings/none").glob("*.txt")):
        for saying in tables.sayings(path, with_meanings=False):
            yield Line(saying.words, part(split(saying.words), "none"), "")
    yield from (Line(asking.words, "test", asking.card) for asking in held_out())


def main(folder: Path) -> None:
    """Fit, write, tell."""
    vocabulary = load_grammar().words
    cards = load(handbook_folder()).cards

    def split(text: str) -> tuple[str, ...]:
        return words_of(text, vocabulary, breaks=True)

    net = ReaderNet(folder)
    taught = [
        replace(card, asked=tuple(a for a in card.asked if part(split(a), "card") == "learn"))
        for card in cards
    ]
    finder = CardFinder(taught, net, split, folder / "askings.npz")
    marks: dict[str, list[tuple[float, ...]]] = defaultdict(list)
    hits: dict[str, list[tuple[bool, bool]]] = defaultdict(list)
    for line in lines(cards, split):
        words = split(line.words)
        if line.part == "learn" or not words:
            continue
        guess = net.guess(words)
        nothing, odds = shares(guess)
        share = sum(one for kind, one in odds.items() if kind.startswith("card="))
        ranked = finder.ranked(line.words, guess)
        marks[line.part].append(marks_of(nothing, share, ranked))
        hits[line.part].append((bool(line.card), ranked[0][0] == line.card))
    curve = fitted(np.array(marks["set"]), np.array([right for _, right in hits["set"]]))
    (folder / "answering.json").write_text(
        json.dumps({name: round(one, 4) for name, one in asdict(curve).items()}, indent=1) + "\n"
    )
    print(curve)
    tell(np.array([curve.of(one) for one in marks["test"]]), hits["test"])


def fitted(marks: np.ndarray, right: np.ndarray) -> Answering:
    """Return the curve for (lines, 4) marks and whether the first card was right."""
    ones = np.c_[np.ones(len(marks)), marks]
    weights = np.zeros(ones.shape[1])
    for _ in range(_ROUNDS):  # Newton's method
        chance = 1 / (1 + np.exp(-ones @ weights))
        slope = ones.T @ (right - chance) - _RIDGE * weights
        bend = (ones * (chance * (1 - chance))[:, None]).T @ ones + _RIDGE * np.eye(len(weights))
        weights += np.linalg.solve(bend, slope)
    return Answering(*map(float, weights))


def tell(chance: np.ndarray, hits: Sequence[tuple[bool, bool]]) -> None:
    """Print how good the chances are."""
    is_asked = np.array([asked for asked, _ in hits])
    is_right = np.array([right for _, right in hits])
    bins = np.minimum((chance * 10).astype(int), 9)
    error = sum(
        abs(chance[bins == one].mean() - is_right[bins == one].mean()) * (bins == one).mean()
        for one in set(bins.tolist())
    )
    print(f"{len(hits)} lines, error of the chance {error:.3f}")
    for least in (0.2, 0.3, 0.4, 0.5, 0.6):
        taken = chance >= least
        print(
            f"  from {least}: askings answered {taken[is_asked].mean():.3f},"
            f" rightly {is_right[taken & is_asked].sum() / is_asked.sum():.3f};"
            f" of the rest answered {taken[~is_asked].mean() if (~is_asked).any() else 0:.3f}"
        )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
