"""Notes looked up when they are wanted: a long history need not be read for a short answer."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, overload

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from fieldvoice.schema import Act


class LazyNotes(Sequence["tuple[datetime, Any]"]):
    """Notes with their times, oldest first; read on first use, and equal to a tuple of the same.

    ``read`` returns the notes of one kind, or for None all.
    """

    __slots__ = ("_notes", "_read")

    def __init__(self, read: Callable[[str | None], Sequence[tuple[datetime, Act]]]) -> None:
        self._read = read
        self._notes: tuple[tuple[datetime, Act], ...] | None = None

    def all(self) -> tuple[tuple[datetime, Act], ...]:
        """Return the notes."""
        if self._notes is None:
            self._notes = tuple(self._read(None))
        return self._notes

    def of(self, kind: str) -> Sequence[tuple[datetime, Act]]:
        """Return the notes of one kind; the others need not be read for it."""
        return self._read(kind)

    @overload
    def __getitem__(self, index: int) -> tuple[datetime, Any]: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[tuple[datetime, Any], ...]: ...
    def __getitem__(self, index: int | slice) -> Any:
        """Return one note, or some."""
        return self.all()[index]

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.all())

    def __eq__(self, other: object) -> bool:
        """Whether ``other`` holds the same notes."""
        if isinstance(other, LazyNotes):
            return self.all() == other.all()
        return self.all() == other

    def __hash__(self) -> int:
        """Return a hash that equal tuples share."""
        return hash(self.all())

    def __repr__(self) -> str:
        """Return the notes as a tuple is written."""
        return repr(self.all())
