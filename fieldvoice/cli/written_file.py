"""Writes a page to be shown or printed: whole or not at all, and readable as other files are."""

from __future__ import annotations

import os
from pathlib import Path

from fieldvoice.errors import FieldvoiceError


def write_whole(path: Path, content: bytes) -> None:
    """Write ``content`` to ``path``; what was there before stays until all of it is written.

    A link stays, and what it leads to is written; so is a device or a pipe, like ``/dev/stdout``.

    Raises:
        FieldvoiceError: it cannot be written.
    """
    import tempfile  # the program begins without it

    made: Path | None = None
    try:
        if path.exists() and not path.is_file():
            path.write_bytes(content)
            return
        path = path.resolve()
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".", delete=False) as file:
            made = Path(file.name)
            file.write(content)
        # A file made for oneself is readable by nobody else; a page is to be shown to others.
        made.chmod(0o666 & ~_usual_mask())
        made.replace(path)
    except OSError as fault:
        if made is not None:
            made.unlink(missing_ok=True)
        reason = fault.strerror or type(fault).__name__
        raise FieldvoiceError(f"{path} cannot be written: {reason}.") from fault


def share_as(mask: int) -> None:
    """Remember the mask of the user's own: the program goes by a stricter one."""
    _own_mask.append(mask)


_own_mask: list[int] = []


def _usual_mask() -> int:
    if _own_mask:
        return _own_mask[-1]
    mask = os.umask(0)
    os.umask(mask)
    return mask
