"""The assistant's own voice kept out of its ear, and people who speak over it let in."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from fieldvoice.live import EchoGate
from fieldvoice.live.echo_gate import ABOVE, LEARNS_S
from tests.live.conftest import FRAME_S, PIECE, Scripted

if TYPE_CHECKING:
    from fieldvoice.asr import Samples

PLAYED = 0.2
PIECE_S = 0.02


def block(level: float) -> Samples:
    """A piece of sound of a level (full scale 1); speech to the scripted detector above 0.1."""
    return np.full(PIECE, round(level * 32768), dtype=np.int16)


def after(gate: EchoGate, level: float, seconds: float) -> float | None:
    """Return after how long it lets somebody in who comes in at ``level``; None if it does not."""
    for count in range(round(seconds / PIECE_S)):
        if gate.interrupted(block(level), PLAYED):
            return (count + 1) * PIECE_S
    return None


def test_nobody_is_let_in_before_it_has_learnt_how_much_comes_back() -> None:
    assert after(EchoGate(Scripted()), 0.9, LEARNS_S - FRAME_S) is None


@pytest.mark.parametrize("comes_back", [0.0, 0.02, 0.12])
def test_a_voice_above_what_comes_back_is_let_in_soon(comes_back: float) -> None:
    gate = EchoGate(Scripted())
    assert after(gate, comes_back, 2.0) is None
    let_in = after(gate, max(0.2, comes_back * ABOVE * 1.3), 1.0)
    assert let_in is not None
    assert 0.15 < let_in < 0.35


def test_what_comes_back_stronger_than_before_is_no_person() -> None:
    """The loudspeaker was turned up by half."""
    gate = EchoGate(Scripted())
    assert after(gate, 0.12, 2.0) is None
    assert after(gate, 0.18, 5.0) is None


def test_a_bang_is_no_person() -> None:
    gate = EchoGate(Scripted())
    assert after(gate, 0.02, 2.0) is None
    for _ in range(10):
        assert after(gate, 0.9, 0.1) is None
        assert after(gate, 0.02, 0.3) is None


def test_what_is_learnt_outlasts_the_sentence() -> None:
    gate = EchoGate(Scripted())
    assert after(gate, 0.02, 2.0) is None
    gate.silent()
    assert after(gate, 0.5, 0.4) is not None
