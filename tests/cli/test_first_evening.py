"""The first evening: a greeting that offers, and a set-up that is told by talking."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from fieldvoice.cli.main import cli

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import pytest

    from tests.cli.conftest import Ran

#: What is answered to each question in turn: a slip first, and Enter for the last.
SETTLED = ("metrik", "metric", "vermont", "2x4", "")
TOLD = (
    "tree one is a sugar maple twenty inches across",
    "tank one holds fifty gallons when full",
    "call tree nine the big yard tree",
)


def test_what_is_told_at_set_up_is_kept(run: Callable[..., Ran], book_path: Path) -> None:
    ran = run("setup", stdin="\n".join([*SETTLED, *TOLD, "", "n", ""]))
    assert (ran.status, ran.err) == (0, "")
    assert "Did you mean metric?" in ran.out
    assert ran.out.count("saved ") == len(TOLD)
    settings = book_path.with_suffix(".toml").read_text(encoding="utf-8")
    assert settings == 'metric = true\njurisdiction = "vermont"\npan_ft2 = 8.0\n'
    notes = run("history", "--json").answers
    assert [note["heard"] for note in notes] == list(TOLD)


def test_set_up_may_be_left_and_taken_up_again(run: Callable[..., Ran], book_path: Path) -> None:
    """What was told until then stays, and is offered as it is."""
    assert run("setup", stdin="metric\n").status == 130
    ran = run("setup", stdin="\n" * 8)
    assert ran.status == 0
    assert "units [metric]" in ran.out
    assert book_path.with_suffix(".toml").read_text(encoding="utf-8") == "metric = true\n"


def test_an_empty_book_is_greeted_and_one_with_notes_talked_to(
    run: Callable[..., Ran], book_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from fieldvoice.cli import first_evening

    asked: list[str] = []

    def prompt(text: str, **_: object) -> str:
        asked.append(text)
        return "q"

    monkeypatch.setenv("FIELDVOICE_BOOK", str(book_path))
    monkeypatch.setattr(click, "prompt", prompt)
    invoked: list[str | None] = []
    ctx = click.Context(cli)
    monkeypatch.setattr(ctx, "invoke", lambda command: invoked.append(command.name))
    with ctx:
        assert first_evening.begin(ctx) == 0
        assert (asked, invoked) == (["Which"], [])
        run("say", "tree nine two gallons")
        assert first_evening.begin(ctx) == 0
    assert (asked, invoked) == (["Which"], ["chat"])


def test_set_up_takes_answers_as_people_give_them(run: Callable[..., Ran], book_path: Path) -> None:
    """A size is no telephone number: somebody in danger would be told to call it."""
    said = ("gallons please", "Quebec", "24 by 48 in", "2 ft x 4 ft", "112", "that's all", "n", "")
    ran = run("setup", stdin="\n".join(said))
    assert ran.status == 0
    assert "emergency-number is a telephone number" in ran.out
    assert "Round done" not in ran.out
    settings = book_path.with_suffix(".toml").read_text(encoding="utf-8")
    assert 'jurisdiction = "canada"\npan_ft2 = 8.0\nemergency_number = "112"\n' in settings


def test_an_amount_told_at_set_up_is_what_a_container_holds(run: Callable[..., Ran]) -> None:
    """Nothing is in it yet; of several alike each is told, and trees are told by their numbers."""
    lines = ("tank one, thirty gallons", "two totes of 275 gallons", "a blue barrel, 55 gallons",
             "yes", "we have twelve trees", "tank two has five gallons in it", "")  # fmt: skip
    ran = run("setup", stdin="\n".join(("", "", "", "", *lines, "n", "")))
    assert "trees one through twelve" in ran.out
    notes = [note["meaning"] for note in run("history", "--json").answers]
    sizes = {note["vessel"]: note["capacity_gal"] for note in notes if note["act"] == "vessel"}
    assert sizes == {"tank 1": 30.0, "tote 1": 275.0, "tote 2": 275.0, "blue barrel": 55.0}
    assert [note["vessel"] for note in notes if note["act"] == "reading"] == ["tank 2"]
