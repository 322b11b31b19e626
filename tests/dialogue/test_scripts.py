"""Whole conversations, as written in ``scripts/``, with the real grammar and an empty book."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation
from tests.dialogue.script import Said, misses, read, scripts, settings

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.nlu import Interpreter


@pytest.mark.parametrize("path", scripts(), ids=lambda path: path.stem)
def test_script_comes_out_as_written(path: Path, understander: Interpreter) -> None:
    """Every line of the script brings what it says it brings, and nothing else."""
    lines, chosen = read(path), settings(path)
    wrong: list[str] = []
    with Book.in_memory_copy() as book:
        for line in lines:
            talk = Conversation(book, understander, chosen, clock=_stopped_at(line))
            wrong += [f"{line.where} {line.words!r}: {miss}" for miss in misses(line, talk, book)]
    assert lines
    assert not wrong, "\n".join(wrong)


def _stopped_at(line: Said) -> Callable[[], datetime]:
    return lambda: line.clock
