"""The formatter: the same layout whatever it is given, and the same grammar after as before."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.errors import GrammarError
from fieldvoice.grammar import grammar_folder
from fieldvoice.grammar.findings import Source
from fieldvoice.grammar.format import WIDTH, formatted, main
from fieldvoice.grammar.jsgf import lexemes, read_file, read_folder
from fieldvoice.grammar.network import build_networks
from fieldvoice.grammar.weights import TIERS

if TYPE_CHECKING:
    from pathlib import Path

HEADER = "#JSGF V1.0;\ngrammar trial;\n"
FILES = sorted(grammar_folder().glob("*.jsgf"))


def comments(text: str) -> str:
    """Return the words of all comments and remarks, in order."""
    told = [one.text for one in lexemes(Source("trial", text)) if one.kind in ("comment", "about")]
    return " ".join(" ".join(told).replace("*", " ").replace("/", " ").replace("-", " ").split())


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("<a>=b|c ;", "<a> = b | c;"),
        ("public\n<a> = [ b ]( c|d )* {x=1};", "public <a> = [b] ( c | d )* {x=1};"),
        ("<a> = /2/b | [ /0.5/ c d ] e {+1} {x};", "<a> = /2/ b | [/0.5/ c d] e {+1} {x};"),
        ("<a> = b; // why b\n<c> = d;", "<a> = b;  // why b\n<c> = d;"),
        (
            "\n\n// one\n// two\n\n\n\n/** Three. */ <a> = b;",
            "\n// one\n// two\n\n/** Three. */\n<a> = b;",
        ),
        (
            f"<a> = {'x' * 40} | {'y' * 40} {{k=1}} | {'z' * 40};",
            f"<a> =\n    {'x' * 40}\n    | {'y' * 40} {{k=1}}\n    | {'z' * 40};",
        ),
        (
            f"<a> = ( {'x' * 50} | /3/ {'y' * 50} ) {{k=1}};",
            f"<a> =\n    (\n        {'x' * 50}\n        | /3/ {'y' * 50}\n    ) {{k=1}};",
        ),
        ("<a> = b // of b\n | c;", "<a> =\n    b\n            // of b\n    | c;"),
        ("<a> = b | // of c\n c;", "<a> =\n    b\n            // of c\n    | c;"),
    ],
)  # fmt: skip
def test_layout(before: str, after: str) -> None:
    assert formatted(HEADER + before, "trial") == HEADER + after + "\n"


@pytest.mark.parametrize(
    "body",
    [
        f"// {'long words of a comment ' * 8}\n// and its end\n<a> = b;",
        f"/** {'A long remark on a rule. ' * 8}*/\n<a> = b;",
        "// ---- trees " + "-" * 120 + "\n<a> = b;",
        "<a> = " + " ".join(f"( one{n} | two{n} three )" for n in range(20)) + ";",
        "<a> = " + " ".join(f"word{n} {{k{chr(97 + n)}=1}}" for n in range(20)) + " | b;",
        "<a> = /* first */ b;",
        "<a> = /3/ // weighed\n b | /2/ ( // in a group\n c | d // last\n ) {x=1};",
        "<a> = b // tagged\n {x=1} // end\n;",
    ],
)
def test_what_is_laid_out_is_short_and_stays_as_it_is_and_means_the_same(body: str) -> None:
    text = HEADER + body
    once = formatted(text, "trial")
    assert max(map(len, once.splitlines())) <= WIDTH
    assert formatted(once, "trial") == once
    assert read_file(once, "trial").rules == read_file(text, "trial").rules
    assert comments(once) == comments(text)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_the_grammars_stay_what_they_are(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    once = formatted(text, path.name)
    assert max(map(len, once.splitlines())) <= WIDTH
    assert formatted(once, path.name) == once
    before, after = read_file(text, path.name), read_file(once, path.name)
    assert after.rules == before.rules
    assert [name for name, _ in after.imports] == [name for name, _ in before.imports]
    assert comments(once) == comments(text)


def test_all_networks_are_the_same_after_it(tmp_path: Path) -> None:
    for path in FILES:
        # All in a line first, so that the layout is made from nothing.
        words = lexemes(Source(path.name, path.read_text(encoding="utf-8")))
        flat = " ".join(one.text for one in words if one.kind not in ("space", "comment", "about"))
        (tmp_path / path.name).write_text(formatted(flat, path.name), encoding="utf-8")
    before, after = read_folder(grammar_folder()), read_folder(tmp_path)
    assert build_networks(after) == build_networks(before)


def test_weights_are_rounded_to_tiers_where_asked_for() -> None:
    text = HEADER + "<a> = /0.2/ b | /14/ c | /0.0005/ d | /3/ e;\n"
    assert formatted(text, "trial") == text
    assert "/0.3/ b | /10/ c | /0.001/ d | /3/ e;" in formatted(text, "trial", to_tiers=True)
    assert {0.3, 10, 0.001, 3} <= TIERS.keys()


def test_the_command_checks_and_writes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "trial.jsgf"
    path.write_text(HEADER + "<a>=b;\n", encoding="utf-8")
    assert main(["--check", str(tmp_path)]) == 1
    assert "would be laid out anew" in capsys.readouterr().out
    assert path.read_text(encoding="utf-8") == HEADER + "<a>=b;\n"
    assert main([str(tmp_path)]) == 0
    assert path.read_text(encoding="utf-8") == HEADER + "<a> = b;\n"
    assert main(["--check", str(tmp_path)]) == 0


def test_a_damaged_grammar_is_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "trial.jsgf"
    path.write_text(HEADER + "<a>=( b;\n", encoding="utf-8")
    assert main([str(tmp_path)]) == 1
    assert "trial.jsgf:3:8: error[unclosed]" in capsys.readouterr().err
    assert path.read_text(encoding="utf-8") == HEADER + "<a>=( b;\n"
    with pytest.raises(GrammarError):
        formatted(HEADER + "<a> = b", "trial")
