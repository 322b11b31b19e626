"""The folder of cards: what is read, and what is said of a card that cannot be used."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import pytest

from fieldvoice.errors import HandbookError
from fieldvoice.handbook import handbook_folder, load
from fieldvoice.rules import sources

if TYPE_CHECKING:
    from pathlib import Path

GOOD = """\
# The pan

## foam-over
title: Foam
level: care
say: A drop of defoamer.
why: Foam lifts the sap off the metal,
  so that it burns.
source: OSU_FOAM; common practice
asked:
- what about foam
- it foams!
"""


def _read(folder: Path, text: str):
    (folder / "pan.md").write_text(text, encoding="utf-8")
    return load(folder)


def test_a_card_is_read_with_all_it_says(tmp_path):
    book = _read(tmp_path, GOOD)
    assert book.faults == ()
    (card,) = book.cards
    assert (card.id, card.subject, card.title, card.level) == (
        "foam-over", "The pan", "Foam", "care",
    )  # fmt: skip
    assert card.why == "Foam lifts the sap off the metal, so that it burns."
    assert card.sources == (sources.OSU_FOAM, "common practice")
    assert card.asked == ("what about foam", "it foams!")
    assert card.rule is None
    assert book.subjects == {"The pan": [card]}


SECOND = GOOD.split("\n\n", 1)[1].replace("foam-over", "second")


@pytest.mark.parametrize(
    ("was", "becomes", "line", "reason"),
    [
        ("## second", "## Second Card", 14, "small letters and hyphens"),
        ("## second", "## foam-over", 14, "in pan.md already"),
        ("title: Foam\n", "", 14, "'title' is missing"),
        ("title: Foam", "title:", 14, "'title' is missing"),
        ("level: care", "level: danger", 16, "the level must be one of note, care, stop"),
        ("say: A drop", "say: " + "many " * 25 + "drop", 17, "has 28 words, at most 25"),
        ("OSU_FOAM", "OSU_FROTH", 20, "no source is called 'OSU_FROTH'"),
        ("OSU_FOAM", "SPOKEN", 20, "no source is called 'SPOKEN'"),
        ("OSU_FOAM", "from memory: ", 20, "no source is called"),
        ("A drop", "{police} A drop", 17, "no telephone number is called {police}"),
        ("why: ", "why: {", 18, "no telephone number is called {"),
        ("why: ", "because: ", 18, "there is no field 'because'"),
        ("level: care", "level: care\nlevel: care", 17, "'level' is written twice"),
        ("level: care", "level care", 16, "neither a field nor an asking"),
        ("- what about foam\n- it foams!\n", "", 14, "nobody asks it"),
        ("what about foam", "it foams", 23, "'it foams' is asked twice"),
        ("what about foam\n- it foams!", "second\n- What about foam?", 23,
         "'what about foam' is asked of foam-over already"),
        ("what about foam", "?", 22, "an empty asking"),
    ],
)  # fmt: skip
def test_a_faulty_card_is_named_and_left_out(tmp_path, was, becomes, line, reason):
    good = SECOND.replace("what about foam", "is foam bad").replace("it foams!", "foam again")
    faulty = SECOND.replace(was, becomes, 1)
    if "asked of" not in reason:
        faulty = faulty.replace("what about foam", "one").replace("it foams!", "it foams so")
        faulty = faulty.replace("it foams\n- it foams so", "it foams\n- it foams!")
    book = _read(tmp_path, f"{GOOD}\n{faulty}\n{good.replace('second', 'third')}")
    assert [card.id for card in book.cards] == ["foam-over", "third"]
    (fault,) = book.faults
    assert (fault.file, fault.line) == ("pan.md", line)
    assert reason in str(fault)


def test_a_file_without_a_subject_is_named_and_the_others_work(tmp_path):
    (tmp_path / "other.md").write_text("## card\n", encoding="utf-8")
    book = _read(tmp_path, GOOD)
    assert [card.id for card in book.cards] == ["foam-over"]
    assert str(book.faults[0]).startswith("other.md, line 1: the first line")


def test_no_folder_is_said_plainly(tmp_path):
    with pytest.raises(HandbookError, match="There is no handbook in"):
        load(tmp_path / "nothing")


def test_the_whole_handbook_is_read_in_a_tenth_of_a_second():
    """In time of the processor: others may be using it too."""
    times = []
    for _ in range(5):
        began = time.process_time()
        load(handbook_folder())
        times.append(time.process_time() - began)
    assert min(times) < 0.1
