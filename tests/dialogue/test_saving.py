"""What is said back when a note is saved: the note, the one warning that matters, and no more."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from fieldvoice.book import Book
from fieldvoice.dialogue import Conversation, Settings
from fieldvoice.dialogue.policy import FIT_FLOOR
from fieldvoice.dialogue.readback import told as told_of
from fieldvoice.nlg.written import Style, written
from fieldvoice.schema import ACTS, Act, meaning_from
from fieldvoice.transcript import Transcript, Word, typed

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from fieldvoice.nlu import Interpreter
    from tests.dialogue.conftest import Talk

SPOKEN = [
    ({"act": "inspect", "tree": 12, "fill": 0.9, "sap": "cloudy"}, "Tree 12: nearly full, cloudy."),
    ({"act": "inspect", "trees": [10, 11, 12], "fill": 0.0}, "Trees 10 to 12: empty."),
    ({"act": "inspect", "trees": [3, 7], "sap": "hazy"}, "Trees 3 and 7: slightly cloudy."),
    ({"act": "inspect", "tree": "old king", "fill": 0.6}, "Old king: 60 % full."),
    ({"act": "inspect", "vessel": "tank 2", "smell": "sour"}, "Tank 2: smells sour."),
    ({"act": "gather", "tree": 9, "volume_gal": 2.5}, "Tree 9: 2.5 gal."),
    (
        {"act": "gather", "tree": 9, "volume_gal": 0.25, "vessel": "tank 1"},
        "Tree 9: 1 qt, into tank 1.",
    ),
    ({"act": "gather", "tree": 9, "fill": 0.5}, "Tree 9: emptied, was half full."),
    ({"act": "store", "vessel": "tank 1", "volume_gal": 11.0}, "Tank 1: 11 gal in."),
    ({"act": "reading", "vessel": "tank 2", "temp_f": 36.0}, "Tank 2: 36 °F."),
    ({"act": "sweetness", "tree": 14, "brix": 1.8}, "Tree 14: 1.8 % sugar."),
    ({"act": "measure", "tree": 30, "diameter_in": 18.0}, "Tree 30: 18 in across."),
    ({"act": "measure", "tree": 30, "species": "red"}, "Tree 30: red maple."),
    ({"act": "measure", "tree": 30, "species": "box elder"}, "Tree 30: box elder."),
    ({"act": "health", "tree": 77, "condition": "damaged"}, "Tree 77: damaged."),
    ({"act": "tap", "tree": 6, "count": 2, "side": "south"}, "Tree 6: 2 taps, south side."),
    ({"act": "tap", "tree": 6}, "Tree 6: tapped."),
    ({"act": "tap", "tree": 6, "bit_in": 0.3125}, "Tree 6: 5/16 in bit."),
    ({"act": "pull", "tree": 19}, "Tree 19: spile pulled."),
    ({"act": "pull", "all": True}, "All spiles pulled."),
    ({"act": "boil", "vessel": "tank 2", "phase": "start"}, "Boil started: tank 2."),
    ({"act": "boil", "phase": "stop"}, "Boil stopped."),
    ({"act": "draw", "syrup_gal": 0.75, "temp_f": 219.0}, "Drawn off: 3 qt at 219 °F."),
    ({"act": "pack", "count": 11, "size": "pint", "colour": "amber"}, "Packed: 11 pints, amber."),
    ({"act": "pack", "count": 4, "size": "250 ml"}, "Packed: 4 jars of 250 ml."),
    ({"act": "dump", "tree": 4}, "Tree 4: dumped."),
    ({"act": "clean", "item": "pan"}, "Pan: washed."),
    ({"act": "weather", "low_f": 24.0, "high_f": 45.0}, "Low 24 °F, high 45 °F."),
    (
        {"act": "equipment", "item": "bucket", "material": "galvanized", "rust": True},
        "Bucket: galvanized, rust.",
    ),
    ({"act": "remark", "text": "the gate needs a hinge"}, "Noted: the gate needs a hinge."),
    ({"act": "round", "phase": "start"}, "Round started."),
    ({"act": "name", "tree": 9, "name": "the big yard tree"}, "Tree 9: now the big yard tree."),
    (
        {"act": "name", "tree": "big sugar", "new": True, "name": "big sugar"},
        "New tree: big sugar.",
    ),
    (
        {"act": "vessel", "vessel": "tank 1", "capacity_gal": 50.0, "depth_in": 40.0},
        "Tank 1: holds 50 gal when full, 40 in deep.",
    ),
    (
        {"act": "transfer", "vessel": "tank 2", "into": "tank 1", "volume_gal": 10.0},
        "Tank 1: 10 gal from tank 2.",
    ),
    ({"act": "transfer", "vessel": "tank 2", "into": "tank 1"}, "Tank 1: all from tank 2."),
    ({"act": "ice_out", "vessel": "tank 1", "volume_gal": 3.0}, "Tank 1: 3 gal of ice out."),
    ({"act": "ice_out", "tree": 9, "fill": 0.333}, "Tree 9: a third out as ice."),
    ({"act": "rain_in", "vessel": "tank 1", "volume_gal": 2.0}, "Tank 1: 2 gal of rain in."),
    ({"act": "pan", "depth_in": 2.0}, "Pan: 2 in deep."),
    ({"act": "defoam", "agent": "butter"}, "Foam knocked down: with butter."),
    ({"act": "filter", "temp_f": 190.0}, "Filtered: at 190 °F."),
    ({"act": "fuel", "cords": 0.3333}, "Burned: 0.33 cords of wood."),
    ({"act": "water", "water_boils_f": 210.5}, "Today: water boils at 210.5 °F."),
    ({"act": "stock_out", "count": 6, "size": "pint", "why": "sold"}, "Sold: 6 pints."),
    ({"act": "cost", "price": 90, "cords": 0.5}, "Wood: 90 dollars for 0.5 cords of wood."),
    (
        {"act": "remind", "text": "wash the filter", "due": "2027-03-12"},
        "Reminder for Friday, March 12: wash the filter.",
    ),
    ({"act": "reminded", "text": "wash the filter"}, "Reminder done: wash the filter."),
    ({"act": "stand", "tree": 9, "site": "back row"}, "Tree 9: in the back row."),
    ({"act": "stand", "trees": [1, 2], "felled": True}, "Trees 1 and 2: cut down."),
    (
        {"act": "hang", "tree": 9, "item": "pail", "count": 2, "capacity_gal": 5, "lid": "off"},
        "Tree 9: 2 pails, 5 gal each, lid off.",
    ),
    ({"act": "hang", "tree": 2, "item": "bag", "off": 7}, "Tree 2: bag, moved from tree 7."),
    ({"act": "hang", "tree": 2, "item": "bag", "gone": True}, "Tree 2: bag gone."),
    ({"act": "skip", "tree": 3}, "Tree 3: skipped."),
]


@pytest.mark.parametrize(("fields", "told"), SPOKEN)
def test_readback(fields: dict[str, Any], told: str) -> None:
    """Each note in as few words as possible."""
    act = meaning_from(fields)
    assert isinstance(act, Act)
    assert written((told_of(act),)) == told


def test_every_act_has_its_readback() -> None:
    """The table above leaves no kind of note out."""
    assert {fields["act"] for fields, _ in SPOKEN} == set(ACTS)


METRIC = [
    ({"act": "gather", "tree": 9, "volume_gal": 2.0}, "Tree 9: 7.6 L."),
    ({"act": "reading", "vessel": "tank 2", "temp_f": 41.0}, "Tank 2: 5 °C."),
    ({"act": "measure", "tree": 30, "diameter_in": 18.0}, "Tree 30: 45.7 cm across."),
]


@pytest.mark.parametrize(("fields", "told"), METRIC)
def test_a_metric_household_hears_metric(fields: dict[str, Any], told: str) -> None:
    """1 US gallon is 3.785411784 litres, 1 inch 2.54 cm (exact definitions)."""
    act = meaning_from(fields)
    assert isinstance(act, Act)
    assert written((told_of(act),), Style(metric=True)) == told


def test_a_metric_book_still_stores_gallons(talk_with: Callable[..., Talk]) -> None:
    """Only what is said changes; the record keeps the machine interface's units."""
    talk = talk_with(Settings(metric=True))
    assert talk.say("tree nine two gallons").text == "Tree 9: 7.6 L."
    assert talk.notes == [{"act": "gather", "tree": 9, "volume_gal": 2.0}]


