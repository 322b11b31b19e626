"""What all questions share: what is asked about, and what they name."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from fieldvoice.schema.base import Frozen
from fieldvoice.schema.slot import AskSpec, slots_of
from fieldvoice.segments import Text, Told, TreeRef

if TYPE_CHECKING:
    from collections.abc import Collection

    from fieldvoice.segments import Parts, Segment


class Ask(Frozen):
    """A question and what it names. ``since`` and ``until`` are ISO 8601; units as in the names.

    ``until_h`` is an hour of the clock as it was said (6.5 for half past six), until the
    conversation makes ``until`` of it.
    """

    spec: ClassVar[AskSpec]

    ask: str

    def work(self) -> str:
        """Return the work that somebody is about to do who asks this."""
        return self.spec.announces

    def echo(self, told: Collection[Segment] = ()) -> Told:
        """Return what the answer is about, said first when the words were taken freely.

        What the question names and the answer has ``told`` is left out.
        """
        named = (one for one in self.named() if not _is_told(one, told))
        return Told((), (*self.about(), *named))

    def about(self) -> tuple[Parts, ...]:
        """Return the subject in plain words."""
        return ((Text(self.spec.about),),) if self.spec.about else ()

    def named(self) -> tuple[Parts, ...]:
        """Return what the question names, in the order of its slots."""
        slots = slots_of(type(self))
        said = ((slot, getattr(self, name)) for name, slot in slots.items())
        return tuple(
            slot.told(value) or (Text(str(value)),) for slot, value in said if value is not None
        )


def _is_told(named: Parts, told: Collection[Segment]) -> bool:
    """Whether a thing, a day or words that a question names stand among what was told."""
    values = {one for one in named if not isinstance(one, Text)}
    trees = {tree for one in told if isinstance(one, TreeRef) for tree in one.trees}
    if values:
        return all(
            trees.issuperset(one.trees) if isinstance(one, TreeRef) else one in told
            for one in values
        )
    words = " ".join(one.text for one in told if isinstance(one, Text)).lower()
    return all(isinstance(one, Text) and one.text.lower() in words for one in named)
