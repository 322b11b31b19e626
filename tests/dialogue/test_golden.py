"""No reply moves without being meant to: words, stored fields and what is said aloud."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from tests.dialogue.golden import GOLDEN, of_a_season, scripted

if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import Any

    from fieldvoice.nlu import Interpreter


def _kept() -> dict[str, dict[str, Any]]:
    lines = map(json.loads, GOLDEN.read_text(encoding="utf-8").splitlines())
    return {one["where"]: one for one in lines}


def _assert_same(told: Iterable[dict[str, Any]]) -> None:
    kept = _kept()
    moved = [
        f"{one['where']}: {one['heard']!r}\n  was {kept.get(one['where'])}\n  is  {one}"
        for one in told
        if one != kept.get(one["where"])
    ]
    assert not moved, "\n".join(moved)


@pytest.mark.long
def test_replies_of_the_scripts_are_as_they_were(understander: Interpreter) -> None:
    _assert_same(scripted(understander))


@pytest.mark.long
def test_answers_about_the_demo_season_are_as_they_were(understander: Interpreter) -> None:
    _assert_same(of_a_season(understander))
