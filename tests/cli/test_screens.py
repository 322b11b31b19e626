"""Keys of the live screen: one press is one touch, whatever the terminal makes of it."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from fieldvoice.cli import screens
from fieldvoice.cli.screens import TerminalScreen
from fieldvoice.live import Quit, Release, Scene, Touch

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from prompt_toolkit.input import PipeInput

HOLD_S = 0.15


class Keyed:
    """A screen whose keys a test presses, and what it told of them."""

    def __init__(self, keys: PipeInput, hold: bool) -> None:
        self.keys = keys
        self.told: list[object] = []
        self.screen = TerminalScreen(
            lambda: "In hand: nothing.", lambda: "Say it.", self.told.append, hold=hold
        )

    def wait_for(self, *told: object) -> None:
        ends = time.monotonic() + 5
        while self.told != list(told):
            assert time.monotonic() < ends, self.told
            time.sleep(0.01)


@pytest.fixture
def keyed(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[bool], Keyed]]:
    monkeypatch.setattr(screens, "HOLD_ENDS_S", HOLD_S)
    with create_pipe_input() as keys, create_app_session(input=keys, output=DummyOutput()):
        yield lambda hold: Keyed(keys, hold)


@pytest.mark.parametrize("key", [" ", "a", "\r", "\x1b", "\x1b[15~", "\x1b[57430u"])
def test_any_key_is_one_touch(keyed: Callable[[bool], Keyed], key: str) -> None:
    """Space, a letter, Enter of a remote, Escape, F5, and a media key that the terminal passes."""
    pressed = keyed(False)
    with pressed.screen:
        pressed.keys.send_text(key)
        pressed.wait_for(Touch())
        time.sleep(HOLD_S * 2)
        pressed.keys.send_text(key)
        pressed.wait_for(Touch(), Touch())


def test_a_key_held_down_ends_when_its_repeats_end(keyed: Callable[[bool], Keyed]) -> None:
    pressed = keyed(True)
    with pressed.screen:
        for _ in range(6):
            pressed.keys.send_text(" ")
            time.sleep(HOLD_S / 3)
        pressed.wait_for(Touch(held=True), Release())


def test_ctrl_c_ends(keyed: Callable[[bool], Keyed]) -> None:
    pressed = keyed(False)
    with pressed.screen:
        pressed.screen.scene(Scene("hearing", "tree twelve", 0.5))
        pressed.keys.send_text("\x03")
        pressed.wait_for(Quit())
