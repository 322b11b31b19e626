"""Shells complete words by the files that are shipped, with the words that the program gives."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from docs.completion_files import FILES, FOLDER, script


@pytest.mark.parametrize("shell", FILES)
def test_the_files_are_up_to_date(shell: str) -> None:
    """After a change of click: make docs."""
    assert (FOLDER / FILES[shell]).read_text(encoding="utf-8") == script(shell)


@pytest.mark.long
@pytest.mark.skipif(shutil.which("bash") is None, reason="needs bash")
@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        (["sett"], {"settings"}),
        (["say", "--al"], {"--aloud"}),
        (["book", "ver"], {"verify"}),
        (["settings", "tap"], {"tap-schedule"}),
        (["settings", "set", "units", ""], {"us", "metric"}),
    ],
)
def test_bash_completes_what_was_typed(tmp_path: Path, typed: list[str], offered: set[str]) -> None:
    """The shell's own function is called as Tab does it."""
    program = tmp_path / "fieldvoice"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m fieldvoice "$@"\n')
    program.chmod(0o755)
    words = " ".join(f"'{one}'" for one in ("fieldvoice", *typed))
    told = subprocess.run(
        ["bash", "-c",
         f"source {FOLDER / FILES['bash']}; COMP_WORDS=({words}); COMP_CWORD={len(typed)}; "
         "_fieldvoice_completion fieldvoice; printf '%s\\n' \"${COMPREPLY[@]}\""],
        env={**os.environ, "PATH": f"{tmp_path}:{os.environ['PATH']}",
             "PYTHONPATH": str(Path(__file__).parents[2])},
        capture_output=True, text=True, timeout=120, check=True,
    )  # fmt: skip
    assert set(told.stdout.split()) == offered
