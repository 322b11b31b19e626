"""Writes a file whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from fieldvoice.errors import FieldvoiceError


def write_whole(path: Path, content: bytes) -> None:
    """Write ``content`` to ``path``; what was there before stays until all of it is written.

    Raises:
        FieldvoiceError: it cannot be written.
    """
    made: Path | None = None
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".", delete=False) as file:
            made = Path(file.name)
            file.write(content)
        # A file made for oneself is readable by nobody else; a page is to be shown to others.
        made.chmod(0o666 & ~_umask())
        made.replace(path)
    except OSError as fault:
        if made is not None:
            made.unlink(missing_ok=True)
        reason = fault.strerror or type(fault).__name__
        raise FieldvoiceError(f"{path} cannot be written: {reason}.") from fault


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
