"""The JSGF reader, against the format's own note (W3C, 5 June 2000) and this house's refusals."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.errors import GrammarError
from fieldvoice.grammar.jsgf import (
    Alternatives,
    Repeat,
    RuleRef,
    Sequence,
    Tagged,
    Token,
    read_file,
    read_folder,
)

if TYPE_CHECKING:
    from pathlib import Path

HEADER = "#JSGF V1.0;\ngrammar trial;\n"


def rule(expansion: str) -> object:
    return read_file(f"{HEADER}<it> = {expansion};", "trial").rules["it"].expansion


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("hello", Token("hello")),
        ('"New"', Token("new")),
        ("<other>", RuleRef("other")),
        ("a b", Sequence((Token("a"), Token("b")))),
        ("a | b", Alternatives((Token("a"), Token("b")), (1.0, 1.0))),
        # Section 4.3.1 of the note: weights in slashes before each alternative.
        ("/10/ a | /2.5/ b", Alternatives((Token("a"), Token("b")), (10.0, 2.5))),
        # Section 4.4: grouping and optional grouping.
        ("a ( b | c )", Sequence((Token("a"), Alternatives((Token("b"), Token("c")), (1.0, 1.0))))),
        ("[ a ]", Repeat(Token("a"), 0, False)),
        # Section 4.5: Kleene star and plus bind tighter than sequences.
        ("a b*", Sequence((Token("a"), Repeat(Token("b"), 0, True)))),
        ("a+", Repeat(Token("a"), 1, True)),
        # Section 4.6: tags belong to what stands before them.
        ("a b {x=1}", Sequence((Token("a"), Tagged(Token("b"), ("x=1",))))),
        ("( a b ) {x} {y}", Tagged(Sequence((Token("a"), Token("b"))), ("x", "y"))),
        # Section 4.7: | binds loosest.
        ("a b | c", Alternatives((Sequence((Token("a"), Token("b"))), Token("c")), (1.0, 1.0))),
        ("a // a comment\n b", Sequence((Token("a"), Token("b")))),
        ("a /* another */ b", Sequence((Token("a"), Token("b")))),
        ("<NULL>", Sequence(())),
        ("<VOID>", Alternatives((), ())),
        ("[/0.3/ a]", Alternatives((Token("a"), Sequence(())), (0.3, 1.0))),
        ("what's", Sequence((Token("what"), Token("'s")))),
    ],
)
def test_expansions(text: str, expected: object) -> None:
    assert rule(text) == expected


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("grammar x;\n<a> = b;", "must begin with #JSGF"),
        (HEADER + "<a> = ;", "line 3: expected something to say"),
        (HEADER + "<a> = ( b ;", "expected ')'"),
        (HEADER + "<a> = b", "expected ';'"),
        (HEADER + "<a> = b;\n<a> = c;", "defined twice"),
        (HEADER + "<a> = b } c;", "cannot stand here"),
        (HEADER + "<a> = b | /2/ ;", "expected something to say"),
    ],
)
def test_errors_name_the_line_and_what_was_expected(text: str, says: str) -> None:
    with pytest.raises(GrammarError, match="trial") as caught:
        read_file(text, "trial")
    assert says in str(caught.value)


def write(folder: Path, **files: str) -> Path:
    for name, body in files.items():
        text = f"#JSGF V1.0;\ngrammar {name};\n{body}"
        (folder / f"{name}.jsgf").write_text(text, encoding="utf-8")
    return folder


def test_imports_bring_public_rules_of_another_file(tmp_path: Path) -> None:
    rules = read_folder(
        write(tmp_path, one="import <two.*>;\npublic <a> = <b>;", two="public <b> = x;\n<c> = y;")
    )
    assert rules["one.a"].expansion == RuleRef("two.b")
    assert rules["one.a"].public
    assert not rules["two.c"].public


def test_documentation_comments_belong_to_the_rule_that_follows(tmp_path: Path) -> None:
    rules = read_folder(write(tmp_path, one="/** Say hello. */\npublic <a> = hello;"))
    assert rules["one.a"].about == "Say hello."


@pytest.mark.parametrize(
    ("files", "says"),
    [
        ({"one": "<a> = <b>;"}, "<one.a> uses <b>, which is not defined"),
        ({"one": "import <two.*>;\n<a> = <c>;", "two": "<c> = x;"}, "uses <c>"),
        ({"one": "import <three.*>;\n<a> = x;"}, "no grammar has that name"),
        ({"one": "import <two.c>;\n<a> = x;", "two": "<c> = x;"}, "not a public rule"),
        ({"one": "<a> = x <b>;\n<b> = <a> | y;"}, "<one.a> → <one.b> → <one.a>"),
        ({"one": "<a> = <a> x | y;"}, "a rule may not contain itself: <one.a> → <one.a>"),
    ],
)
def test_what_a_folder_may_not_hold(tmp_path: Path, files: dict[str, str], says: str) -> None:
    with pytest.raises(GrammarError) as caught:
        read_folder(write(tmp_path, **files))
    assert says in str(caught.value)


def test_an_empty_folder_is_said_to_be_one(tmp_path: Path) -> None:
    with pytest.raises(GrammarError, match="no grammar files"):
        read_folder(tmp_path)
