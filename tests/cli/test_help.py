"""Help: there for every command, short and long, at every width; its examples run as they stand."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

import click
import pytest
from click.testing import CliRunner

from fieldvoice.cli.main import COMMANDS, cli

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tests.cli.conftest import Ran

MEMO = Path(__file__).parents[2] / "demo_sessions" / "first_round" / "01_first_trees.flac"
#: These open a microphone, go to the web, or have a test of their own (demo, setup): what they are
#: told is read, and no more.
READ_ALONE = (
    "listen", "check", "chat", "review --aloud", "models add https://", "phone", "demo", "setup",
)  # fmt: skip
#: These hear recordings.
SLOW = ("memos", "transcribe")


def every_command(
    group: click.Group = cli, path: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    yield path, group
    ctx = click.Context(group)
    for name in group.list_commands(ctx):
        command = group.get_command(ctx, name)
        assert command is not None
        if isinstance(command, click.Group):
            yield from every_command(command, (*path, name))
        else:
            yield (*path, name), command


ALL = list(every_command())


def examples_of(command: click.Command) -> list[str]:
    lines = (command.epilog or "").splitlines()
    at = lines.index("Examples:") if "Examples:" in lines else len(lines)
    return [line.strip() for line in lines[at + 1 :]]


EXAMPLES = [one for _, command in ALL for one in examples_of(command)]


def marked(example: str) -> object:
    slow = example.removeprefix("fieldvoice ").startswith(SLOW)
    return pytest.param(example, marks=pytest.mark.long) if slow else example


def words_of(example: str, home: Path) -> list[str]:
    """Return the words of a command as a shell hands them on."""
    said = [re.sub(r"^~", str(home), word) for word in shlex.split(example)]
    assert said.pop(0) == "fieldvoice"
    return said


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home with what the examples name: a book with something kept, recordings, an archive."""
    home = tmp_path_factory.mktemp("household")
    said = [f"tree {number} two gallons" for number in range(1, 11)]
    said += ["packed four pints", "the thing of nothing in particular went by"]
    talk = ["say", "--stdin", "--book", str(home / "own.db")]
    CliRunner().invoke(cli, talk, input="\n".join(said))
    (home / "recordings").mkdir()
    for name in ("recordings/a.flac", "monday.m4a", "tuesday.m4a"):
        shutil.copy(MEMO, home / name)
    (home / "march.csv").write_text("day,low_f,high_f\n2027-03-01,24,42\n", encoding="utf-8")
    (home / "Downloads").mkdir()
    with zipfile.ZipFile(home / "Downloads" / "model.zip", "w") as model:
        for name in ("model.bin", "config.json", "tokenizer.json", "vocabulary.txt"):
            model.writestr(f"model/{name}", "{}")
    for command in (["backup", "season.zip"], ["export", "notes"]):
        path = str(home / command[1])
        CliRunner().invoke(cli, ["book", command[0], path, "--book", str(home / "own.db")])
    shutil.copy(home / "own.db", home / "broken.db")
    return home


@pytest.fixture
def household(prepared: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    home = tmp_path / "home"
    shutil.copytree(prepared, home)
    monkeypatch.chdir(home)
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setenv("XDG_DATA_HOME", str(home / "data"))
    monkeypatch.setenv("FIELDVOICE_BOOK", str(home / "own.db"))
    return home


@pytest.mark.parametrize("example", [marked(one) for one in EXAMPLES])
def test_an_example_runs_as_it_stands(household: Path, example: str) -> None:
    if "|" in example:
        program = f'fieldvoice() {{ "{sys.executable}" -m fieldvoice "$@"; }}; {example}'
        done = subprocess.run(
            ["bash", "-c", program], capture_output=True, text=True, timeout=60, check=False
        )
        assert (done.returncode, done.stderr) == (0, "")
        return
    said = words_of(example, household)
    if example.removeprefix("fieldvoice ").startswith(READ_ALONE):
        understood_as_written(said)
        return
    if said[:2] == ["models", "remove"]:
        CliRunner().invoke(cli, ["models", "add", str(household / "Downloads" / "model.zip")])
    if said[0] == "wordings" and "--forget" in said:
        pytest.skip("no wording is learnt here; tests/cli/test_wordings.py forgets one")
    ran = CliRunner().invoke(cli, said, prog_name="fieldvoice")
    assert ran.exit_code == 0, ran.output
    assert ran.stdout or ran.stderr


def understood_as_written(said: list[str]) -> None:
    command: click.Command = cli
    ctx = click.Context(cli, info_name="fieldvoice", help_option_names=["-h", "--help"])
    while isinstance(command, click.Group) and said:
        found = command.get_command(ctx, said[0])
        if found is None:
            break
        command, said = found, said[1:]
    command.make_context(command.name, list(said), parent=ctx)


def test_every_command_has_examples() -> None:
    without = [
        path for path, one in ALL if not isinstance(one, click.Group) and not examples_of(one)
    ]
    assert without == []
    assert len(EXAMPLES) > len(COMMANDS)


@pytest.mark.parametrize("width", [40, 80, 200])
def test_help_fits_the_terminal(monkeypatch: pytest.MonkeyPatch, width: int) -> None:
    """All but examples, which are to be pasted, and the addresses in them."""
    for path, command in ALL:
        whole = click.Context(cli, terminal_width=width, help_option_names=["-h", "--help"])
        ctx = click.Context(command, whole, " ".join(("fieldvoice", *path)))
        told = command.get_help(ctx)
        body, _, examples = told.partition("Examples:")
        assert all(len(line) <= max(width, 46) for line in body.splitlines()), (path, body)
        assert "\\b" not in told
        for example in examples_of(command):
            assert f"    {example}\n" in f"{examples}\n"


@pytest.mark.parametrize("path", [path for path, _ in ALL])
def test_h_is_help(run: Callable[..., Ran], path: tuple[str, ...]) -> None:
    short, long = run(*path, "-h", bare=True), run(*path, "--help", bare=True)
    assert (short.status, short.err) == (0, "")
    assert short.out == long.out
    assert short.out.startswith("Usage: fieldvoice")


def test_the_exit_statuses_are_told(run: Callable[..., Ran]) -> None:
    told = run("-h", bare=True).out
    for status in ("0 ", "1 ", "2 ", "130"):
        assert f"\n    {status}" in told


def test_each_command_says_in_one_line_what_it_does(run: Callable[..., Ran]) -> None:
    """Uncut on the usual terminal of 80 columns."""
    assert "..." not in run("-h", bare=True).out.partition("Commands:")[2]
