"""Sentences with their values taken out, and other sentences laid over them."""

from __future__ import annotations

from typing import Any

import pytest

from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.wordings import KnownWords, Wording, come_along
from fieldvoice.schema import ACTS, meaning_from
from fieldvoice.transcript import NBestEntry, Transcript, typed
from tests.one_grammar import GRAMMAR

GATHER = {"act": "gather", "tree": 9, "volume_gal": 2}


@pytest.fixture(scope="module")
def reader() -> Interpreter:
    return Interpreter(GRAMMAR)


def learn(reader: Interpreter, text: str, *meanings: dict[str, Any], **more: Any) -> Wording:
    wording = reader.wording_of(text, [meaning_from(one) for one in meanings], **more)
    assert wording is not None
    return wording


def said(reader: Interpreter, text: str, *wordings: Wording) -> list[list[dict[str, Any]]]:
    readings = reader.by_wording(typed(text), wordings)
    return [[one.json_fields() for one in reading.meanings] for reading in readings]


@pytest.mark.parametrize(
    ("text", "meanings", "masked", "shape"),
    [
        (
            "hauled two gallons off of tree nine",
            [GATHER],
            "hauled <volume> off of <tree>",
            [{"act": "gather", "tree": "tree#1", "volume_gal": "volume#1"}],
        ),
        (  # fillers and commas go
            "well, you know, nine was good to us, 2 gal I guess",
            [GATHER],
            "well <tree_or_number> was good <volume>",
            [{"act": "gather", "tree": "tree_or_number#1", "volume_gal": "volume#1"}],
        ),
        (  # a number that is nobody's stays as it is
            "third trip, hauled two gallons off tree nine in one go",
            [GATHER],
            "third trip hauled <volume> off <tree> in one go",
            [{"act": "gather", "tree": "tree#1", "volume_gal": "volume#1"}],
        ),
        (  # two of a sort, in the order said
            "the trees behaved, tree nine with two gallons and tree four with one gallon",
            [GATHER, {"act": "gather", "tree": 4, "volume_gal": 1}],
            "the trees behaved <tree> with <volume> and <tree> with <volume>",
            [
                {"act": "gather", "tree": "tree#1", "volume_gal": "volume#1"},
                {"act": "gather", "tree": "tree#2", "volume_gal": "volume#2"},
            ],
        ),
        (  # what no piece tells
            "got the fire roaring at seven",
            [{"act": "boil", "phase": "start", "at": "7:00"}],
            "got the fire roaring <when>",
            [{"act": "boil", "at": "when#1", "phase": "start"}],
        ),
        (
            "topped up tank two with thirty gallons",
            [{"act": "store", "vessel": "tank 2", "volume_gal": 30}],
            "topped up <vessel> with <volume>",
            [{"act": "store", "vessel": "vessel#1", "volume_gal": "volume#1"}],
        ),
    ],
)
def test_masked(
    reader: Interpreter,
    text: str,
    meanings: list[dict[str, Any]],
    masked: str,
    shape: list[dict[str, Any]],
) -> None:
    wording = learn(reader, text, *meanings)
    assert (wording.masked, [dict(one) for one in wording.shape]) == (masked, shape)


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        ("hauled two gallons off tree nine", {**GATHER, "volume_gal": 3}),  # another amount
        ("hauled two gallons off the old one", GATHER),  # a tree that was not said
        ("tree nine, two gallons", GATHER),  # no words but the values
        ("nine, nine and nine had two gallons", GATHER),  # which nine?
        ("hauled two gallons off tree nine", {**GATHER, "at": "2027-03-05T09:10:00-05:00"}),
        ("mind the bog by tree nine", {"act": "remark", "tree": 9, "text": "mind the bog"}),
        ("how much was it", {"ask": "sap_total"}),
    ],
)
def test_not_learnt(reader: Interpreter, text: str, meaning: dict[str, Any]) -> None:
    """What hangs on more than the words and their pieces."""
    assert reader.wording_of(text, [meaning_from(meaning)]) is None


