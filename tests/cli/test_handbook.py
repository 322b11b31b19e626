"""``fieldvoice handbook``: all subjects, the cards about a word, and faulty cards named."""

from __future__ import annotations

import json

from click.testing import CliRunner

from fieldvoice.cli.main import cli
from fieldvoice.handbook import handbook_folder, load, with_numbers


def _run(*args: str):
    return CliRunner().invoke(cli, ["handbook", *args])


def test_without_a_word_every_card_is_listed_under_its_subject():
    shown = _run().output
    unwrapped = " ".join(shown.split())
    book = load(handbook_folder())
    for subject, cards in book.subjects.items():
        assert f"{subject}\n" in shown
        for card in cards:
            assert card.title in unwrapped
    assert f"{len(book.cards)} cards." in shown


def test_a_word_shows_what_is_said_why_and_by_whom():
    shown = " ".join(_run("stack-fire").output.split())
    (card,) = [card for card in load(handbook_folder()).cards if card.id == "stack-fire"]
    for told in (card.title, with_numbers(card.say), with_numbers(card.why), *card.sources):
        assert told in shown


def test_words_of_no_title_show_the_nearest_card():
    assert "(boil-galvanized, stop)" in _run("can", "i", "boil", "in", "zinc").output


def test_nothing_about_it_is_said_plainly():
    assert "No card is about 'zzzz'" in _run("zzzz").stderr


def test_as_json():
    (card,) = json.loads(_run("stack-fire", "--json").output)
    assert card["card"] == "stack-fire"
    assert card["level"] == "emergency"


def test_a_faulty_card_is_named_and_the_others_are_shown(tmp_path, monkeypatch):
    good = (
        "# Pan\n\n## good\ntitle: Good\nlevel: note\nsay: Yes.\nwhy: So.\n"
        "source: common practice\nasked:\n- is it good\n\n## bad\ntitle: Bad\n"
    )
    (tmp_path / "pan.md").write_text(good)
    monkeypatch.setattr("fieldvoice.handbook.handbook_folder", lambda: tmp_path)
    ran = _run()
    assert "Left out: pan.md, line 12: bad: 'level' is missing" in ran.stderr
    assert "good" in ran.stdout
