"""How far something is that takes its time, and how long the rest of it takes."""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING, Self

import click

from fieldvoice.cli.terminal import columns, plain

if TYPE_CHECKING:
    from types import TracebackType

    from click._termui_impl import ProgressBar

#: What is done sooner is not spoken of.
PATIENCE_S = 1.0
#: A bar needs room beside its label, the percentage and the time left.
_BAR, _NARROW_BAR, _NARROW = 30, 10, 70
#: The bar's own steps, whatever is counted.
_STEPS = 1000


class Progress:
    """A bar on standard error, shown once the work has taken ``patience_s``; piped, nothing.

    Where nothing may be redrawn it is the label alone.

    Call it with how much is done and, where that is known, how much there is to do, in any unit.
    With ``megabytes`` the unit is bytes, and they are told too.
    """

    def __init__(
        self, label: str, *, megabytes: bool = False, patience_s: float = PATIENCE_S
    ) -> None:
        self._label, self._megabytes, self._patience_s = label, megabytes, patience_s
        self._began = time.monotonic()
        self._bar: ProgressBar[str] | None = None
        self._reached = 0
        self._told = False

    def __enter__(self) -> Self:
        """Begin to count the time."""
        self._began = time.monotonic()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Leave the bar where it is, and give the terminal its cursor back."""
        if self._bar is not None:
            self._bar.__exit__(kind, fault, trace)

    def __call__(self, done: float, whole: float | None = None) -> None:
        """Tell how far it is."""
        if not sys.stderr.isatty() or time.monotonic() - self._began < self._patience_s:
            return
        if self._bar is None and plain():
            if not self._told:
                click.echo(f"{self._label} …", err=True)
            self._told = True
            return
        if self._bar is None:
            self._bar = self._made(whole)
            self._bar.__enter__()
        told = f"{done / 1e6:.0f}{f' of {whole / 1e6:.0f}' if whole else ''} MB"
        reached = round(_STEPS * done / whole) if whole else 0
        if reached != self._reached or not whole:
            self._bar.update(reached - self._reached, told)
            self._reached = reached

    def clear(self) -> None:
        """Take the bar away, so that something else can be shown; the next call brings it back."""
        if self._bar is not None:
            click.echo("\r\x1b[K", nl=False, err=True)

    def _made(self, whole: float | None) -> ProgressBar[str]:
        return click.progressbar(
            length=_STEPS if whole else None,
            label=self._label,
            file=sys.stderr,
            width=_BAR if columns() >= _NARROW else _NARROW_BAR,
            fill_char="▮",
            empty_char="·",
            item_show_func=(lambda told: told) if self._megabytes else None,
        )
