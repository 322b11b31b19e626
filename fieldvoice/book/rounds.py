"""The rounds walked from tree to tree, and the order in which the trees are usually come to."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from fieldvoice.schema import TreeId, acts, plain_name
from fieldvoice.schema.acts import AnyAct

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldvoice.schema import Act

#: A pause after which the next tree begins another round, when nobody said that one began or ended
#: (a design choice: on a strong run buckets are emptied twice a day, which is common practice, and
#: no two trees of one round are three hours apart).
PAUSE = timedelta(hours=3)


@dataclass(frozen=True, slots=True)
class Round:
    """One round: when it began and ended, and what was noted of trees in it, in order of time.

    ``ended_at`` is None while nobody has said that it is over. ``announced`` tells that its start
    was said. ``trees`` are in the order in which they were first come to.
    """

    began_at: datetime
    ended_at: datetime | None = None
    announced: bool = False
    trees: tuple[TreeId, ...] = ()
    notes: tuple[tuple[datetime, Act], ...] = ()

    @property
    def last_at(self) -> datetime:
        """When the last thing was noted in it."""
        return self.notes[-1][0] if self.notes else self.began_at

    def is_open(self, now: datetime) -> bool:
        """Whether it is still being walked; one said to begin lasts to the end of the day."""
        return self.ended_at is None and not _paused(self.announced, self.last_at, now)


def trees_in(act: Act) -> tuple[TreeId, ...]:
    """Return the trees that a note names, each once."""
    if isinstance(act, acts.OfTrees):
        if not act.trees:
            return () if act.tree is None else (act.tree,)
        one = () if act.tree is None else (act.tree,)
        return tuple(dict.fromkeys((*one, *act.trees)))
    if not isinstance(act, (acts.Remark, acts.Name)):
        return ()
    if act.tree is not None:
        return (act.tree,)
    if isinstance(act, acts.Remark) or act.name is None or act.vessel is not None:
        return ()
    return (plain_name(act.name),)


def visited_in(act: Act) -> tuple[TreeId, ...]:
    """Return the trees that somebody stood at to make this note.

    Names and places are told from anywhere, and a tree skipped is still to be come to.
    """
    return () if isinstance(act, acts.Name | acts.Stand | acts.Skip) else trees_in(act)


def _paused(announced: bool, last_at: datetime, at: datetime) -> bool:
    if announced:
        return at.date() != last_at.astimezone(at.tzinfo).date()
    return at - last_at > PAUSE


def _merged(before: Sequence[TreeId], walked: Sequence[TreeId]) -> list[TreeId]:
    merged, known = list(walked), set(before)
    ahead: TreeId | None = None
    for tree in before:
        if tree not in merged:
            place = 0 if ahead is None else merged.index(ahead) + 1
            # Trees come to for the first time belong where they were come to.
            while ahead is not None and place < len(merged) and merged[place] not in known:
                place += 1
            merged.insert(place, tree)
        ahead = tree
    return merged


@dataclass(slots=True)
class _Walked:
    """A round in the making."""

    began_at: datetime
    announced: bool = False
    ended_at: datetime | None = None
    trees: list[TreeId] = field(default_factory=list)
    notes: list[tuple[datetime, AnyAct]] = field(default_factory=list)

    def is_over_for(self, trees: tuple[TreeId, ...], at: datetime) -> bool:
        last_at = self.notes[-1][0] if self.notes else self.began_at
        if self.ended_at is not None:
            return at - last_at > PAUSE or any(tree in self.trees for tree in trees)
        return _paused(self.announced, last_at, at)

    def visit(self, at: datetime, act: Act, trees: tuple[TreeId, ...]) -> None:
        self.trees.extend(tree for tree in trees if tree not in self.trees)
        self.notes.append((at, act))

    def round(self) -> Round:
        return Round(
            self.began_at, self.ended_at, self.announced, tuple(self.trees), tuple(self.notes)
        )


@dataclass(slots=True)
class Rounds:
    """The rounds in the making, note by note in order of time.

    Of ``most`` rounds and more only the last are kept with their notes; ``before`` is the walk that
    those let go come to.
    """

    walked: list[_Walked] = field(default_factory=list)
    before: list[TreeId] = field(default_factory=list)
    most: int | None = None

    def take(self, at: datetime, act: Act, visited: tuple[TreeId, ...]) -> None:
        """Take in one note, made standing at the trees ``visited``."""
        if isinstance(act, acts.Round):
            self._announced(at, act)
        elif visited:
            if not self.walked or self.walked[-1].is_over_for(visited, at):
                self._begin(_Walked(at))
            self.walked[-1].visit(at, act, visited)

    def rounds(self) -> tuple[Round, ...]:
        """Return the rounds kept, oldest first."""
        return tuple(walked.round() for walked in self.walked)

    def walk(self) -> tuple[TreeId, ...]:
        """Return the trees in the order in which the rounds come to them."""
        walk = self.before
        for walked in self.walked:
            walk = _merged(walk, walked.trees)
        return tuple(walk)

    def _begin(self, walked: _Walked) -> None:
        self.walked.append(walked)
        if self.most is not None and len(self.walked) > self.most:
            self.before = _merged(self.before, self.walked.pop(0).trees)

    def _announced(self, at: datetime, act: acts.Round) -> None:
        if act.phase == "start":
            self._begin(_Walked(at, announced=True))
        elif self.walked and self.walked[-1].ended_at is None:
            self.walked[-1].ended_at = at