CHECKED = [
    (["tree twelve is full and cloudy"], "sap-cloudy", "stop"),
    (["tree three brown shavings"], "hole-shavings", "stop"),
    (["tree seventy seven lost a big limb"], "tap-damaged", "stop"),
    (["tree nine is eleven inches across", "tree nine two taps"], "over-tapped", "stop"),
    (["tree nine two taps", "tree nine is fourteen inches across"], "over-tapped", "care"),
    (["tank two is at fifty degrees"], "storage-warm", "care"),
    (["packed eleven pints at one sixty"], "pack-cool", "stop"),
    (["poured ten gallons into tank one", "poured one gallon of cloudy sap into tank one", "yes"],
     "sap-mixed", "stop"),
    (["tree nine is cloudy", "poured ten gallons into tank one",
      "tree nine two gallons into tank one", "yes"], "sap-mixed", "stop"),
    (["started boiling tank two"], "caution-fumes", "care"),
]  # fmt: skip


@pytest.mark.parametrize(("said", "rule", "level"), CHECKED)
def test_a_note_is_checked_against_the_rules(
    talk: Talk, said: list[str], rule: str, level: str
) -> None:
    """The finding is there, with reason and source, and the worst one is spoken."""
    reply = talk.say(*said)
    assert reply.outcome == "saved"
    found = {finding.rule: finding for finding in reply.findings}
    assert found[rule].level == level
    assert found[rule].why
    assert found[rule].source
    worst = next(one for one in reply.findings if one.level in ("stop", "care"))
    stops = [one for one in reply.findings if one.level == "stop"]
    assert reply.text.endswith((stops or [worst])[0].text)


