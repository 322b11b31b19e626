"""The command line on a book of its own, as in ``tests/cli``."""

from __future__ import annotations

from tests.cli.conftest import book_path, run

__all__ = ["book_path", "run"]
