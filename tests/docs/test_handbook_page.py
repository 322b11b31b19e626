"""``docs/handbook.md``: up to date, and every card on it."""

from __future__ import annotations

from docs.handbook_page import HERE, page
from fieldvoice.handbook import handbook_folder, load, with_numbers


def test_the_page_is_up_to_date():
    """After a change of the cards: make docs."""
    assert (HERE / "handbook.md").read_text("utf-8") == page()


def test_every_card_and_subject_is_on_the_page():
    book, written = load(handbook_folder()), page()
    for subject, cards in book.subjects.items():
        assert f"\n## {subject}\n" in written
        for card in cards:
            assert f"\n### {card.title}\n\n**{with_numbers(card.say)}**\n" in written
