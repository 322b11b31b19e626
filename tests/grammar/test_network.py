"""Networks, first words, what may come next, and sentences, on small grammars and on ours."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import pytest

from fieldvoice.errors import GrammarError
from fieldvoice.grammar import load_grammar
from fieldvoice.grammar.expect import next_words
from fieldvoice.grammar.jsgf import CLITIC, read_folder
from fieldvoice.grammar.network import build_networks, first_words
from fieldvoice.grammar.sentences import Drawing
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from pathlib import Path

    from fieldvoice.grammar.jsgf import Rule


def rules_of(folder: Path, body: str) -> dict[str, Rule]:
    (folder / "g.jsgf").write_text(f"#JSGF V1.0;\ngrammar g;\n{body}", encoding="utf-8")
    return read_folder(folder)


BUCKET = (
    "<top> = [the] bucket ( full | empty ) [<more>];\n<more> = and <sap>+;\n<sap> = clear | sour;"
)


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("", {"the", "bucket"}),
        ("the", {"bucket"}),
        ("bucket", {"full", "empty"}),
        ("the bucket full", {"and"}),
        ("bucket empty and", {"clear", "sour"}),
        ("bucket empty and sour", {"clear", "sour"}),
        ("full", set()),
    ],
)
def test_next_words(tmp_path: Path, said: str, expected: set[str]) -> None:
    networks = build_networks(rules_of(tmp_path, BUCKET))
    assert set(next_words(networks, "g.top", said.split())) == expected


def test_next_words_begin_with_what_is_said_most(tmp_path: Path) -> None:
    """By the weights along the way, through other rules too; equals by the alphabet."""
    body = "<top> = ( /0.1/ <a> | /5/ pear | /2/ fig | apple ) end;\n<a> = /5/ kiwi | /9/ nut;"
    networks = build_networks(rules_of(tmp_path, body))
    assert next_words(networks, "g.top", []) == ["pear", "fig", "apple", "nut", "kiwi"]


def test_first_words_see_through_calls_and_words_that_may_be_missing(tmp_path: Path) -> None:
    networks = build_networks(rules_of(tmp_path, BUCKET))
    assert first_words(networks)["g.top"] == {"the", "bucket"}
    missing = frozenset({"bucket"})
    assert first_words(networks, lambda _: missing)["g.top"] == {"the", "bucket", "full", "empty"}


@pytest.mark.parametrize("body", ["<a> = [x];", "<a> = x*;", "<a> = ( [x] )+ y;"])
def test_rules_and_repeats_that_can_be_silent_are_refused(tmp_path: Path, body: str) -> None:
    with pytest.raises(
        GrammarError, match=r"g\.jsgf:3:\d: error\[silent\]: .* can be said with no word"
    ):
        build_networks(rules_of(tmp_path, body))


def test_weights_say_how_often_a_choice_is_drawn(tmp_path: Path) -> None:
    rules = rules_of(tmp_path, "<top> = /9/ often | /1/ seldom;")
    drawing = Drawing(rules, random.Random(3))
    words = [drawing.draw("g.top").words[0] for _ in range(2000)]
    assert 0.87 < words.count("often") / 2000 < 0.93


def test_sentences_repeat_by_seed_and_use_the_whole_vocabulary() -> None:
    grammar = GRAMMAR
    assert list(grammar.sentences(50, seed=5)) == list(grammar.sentences(50, seed=5))
    drawn = {word for sentence in grammar.sentences(3000, seed=1) for word in sentence}
    assert {word.removesuffix(CLITIC) for word in drawn} <= grammar.words


def test_what_is_kept_of_the_grammar_is_made_once_and_anew_when_damaged(tmp_path: Path) -> None:
    made: list[str] = []

    def make() -> list[str]:
        made.append("made")
        return ["tree twelve", "half full"]

    assert load_grammar(cache=tmp_path).kept("some", make) == ["tree twelve", "half full"]
    assert load_grammar(cache=tmp_path).kept("some", make) == ["tree twelve", "half full"]
    assert len(made) == 1
    (file,) = tmp_path.glob("some-*")
    file.write_bytes(file.read_bytes().replace(b"twelve", b"eleven"))
    assert load_grammar(cache=tmp_path).kept("some", make) == ["tree twelve", "half full"]
    assert len(made) == 2


def test_a_damaged_cache_is_made_anew(tmp_path: Path) -> None:
    grammar = load_grammar(cache=tmp_path)
    states = len(grammar.networks["numbers.whole"].words)
    stored = next(tmp_path.glob("networks-*"))
    stored.write_bytes(b"not what was written")
    assert len(load_grammar(cache=tmp_path).networks["numbers.whole"].words) == states


def test_the_fingerprint_follows_the_content(tmp_path: Path) -> None:
    rules_of(tmp_path, "<a> = x;")
    before = load_grammar(tmp_path).fingerprint
    rules_of(tmp_path, "<a> = y;")
    assert load_grammar(tmp_path).fingerprint != before


def test_another_domains_grammar_goes_by_any_name(tmp_path: Path) -> None:
    """Its file and its public rule are what counts; without the rule that is told in one line."""
    (tmp_path / "rooms.jsgf").write_text(
        "#JSGF V1.0;\ngrammar rooms;\npublic <room> = the (kitchen | porch);\n"
    )
    file = tmp_path / "fieldvoice.jsgf"
    file.write_text(
        "#JSGF V1.0;\ngrammar lights;\nimport <rooms.*>;\npublic <order> = light <room>;\n"
    )
    with pytest.raises(GrammarError, match=r"has no rule <utterance> in its fieldvoice\.jsgf"):
        _ = load_grammar(tmp_path).rules
    file.write_text(file.read_text().replace("<order>", "<utterance>"))
    grammar = load_grammar(tmp_path)
    assert grammar.words == {"light", "the", "kitchen", "porch"}
    assert set(grammar.sentences(20)) <= {
        ("light", "the", "kitchen"), ("light", "the", "porch")
    }  # fmt: skip
