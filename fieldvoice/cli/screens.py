"""The screens of the live conversation: a calm one on a terminal, plain lines or JSON elsewhere."""

from __future__ import annotations

import math
import os
import sys
import threading
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING, Any, Self

import click

from fieldvoice.cli.show import lines, show, show_json, show_line
from fieldvoice.cli.terminal import colour
from fieldvoice.live import Quit, Release, Scene, Touch

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from prompt_toolkit.formatted_text import StyleAndTextTuples

    from fieldvoice.live import State
    from fieldvoice.reply import Reply

#: What each state is called on the screen, and its colour.
STATES: dict[State, tuple[str, str]] = {
    "waiting": ("waiting", "ansibrightblack"),
    "listening": ("LISTENING", "ansigreen bold"),
    "hearing": ("HEARING", "ansigreen bold"),
    "thinking": ("one moment", "ansiyellow"),
    "speaking": ("speaking", "ansicyan"),
    "deaf": ("NO MICROPHONE", "ansired bold"),
}
_BAR = 12
#: Key repeats come faster than this while a key is held down, in seconds: then it was let go.
HOLD_ENDS_S = 0.7


class PlainScreen:
    """One line for each thing that happens, for a pipe or a log; or one JSON object a reply.

    With ``states`` there is one more object for each change of what it does: ``{"state": …}``.
    """

    def __init__(self, *, as_json: bool, states: bool = False) -> None:
        self._as_json, self._states = as_json, states
        self._state: State | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def scene(self, scene: Scene) -> None:
        """See ``Screen``: what changes by itself is left out, but for the state where wanted."""
        if self._states and scene.state != self._state:
            self._state = scene.state
            show_json({"state": scene.state})

    def reply(self, reply: Reply) -> None:
        """See ``Screen``."""
        show(reply, as_json=self._as_json)

    def aside(self, text: str) -> None:
        """See ``Screen``."""
        click.echo(text, err=True)


class TerminalScreen:
    """What was said scrolls above; below stand the state, the words so far and what is open.

    ``status`` gives the line of what is in hand and asked, ``how`` that of how to call it.
    Keys are handed to ``press``; Ctrl-C and Ctrl-D are a ``Quit``.
    """

    def __init__(
        self,
        status: Callable[[], str],
        how: Callable[[], str],
        press: Callable[[Touch | Release | Quit], None],
        *,
        hold: bool,
    ) -> None:
        self._status, self._how, self._press, self._hold = status, how, press, hold
        self._scene = Scene("waiting")
        self._in_hand = status()
        self._let_go: threading.Timer | None = None
        self._app = self._made()
        self._patched = ExitStack()
        self._thread = threading.Thread(target=self._run, name="screen", daemon=True)

    def scene(self, scene: Scene) -> None:
        """See ``Screen``."""
        if _looks(scene) != _looks(self._scene):
            self._scene = scene
            self._app.invalidate()

    def reply(self, reply: Reply) -> None:
        """See ``Screen``."""
        self._in_hand = self._status()
        for mark, text in lines(reply):
            show_line(mark, text)
        click.echo()
        sys.stdout.flush()

    def aside(self, text: str) -> None:
        """See ``Screen``."""
        click.echo(click.style(text, fg="bright_black"), color=colour())
        sys.stdout.flush()

    def __enter__(self) -> Self:
        """Show the screen; keys come from a thread of its own."""
        from prompt_toolkit.patch_stdout import patch_stdout

        self._patched.enter_context(_standard_error_aside())
        self._patched.enter_context(patch_stdout(raw=True))
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        """Give the terminal back."""
        loop = self._app.loop
        if loop is not None and self._app.is_running:
            loop.call_soon_threadsafe(self._app.exit)
        self._thread.join(timeout=5)
        self._patched.close()

    def _run(self) -> None:
        try:
            self._app.run(handle_sigint=False)
        finally:
            self._press(Quit())

    def _made(self) -> Any:
        from prompt_toolkit.application import Application
        from prompt_toolkit.key_binding import KeyBindings
        from prompt_toolkit.keys import Keys
        from prompt_toolkit.layout import HSplit, Layout, Window
        from prompt_toolkit.layout.controls import FormattedTextControl
        from prompt_toolkit.output import ColorDepth

        keys = KeyBindings()

        @keys.add("c-c")
        @keys.add("c-d")
        def _(event: Any) -> None:
            event.app.exit()

        @keys.add(Keys.Any)
        @keys.add("enter")
        @keys.add("escape", eager=True)
        def _(event: Any) -> None:
            self._pressed()

        body = HSplit(
            [
                Window(height=1, char="─", style="fg:ansibrightblack"),
                Window(FormattedTextControl(self._first_line), height=1),
                Window(FormattedTextControl(self._second_line), height=2, wrap_lines=True),
                Window(FormattedTextControl(self._third_line), height=2, wrap_lines=True),
            ]
        )
        return Application(
            layout=Layout(body),
            key_bindings=keys,
            color_depth=None if colour() else ColorDepth.DEPTH_1_BIT,
            min_redraw_interval=0.05,
        )

    def _pressed(self) -> None:
        """Take a key: one press, however often it repeats and of however many signs it is made."""
        if self._let_go is None:
            self._press(Touch(held=self._hold))
        else:
            self._let_go.cancel()
        self._let_go = threading.Timer(HOLD_ENDS_S, self._key_let_go)
        self._let_go.daemon = True
        self._let_go.start()

    def _key_let_go(self) -> None:
        # A terminal tells of no key let go: the repeats of a key held down stop coming.
        self._let_go = None
        if self._hold:
            self._press(Release())

    def _first_line(self) -> StyleAndTextTuples:
        name, style = STATES[self._scene.state]
        return [
            (style, f" {name:<14}"),
            ("", level_bar(self._scene.level)),
            ("", f"  {self._how()}"),
        ]

    def _second_line(self) -> StyleAndTextTuples:
        return [("bold", f" {self._scene.words}")]

    def _third_line(self) -> StyleAndTextTuples:
        return [("", f" {self._in_hand}")]


@contextmanager
def _standard_error_aside() -> Iterator[None]:
    """Keep what libraries write to standard error, past Python, off the screen."""
    kept = os.dup(2)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)


def level_bar(level: float) -> str:
    """Return a bar for a peak level of 0 to 1, on a scale of decibels from -48 to 0."""
    decibels = 20 * math.log10(max(level, 1e-4))
    filled = round(_BAR * min(1.0, max(0.0, 1 + decibels / 48)))
    return "▮" * filled + "·" * (_BAR - filled)


def _looks(scene: Scene) -> tuple[str, str, str]:
    return scene.state, scene.words, level_bar(scene.level)
