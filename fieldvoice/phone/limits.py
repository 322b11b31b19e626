"""How much one sender may ask for: a bucket of tokens each, which fills again with time."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

#: Senders remembered at most; the one not heard of for longest is forgotten, and its bucket is
#: then full again.
_MOST_SENDERS = 4096


@dataclass(slots=True)
class Rate:
    """Lets each sender do ``burst`` things at once and ``each_s`` a second from then on."""

    each_s: float
    burst: float
    clock: Callable[[], float]
    _left: OrderedDict[str, tuple[float, float]] = field(default_factory=OrderedDict)

    def allows(self, sender: str) -> bool:
        """Whether the sender may do one more thing now; it counts if so."""
        now = self.clock()
        left, at = self._left.pop(sender, (self.burst, now))
        left = min(self.burst, left + (now - at) * self.each_s)
        may = left >= 1
        self._left[sender] = (left - 1 if may else left, now)
        if len(self._left) > _MOST_SENDERS:
            self._left.popitem(last=False)
        return may