def test_one_warning_is_spoken_and_no_more(talk: Talk) -> None:
    """However much the rules find, the reply stays short."""
    reply = talk.say("tree three three inches deep brown shavings")
    warned = [one for one in reply.findings if one.level in ("stop", "care")]
    assert len(warned) > 1
    assert sum(one.text in reply.text for one in warned) == 1


def test_good_news_is_not_spoken(talk: Talk) -> None:
    """Clear sap needs no words; its finding is in the JSON all the same."""
    reply = talk.say("tree nine half full clear")
    assert reply.text == "Tree 9: half full, clear."
    assert [one.rule for one in reply.findings] == ["sap-clear"]


def test_a_caution_is_given_once_a_day(talk: Talk) -> None:
    """Nobody listens to what is said every time."""
    assert "caution-fumes" in {one.rule for one in talk.say("lit the fire").findings}
    talk.say("the fire is out")
    assert "caution-fumes" not in {one.rule for one in talk.say("lit the fire").findings}
    talk.wait(days=1)
    assert "caution-fumes" in {one.rule for one in talk.say("lit the fire").findings}


def test_a_tree_the_inventory_lacks_is_mentioned_not_refused(talk: Talk) -> None:
    """In a book that knows its trees, a new number may be a slip of the tongue or of the ear."""
    talk.say("tree nine two taps on the south side")
    reply = talk.say("tree fifty is half full")
    assert reply.outcome == "saved"
    assert reply.text == "Tree 50: half full. Tree 50 is new to the book."


def test_without_an_inventory_no_tree_is_new(talk: Talk) -> None:
    """On the first round every tree is."""
    assert talk.say("tree nine is full", "tree fifty is half full").text == "Tree 50: half full."


UNLIKELY = [
    "collected fifty gallons from tree nine",
    "tree nine tests seventy percent",
    "tree thirty is fifty five inches across",
    "tank two is at one hundred and forty degrees",
    "drew off three quarts at two hundred and ninety",
]


@pytest.mark.parametrize("said", UNLIKELY)
def test_an_unlikely_value_is_asked_about(talk: Talk, said: str) -> None:
    """And saved after a yes: nothing is refused."""
    assert talk.say(said).outcome == "asked"
    assert talk.notes == []
    assert talk.say("yes").outcome == "saved"


def test_what_a_vessel_holds_bounds_its_level(talk_with: Callable[..., Talk]) -> None:
    """Sixty gallons in a tank of fifty is a slip."""
    talk = talk_with(Settings(capacities_gal={"tank 2": 50}))
    assert talk.say("sixty gallons in tank two").outcome == "asked"
    assert talk.say("tank two has forty gallons").outcome == "saved"


def test_two_looks_at_one_bucket_are_one_note(talk: Talk) -> None:
    """However many parts the sentence was read in."""
    talk.say("tree twelve is full and the sap is clear")
    assert talk.notes == [{"act": "inspect", "tree": 12, "fill": 1.0, "sap": "clear"}]


def dictated(text: str, sureness: float) -> Transcript:
    """Return a remark as the recogniser hears it: free words fit the grammar badly."""
    words = tuple(
        Word(word, at, at + 1.0, sureness if at < 3 else 0.2)
        for at, word in enumerate(text.split())
    )
    return Transcript(text, words, 0.3, fit=2 * FIT_FLOOR, recogniser="an engine")