def test_by_pieces_alone(reader: Interpreter) -> None:
    """Told in other words, a note may hold what the first did not say, or leave out a number."""
    cloudy = meaning_from({**GATHER, "sap": "cloudy"})
    text = "hauled two gallons off tree nine"
    assert reader.wording_of(text, [cloudy]) is not None
    assert reader.wording_of(text, [cloudy], by_pieces_alone=True) is None
    again = "hauled two gallons off tree nine on trip three"
    assert reader.wording_of(again, [meaning_from(GATHER)]) is not None
    assert reader.wording_of(again, [meaning_from(GATHER)], by_pieces_alone=True) is None
    looks = {"act": "inspect", "tree": 9, "sap": "cloudy"}
    text = "like dishwater, tree nine is"
    assert reader.wording_of(text, [meaning_from(looks)], by_pieces_alone=True) is not None
    looks = {**looks, "smell": "off"}
    assert reader.wording_of(text, [meaning_from(looks)], by_pieces_alone=True) is None
    started = meaning_from({"act": "boil", "phase": "start"})
    assert reader.wording_of("got her roaring", [started], by_pieces_alone=True) is not None


@pytest.mark.parametrize(
    ("text", "tree", "volume_gal"),
    [
        ("hauled three quarts off tree twelve", 12, 0.75),
        ("Hauled 2.5 gal off tree #30!", 30, 2.5),
        ("uh, hauled, let me see, one gallon off the maple number four", 4, 1),
    ],
)
def test_the_same_words_with_other_values(
    reader: Interpreter, text: str, tree: int, volume_gal: float
) -> None:
    wording = learn(reader, "hauled two gallons off tree nine", GATHER)
    assert said(reader, text, wording) == [
        [{"act": "gather", "tree": tree, "volume_gal": volume_gal}]
    ]


@pytest.mark.parametrize(
    "text",
    [
        "hauled two gallons off tree nine yesterday",
        "never hauled two gallons off tree nine",
        "hauled two gallons off tree nine and tree ten",
        "hauled two gallons off trees nine and ten",
        "hauled two off tree nine",
        "hauled two gallons off nine",
        "hauled gallons off tree nine",
        "off tree nine hauled two gallons",
    ],
)
def test_other_words_are_another_wording(reader: Interpreter, text: str) -> None:
    wording = learn(reader, "hauled two gallons off tree nine", GATHER)
    assert said(reader, text, wording) == []


def test_no_filler_is_passed_over_that_may_tell_something(reader: Interpreter) -> None:
    """Where the words tell a value, all of them do; and "everybody" is more than one."""
    text = "everybody's half full, grab the sled"
    wording = learn(reader, text, {"act": "inspect", "which": "all", "fill": 0.5})
    assert wording.masked == "everybody 's <fill> grab the sled"
    assert said(reader, "there's half full, grab the sled", wording) == []
    one = learn(reader, "there's half full, grab the sled", {"act": "inspect", "fill": 0.5})
    assert one.masked == "'s <fill> grab the sled"
    assert said(reader, text, one) == []


def test_a_bare_tree_may_be_called_one(reader: Interpreter) -> None:
    wording = learn(reader, "nine was good, two gallons", GATHER)
    for text in ("twelve was good, one gallon", "tree twelve was good, one gallon"):
        assert said(reader, text, wording) == [[{"act": "gather", "tree": 12, "volume_gal": 1}]]


def test_no_value_is_cut_from_a_longer_one(reader: Interpreter) -> None:
    """Where a tree and an amount run together, nobody knows where one ends."""
    wording = learn(reader, "hauled off tree nine two quarts", {**GATHER, "volume_gal": 0.5})
    for text in ("hauled off tree two eleven quarts", "hauled off tree thirty two quarts"):
        assert said(reader, text, wording) == []


def test_two_wordings_that_differ_are_two_readings(reader: Interpreter) -> None:
    one = learn(reader, "hauled two gallons off tree nine", GATHER)
    other = learn(reader, "hauled two gallons off tree nine", {**GATHER, "sap": "clear"})
    assert len(said(reader, "hauled one gallon off tree four", one, other)) == 2


def test_a_name_is_a_tree(reader: Interpreter) -> None:
    wording = learn(reader, "hauled two gallons off tree nine", GATHER)
    text = typed("hauled one gallon off the old king")
    assert reader.by_wording(text, [wording]) == ()
    names = EntityNames(trees=frozenset({"old king"}))
    (reading,) = reader.by_wording(text, [wording], names=names)
    assert reading.meanings[0].json_fields()["tree"] == "old king"


