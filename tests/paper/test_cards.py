"""What is printed, read back out of the PDF."""

from __future__ import annotations

import itertools

import pypdfium2
import pytest

from fieldvoice.dialogue.sayable import examples
from fieldvoice.paper.cards import PARTS, cards, has_something
from fieldvoice.paper.print_page import MARGIN, SIZES
from tests.paper.conftest import FIRST, SEASON, on

POINTS_A_MM = 72 / 25.4


@pytest.fixture
def printed(looked_back):
    """Print parts of a book made of notes; give the document."""

    def printing(*notes, parts=PARTS, size="letter"):
        with looked_back(*notes) as (sheet, _):
            return pypdfium2.PdfDocument(cards(sheet, parts, size, FIRST))

    return printing


def text_of(document):
    """All words of a document, page by page."""
    return [page.get_textpage().get_text_bounded().replace("\r\n", "\n") for page in document]


def letters(page):
    """Every letter of a page with its left, bottom, right and top edge."""
    words = page.get_textpage()
    for index in range(words.count_chars()):
        letter = words.get_text_range(index, 1)
        if letter.strip():
            yield letter, words.get_charbox(index)


@pytest.mark.parametrize("size", SIZES)
def test_nothing_is_printed_where_a_home_printer_cannot(printed, size):
    """Half an inch of every page stays blank, on either paper."""
    document = printed(*SEASON, on(6, "name", tree=2, name="oak " * 40), size=size)
    width, height = SIZES[size]
    for page in document:
        assert page.get_size() == pytest.approx((width, height), abs=0.01)
        for letter, (left, bottom, right, top) in letters(page):
            assert left >= MARGIN - 1, letter
            assert bottom >= MARGIN - 3, letter  # a tail below the line
            assert right <= width - MARGIN + 1, letter
            assert top <= height - MARGIN + 1, letter


def test_the_number_is_read_from_two_metres(printed):
    """Figures of 25 mm and more; common practice has 10 mm for two metres or three."""
    page = printed(on(0, "tap", tree=128), parts=["trees"])[0]
    highest = [top - bottom for letter, (_, bottom, _, top) in letters(page) if letter in "128"]
    assert sorted(highest)[-3] >= 25 * POINTS_A_MM


def test_a_tree_card_tells_what_is_known_of_the_tree(printed):
    """Name, kind, size, taps allowed, and where to drill."""
    (page,) = text_of(printed(*SEASON, on(6, "name", tree=1, name="crooked oak"), parts=["trees"]))
    assert "Crooked oak" in page
    assert "Sugar maple, 16 in across" in page
    assert "1 tap at most" in page
    assert "Measure it before tapping" in page
    assert "A hand to the right of this year's hole" in page.replace("\n", " ")


@pytest.mark.parametrize(
    ("health", "told"),
    [
        ({"condition": "dying"}, "No tap"),
        ({"condition": "damaged"}, "No tap"),
        ({"dieback": 40.0}, "No tap"),
        ({"condition": "stressed"}, "Measure it before tapping"),
    ],
)
def test_a_tree_that_is_to_rest_is_not_to_be_measured_first(printed, health, told):
    """Its card forbids the tap, as the spoken answer does, also where its size is not known."""
    (page,) = text_of(printed(on(0, "health", tree=4, **health), parts=["trees"]))
    assert told in page
    assert ("No tap" in page) == (told == "No tap")


def test_the_field_card_has_every_example(printed):
    """What the declarations give as examples, and nothing of its own."""
    told = " ".join(" ".join(text_of(printed(parts=["field"]))).split())
    for words in itertools.chain.from_iterable(kind.values() for kind in examples().values()):
        assert words in told


def test_the_round_sheet_is_in_walking_order(printed):
    """As the last round went; trees never come to follow."""
    notes = (
        on(0, "measure", tree=9, diameter_in=12), on(1, "inspect", tree=4, fill=1),
        on(1.01, "inspect", tree=2, fill=1), on(1.02, "inspect", tree=7, fill=1),
    )  # fmt: skip
    (page,) = text_of(printed(*notes, parts=["round"]))
    lines = [line for line in page.split("\n") if line.startswith("Tree ")]
    assert [line.split()[1] for line in lines] == ["9", "4", "2", "7"]


def test_a_label_for_each_jar_left(printed):
    """Date, lot, colour and volume; what the law asks for is left to fill in."""
    (page,) = text_of(printed(*SEASON, parts=["labels"]))
    assert page.count("Maple syrup") == 2
    assert "pint (473 mL)" in page
    assert "half pint (237 mL)" in page
    assert page.count("Amber") == 2
    assert page.count("Lot 27063-1724") == 2
    assert page.count("Filled March 4, 2027") == 2
    assert "Your local rules say what a label must tell" in page.replace("\n", " ")


def test_jars_of_earlier_years_are_labelled_already(looked_back):
    """Only the season's own get labels."""
    with looked_back(on(-400, "pack", count=2, size="pint"), on(0, "tap", tree=1)) as (sheet, _):
        assert not has_something(sheet, "labels")


def test_the_same_book_gives_the_same_bytes(looked_back):
    """Nothing of the hour or the machine is in the file."""
    with looked_back(*SEASON) as (first, _), looked_back(*SEASON) as (second, _):
        assert cards(first, PARTS, "a4", FIRST) == cards(second, PARTS, "a4", FIRST)


def test_signs_that_the_printer_has_not_are_marked(printed):
    """A name in other letters does not stop the card; its number stands."""
    notes = (on(0, "tap", tree=5), on(0, "name", tree=5, name="ёлка <b>"))
    (page,) = text_of(printed(*notes, parts=["trees"]))
    assert "???? <b>" in page
