"""Runs the command line in this process and as a program of its own, each with its own book."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pytest
from click.testing import CliRunner

from fieldvoice.cli.main import cli

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

NOW = "2027-03-05T09:10:00-05:00"


@dataclass(frozen=True)
class Ran:
    """What a run of the command line left: exit status, standard output and standard error."""

    status: int
    out: str
    err: str

    @property
    def answers(self) -> list[dict[str, Any]]:
        """The JSON objects printed, one a line."""
        return [json.loads(line) for line in self.out.splitlines()]


@pytest.fixture
def book_path(tmp_path: Path) -> Path:
    return tmp_path / "season.db"


@pytest.fixture
def run(book_path: Path) -> Callable[..., Ran]:
    """Run a command in this process; ``--book`` and ``--now`` are given where it takes them."""

    def running(*args: str, stdin: str | bytes | None = None, bare: bool = False) -> Ran:
        more = () if bare else ("--book", str(book_path), "--now", NOW)
        result = CliRunner().invoke(cli, [*args, *more], input=stdin, prog_name="fieldvoice")
        return Ran(result.exit_code, result.stdout, result.stderr)

    return running


@pytest.fixture
def program() -> Callable[..., Ran]:
    """Run the command line as a program."""

    def running(*args: str, stdin: bytes = b"", **env: str) -> Ran:
        done = subprocess.run(
            [sys.executable, "-m", "fieldvoice", *args],
            input=stdin,
            capture_output=True,
            timeout=60,
            check=False,
            env={**os.environ, **env},
        )
        return Ran(done.returncode, done.stdout.decode(), done.stderr.decode())

    return running
