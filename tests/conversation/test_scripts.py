"""Whole conversations, as written in ``scripts/``, with the real grammar and an empty book."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.book import Book
from fieldvoice.conversation import Conversation
from fieldvoice.conversation.decision import ASK_BEFORE_DUMPING_A_BUCKET
from tests.conversation.script import Said, misses, read, scripts

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from fieldvoice.understanding import Understander


#: These want a yes before a single bucket is dumped; the house saves that as said
#: (``decision.ASK_BEFORE_DUMPING_A_BUCKET`` says why).
BUCKETS_ASKED_ABOUT = {"dump_it", "dump_unanswered"}


def _all() -> list[object]:
    otherwise = pytest.mark.xfail(not ASK_BEFORE_DUMPING_A_BUCKET, reason="a bucket is not asked")
    return [
        pytest.param(path, id=path.stem, marks=[otherwise] * (path.stem in BUCKETS_ASKED_ABOUT))
        for path in scripts()
    ]


@pytest.mark.parametrize("path", _all())
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


def _stopped_at(line: Said) -> Callable[[], datetime]:
    return lambda: line.clock