def test_a_dictated_remark_is_saved_and_its_sound_tells_the_words(talk: Talk) -> None:
    reply = talk.hear(dictated("make a note the slowest eight is down", 1.0))
    assert reply.outcome == "saved"
    assert reply.text == "Noted, with its sound."
    assert talk.notes == [{"act": "remark", "text": "the slowest eight is down"}]


def test_a_remark_whose_beginning_is_unsure_is_kept_for_review(talk: Talk) -> None:
    assert talk.hear(dictated("make a note the slowest eight is down", 0.5)).outcome == "kept"
    assert talk.notes == []


def test_the_book_keeps_who_talked_and_in_which_conversation(understander: Interpreter) -> None:
    """Where both are known; nobody has to say them."""
    with Book.in_memory_copy() as book:
        clock = datetime(2027, 3, 10, 10, tzinfo=UTC)
        Conversation(book, understander, clock=lambda: clock, by="sam", name="north round").hear(
            typed("tree twelve is full")
        )
        last = book.last_utterance()
        assert last is not None
        assert (last.by, last.conversation) == ("sam", "north round")


@pytest.mark.parametrize(
    "text",
    [
        "packed four pints, hang on, five pints",
        "drew off two quarts, hold on, three quarts",
        "poured ten gallons into tank one, actually twelve gallons",
    ],
)
def test_what_may_be_taken_back_is_not_saved_twice(talk: Talk, text: str) -> None:
    assert talk.say(text).outcome != "saved"
    assert not talk.book.entries()


def test_patience_asked_for_first_takes_nothing_back(talk: Talk) -> None:
    reply = talk.say("hang on, tree nine two gallons, tree ten three gallons")
    assert reply.text == "Tree 9: 2 gal. Tree 10: 3 gal."


def test_tapped_and_how_is_one_note(talk: Talk) -> None:
    assert talk.say("t7 tapped 2 holes n side").text == "Tree 7: 2 taps, north side."


def test_filtered_and_still_cloudy_is_said_of_no_tank(talk: Talk) -> None:
    talk.say("tank one has forty gallons")
    assert talk.say("filtered it twice and it's still cloudy").outcome == "asked"


@pytest.mark.parametrize("text", ["water boils at ninety nine degrees", "filtered at eighty eight"])
def test_degrees_that_can_only_be_celsius_are_asked_about(talk: Talk, text: str) -> None:
    assert talk.say(text).text.endswith("degrees: Celsius or Fahrenheit?")


AS_TYPED = [
    ("make a note call the inspector at 802-555-0143.", "call the inspector at 802-555-0143"),
    ("Note: pump AB-1234x, bought 3/14 for $12.50", "pump AB-1234x, bought 3/14 for $12.50"),
    ('make a note has "woodpecker" holes', 'has "woodpecker" holes'),
    ("make a note the gate needs a hinge", "the gate needs a hinge"),
    ("note that we've 30x60 in of lid", "that we've 30x60 in of lid"),
]


@pytest.mark.parametrize(("said", "text"), AS_TYPED)
def test_a_typed_remark_has_the_words_as_they_were_typed(talk: Talk, said: str, text: str) -> None:
    """Spelled out for the grammar little would be left of a number or a mark."""
    assert talk.say(said).text == f"Noted: {text}."
    assert talk.notes == [{"act": "remark", "text": text}]


def test_so_has_a_reminder_and_a_remark_of_a_tree(talk: Talk) -> None:
    """What was read out of the sentence is no part of the words."""
    talk.say("remind me to call 802-555-0143 tomorrow", "note tree 9: leans 10 degrees")
    assert [note["text"] for note in talk.notes] == ["call 802-555-0143", "leans 10 degrees"]
    assert talk.notes[1]["tree"] == 9


def test_a_heard_remark_has_the_words_as_they_were_heard(talk: Talk) -> None:
    """A recogniser writes no figures that somebody meant as such."""
    talk.hear(dictated("make a note the slowest 8 is down", 1.0))
    assert "eight" in talk.notes[0]["text"]


@pytest.mark.parametrize("text", ["the hose is 50 ft long", "it broke at nineteen degrees"])
def test_nobodys_own_words_are_told_in_other_units(
    talk_with: Callable[..., Talk], text: str
) -> None:
    """ "Two hundred nineteen degrees" was told as "two hundred -7 °C"."""
    talk = talk_with(Settings(metric=True))
    assert talk.say(f"make a note {text}").text == f"Noted: {text}."
