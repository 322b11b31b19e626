"""Whole conversations, as written in ``scripts/``, with the real grammar and an empty book."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.book import Book
from fieldvoice.conversation import Conversation
from fieldvoice.grammar import load_grammar
from fieldvoice.understanding import Understander
from tests.conversation.script import Said, misses, read, scripts

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="module")
def understander() -> Understander:
    return Understander(load_grammar())


@pytest.mark.parametrize("path", scripts(), ids=lambda path: path.stem)
def test_script_comes_out_as_written(path: Path, understander: Understander) -> None:
    """Every line of the script brings what it says it brings, and nothing else."""
    lines = read(path)
    wrong: list[str] = []
    with Book.in_memory_copy() as book:
        for line in lines:
            talk = Conversation(book, understander, clock=_stopped_at(line))
            wrong += [f"{line.where} {line.words!r}: {miss}" for miss in misses(line, talk, book)]
    assert lines
    assert not wrong, "\n".join(wrong)


def _stopped_at(line: Said):
    return lambda: line.clock
