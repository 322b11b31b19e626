"""What a person would ask before writing it down: conversations about sap and syrup.

Each is played in an empty book; the last line is looked at. "+3" lets three hours go by.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from fieldvoice.dialogue import Settings

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.dialogue.conftest import Talk

FIFTY = Settings(capacities_gal={"tank 1": 50.0})

#: Lines said, what becomes of the last, and what its reply has.
TALKS = [
    # Poured more than told.
    (("there's twenty gallons in tank one", "put ten gallons in tank one"), "asked", "in all"),
    (("tank one is at twenty gallons", "+5", "put ten gallons in tank one"), "saved", "10 gal in"),
    # More than a vessel holds.
    (("put seventy gallons in barrel one",), "asked", "55 gal as a rule"),
    (("put fifty gallons in barrel one", "put ten more gallons in barrel one"), "asked", "50 gal"),
    (("put forty gallons in barrel one", "put ten gallons in barrel one"), "saved", "10 gal in"),
    (
        ("tank one holds a hundred gallons when full", "tank one is at a hundred twenty gallons"),
        "asked", "100 gal",
    ),
    # Spoiling sap and good sap.
    (
        ("put thirty gallons in tank one", "tank one is clear", "tree nine is cloudy",
         "gathered two gallons from tree nine into tank one"),
        "asked", "would turn all of tank 1",
    ),
    (
        ("put thirty gallons in tank one", "put twenty gallons in tank two", "tank two is sour",
         "can i pour tank two into tank one"),
        "answered", "No",
    ),
    (
        ("put ten gallons in tank one", "tank one smells sour",
         "gathered six gallons from tree two into tank one"),
        "asked", "would spoil it",
    ),
    (
        ("put ten gallons in tank one", "tank one is hazy",
         "gathered two gallons from tree two into tank one"),
        "saved", "into tank 1",
    ),
    (("put thirty gallons in tank one", "tank one is ropey", "boiled tank one"), "asked", "ropey"),
    # More than the trees give.
    (
        ("tree one has two taps", "gathered eight gallons from tree one", "+6",
         "gathered nine gallons from tree one"),
        "asked", "was emptied",
    ),
    (("gathered twelve gallons from tree four",), "asked", "12 gal from one tree"),
    (("gathered twenty five gallons",), "saved", "whole yard"),
    (("tree four is half full", "brought in forty five gallons"), "saved", "whole yard"),
    (("tree four is half full", "gathered twelve gallons"), "asked", "one tree"),
    (("gathered five gallons",), "asked", "Which tree?"),
    # More syrup than the sap held.
    (("boiled forty gallons", "drew off five gallons"), "asked", "1.4 gal"),
    (("boiled forty gallons", "drew off a gallon"), "saved", "1 gal"),
    (
        ("put forty gallons in tank one", "tank one is two percent", "started boiling tank one",
         "drew off half a gallon", "drew off half a gallon", "drew off half a gallon"),
        "asked", "1 gal drawn",
    ),
    # More packed than drawn.
    (("drew off one gallon", "packed eight pints", "packed four quarts"), "asked", "no syrup"),
    (("drew off one gallon", "packed eight pints"), "saved", "8 pints"),
    (("packed six pints", "sold ten pints"), "asked", "6 pints in stock"),
    # More taken than there is; part of a tank.
    (("put ten gallons in tank one", "dumped fifteen gallons from tank one"), "asked", "10 gal"),
    (("put ten gallons in tank one", "dumped three gallons from tank one", "yes",
      "what's in tank one"), "answered", "7 gal"),
    (("put ten gallons in tank one", "took four gallons out of tank one"), "asked", "Into which"),
    (("put ten gallons in tank one", "took four gallons out of tank one", "tank two",
      "what's in tank two"), "answered", "4 gal"),
    (("put ten gallons in tank one", "took twelve gallons of ice out of tank one"), "asked",
     "10 gal"),
    # Numbers that cannot be.
    (("low fifty high twenty",), "asked", "over a high of"),
    (("tank one is at four degrees",), "asked", "Celsius or Fahrenheit?"),
    (("tree nine is ninety inches across",), "asked", "19 inches, or 90?"),
    (("tank one is twenty percent",), "asked", "2 Brix in the sap, or 20?"),
    (("tapped tree nine fifteen inches deep",), "asked", "1.5 inches deep, or 15?"),
    # Times that cannot be.
    (("put ten gallons in tank two at eleven pm",), "saved", "yesterday at 11:00 pm"),
    # What is worth a fire.
    (("we don't light for less than fifteen gallons", "put twelve gallons in tank one",
      "what should i boil today"), "answered", "3 gal more"),
    (("under sixty gallons isn't worth a fire", "put thirty gallons in tank one",
      "is it worth lighting the fire"), "answered", "not enough"),
    # What the book has not understood is told beside a total.
    (("put twenty gallons in tank one", "the blarney went wobbly", "how much sap do i have"),
     "answered", "1 note waits for review"),
    # Sap that was looked at before it was gathered.
    (("tree four is clear", "gathered two gallons from tree four", "is that bad"), "answered",
     "No: clear"),
    (("tree four is cloudy", "gathered two gallons from tree four", "is that bad"), "answered",
     "Yes"),
    (("gathered two gallons from tree four", "is that bad"), "answered", "how it looks"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("lines", "outcome", "has"), TALKS, ids=[f"{n} {one[0][-1]}" for n, one in enumerate(TALKS)]
)
def test_the_ledger_asks_what_a_person_would(
    lines: tuple[str, ...], outcome: str, has: str, talk: Talk
) -> None:
    for line in lines[:-1]:
        if line.startswith("+"):
            talk.wait(hours=float(line))
        else:
            talk.say(line)
    reply = talk.say(lines[-1])
    assert reply.outcome == outcome, reply.text
    assert has.lower() in reply.text.lower(), reply.text


def test_the_size_that_was_set_counts(talk_with: Callable[..., Talk]) -> None:
    talk = talk_with(FIFTY)
    reply = talk.say("put forty gallons in tank one", "gathered fifteen gallons into tank one")
    assert reply.outcome == "asked"
    assert "holds 50 gal" in reply.text


def test_degrees_of_a_metric_book_that_can_be_only_one(talk_with: Callable[..., Talk]) -> None:
    """Nothing here is 219 °C: it is not asked which; thirty eight may be either, in figures."""
    talk = talk_with(Settings(metric=True))
    assert talk.say("drew off two liters at two nineteen").outcome == "saved"
    assert talk.notes[-1]["temp_f"] == 219.0
    asked = talk.say("tank one is at thirty eight degrees")
    assert "38 degrees: Celsius or Fahrenheit?" in asked.text
