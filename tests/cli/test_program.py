"""The program as a program: start-up, pipes, and its own places."""

from __future__ import annotations

import os
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.cli.conftest import Ran

HEAVY = ("sqlite_utils", "numpy", "prompt_toolkit", "pocketsphinx", "av", "hibari_tts", "rapidfuzz")


def test_say_imports_nothing_heavy(program: Callable[..., Ran], tmp_path: Path) -> None:
    """A note typed into an existing book must be answered in half a second."""
    book = str(tmp_path / "season.db")
    assert program("say", "tree nine is full", "--book", book).status == 0
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "fieldvoice", "say", "tree ten is full",
         "--book", book],
        capture_output=True, text=True, check=True, timeout=60,
    )  # fmt: skip
    imported = {line.rpartition("|")[2].strip() for line in done.stderr.splitlines()}
    assert "fieldvoice.dialogue" in imported
    assert imported.isdisjoint(HEAVY[:-1])


@pytest.mark.parametrize("words", ["settings", "-h", "listen -h", "models", "today --once"])
def test_what_is_typed_imports_nothing_for_sound(words: str, tmp_path: Path) -> None:
    """Bounds of what can be set, and help about listening, are told without any sound."""
    code = (
        "import sys; from fieldvoice.cli.main import run\ntry: run()\nfinally: print(*sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *words.split()], capture_output=True, text=True, check=True,
        timeout=60, env={**os.environ, "FIELDVOICE_BOOK": str(tmp_path / "b.db")},
    )  # fmt: skip
    imported = set(done.stdout.splitlines()[-1].split())
    assert "fieldvoice.cli.main" in imported
    assert imported.isdisjoint(HEAVY)


@pytest.mark.usefixtures("hearing_cache")
def test_the_ears_own_process_has_nothing_of_the_book() -> None:
    """It hears, beside the process that understands, and needs memory for that alone.

    The second listener hears in that one, which has its runtime for the voice.
    """
    code = "import sys, fieldvoice.cli.listen as l; l.make_engine(None); print(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=120
    )
    imported = set(done.stdout.split())
    assert "pocketsphinx" in imported
    rooms = ("book", "dialogue", "schema")
    assert imported.isdisjoint(
        {f"fieldvoice.{room}" for room in rooms} | {"pydantic", "av", "onnxruntime"}
    )


def test_a_conversation_piped_in_keeps_its_thread(
    program: Callable[..., Ran], tmp_path: Path
) -> None:
    """The same over a real pipe, into ``say`` and into ``chat``."""
    for number, command in enumerate([("say", "--stdin"), ("chat",)]):
        book = str(tmp_path / f"{number}.db")
        ran = program(*command, "--json", "--book", book, stdin=b"tree twelve\nsap cloudy\n")
        assert (ran.status, ran.err) == (0, "")
        assert ran.answers[1]["meanings"] == [{"act": "inspect", "tree": 12, "sap": "cloudy"}]


def test_no_prompt_and_no_colour_in_a_pipe(program: Callable[..., Ran], tmp_path: Path) -> None:
    """What is piped is plain."""
    ran = program("chat", "--book", str(tmp_path / "b.db"), stdin=b"tree twelve is full\n")
    assert ran.out.splitlines()[-1] == "reply   Tree 12: full."
    assert "\x1b" not in ran.out
    assert ">" not in ran.out


def test_wrong_use_leaves_with_status_2(program: Callable[..., Ran]) -> None:
    """As shells see it."""
    ran = program("dance")
    assert (ran.status, ran.out) == (2, "")
    assert "Traceback" not in ran.err


def test_the_book_may_be_named_by_the_environment(
    program: Callable[..., Ran], tmp_path: Path
) -> None:
    """So that it need not be named each time."""
    book = tmp_path / "mine.db"
    assert program("say", "tree nine is full", FIELDVOICE_BOOK=str(book)).status == 0
    assert book.exists()


@pytest.mark.skipif(sys.platform == "win32", reason="no head there")
def test_a_reader_that_stops_early_is_no_fault(tmp_path: Path) -> None:
    """``| head -1`` ends quietly."""
    lines = b"tree nine is full\n" * 50
    said = tmp_path / "said"
    said.write_bytes(lines)
    command = f"{sys.executable} -m fieldvoice say --stdin --json --book {tmp_path / 'b.db'}"
    done = subprocess.run(
        f"{command} < {said} | head -1", shell=True, capture_output=True, text=True, timeout=60,
        check=False,
    )  # fmt: skip
    assert len(done.stdout.splitlines()) == 1
    assert done.stderr == ""
