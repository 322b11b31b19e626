"""Where the bundled recogniser has no wheel, the small listener hears alone; all else goes on.

The package is hidden from a program of its own, as if it were not installed.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.conftest import NOW

ROOT = Path(__file__).parents[2]
MEMO = ROOT / "demo_sessions" / "first_round" / "01_first_trees.flac"


@pytest.fixture
def without(tmp_path: Path) -> dict[str, str]:
    """The environment of a program that finds no pocketsphinx."""
    (tmp_path / "sitecustomize.py").write_text(
        "import sys\nsys.modules['pocketsphinx'] = None\n", encoding="utf-8"
    )
    path = os.pathsep.join((str(tmp_path), str(ROOT)))
    return {**os.environ, "PYTHONPATH": path, "FIELDVOICE_CACHE": str(tmp_path / "cache")}


def run(env: dict[str, str], *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "fieldvoice", *words],
        env=env, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip


@pytest.mark.long
def test_memos_are_heard_by_the_listener_alone(without: dict[str, str], tmp_path: Path) -> None:
    ran = run(without, "memos", str(MEMO), "--json", "--book", str(tmp_path / "b.db"), "--now", NOW)
    assert ran.returncode == 0
    assert "the listener hears alone" in ran.stderr
    heard = [json.loads(line)["meanings"] for line in ran.stdout.splitlines()]
    assert heard == [
        [{"act": "inspect", "tree": 7, "fill": 0.5, "sap": "clear"}],
        [{"act": "gather", "tree": 9, "volume_gal": 2.5}],
        [{"act": "inspect", "tree": 12, "fill": 0.9, "sap": "cloudy"}],
    ]


@pytest.mark.long
def test_typed_words_and_the_list_of_models_go_on(without: dict[str, str], tmp_path: Path) -> None:
    """In the review of what is typed, the recogniser's dictionary was looked into."""
    for words in ("tree nine two gallons", "the thing of nothing in particular went by"):
        ran = run(without, "say", words, "--book", str(tmp_path / "b.db"))
        assert (ran.returncode, ran.stderr) == (0, "")
    assert run(without, "models").stdout.startswith("Hearing with the listener that comes along")
