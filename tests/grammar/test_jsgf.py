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
        (
            "grammar x;\n<a> = b;",
            "trial:1:1: error[syntax]: found 'grammar'; expected '#JSGF V1.0;'",
        ),
        (HEADER + "<a> = ;", "trial:3:7: error[syntax]: found ';' after '='; expected a word,"),
        (
            HEADER + "<a> = b | ;",
            "trial:3:11: error[syntax]: found ';' after '|'; expected a word,",
        ),
        (HEADER + "<a> = b | /2/ ;", "trial:3:15: error[syntax]: found ';' after '/2/'; expected"),
        (HEADER + "<a> = /2/ b;", "trial:3:12: error[syntax]: found ';' after 'b'; expected '|'"),
        (HEADER + "<a> = /1.2.3/ b | c;", "trial:3:7: error[syntax]: found '/1.2.3/' after '='"),
        (HEADER + "<a> = b } c;", "trial:3:9: error[syntax]: found '}', which cannot stand here"),
        (HEADER + "<a> = b ) c;", "trial:3:9: error[syntax]: found ')' after 'b'; expected"),
        (
            HEADER + "<a> = b {!};",
            "trial:3:9: error[syntax]: found '{!}' after 'b'; expected a tag",
        ),
        (
            HEADER + "<a> = x |\n  ( b ;",
            "trial:4:7: error[unclosed]: '(' of 4:3 is never closed; "
            "expected ')' or '|' before ';'",
        ),
        (HEADER + "<a> = [ b ;", "'[' of 3:7 is never closed; expected ']' or '|' before ';'"),
        (
            HEADER + "<a> = b",
            "error[unclosed]: rule <a> of 3:1 is never closed; expected ';' before",
        ),
        (HEADER + "<a> = b {x", "trial:3:9: error[unclosed]: '{' is never closed; expected '}'"),
        (HEADER + "/* <a> = b;", "trial:3:1: error[unclosed]: '/*' is never closed"),
        (HEADER + "<a> = b;\n<a> = c;", "trial:4:1: error[double]: rule <a> is defined twice"),
        ("#JSGF V1.0", "trial:1:11: error[syntax]: found the end of the file"),
    ],
)
def test_errors_name_the_place_and_what_was_expected(text: str, says: str) -> None:
    with pytest.raises(GrammarError, match="trial") as caught:
        read_file(text, "trial")
    assert says in str(caught.value)


def test_an_error_shows_its_line_and_a_caret_below() -> None:
    with pytest.raises(GrammarError) as caught:
        read_file(HEADER + "<a> = ( tree | maple {species};\n", "trees.jsgf")
    assert str(caught.value).splitlines() == [
        "trees.jsgf:3:31: error[unclosed]: '(' of 3:7 is never closed; "
        "expected ')' or '|' before ';'",
        " 3 | <a> = ( tree | maple {species};",
        "   |                               ^",
    ]


def test_of_a_long_line_the_part_around_the_caret_is_shown() -> None:
    with pytest.raises(GrammarError) as caught:
        read_file(HEADER + f"<a> = {'word ' * 100} | | {'word ' * 100};", "trial")
    _, shown, caret = str(caught.value).splitlines()
    assert len(shown) < 120
    assert shown[caret.index("^")] == "|"


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
        (
            {"one": "<sap_state> = x;\n<a> = <sap_sate>;"},
            "one.jsgf:4:7: error[undefined-rule]: <sap_sate> is not defined in one.jsgf or "
            "imported; did you mean <sap_state>?\n 4 | <a> = <sap_sate>;\n   |       ^^^^^^^^^^",
        ),
        ({"one": "import <two.*>;\n<a> = <c>;", "two": "<c> = x;"}, "<c> is not defined in"),
        ({"one": "import <three.*>;\n<a> = x;"}, "one.jsgf:3:8: error[undefined-rule]: <three.*>"),
        ({"one": "import <two.c>;\n<a> = x;", "two": "<c> = x;"}, "not a public rule"),
        (
            {"one": "<a> = x <b>;\n<b> = <a> | y;"},
            "error[recursion]: a rule may not contain itself: <one.a> → <one.b> → <one.a>",
        ),
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
