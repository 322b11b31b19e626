"""``fieldvoice models`` and ``listen`` at their edges, without devices."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from fieldvoice import soundcard
from fieldvoice.cli.ears import model_store
from fieldvoice.cli.screens import level_bar

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.cli.conftest import Ran


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
    assert ran.out == "Hearing with the bundled recogniser; no Vosk model has been added.\n"


def test_a_model_that_knows_too_little_is_passed_over_and_why(
    run: Callable[..., Ran], model: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fieldvoice.cli.models.knows", lambda kind, folder: 0.25)
    monkeypatch.setattr("fieldvoice.cli.ears.find_spec", lambda name: object())
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
    monkeypatch.setattr("fieldvoice.cli.ears.find_spec", lambda name: object())
    assert "Hearing with Vosk: small" in run("models", "add", str(model), bare=True).out
    monkeypatch.setattr("fieldvoice.cli.ears.find_spec", lambda name: None)
    assert 'pip install "fieldvoice[vosk]"' in run("models", bare=True).out


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
