"""``fieldvoice read``: the readings of words, with their edits and rules."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from fieldvoice.grammar import grammar_folder, load_grammar

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.cli.conftest import Ran


def test_a_reading_has_its_meaning_cost_and_rules(run: Callable[..., Ran]) -> None:
    ran = run("read", "tree twelve bucket full", "--json", bare=True)
    assert ran.status == 0
    best = ran.answers[0]
    assert best["meanings"] == [{"act": "inspect", "tree": 12, "fill": 1.0}]
    assert 0 <= best["cost"] < 0.5
    assert sum(price for _, price in best["bill"]) == pytest.approx(best["cost"], abs=0.01)
    assert best["passed_over"] == best["supplied"] == best["mended"] == []
    file, _, line = best["rules"]["notes.inspect"].partition(":")
    text = (grammar_folder() / file).read_text(encoding="utf-8").splitlines()
    assert "<inspect>" in text[int(line) - 1]
    assert not [rule for rule in best["rules"] if rule.startswith("numbers.")]


def test_what_was_done_to_the_words_is_told(run: Callable[..., Ran]) -> None:
    ran = run("read", "tree twelve", "bucket extraordinarily ful", bare=True)
    assert ran.status == 0
    assert "passed over: extraordinarily" in ran.out
    assert re.search(r"0\.\d+  extraordinarily passed over", ran.out)
    assert re.search(r"0\.\d+  ful taken for full", ran.out)
    assert "mended: ful → full" in ran.out
    assert re.search(r"notes\.inspect +notes\.jsgf:\d+", ran.out)


def test_words_without_a_reading(run: Callable[..., Ran]) -> None:
    assert run("read", "quite another matter", bare=True).out == (
        "The grammar has no reading of that.\n"
    )
    assert run("read", "quite another matter", "--json", bare=True).out == ""


def test_a_damaged_grammar_is_shown_with_its_place(
    run: Callable[..., Ran], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "fieldvoice.jsgf").write_text(
        "#JSGF V1.0;\ngrammar fieldvoice;\npublic <utterance> = ( tree ;\n", encoding="utf-8"
    )
    monkeypatch.setattr("fieldvoice.cli.app.the_grammar", lambda: load_grammar(tmp_path))
    ran = run("read", "tree twelve", bare=True)
    assert ran.status == 1
    assert ran.err.splitlines()[1:] == [
        " 3 | public <utterance> = ( tree ;",
        "   |                             ^",
    ]
    assert "fieldvoice.jsgf:3:29: error[unclosed]: '(' of 3:22 is never closed" in ran.err
