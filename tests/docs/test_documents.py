"""README, DEVELOPERS and the other pages are true to the code: what they name is there."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click
import pytest

from fieldvoice.asr import fetch
from fieldvoice.asr.pauses import OWED_S, PAUSE_S, TAIL_S
from fieldvoice.book import backups
from fieldvoice.cli.environment import MEANINGS
from fieldvoice.cli.main import COMMANDS, cli
from fieldvoice.dialogue.settings import CHOICES
from fieldvoice.grammar.weights import LEAST
from fieldvoice.live.recorder import LIMIT_MB
from fieldvoice.live.settings import LIVE_CHOICES
from fieldvoice.phone import note, pairing
from fieldvoice.phone.pieces import LARGEST_PIECE
from fieldvoice.tts.levelled import LUFS
from fieldvoice.whole_files import FILE_MODE, FOLDER_MODE
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[2]
PAGES = ("README.md", "DEVELOPERS.md", "CONTRIBUTING.md", "SECURITY.md", "docs/glossary.md")
#: Files whose name alone is cited, by folder names of the project.
PLACES = ("fieldvoice", "tests", "grammars", "docs", "benchmarks", "models", "handbook", "sayings")
_BOOK = Path("season.db")
_SOUND = backups.sound_of(_BOOK)
#: Files that are made when the program is used, or stand in somebody else's folder.
MADE = (
    f"{_SOUND}/", f"{_BOOK.stem}_backups/", f"{_BOOK.stem}_phone/", f"{_BOOK.stem}-before-vN.db",
    str(_BOOK), str(backups.settings_of(_BOOK)), "notes.jsonl", "config.json", "tokenizer.json",
    "model.bin", "fieldvoice/season.db", "benchmarks/campaign/",
)  # fmt: skip
#: What is defined, and what a value is given to (several at once, too).
_NAMES = re.compile(
    r"^\s*(?:(?:async )?(?:def|class) (\w+)|((?:\w+, )*\w+)(?: ?:| =))", re.MULTILINE
)
_FILE = re.compile(r"[\w{},*-]+\.(?:py|jsgf|dict|toml|md|jsonl|json|html|css|txt|onnx)")


def text(page: str) -> str:
    return (ROOT / page).read_text(encoding="utf-8")


def spans(page: str) -> list[str]:
    """What stands in backticks, outside the blocks of code."""
    return re.findall(r"`([^`\n]+)`", re.sub(r"```.*?```", "", text(page), flags=re.DOTALL))


def blocks(page: str) -> list[str]:
    return re.findall(r"^```\w*\n(.*?)^```", text(page), re.DOTALL | re.MULTILINE)


@pytest.mark.parametrize("page", PAGES)
def test_links_lead_somewhere(page: str) -> None:
    folder = (ROOT / page).parent
    for target in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", text(page)):
        assert (folder / target).exists(), f"{page}: {target}"


@pytest.mark.parametrize("page", PAGES)
def test_files_that_are_named_are_there(page: str) -> None:
    gone = []
    for span in spans(page):
        if not re.fullmatch(r"[\w.][\w./{},*-]+", span) or span.startswith(MADE):
            continue
        if "/" in span:
            named = span.endswith("/") or _FILE.fullmatch(span.rsplit("/", 1)[1])
            inside = span.rstrip("/")
            if named and not (
                list(ROOT.glob(inside)) or list(ROOT.glob(f"fieldvoice/**/{inside}"))
            ):
                gone.append(span)
        elif _FILE.fullmatch(span) and not any(
            next((ROOT / place).rglob(span), None) for place in PLACES
        ):
            gone.append(span)
    assert [one for one in gone if not (ROOT / one).exists()] == []


@pytest.mark.parametrize("page", PAGES)
def test_what_make_is_asked_for_is_in_its_file(page: str) -> None:
    targets = set(re.findall(r"^([a-z-]+):", text("Makefile"), re.MULTILINE))
    code = "\n".join([*spans(page), *blocks(page)])
    for target in re.findall(r"^make ([a-z-]+)", code, re.MULTILINE):
        assert target in targets, f"{page}: make {target}"


def cited(page: str) -> Iterator[str]:
    for span in spans(page):
        if span.startswith("fieldvoice "):
            yield span
    for block in blocks(page):
        for line in block.replace("\\\n", " ").splitlines():
            found = re.search(r"(?:^|\$ |\| )(fieldvoice [^|#]+)", line)
            if found:
                yield found[1].strip()


@pytest.mark.parametrize("page", PAGES)
def test_commands_that_are_cited_are_there_with_their_options(page: str) -> None:
    for line in cited(page):
        command: click.Command = cli
        ctx = click.Context(cli)
        for word in shlex.split(line.replace("…", " ").replace("[", " ").replace("]", " "))[1:]:
            found = command.get_command(ctx, word) if isinstance(command, click.Group) else None
            if found is not None:
                command = found
            elif word.startswith("--"):
                options = {name for one in command.params for name in one.opts}
                assert word in options | {"--help", "--version"}, f"{page}: {line}"
        assert command is not cli or line.split()[1].startswith("-"), f"{page}: {line}"


def test_the_readme_names_every_command() -> None:
    told = text("README.md")
    assert [one for one in COMMANDS if f"`fieldvoice {one}" not in told] == []


@pytest.mark.parametrize("page", PAGES)
def test_what_is_set_in_the_environment_is_looked_for(page: str) -> None:
    known = {*MEANINGS, *(one.variable for one in (*CHOICES, *LIVE_CHOICES))}
    assert set(re.findall(r"\bFIELDVOICE_[A-Z_]*[A-Z]\b", text(page))) <= known


@pytest.fixture(scope="module")
def words_of_the_source() -> set[str]:
    """All names that the code defines, the words of the grammars, and the names of files."""
    paths = [path for place in PLACES for path in (ROOT / place).rglob("*")]
    words = {*PLACES, *(path.stem for path in paths)}
    for path in paths:
        if path.suffix == ".py":
            for defined, assigned in _NAMES.findall(path.read_text(encoding="utf-8")):
                words.update([defined] if defined else assigned.split(", "))
        elif path.suffix == ".jsgf":
            words.update(re.findall(r"\w+", path.read_text(encoding="utf-8")))
    return words


@pytest.mark.parametrize("page", [one for one in PAGES if one != "README.md"])
def test_names_of_the_code_that_are_cited_are_in_it(
    page: str, words_of_the_source: set[str]
) -> None:
    """Functions, classes, constants, settings of tests: `LiveLoop.handle`, `OWED_S`, `@folds`."""
    own = [one for one in spans(page) if not _FILE.fullmatch(one) and "pytest" not in one]
    names = [re.fullmatch(r"@?([A-Za-z_]\w*(?:\.\w+)*)(?:\(.*\))?", one) for one in own]
    cited = [name[1] for name in names if name]
    assert [one for one in cited if not words_of_the_source.issuperset(one.split("."))] == []


@pytest.mark.parametrize("page", PAGES)
def test_modules_that_are_run_are_there(page: str) -> None:
    for module in re.findall(r"python -m ([\w.]+)", text(page)):
        path = ROOT.joinpath(*module.split("."))
        assert module in ("pytest", "venv") or path.is_dir() or path.with_suffix(".py").is_file()


def test_the_numbers_of_the_pages_are_those_of_the_code() -> None:
    developers, readme = (" ".join(text(one).split()) for one in ("DEVELOPERS.md", "README.md"))
    assert f"{PAUSE_S:g} s of pause" in developers
    assert f"{OWED_S:g} s longer (`OWED_S`)" in developers
    assert f"first {TAIL_S:g} s of a pause" in developers
    assert f"less often than /{LEAST:g}/ is no grammar" in developers
    assert f"at most {LIMIT_MB:g} MB" in readme
    assert f"The voice speaks at {LUFS:g} LUFS" in readme


def test_the_numbers_of_what_is_promised_are_those_of_the_code() -> None:
    told = " ".join(text("SECURITY.md").split())
    minutes = {5.5: "five and a half", 10: "ten"}
    wrong = {5: "five"}[pairing.WRONG_TRIES]
    for promise in (
        f"{fetch.LARGEST_BYTES / 2**30:g} GB at most",
        f"{LIMIT_MB:g} MB at most",
        f"({backups.DAYS} days, {backups.MONTHS} months,",
        f"a secret of {8 * pairing._SECRET_BYTES} bits",
        f"six digits, {minutes[pairing.CODE_LASTS.seconds / 60]} minutes, once, and {wrong} wrong",
        f"{note.LARGEST_BYTES / 1e6:g} MB and {minutes[note.LONGEST_S / 60]} minutes at most",
        f"{LARGEST_PIECE / 1e3:g} kB for a piece",
        f"mode {FILE_MODE:04o}, folders {FOLDER_MODE:04o}",
    ):
        assert promise in told


@pytest.mark.long
def test_how_large_the_grammar_is_told_as_it_is() -> None:
    """Within a fifth: it grows."""
    networks = GRAMMAR.networks
    page = " ".join(text("DEVELOPERS.md").split())
    told = re.search(r"some ([\d,]+) states in ([\d,]+) rules", page)
    assert told is not None
    states, rules = (int(one.replace(",", "")) for one in told.groups())
    assert sum(len(one.words) for one in networks.values()) == pytest.approx(states, rel=0.2)
    assert len(networks) == pytest.approx(rules, rel=0.2)


def test_the_time_allowed_in_ci_is_that_of_the_developers_page() -> None:
    seconds = re.search(r"LIMIT_S=(\d+)", text(".ci/run"))
    assert seconds is not None
    assert f"{int(seconds[1]) // 60} minutes in CI" in text("DEVELOPERS.md")


def tour() -> Iterator[tuple[str, list[str]]]:
    """The commands of the README's consoles, each with what it prints."""
    for block in blocks("README.md"):
        if not block.startswith("$ "):
            continue
        for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            lines = part.split("\n")
            count = next(n for n, line in enumerate(lines) if not line.endswith("\\")) + 1
            command, printed = "\n".join(lines[:count]), [line for line in lines[count:] if line]
            yield command, printed


@pytest.mark.long
def test_the_tour_of_the_readme_goes_as_it_says(tmp_path: Path) -> None:
    """Command by command, in one book, word for word."""
    env = {
        **os.environ, "PYTHONPATH": str(ROOT), "FIELDVOICE_BOOK": str(tmp_path / "season.db"),
        "XDG_DATA_HOME": str(tmp_path),
    }  # fmt: skip
    known = f'fieldvoice() {{ "{sys.executable}" -m fieldvoice "$@"; }}\n'
    steps = list(tour())
    assert len(steps) >= 5
    for command, printed in steps:
        done = subprocess.run(
            ["bash", "-c", known + command],
            cwd=ROOT, env=env, capture_output=True, text=True, timeout=120, check=False,
        )  # fmt: skip
        assert done.stdout.splitlines() == printed, command
