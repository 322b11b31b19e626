"""What is made of the grammar, and when it is made again."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.asr import model_files as made
from fieldvoice.asr.model_files import bundled_model, model_files
from fieldvoice.asr.pocketsphinx_engine import PocketsphinxRecogniser
from fieldvoice.errors import RecogniserError
from fieldvoice.grammar import load_grammar
from tests.asr.test_pocketsphinx_engine import small_grammar

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fieldvoice.asr import Samples


@pytest.fixture(autouse=True)
def _few_sentences(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(made, "SENTENCES", 200)


def test_files_are_made_once_and_opened_after(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    grammar = small_grammar(tmp_path, "tree ( two | three )")
    files = model_files(grammar, tmp_path / "cache")
    assert files.dictionary.read_text().split("\n")[0] == "three TH R IY"
    assert files.language_model.stat().st_size > 0
    assert sorted(path.name for path in (tmp_path / "cache").iterdir()) == [files.folder.name]
    monkeypatch.setattr(made, "_make", None)
    assert model_files(grammar, tmp_path / "cache") == files


@pytest.mark.long
def test_what_is_made_is_the_same_each_time(tmp_path: Path) -> None:
    grammar = load_grammar()
    one, other = (model_files(grammar, tmp_path / name) for name in ("one", "other"))
    assert one.dictionary.read_bytes() == other.dictionary.read_bytes()
    assert one.language_model.read_bytes() == other.language_model.read_bytes()


def test_another_grammar_has_other_files(tmp_path: Path) -> None:
    one = model_files(small_grammar(tmp_path, "tree two"), tmp_path)
    grammar = tmp_path / "grammars" / "fieldvoice.jsgf"
    grammar.write_text(grammar.read_text().replace("two", "three"))
    assert model_files(load_grammar(tmp_path / "grammars"), tmp_path).folder != one.folder


def test_new_pronunciations_make_new_files(tmp_path: Path) -> None:
    grammar = small_grammar(tmp_path, "tree two")
    one = model_files(grammar, tmp_path)
    (grammar.folder / "pronunciations.dict").write_text("tree CH R IY\n")
    other = model_files(load_grammar(grammar.folder), tmp_path)
    assert other.folder != one.folder
    assert "CH R IY" in other.dictionary.read_text()


def test_a_failed_making_leaves_nothing_behind(tmp_path: Path) -> None:
    """A power cut half way must not leave files that look whole."""
    grammar = small_grammar(tmp_path, "tree two")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(made, "_to_binary", lambda *_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            model_files(grammar, tmp_path / "cache")
    assert list((tmp_path / "cache").iterdir()) == []


@pytest.mark.long
@pytest.mark.parametrize("name", ["dictionary", "language_model"])
def test_damaged_files_are_made_anew(
    tmp_path: Path, say: Callable[[str], Samples], name: str
) -> None:
    grammar = small_grammar(tmp_path, "tree ( two | three )")
    getattr(model_files(grammar, tmp_path / "cache"), name).unlink()
    recogniser = PocketsphinxRecogniser(grammar, tmp_path / "cache")
    assert recogniser.recognise(say("tree two")).text == "tree two"


def test_a_cache_that_cannot_be_written_is_told_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "cache").write_text("a file where a folder should be")
    with pytest.raises(RecogniserError, match="cannot write the recogniser's files") as raised:
        model_files(small_grammar(tmp_path, "tree two"), tmp_path / "cache")
    assert "\n" not in str(raised.value)


def test_a_missing_part_of_the_model_is_named() -> None:
    with pytest.raises(RecogniserError, match=r"lacks de-de\.dict"):
        bundled_model("de-de.dict")


def test_a_later_start_makes_nothing_anew(hearing_cache: Path) -> None:
    """The whole grammar's files, once made, only have to be opened."""
    (made,) = hearing_cache.glob("hearing-*")
    before = {file: file.stat().st_mtime_ns for file in made.iterdir()}
    PocketsphinxRecogniser(load_grammar(), hearing_cache)
    after = {file: file.stat().st_mtime_ns for file in made.iterdir()}
    assert before
    assert after == before
