"""What the household has settled, as it stands in this talk; a word changes it for all talks."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldvoice.dialogue.book_units import BookReader
from fieldvoice.schema import Command

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from fieldvoice.dialogue.reader import Reader
    from fieldvoice.dialogue.settings import Settings
    from fieldvoice.schema import Meaning


class Household:
    """The settings of the talks with one book, and the reader that goes by them.

    ``keep`` writes a setting down by its field, so that it holds the next time; without it the
    setting holds as long as the program runs.
    """

    def __init__(
        self,
        settings: Settings,
        reader: Reader,
        keep: Callable[[str, bool], None] | None = None,
    ) -> None:
        self.settings = settings
        self._reader = reader
        self._keep = keep

    @property
    def reader(self) -> Reader:
        """Who reads what is said: in a metric book bare numbers are metric."""
        return BookReader(self._reader) if self.settings.metric else self._reader

    def settle(self, meanings: Iterable[Meaning]) -> None:
        """Take over what was said to be from now on."""
        for one in meanings:
            if isinstance(one, Command) and one.do == "count_in":
                metric = one.fields["units"] == "metric"
                self.settings = replace(self.settings, metric=metric)
                if self._keep is not None:
                    self._keep("metric", metric)
