"""A book speaks its own units only: every question, note, reminder, board and card, both ways."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from fieldvoice.dialogue import Conversation, Settings
from fieldvoice.dialogue.board import board
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlg.metric import in_metric
from fieldvoice.schema.acts import ACTS
from fieldvoice.schema.asks import ASKS
from fieldvoice.transcript import typed
from tests.dialogue.conftest import MORNING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldvoice.book import Book
    from fieldvoice.nlu import Interpreter

#: Words and signs of US units; jars keep the names of their sizes, bits and wheelbarrows theirs.
US = re.compile(
    r"°F|\bfahrenheit|\bgal\b|\bgallons?\b|\d\.\d quarts|\bqt\b|\d cups?\b|(?:quarter|a) cup of"
    r"|spoons of|\binch|\bfeet\b|\bfoot\b|\d in\b(?! (?-i:[A-Z]))|\d ft\b|\bpounds?\b"
    r"|\blbs?\b|\bounces?\b|\bcords?\b|\binHg|\bacres?\b|\d degrees?\b(?! C)"
    r"|\w degrees\b(?! Celsius| Brix)",
    re.IGNORECASE,
)
METRIC = re.compile(
    r"°C|\bcelsius|\d L\b|\blit(?:re|er)|\d ml\b|\d [cm]m\b|\d m[²³]?\b|\d kg\b|kPa|\bcentim"
    r"|\bmetre",
    re.IGNORECASE,
)
#: Of two systems at once: what they are called, and the size of the hole's bit.
BOTH = ("units", "half gallon", "Celsius or Fahrenheit", "sloping up", "Celsius is 1.8")

A_SEASON = (
    "tree nine is eighteen inches across",
    "tree twelve is twenty two inches across, red maple",
    "tapped tree nine on the south side three feet up one and a half inches deep",
    "tapped tree twelve, two taps",
    "low of twenty four fahrenheit high of forty two fahrenheit",
    "gathered two gallons from tree nine into tank one",
    "poured forty gallons into tank one",
    "tank one tests two point two percent",
    "tank one is at thirty eight degrees fahrenheit",
    "tank two holds fifty gallons and is twenty inches deep",
    "poured thirty gallons into tank two",
    "started boiling tank one",
    "the pan is at two inches",
    "water boils at two eleven fahrenheit",
    "drew a gallon at two eighteen fahrenheit",
    "packed four quarts of amber at one eighty five fahrenheit",
    "burned a quarter cord of wood",
)


_QUOTED = re.compile(r'"[^"]*"')


def foreign(text: str, *, metric: bool) -> list[str]:
    """Return the units of the other system that stand in a text."""
    if any(words in text for words in BOTH):
        return []
    own = _QUOTED.sub("", text) if "review" in text else text  # what waits is told as it was said
    return [found[0] for found in (US if metric else METRIC).finditer(own)]


def asked() -> Iterator[str]:
    """Yield what can be asked and noted, in the words of its own examples."""
    for one in (*ASKS.values(), *ACTS.values()):
        yield from one.spec.examples


@pytest.mark.parametrize("metric", [True, False], ids=["metric", "us"])
def test_every_ask_and_note_is_answered_in_the_books_units(
    book: Book, understander: Interpreter, metric: bool
) -> None:
    """Said in both systems, told in one."""
    settings = Settings(metric=metric, pan_ft2=8.0)
    now = MORNING
    wrong = []
    for words in (*A_SEASON, *asked(), *(f"{one}" for one in ("why",))):
        talk = Conversation(book, understander, settings, clock=lambda at=now: at)
        reply = talk.hear(typed(words))
        wrong += [
            (words, told, found)
            for told in (reply.text, reply.spoken)
            if (found := foreign(told, metric=metric))
        ]
        if reply.outcome == "answered":
            why = talk.hear(typed("why")).text
            wrong += [(words, why, found)] if (found := foreign(why, metric=metric)) else []
        now += timedelta(minutes=3)
    told = "\n".join(f"{words}: {text} {found}" for words, text, found in wrong)
    assert not wrong, f"{len(wrong)}\n{told}"


@pytest.mark.parametrize("metric", [True, False], ids=["metric", "us"])
def test_board_and_reminders_are_in_the_books_units(
    book: Book, understander: Interpreter, metric: bool
) -> None:
    settings = Settings(metric=metric, pan_ft2=8.0)
    for words in A_SEASON:
        Conversation(book, understander, settings, clock=lambda: MORNING).hear(typed(words))
    for hours in (0, 1, 2, 4, 8, 26, 50):
        now = MORNING + timedelta(hours=hours)
        shown = board(book.season().at(now.year), settings, now)
        lines = [shown.headline, *shown.lines]
        talk = Conversation(book, understander, settings, clock=lambda at=now: at)
        lines += [one.text for one in talk.reminders(now) if one.is_due(now)]
        for line in lines:
            assert not foreign(line, metric=metric), line


#: These tell how units of both sorts go together.
_OF_BOTH = ("gallons-and-liters", "cups-pints-quarts", "measure-trunk")
#: And this how pints go with a gallon: "3.8 L fills 3.8 L" says nothing.
_OF_ONE = "how-many-jars"


def test_how_units_go_together_is_told_in_both() -> None:
    told = {card.id: card.say for card in shipped().cards if card.id in _OF_BOTH}
    both = {name: say for name, say in told.items() if name != "measure-trunk"}
    assert {name: in_metric(say) for name, say in both.items()} == both
    assert in_metric(told["measure-trunk"]).endswith("Inches times 2.54 are centimeters.")


def test_how_us_units_go_together_is_left_as_it_is() -> None:
    say = {card.id: card.say for card in shipped().cards}
    assert in_metric(say[_OF_ONE]).startswith("A gallon of syrup fills eight pints")


@pytest.mark.parametrize(
    ("us", "metric"),
    [
        ("Sap weighs 8.4 pounds a gallon.", "Sap weighs 1.01 kg a litre."),
        ("Half a cup of bleach a gallon.", "31 ml of bleach a litre."),
        ("So four taps a gallon.", "So four taps for 3.8 L."),
        ("A sap one in plain water.", "A sap one in plain water."),
        ("Seven and a third pounds, or a sixth of a pound.", "3.3 kg, or 76 g."),
    ],
)
def test_amounts_of_each_gallon_and_parts_of_a_pound(us: str, metric: str) -> None:
    assert in_metric(us) == metric


def test_every_card_is_told_in_metric() -> None:
    wrong = [
        (card.id, in_metric(card.say), found)
        for card in shipped().cards
        if card.id not in (*_OF_BOTH, _OF_ONE)
        and (found := foreign(in_metric(card.say), metric=True))
    ]
    told = "\n".join(f"{card}: {text} {found}" for card, text, found in wrong)
    assert not wrong, f"{len(wrong)}\n{told}"


def test_what_is_counted_in_is_said_once_and_kept(book: Book, understander: Interpreter) -> None:
    """Answers and bare numbers go by it at once, and it is handed to whoever keeps settings."""
    kept: list[tuple[str, bool]] = []
    talk = Conversation(
        book, understander, clock=lambda: MORNING, keep=lambda *setting: kept.append(setting)
    )
    told = talk.hear(typed("i count in liters and celsius"))
    assert (told.outcome, told.text) == ("done", "From now on I answer in liters and Celsius.")
    assert talk.hear(typed("tree ten eight liters")).text.startswith("Tree 10: 8 L.")
    assert talk.named("phone").hear(typed("tank one is at four degrees")).text == "Tank 1: 4 °C."
    told = talk.hear(typed("use gallons"))
    assert told.text == "From now on I answer in gallons and Fahrenheit."
    assert talk.hear(typed("tree eleven two gallons")).text.startswith("Tree 11: 2 gal.")
    assert kept == [("metric", True), ("metric", False)]
