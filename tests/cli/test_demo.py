"""``fieldvoice demo``: real recordings through the whole house, and the answers spoken."""

from __future__ import annotations

import json
import wave
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.cli.conftest import Ran

pytestmark = pytest.mark.long

SESSIONS = Path(__file__).parents[2] / "demo_sessions"


@pytest.mark.parametrize("session", ["first_round", "sugarhouse"])
def test_a_session_brings_what_it_should(
    run: Callable[..., Ran], tmp_path: Path, session: str
) -> None:
    """As many of each outcome as the session expects, and a sound file for each answer."""
    expected = (SESSIONS / session / "expected.jsonl").read_text(encoding="utf-8").splitlines()
    outcomes = Counter(json.loads(line)["outcome"] for line in expected)
    ran = run("demo", session, "--silent", "--out", str(tmp_path), bare=True)
    assert ran.status == 0
    summed, _, *to_try = ran.out.splitlines()[-6:]
    assert summed.startswith(f"{len(expected)} utterances heard: ")
    for outcome, count in outcomes.items():
        assert f"{count} {outcome}" in summed
    assert to_try[0] == "Three things to try:"
    spoken = sorted(tmp_path.glob("*.wav"))
    assert len(spoken) == outcomes["answered"]
    for path in spoken:
        with wave.open(str(path)) as sound:
            assert sound.getnframes() > sound.getframerate() / 2