def test_every_hearing_at_its_price(reader: Interpreter) -> None:
    wording = learn(reader, "hauled two gallons off tree nine", GATHER)
    texts = ["hauled two gallons off tree thirteen", "hauled two gallons off tree thirty"]
    heard = Transcript(texts[0], 0.9, alternatives=(NBestEntry(texts[1], -20.0),))
    first, second = reader.by_wording(heard, [wording])
    assert (first.text, second.text) == (texts[0], texts[1])
    assert first.cost < second.cost


def test_those_that_come_along_unless_barred() -> None:
    grammar = GRAMMAR
    wording = learn(Interpreter(grammar), "hauled two gallons off tree nine", GATHER)
    reader = Interpreter(grammar, wordings=lambda: [wording])
    heard = typed("hauled one gallon off tree four")
    assert len(reader.by_wording(heard)) == 1
    assert reader.by_wording(heard, barred={wording.masked}) == ()


def test_the_wordings_that_come_along() -> None:
    """Each makes notes or asks, throws nothing away, and is the only one of its words."""
    wordings = come_along()
    notes = [one for one in wordings if not one.asks]
    kinds = {fields["act"] for wording in notes for fields in wording.shape}
    assert kinds <= ACTS.keys() - {"dump", "name", "remark"}
    assert len({wording.masked for wording in wordings}) == len(wordings) > len(notes) > 100
    bare = [one for one in notes if {"<number>", "<tree_or_number>"} & {*one.tokens}]
    words = ([token for token in one.tokens if token[0] != "<"] for one in bare)
    assert all(len(one) > 2 for one in words)


KNOWN = KnownWords(
    [
        Wording("lugged <volume> off <tree>", ({"act": "gather", "volume_gal": "volume#1"},)),
        Wording("got <volume> out of <tree>", ({"act": "gather", "volume_gal": "volume#1"},)),
        Wording("<tree> overflowed", ({"act": "inspect", "fill": 1.0},)),
    ]
)


@pytest.mark.parametrize(
    ("masked", "fields", "known"),
    [
        ("lugged <volume> out of <vessel>", {"volume_gal": "volume#1"}, True),
        ("we lugged the <volume> off here", {"volume_gal": "volume#1", "at": "when#1"}, True),
        ("spilled <volume> off <tree>", {"volume_gal": "volume#1"}, False),
        ("lugged <volume> off <tree>", {"volume_gal": "volume#1", "sap": "sap#1"}, False),
        ("<tree> <volume>", {"volume_gal": "volume#1"}, False),  # no word tells what it is
        ("<tree> overflowed", {"fill": 0.0}, False),
    ],
)
def test_words_in_which_notes_of_a_kind_are_told(
    masked: str, fields: dict[str, Any], known: bool
) -> None:
    act = "inspect" if "fill" in fields else "gather"
    assert KNOWN.has_all_of(Wording(masked, ({"act": act, **fields},))) is known


@pytest.mark.parametrize(
    "text",
    [
        "how does tank one stack up",
        "okay, how does the tank two stack up",
        "how does barrel three stack up, please",
    ],
)
def test_a_question_in_a_wording_is_read_as_if_the_grammar_had_it(text: str) -> None:
    learnt = Wording("how does <vessel> stack up", ({"ask": "vessel_level", "vessel": "vessel#1"},))
    reader = Interpreter(GRAMMAR, wordings=lambda: [learnt])
    first, *others = reader.read(typed(text))
    (meaning,) = first.meanings
    assert (meaning.json_fields()["ask"], first.cost, others) == ("vessel_level", 0, [])
    assert reader.by_wording(typed(text)) == ()


def test_whoever_asks_is_we() -> None:
    asked = Wording("what must we do about <vessel>", ({"ask": "boil_plan"},))
    reader = Interpreter(GRAMMAR, wordings=lambda: [asked])
    (read,) = reader.read(typed("what must I do about tank two"))
    assert [one.json_fields() for one in read.meanings] == [{"ask": "boil_plan"}]
