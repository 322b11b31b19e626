"""Which card answers, and whether it does: ``python -m models.reader.answering FOLDER``.

Fits what ``card_finder`` weighs by, and writes ``answering.json`` beside the net in FOLDER:

- the side of askings among the net's vectors, by the askings and the other talk that were taught;
- how the measures of a card are joined, by part "set" of the askings
  (``models.reader.corpus.part``), each found among the askings that were taught;
- the curve of ``card_finder.Answering``, by part "set" of the askings, of the askings taken out,
  and of the lines that are no notes.

How it comes out on part "test", the askings held out among it, is printed: the cards right, the
error of the chance in ten bins of it, and what is answered at some thresholds. *Taken out* are the
askings once more, with their own card gone from the handbook and from what the net knows.
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
from fieldvoice.nlu.asking_vectors import AskingVectors, digest
from fieldvoice.nlu.card_finder import (
    Answering,
    CardFinder,
    Joining,
    marks_of,
    ranking_of,
)
from fieldvoice.nlu.normalise import words_of
from fieldvoice.nlu.reader_net import ReaderNet
from fieldvoice.nlu.second_reader import shares
from models.reader.corpus import part
from tests.handbook.other_mouths import held_out
from tests.nlu import tables

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from fieldvoice.handbook.card import Card
    from fieldvoice.nlu.reader_net import Guess

ROOT = Path(__file__).parents[2]


#: What keeps the weights of a curve small; of the 384 of the side.
_RIDGE, _RIDGE_OF_SIDE = 0.05, 1.0
#: How often the weights are bettered at most; they are done when no step is larger.
_ROUNDS, _SMALL_STEP = 30, 1e-4
#: There are five askings for a line of other talk: one of those counts for so many.
_OF_TALK = 3.0
#: The same of the lines that were not taught; and what an asking without its card counts, so that
#: six in ten are refused of what no card answers.
_OF_TALK_UNTAUGHT, _TAKEN_OUT = 4.0, 0.1
#: Kinds with less of a chance are not kept of a line: they change nothing.
_UNLIKELY = 1e-5


@dataclass(frozen=True)
class Line:
    """A line, the part it is for, and the card that answers it ("" for none)."""

    words: str
    part: str
    card: str


@dataclass(frozen=True)
class Found:
    """A line with what the net makes of it, and the measures (cards, 3) of all cards."""

    line: Line
    guess: Guess
    measures: np.ndarray


def lines(cards: Sequence[Card], split: Callable[[str], tuple[str, ...]]) -> Iterator[Line]:
    """Yield the lines of the handbook and of other talk."""
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

    net, ids = ReaderNet(folder), [card.id for card in cards]
    written = [line for line in lines(cards, split) if split(line.words)]
    side = side_of_askings(written, net, split, folder)
    found = found_in(written, cards, net, split, folder)
    joining = joined([one for one in found["set"] if one.line.card], ids)
    curve = curved(found["set"], ids, joining, side)
    write(folder / "answering.json", joining, curve)
    tell(found["test"], ids, joining, curve)


def side_of_askings(
    written: Sequence[Line], net: ReaderNet, split: Callable[[str], tuple[str, ...]], folder: Path
) -> tuple[float, ...]:
    """Return which way in the space of the net's vectors the taught askings lie from other talk."""
    stored = AskingVectors.stored(folder / "askings.npz", net.size)
    taught = [line for line in written if line.part == "learn"]
    vectors = []
    for line in taught:
        vector = stored.kept.get(digest(line.words)) if line.card else None
        if vector is None:
            vectors.append(net.guess(split(line.words)).vector)
        else:
            vectors.append(stored.unpacked(vector))
    is_asked = np.array([bool(line.card) for line in taught])
    counts = np.where(is_asked, 1.0, _OF_TALK)
    weights = logistic(np.array(vectors, np.float64), is_asked, _RIDGE_OF_SIDE, counts)
    return tuple(weights[1:].round(2).tolist())


def found_in(
    written: Sequence[Line], cards: Sequence[Card], net: ReaderNet,
    split: Callable[[str], tuple[str, ...]], folder: Path,
) -> dict[str, list[Found]]:  # fmt: skip
    """Return the lines that were not taught by their parts, found among the askings that were."""
    taught = [
        replace(card, asked=tuple(a for a in card.asked if part(split(a), "card") == "learn"))
        for card in cards
    ]
    finder = CardFinder(taught, net, split, folder / "askings.npz")
    found: dict[str, list[Found]] = defaultdict(list)
    for line in written:
        if line.part != "learn":
            guess = net.guess(split(line.words))
            likely = {kind: one for kind, one in guess.labels.items() if one > _UNLIKELY}
            slim = replace(guess, labels=likely, roles=())
            found[line.part].append(Found(line, slim, finder.measures(line.words, guess)))
    return found


