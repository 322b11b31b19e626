"""What speaks against a note that was read, and what is said in a way that only means one thing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.cli.app import is_english
from fieldvoice.dialogue import Conversation
from fieldvoice.dialogue.objections import Objection, objection
from fieldvoice.handbook.loader import shipped
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.second_reader import SecondReader
from fieldvoice.nlu.wordings import come_along
from fieldvoice.schema import Act, meaning_from
from fieldvoice.transcript import typed
from tests.dialogue.conftest import MORNING
from tests.nlu import tables
from tests.one_grammar import GRAMMAR

if TYPE_CHECKING:
    from fieldvoice.book import Book

PARAPHRASES = Path(__file__).parents[2] / "sayings" / "paraphrases"
NINE = {"act": "gather", "tree": 9, "volume_gal": 2.0}
THREE = {**NINE, "volume_gal": 3.0}
TAPPED = {"act": "tap", "tree": 31}
BURNED = {"act": "fuel", "cords": 3.0}
PINTS = {"act": "stock_out", "count": 2, "size": "pint"}
PACKED = {"act": "pack", "count": 11, "size": "pint"}
ALL_PULLED = {"act": "pull", "all": True}

#: Words, what was read in them, and how much speaks against it.
TABLE: list[tuple[str, list[dict[str, Any]], Objection | None]] = [
    # not done, not yet, not so
    ("31 isn't tapped yet", [TAPPED], Objection.KEEP),
    ("nine's pulled, ten isn't", [{"act": "pull", "tree": 9}], Objection.KEEP),
    ("forgot to tap 31", [TAPPED], Objection.KEEP),
    ("11 still isn't full", [{"act": "inspect", "tree": 11, "fill": 1.0}], Objection.KEEP),
    ("forgot to mention, tapped 31", [TAPPED], None),
    # to come, or only thought of
    ("tapping 31 tomorrow", [TAPPED], Objection.KEEP),
    ("expecting two gallons from nine", [NINE], Objection.KEEP),
    ("nine should give two gallons", [NINE], Objection.KEEP),
    ("might get two gallons from nine tonight", [NINE], Objection.KEEP),
    ("nine might have had two gallons", [NINE], Objection.ASK),
    ("nine is good for two gallons", [NINE], Objection.ASK),
    ("nine's good for two gallons this time", [NINE], None),
    ("nine usually gives two gallons", [NINE], Objection.KEEP),
    ("two gallons from nine, i'll need another pail", [NINE], None),
    ("two gallons from nine, better than i expected", [NINE], None),
    ("bob took two pints, will pay friday", [{**PINTS, "at": "friday"}], Objection.KEEP),
    # long ago
    ("two years ago nine gave two gallons", [NINE], Objection.KEEP),
    ("two gallons from nine, more than last year", [NINE], None),
    # in stock, asked for, brought back
    ("we stacked three cords", [BURNED], Objection.KEEP),
    ("three cords left", [BURNED], Objection.KEEP),
    ("tree nine was a gallon more than i said", [NINE], Objection.KEEP),
    ("3/9 tree 9 2 gal", [NINE], Objection.ASK),
    ("tree 9 2 gal 3/8/27", [NINE], Objection.ASK),
    ("tree 9 2 1/2 gal", [NINE], None),
    ("tree 9 5/8 gal", [NINE], None),
    ("2027-03-09 tree 9 2 gal", [NINE], Objection.ASK),
    ("cut three cords of wood", [BURNED], Objection.KEEP),
    ("sawed and bucked three cords", [BURNED], Objection.KEEP),
    ("three cords we cut last fall went up the chimney", [BURNED], None),
    ("brought in three cords", [BURNED], Objection.ASK),
    ("three cords of split maple went in the fire", [BURNED], None),
    ("counted 11 pints", [PACKED], Objection.KEEP),
    ("11 pints in the pantry", [PACKED], Objection.ASK),
    ("put up 11 pints, they're in the pantry", [PACKED], None),
    ("bob returned two pints", [PINTS], Objection.KEEP),
    ("ann ordered two pints", [PINTS], Objection.KEEP),
    ("bought two pint jars", [PINTS], Objection.KEEP),
    ("ann bought two pints", [PINTS], None),
    ("left two gallons in nine", [NINE], Objection.KEEP),
    ("spilled two gallons at nine", [NINE], Objection.KEEP),
    ("drained tank two, about 4 gallons", [{"act": "store", "vessel": "tank 2", "volume_gal": 4}],
     Objection.KEEP),
    ("16's taps are still in", [{"act": "tap", "tree": 16}], Objection.KEEP),
    # one of two, a part, an exception
    ("2 to 3 gallons from nine", [NINE, THREE], Objection.KEEP),
    ("two gallons from 9 or was it 19", [NINE, {**NINE, "tree": 19}], Objection.KEEP),
    ("trees 9 to 10, two gallons each", [NINE, {**NINE, "tree": 10}], None),
    ("packed 11 pints, two of them dark", [PACKED, {**PACKED, "count": 2}], Objection.KEEP),
    ("pulled everything except the back row", [ALL_PULLED], Objection.KEEP),
    ("pulled 12 taps", [ALL_PULLED], Objection.KEEP),
    ("pulled everything", [ALL_PULLED], None),
    ("packed 4 quarts, 3 golden and 1 amber",
     [{**PACKED, "count": 4}, {"act": "pack", "count": 3}, {"act": "pack", "count": 1}],
     Objection.KEEP),
    ("two buckets on nine, one full, one empty",
     [{"act": "inspect", "tree": 9, "fill": 1.0}, {"act": "inspect", "tree": 9, "fill": 0.0}],
     Objection.KEEP),
    ("nine was full this morning and is half full now",
     [{"act": "inspect", "tree": 9, "fill": 1.0}, {"act": "inspect", "tree": 9, "fill": 0.5}],
     None),
    # another thing with the same number
    ("there's room for ten gallons in tank one",
     [{"act": "vessel", "vessel": "tank 1", "capacity_gal": 10}], Objection.KEEP),
    ("charging 14 a pint", [{**NINE, "tree": 14}], Objection.KEEP),
    ("all the buckets are 3 gallon", [{"act": "gather", "all": True, "volume_gal": 3.0}],
     Objection.KEEP),
    ("threw 5 pounds of ice in tank one", [{"act": "ice_out", "vessel": "tank 1"}],
     Objection.KEEP),
    ("threw the ice out of tank one", [{"act": "ice_out", "vessel": "tank 1"}], None),
    ("it hit 219 at 3:15", [{"act": "weather", "high_f": 219}], Objection.KEEP),
    ("pulled 41 yesterday and 42 today", [{"act": "weather", "high_f": 42}], Objection.KEEP),
    ("ann took 2 pints, paid for 1", [{**PINTS, "why": "given", "price": 1}], Objection.KEEP),
    ("poured off two gallons from the bottom of tank one",
     [{"act": "store", "vessel": "tank 1", "volume_gal": 2}], Objection.KEEP),
    ("tank two is 40 gallon, half full",
     [{"act": "reading", "vessel": "tank 2", "volume_gal": 40, "fill": 0.5}], Objection.KEEP),
    ("repacked two pints into four half pints", [PACKED], Objection.KEEP),
    ("drained the pan", [{"act": "clean", "item": "pan"}], Objection.KEEP),
    ("drained and scrubbed the pan", [{"act": "clean", "item": "pan"}], None),
    ("11 has no tap", [{"act": "inspect", "tree": 11, "fill": 0.0}], Objection.KEEP),
    ("nine gave two gallons, twice as much as 10", [NINE], Objection.KEEP),
    ("lit at 7, out at 4", [{"act": "boil", "phase": "start"}], Objection.KEEP),
    ("sold four pints at 15 dollars", [{**PINTS, "count": 4, "price": 15}], Objection.ASK),
    ("sold four pints at 15 dollars each", [{**PINTS, "count": 4, "price": 60}], None),
    ("sold four pints for 60 dollars", [{**PINTS, "count": 4, "price": 60}], None),
    ("dumped everything except tank two", [{"act": "dump", "vessel": "tank 2"}], Objection.KEEP),
    ("three was half ice", [{"act": "inspect", "tree": 3, "fill": 0.5}], Objection.KEEP),
    ("less than half full, nine", [{"act": "inspect", "tree": 9, "fill": 0.5}], Objection.ASK),
    ("sold two pints for nine fifty", [{**PINTS, "price": 950}], Objection.ASK),
    ("10 to 12 gallons in tank one",
     [{"act": "store", "volume_gal": 10}, {"act": "store", "vessel": "tank 1", "volume_gal": 12}],
     Objection.KEEP),
    ("in 2025 we packed 11 pints", [PACKED], Objection.KEEP),
    ("the lid on seven wasn't off", [{"act": "hang", "tree": 7, "lid": "off"}], Objection.KEEP),
    ("the neighbor sold two pints", [PINTS], Objection.KEEP),
    ("sold all but two pints", [PINTS], Objection.KEEP),
    ("sold two pints to the neighbor", [PINTS], None),
    ("two of the quarts are dark", [PACKED], Objection.KEEP),
    ("one cord makes ten pints", [BURNED], Objection.KEEP),
    ("draw at 6, a pint", [{"act": "draw", "syrup_gal": 0.125, "brix": 6}], Objection.KEEP),
    ("my neighbor's tree nine gave two gallons", [NINE], Objection.KEEP),
    ("wish nine gave two gallons", [NINE], Objection.KEEP),
    ("tank one less two gallons", [{"act": "store", "vessel": "tank 1", "volume_gal": 2}],
     Objection.KEEP),
    ("drew off at 4:20, a quart", [{"act": "draw", "syrup_gal": 0.25, "temp_f": 420}],
     Objection.KEEP),
    # degrees of another day
    ("high was 44 yesterday, 46 today",
     [{"act": "weather", "high_f": 44}, {"act": "weather", "high_f": 46, "day": "yesterday"}],
     Objection.KEEP),
    ("high was forty four yesterday, 46 today",
     [{"act": "weather", "high_f": 44, "day": "yesterday"}, {"act": "weather", "high_f": 46}],
     None),
    ("low of 20 monday and 25 tuesday",
     [{"act": "weather", "low_f": 20, "high_f": 25, "day": "tuesday"}], Objection.KEEP),
    ("high of 45 but the forecast said 50",
     [{"act": "weather", "high_f": 45}, {"act": "weather", "high_f": 50}], Objection.KEEP),
]  # fmt: skip


@pytest.mark.parametrize(("text", "read", "against"), TABLE, ids=[one[0] for one in TABLE])
def test_what_speaks_against_a_note(
    text: str, read: list[dict[str, Any]], against: Objection | None
) -> None:
    assert objection(text, [meaning_from(one) for one in read]) is against


@pytest.mark.long
def test_notes_as_people_tell_them_are_turned_away_by_nothing() -> None:
    """Of all sayings with their meanings not one in a thousand is taken for something else."""
    turned: list[str] = []
    notes = 0
    for path in [*sorted(PARAPHRASES.glob("*.txt")), *tables.UTTERANCES]:
        for saying in tables.sayings(path):
            try:
                meant = [meaning_from(one.example()) for one in saying.readings[0]]
            except ValueError:  # a value that is left open
                continue
            if all(isinstance(one, Act) for one in meant):
                notes += 1
                if objection(saying.words, meant) is Objection.KEEP:
                    turned.append(saying.words)
    assert notes > 9000
    assert len(turned) <= notes / 1000, turned


#: Words that say one thing, however they say it.
SAID_PLAINLY: dict[str, list[dict[str, Any]]] = {
    "both tanks are full": [
        {"act": "reading", "vessel": "tank 1", "fill": 1.0},
        {"act": "reading", "vessel": "tank 2", "fill": 1.0},
    ],
    "tank one and two are cloudy": [
        {"act": "reading", "vessel": "tank 1", "sap": "cloudy"},
        {"act": "reading", "vessel": "tank 2", "sap": "cloudy"},
    ],
    "dumped tank one in tank two": [{"act": "transfer", "vessel": "tank 1", "into": "tank 2"}],
    "dumped two gallons from tree nine into tank two": [
        {"act": "gather", "tree": 9, "volume_gal": 2.0, "vessel": "tank 2"}
    ],
    "packed a quart and three pints": [
        {"act": "pack", "count": 1, "size": "quart"},
        {"act": "pack", "count": 3, "size": "pint"},
    ],
    "burned a face cord and a half": [{"act": "fuel", "cords": 0.5}],
    "paid $200 for a cord of wood": [{"act": "cost", "price": 200.0, "cords": 1.0}],
    "tree 63 point five gallons": [{"act": "gather", "tree": 63, "volume_gal": 0.5}],
}

#: Asked about or kept: a number that may be parted in two ways, what somebody reckons with, a
#: share of a thing whose amount nobody told, a unit that no rule has.
NOT_SAVED = """
tree sixty three point five gallons
tree forty one quarter full
tree 21 quart
tree 53 quarters full
twenty two quarts and a pint
tree nine is good for two gallons
12 pints and 8 quarts in the pantry
poured half the tank into the pan
put half the bucket in tank one
tree nine is half a metre through
tank one's half gone
charging 14 a pint
seven gave one and eight gave two
half a cord today and a third yesterday
low 20 yesterday, 25 today
poured off two gallons from the bottom of tank one
lit at 7, out at 4
sold 4 pints at 15
a third of the pile is gone
""".strip().splitlines()


@pytest.fixture(scope="module")
def reader() -> Interpreter:
    second = SecondReader(GRAMMAR.words, lambda: shipped().cards)
    return Interpreter(GRAMMAR, None, is_english, second, come_along)


@pytest.fixture
def talk(book: Book, reader: Interpreter) -> Conversation:
    """Two tanks are known, with sap in them."""
    talk = Conversation(book, reader, clock=lambda: MORNING)
    talk.hear(typed("poured 20 gallons into tank one"))
    talk.hear(typed("poured 5 gallons into tank two"))
    return talk


@pytest.mark.parametrize(("text", "notes"), SAID_PLAINLY.items(), ids=SAID_PLAINLY)
def test_what_says_one_thing_is_saved(
    text: str, notes: list[dict[str, Any]], talk: Conversation
) -> None:
    reply = talk.hear(typed(text))
    assert reply.outcome == "saved", reply.text
    assert [one.json_fields() for one in reply.meanings] == notes


@pytest.mark.parametrize("text", NOT_SAVED)
def test_what_may_mean_two_things_is_not_saved(text: str, talk: Conversation) -> None:
    reply = talk.hear(typed(text))
    assert reply.outcome in ("asked", "kept"), reply.text


@pytest.mark.parametrize(
    "text", ["the pan is sixty by a hundred and twenty centimetres", "the pan's 60 cm by 120"]
)
def test_the_sides_of_a_pan_in_centimetres_are_its_area(text: str, talk: Conversation) -> None:
    """60 by 120 cm are 0.72 square metres, of 10.7639 square feet each (exact: 0.3048 m a foot)."""
    reply = talk.hear(typed(text))
    if reply.outcome == "asked":
        reply = talk.hear(typed("yes"))
    (saved,) = reply.meanings
    assert saved.json_fields() == {"act": "pan", "area_sqft": pytest.approx(7.75, abs=0.005)}


@pytest.mark.parametrize("ago", ["about", "around", "just under", "maybe"])
def test_a_reminder_soon_is_told_without_its_about(ago: str, talk: Conversation) -> None:
    reply = talk.hear(typed(f"check the pan in {ago} ten minutes"))
    assert reply.text == "Reminder for 9:20 am: check the pan."
