"""``fieldvoice models`` and ``listen`` at their edges, without devices."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from fieldvoice import soundcard
from fieldvoice.cli.environment import SECOND_MODEL
from fieldvoice.cli.recognisers import LISTENER, choice, model_store
from fieldvoice.cli.screens import level_bar

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.cli.conftest import Ran

MEMO = Path(__file__).parents[2] / "demo_sessions" / "first_round" / "01_first_trees.flac"


@pytest.fixture
def model(tmp_path: Path) -> Path:
    for name in ("am/final.mdl", "graph/Gr.fst"):
        path = tmp_path / "small" / name
        path.parent.mkdir(parents=True)
        path.write_bytes(b"x")
    return tmp_path / "small"


@pytest.fixture(autouse=True)
def _no_models_left() -> None:
    yield
    for one in model_store().models():
        model_store().remove(one.name)


def test_the_choice_is_told_in_a_line(run: Callable[..., Ran]) -> None:
    ran = run("models", bare=True)
    assert ran.status == 0
    assert ran.out == (
        "Hearing with the bundled recogniser; no Vosk model has been added. "
        "Second listener: the one that comes along.\n"
    )


def test_a_model_that_knows_too_little_is_passed_over_and_why(
    run: Callable[..., Ran], model: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fieldvoice.cli.models.knows", lambda kind, folder: 0.25)
    monkeypatch.setattr("fieldvoice.cli.recognisers.find_spec", lambda name: object())
    added = run("models", "add", str(model), bare=True)
    assert added.status == 0
    assert "knows 25 % of the words" in added.out
    assert "bundled recogniser: small knows 25 %" in added.out
    listed = json.loads(run("models", "--json", bare=True).out)
    assert (listed["name"], listed["kind"], listed["knows"]) == ("small", "vosk", 0.25)
    assert run("models", "remove", "small", bare=True).out == "Removed small.\n"


def test_a_model_that_knows_the_words_is_chosen(
    run: Callable[..., Ran], model: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fieldvoice.cli.models.knows", lambda kind, folder: 0.98)
    monkeypatch.setattr("fieldvoice.cli.recognisers.find_spec", lambda name: object())
    assert "Hearing with Vosk: small" in run("models", "add", str(model), bare=True).out
    monkeypatch.setattr("fieldvoice.cli.recognisers.find_spec", lambda name: None)
    assert 'pip install "fieldvoice[vosk]"' in run("models", bare=True).out


@pytest.fixture
def whisper(tmp_path: Path) -> Path:
    folder = tmp_path / "quick"
    folder.mkdir()
    for name in ("model.bin", "config.json", "tokenizer.json", "vocabulary.txt"):
        (folder / name).write_bytes(b"x" * 1000)
    return folder


def test_a_second_listener_is_told_for_what_it_is(
    run: Callable[..., Ran], whisper: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Added, listed with its role, named in the line at start, and removed."""
    monkeypatch.setattr("fieldvoice.cli.recognisers.find_spec", lambda name: object())
    added = run("models", "add", str(whisper), bare=True)
    assert "Added quick: whisper, 0 MB: second listener, any words." in added.out
    assert added.out.endswith(
        "Hearing with the bundled recogniser; no Vosk model has been added. "
        "Second listener: quick, beside the first.\n"
    )
    listed = json.loads(run("models", "--json", bare=True).out)
    assert (listed["name"], listed["kind"], listed["knows"]) == ("quick", "whisper", None)
    assert run("models", "remove", "quick", bare=True).out == "Removed quick.\n"
    assert run("models", bare=True).out.endswith("Second listener: the one that comes along.\n")


def test_without_the_extra_it_says_what_to_install(
    run: Callable[..., Ran], whisper: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fieldvoice.cli.recognisers.find_spec", lambda name: None)
    assert 'pip install "fieldvoice[second]"' in run("models", "add", str(whisper), bare=True).out
    assert choice().second_model == LISTENER


def test_which_second_listener_and_whether_any(
    run: Callable[..., Ran], whisper: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The one that comes along, the largest of those added, the one that is named, or none."""
    monkeypatch.setattr("fieldvoice.cli.recognisers.find_spec", lambda name: object())
    assert choice().second_model == LISTENER
    run("models", "add", str(whisper), bare=True)
    (whisper / "model.bin").write_bytes(b"x" * 2000)
    run("models", "add", str(whisper), "--name", "larger", bare=True)
    assert choice().second_model == model_store().models()[0].folder
    assert choice().second_model.name == "larger"
    monkeypatch.setenv(SECOND_MODEL, str(tmp_path / "elsewhere"))
    assert choice().second_model == tmp_path / "elsewhere"
    monkeypatch.setenv(SECOND_MODEL, "none")
    assert choice().second_model is None
    assert "listener" not in choice().why


@pytest.mark.parametrize("command", ["memos", "transcribe"])
def test_an_engine_that_is_not_there(
    run: Callable[..., Ran], monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    monkeypatch.setenv(SECOND_MODEL, "none")
    ran = run(command, str(MEMO), "--engine", "whisper", bare=True)
    assert (ran.status, ran.out) == (1, "")
    assert ran.err.splitlines()[-1] == (
        "fieldvoice: there is no second listener: FIELDVOICE_SECOND_MODEL says so"
    )


@pytest.mark.parametrize(
    "wrong",
    [("remove", "nothing"), ("add", "/nowhere/at/all"), ("add", "http://127.0.0.1:9/x.zip")],
)
def test_what_goes_wrong_is_one_line(run: Callable[..., Ran], wrong: tuple[str, str]) -> None:
    ran = run("models", *wrong, bare=True)
    assert ran.status == 1
    assert ran.err.startswith("fieldvoice: ")
    assert ran.err.count("\n") == 1


def test_without_a_sound_library_it_says_what_to_install(
    run: Callable[..., Ran], monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing() -> None:
        raise ImportError

    monkeypatch.setattr(soundcard, "PortAudio", missing)
    monkeypatch.setattr(soundcard, "MiniAudio", missing)
    ran = run("check", bare=True)
    assert (ran.status, ran.out) == (1, "")
    assert 'pip install "fieldvoice[live]"' in ran.err


@pytest.mark.parametrize(
    "wrong", [("--open", "--touch"), ("--word", "hello computer"), ("--pause", "0.1")]
)
def test_wrong_use_of_listen(run: Callable[..., Ran], wrong: tuple[str, ...]) -> None:
    assert run("listen", *wrong, bare=True).status == 2


def test_two_ears_do_not_listen_for_one_book(run: Callable[..., Ran], book_path: Path) -> None:
    pytest.importorskip("filelock", reason="the extra live is not installed")
    from fieldvoice.cli.listen import alone_at

    with alone_at(book_path):
        ran = run("listen", "--open")
    assert ran.status == 1
    assert "Another fieldvoice is listening for season.db already." in ran.err


@pytest.mark.parametrize(("level", "filled"), [(0.0, 0), (0.001, 0), (0.063, 6), (1.0, 12)])
def test_the_level_is_shown_in_decibels(level: float, filled: int) -> None:
    assert level_bar(level).count("▮") == filled
    assert len(level_bar(level)) == 12