def joined(found: Sequence[Found], ids: Sequence[str]) -> Joining:
    """Return the weights by which the measures make the right cards likeliest."""
    measures = np.array([one.measures for one in found])
    right = np.array([ids.index(one.line.card) for one in found])
    weights = np.ones(measures.shape[2])
    for _ in range(_ROUNDS):  # Newton's method
        scores = measures @ weights
        chance = np.exp(scores - scores.max(axis=1, keepdims=True))
        chance /= chance.sum(axis=1, keepdims=True)
        mean = np.einsum("nc,ncm->nm", chance, measures)
        slope = (measures[np.arange(len(right)), right] - mean).sum(axis=0) - _RIDGE * weights
        square = np.einsum("nc,ncm,nck->mk", chance, measures, measures) - mean.T @ mean
        weights += np.linalg.solve(square + _RIDGE * np.eye(len(weights)), slope)
    return Joining(*map(float, weights))


def curved(
    found: Sequence[Found], ids: Sequence[str], joining: Joining, side: tuple[float, ...]
) -> Answering:
    """Return the curve that tells whether the first card is the right one."""
    marks, right, counts = [], [], []
    for one in found:
        for without in ("", one.line.card) if one.line.card else ("",):
            told, first = marks_and_first(one, ids, joining, side, without)
            marks.append(told)
            right.append(first == one.line.card)
            counts.append(_TAKEN_OUT if without else 1.0 if one.line.card else _OF_TALK_UNTAUGHT)
    weights = logistic(np.array(marks), np.array(right), _RIDGE, np.array(counts))
    return Answering(*weights.tolist(), side=side)  # type: ignore[misc]


def marks_and_first(
    one: Found, ids: Sequence[str], joining: Joining, side: tuple[float, ...], without: str = ""
) -> tuple[tuple[float, ...], str]:
    """Return what ``Answering`` weighs and the first card, as if there were none ``without``."""
    labels = {kind: share for kind, share in one.guess.labels.items() if kind != f"card={without}"}
    guess = replace(one.guess, labels=labels)
    ranking = ranking_of(ids, one.measures, joining, without)
    return marks_of(guess, shares(guess)[0], ranking, side), ranking.cards[0][0]


def logistic(
    marks: np.ndarray, right: np.ndarray, ridge: float, counts: np.ndarray | float = 1.0
) -> np.ndarray:
    """Return base and weights of the curve for (lines, n) marks and whether each is right."""
    ones = np.c_[np.ones(len(marks)), marks]
    weights = np.zeros(ones.shape[1])
    for _ in range(_ROUNDS):  # Newton's method
        chance = 1 / (1 + np.exp(-ones @ weights))
        slope = ones.T @ (counts * (right - chance)) - ridge * weights
        bend = (ones * (counts * chance * (1 - chance))[:, None]).T @ ones
        step = np.linalg.solve(bend + ridge * np.eye(len(weights)), slope)
        weights += step
        if np.abs(step).max() < _SMALL_STEP:
            break
    return weights


def write(file: Path, joining: Joining, curve: Answering) -> None:
    """Write the curves as ``card_finder.stored_curves`` reads them."""
    told = {"joining": asdict(joining), "answering": asdict(curve)}
    for weights in told.values():
        weights.update({key: round(one, 4) for key, one in weights.items() if key != "side"})
    file.write_text(json.dumps(told) + "\n")


def tell(found: Sequence[Found], ids: Sequence[str], joining: Joining, curve: Answering) -> None:
    """Print how often the card is right, and how good the chances are."""
    asked = np.array([bool(one.line.card) for one in found])
    told = [marks_and_first(one, ids, joining, curve.side) for one in found]
    chance = np.array([curve.of(marks) for marks, _ in told])
    right = np.array([first == one.line.card for one, (_, first) in zip(found, told, strict=True)])
    gone = np.array([
        curve.of(marks_and_first(one, ids, joining, curve.side, one.line.card)[0])
        for one in found if one.line.card
    ])  # fmt: skip
    bins = np.minimum((chance * 10).astype(int), 9)
    error = sum(
        abs(chance[bins == one].mean() - right[bins == one].mean()) * (bins == one).mean()
        for one in set(bins.tolist())
    )
    print(f"{len(found)} lines, first {right[asked].mean():.3f}, error of chance {error:.3f}")
    for least in (0.2, 0.24, 0.28, 0.3, 0.35, 0.4, 0.45, 0.5, 0.6):
        taken = chance >= least
        print(
            f"  from {least}: askings answered {taken[asked].mean():.3f},"
            f" rightly {(taken & asked & right).sum() / asked.sum():.3f},"
            f" right ones refused {(~taken)[asked & right].mean():.3f};"
            f" taken out refused {(gone < least).mean():.3f};"
            f" of the rest answered {taken[~asked].mean() if (~asked).any() else 0:.3f}"
        )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
