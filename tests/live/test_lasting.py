"""What was said about listening and speaking lasts to the next day; options hold for once."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, Any

import pytest
from click.testing import CliRunner

from fieldvoice.cli import listen
from fieldvoice.cli.listen import Choices, Lasting, make_engine
from fieldvoice.cli.settings_file import read_live_settings
from fieldvoice.live import LiveSettings
from tests.live.conftest import Bench, CallsInOrder, WordsInOrder, speech

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.asr.side_by_side import Engine
    from fieldvoice.book import Book


class ChangedEar:
    """Keeps the attention words that it was to be made anew for."""

    def __init__(self) -> None:
        self.words: list[object] = []

    def change(self, make: Callable[[], Engine]) -> None:
        assert isinstance(make, functools.partial)
        assert make.func is make_engine
        self.words += make.args


@pytest.fixture
def settings_path(tmp_path: Path) -> Path:
    return tmp_path / "season.toml"


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[..., LiveSettings]:
    """Return what gives the settings that ``fieldvoice listen`` with some options goes by."""
    gone_by: list[Choices] = []

    def kept(chosen: Choices, *_: Any) -> int:
        gone_by.append(chosen)
        return 0

    monkeypatch.setattr(listen, "listen", kept)

    def start(*options: str) -> LiveSettings:
        command = [*options, "--book", str(tmp_path / "season.db")]
        result = CliRunner().invoke(listen.command, command)
        assert result.exit_code == 0, result.output
        return gone_by[-1].settings

    return start


def test_what_was_said_aloud_holds_the_next_day(
    tmp_path: Path, book: Book, settings_path: Path, started: Callable[..., LiveSettings]
) -> None:
    ear = ChangedEar()
    said = ("louder", "louder", "slower", "wait longer", "listen for hello chickadee", "quiet")
    live = Bench(tmp_path, book, CallsInOrder(WordsInOrder(*said)), "open")
    lasting = Lasting(settings_path, Choices(LiveSettings(listening="open")), ear)  # type: ignore[arg-type]
    live.loop._settle_for_good = lasting.settle
    live.address.way = "open"
    for seed in range(len(said)):
        live.hear(speech(seed=seed), 6)
        live.address.way = "open"  # the last words come without the new word
    assert live.outcomes == ["done"] * len(said)
    assert ear.words == ["hello chickadee"]
    assert 'hello chickadee" and your note' in lasting.how
    tomorrow = started()
    assert tomorrow == LiveSettings(
        attention_word="hello chickadee",
        loudness=2.25,
        pace=0.85,
        pause_s=1.2,
        reads_back=False,
    )


def test_options_hold_for_once(settings_path: Path, started: Callable[..., LiveSettings]) -> None:
    settings_path.write_text("[live]\nlistening = 'open'\nmicrophone = 'headset'\npause_s = 1.5\n")
    assert started() == LiveSettings(listening="open", microphone="headset", pause_s=1.5)
    once = started("--word", "field notebook", "--microphone", "built-in", "--pause", "0.6")
    assert once == LiveSettings(
        listening="word", attention_word="field notebook", microphone="built-in", pause_s=0.6
    )
    assert started("--hold").listening == "hold"
    assert started("--touch").listening == "touch"
    assert read_live_settings(settings_path).listening == "open"


def test_two_ways_of_calling_at_once_are_refused(tmp_path: Path) -> None:
    result = CliRunner().invoke(
        listen.command, ["--open", "--hold", "--book", str(tmp_path / "season.db")]
    )
    assert result.exit_code == 2
    assert "Choose one" in result.output
