"""The hearings that an utterance leaves open: paths through the recogniser's lattice of words.

A lattice holds every word that the search found at all likely somewhere, with how well it explains
the sound from its start to that of the next. The engine's own way through it reckons with two words
of context, takes silences between them for a little less than they are, and lists the same words
many times over, so that what was said is often not in its list. Here the paths are followed one
by one, in order of time, with as many words of context as the language model has; ways to say the
same words that meet in one node are one.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    #: The natural logarithm of a word's probability after others, the last first.
    Language = Callable[[tuple[str, ...]], float]

START, END = "<s>", "</s>"

#: Paths further behind the best than this, in log units, are not followed: twice what any doubt
#: comes to, for a second listener may think better of them.
BEAM = 100.0
#: Hearings followed through one node; fewer where so many links are open, as in loud noise, that
#: it would come to more than so many steps (a tenth of a second or two).
AT_A_NODE = 12
MOST_STEPS = 100_000

#: The recogniser's scores are logarithms to a base; the natural logarithm of that.
LOG_BASE = math.log(1.0001)
# A link with a score below this is none.
_NO_LINK = -100_000_000
_VARIANT = re.compile(r"\(\d+\)$")
_NOWHERE = -math.inf


@dataclass(frozen=True, slots=True)
class Lattice:
    """Words at their places, and the links from one to the next.

    ``words`` and ``starts`` (frames) are one for each node; ``links`` gives for each node those it
    leads to, with the log likelihood of the node's own word up to there.
    """

    words: tuple[str, ...]
    starts: tuple[int, ...]
    links: tuple[tuple[tuple[int, float], ...], ...]
    first: int
    last: int
    frames: int

    def is_silent(self, node: int) -> bool:
        """Return whether a node stands for a pause or a noise, which is no word of the sentence."""
        return self.words[node][0] in "<[" and node not in (self.first, self.last)


@dataclass(frozen=True, slots=True)
class Hearing:
    """One hearing: its words, the frames from and to which each goes, and its log score."""

    words: tuple[str, ...]
    spans: tuple[tuple[int, int], ...]
    score: float

    @property
    def text(self) -> str:
        """The words with spaces between them."""
        return " ".join(self.words)


def read_lattice(text: str) -> Lattice:
    """Return the lattice in ``text``, as the engine writes it.

    Raises:
        ValueError: a part of it is missing, or no number where one must stand.
    """
    lines = iter(text.splitlines())
    frames = int(_after(lines, "Frames"))
    nodes = [line.split() for line in islice(lines, int(_after(lines, "Nodes")))]
    first, last = int(_after(lines, "Initial")), int(_after(lines, "Final"))
    links: list[list[tuple[int, float]]] = [[] for _ in nodes]
    _after(lines, "Edges")
    for line in lines:
        if line == "End":
            break
        here, there, score = map(int, line.split())
        if score > _NO_LINK:
            links[here].append((there, score * LOG_BASE))
    return Lattice(
        words=tuple(_VARIANT.sub("", word) for _, word, *_ in nodes),
        starts=tuple(int(start) for _, _, start, *_ in nodes),
        links=tuple(map(tuple, links)),
        first=first,
        last=last,
        frames=frames,
    )


def best_paths(lattice: Lattice, language: Language, context: int, count: int) -> list[Hearing]:
    """Return up to ``count`` different hearings, the best first, none further behind than ``BEAM``.

    ``context`` is how many words before it ``language`` takes for a word.
    """
    search = _Search(lattice, language, context)
    found = search.paths(at_a_node=1, floor=_NOWHERE)
    if found:
        best = max(score for score, _ in found.values())
        links = sum(map(len, lattice.links))
        many = min(AT_A_NODE, max(2, MOST_STEPS // links))
        found = search.paths(at_a_node=many, floor=best - BEAM)
    ranked = sorted(found.items(), key=lambda item: -item[1][0])[:count]
    return [search.hearing(words, score, trail) for words, (score, trail) in ranked]


def _after(lines: Iterator[str], name: str) -> str:
    for line in lines:
        found = line.split()
        if found and found[0] == name:
            return found[1] if len(found) > 1 else ""
    raise ValueError(f"no {name} in the lattice")


#: The nodes of a path, the last one first, each with the trail to it.
_Trail = tuple[int, "_Trail | None"]
#: Hearings that lead to a node, by their words.
_Hearings = dict[tuple[str, ...], tuple[float, _Trail]]


class _Search:
    """Follows the paths of one lattice."""

    def __init__(self, lattice: Lattice, language: Language, context: int) -> None:
        self._lattice = lattice
        self._language = language
        self._context = context
        self._known: dict[tuple[str, ...], float] = {}
        # a node's word ends where those that it leads to begin, so time is an order of the nodes
        self._nodes = sorted(range(len(lattice.words)), key=lattice.starts.__getitem__)
        self._silent = [lattice.is_silent(node) for node in range(len(lattice.words))]
        self._rest = self._best_rest()

    def _best_rest(self) -> list[float]:
        """Return how well the sound after each node can be explained at best, by any words."""
        lattice = self._lattice
        rest = [_NOWHERE] * len(lattice.words)
        rest[lattice.last] = 0.0
        for node in reversed(self._nodes):
            ways = (score + rest[there] for there, score in lattice.links[node])
            rest[node] = max(ways, default=rest[node])
        return rest

    def paths(self, at_a_node: int, floor: float) -> _Hearings:
        """Return the hearings that reach the end, none that cannot come to ``floor``."""
        lattice = self._lattice
        reached: list[_Hearings] = [{} for _ in lattice.words]
        reached[lattice.first] = {(START,): (0.0, (lattice.first, None))}
        for node in self._nodes:
            if node == lattice.last or not reached[node]:
                continue
            ranked = sorted(reached[node].items(), key=lambda item: -item[1][0])[:at_a_node]
            reached[node] = {}
            for there, score in lattice.links[node]:
                if self._rest[there] > _NOWHERE:
                    self._go_on(ranked, there, score, floor, reached[there])
        return reached[lattice.last]

    def _go_on(
        self,
        ranked: list[tuple[tuple[str, ...], tuple[float, _Trail]]],
        there: int,
        score: float,
        floor: float,
        into: _Hearings,
    ) -> None:
        """Follow hearings over one link, the likeliest first, and keep the best of the same."""
        word, rest = self._lattice.words[there], self._rest[there]
        for words, (so_far, trail) in ranked:
            total = so_far + score
            if total + rest < floor:
                break
            if not self._silent[there]:
                total += self._probability(word, words)
                if total + rest < floor:
                    continue
                words = (*words, word)
            if words not in into or total > into[words][0]:
                into[words] = (total, (there, trail))

    def _probability(self, word: str, before: tuple[str, ...]) -> float:
        key = (word, *before[: -self._context - 1 : -1])
        if key not in self._known:
            self._known[key] = self._language(key)
        return self._known[key]

    def hearing(self, words: tuple[str, ...], score: float, trail: _Trail) -> Hearing:
        """Return what was found, with the places of its words."""
        lattice = self._lattice
        spans: list[tuple[int, int]] = []
        after = lattice.frames
        here: _Trail | None = trail
        while here is not None:
            node, here = here
            if not self._silent[node] and node not in (lattice.first, lattice.last):
                spans.append((lattice.starts[node], after))
            after = lattice.starts[node]
        return Hearing(words[1:-1], tuple(reversed(spans)), score)
