"""What is made of a guess: the pieces' own values in the roles that the guess gives them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.binder import bind
from fieldvoice.nlu.chunker import spans
from fieldvoice.nlu.normalise import words_of
from fieldvoice.nlu.reader_net import Guess
from tests.one_grammar import GRAMMAR

NETWORKS = Interpreter(GRAMMAR).networks

#: The chances of what a made-up guess holds for so, and for not so.
SURE, NO = 0.999, 0.0001


def guessed(text: str, labels: dict[str, float], roles: dict[str, str]) -> Any:
    """Return what is made of ``text`` when each word is surely in the role that ``roles`` gives.

    ``roles`` has runs of words and their role; all other words are nothing.
    """
    words = words_of(text, GRAMMAR.words, breaks=True)
    names = {"O", "X", *roles.values()}
    role_of = ["O"] * len(words)
    for said, role in roles.items():
        run = words_of(said, GRAMMAR.words)
        at = next(at for at in range(len(words)) if words[at : at + len(run)] == run)
        role_of[at : at + len(run)] = [role] * len(run)
    told = tuple(
        {name: math.log(SURE if name == role else NO) for name in names} for role in role_of
    )
    return bind(words, Guess(labels, told, np.zeros(1)), spans(NETWORKS, words))


def fields(proposal: Any) -> list[dict[str, Any]]:
    return [meaning.json_fields() for meaning in proposal.meanings]


def test_pieces_fill_the_fields_of_their_roles_with_their_own_values() -> None:
    proposal = guessed(
        "i lugged two and a half gallons over from tree twelve",
        {"act=gather": SURE},
        {"two and a half gallons": "gather.volume_gal", "tree twelve": "gather.tree"},
    )
    assert fields(proposal) == [{"act": "gather", "tree": 12, "volume_gal": 2.5}]
    assert proposal.kind == "act=gather"
    assert proposal.chance > 0.9


def test_a_state_is_told_by_the_sentence_as_a_whole() -> None:
    proposal = guessed(
        "tree four looks like milk",
        {"act=inspect": SURE, "sap=cloudy": SURE, "sap=clear": NO},
        {"tree four": "inspect.tree"},
    )
    assert fields(proposal) == [{"act": "inspect", "tree": 4, "sap": "cloudy"}]


def test_a_doubtful_state_makes_all_of_it_doubtful() -> None:
    proposal = guessed(
        "tree four looks like milk",
        {"act=inspect": SURE, "sap=cloudy": 0.55},
        {"tree four": "inspect.tree"},
    )
    assert proposal.chance == pytest.approx(0.55)


def test_what_was_taken_back_does_not_count() -> None:
    proposal = guessed(
        "tree nine gave two gallons, no wait, three gallons",
        {"act=gather": SURE},
        {
            "tree nine": "gather.tree",
            "two gallons": "gather.volume_gal",
            "three gallons": "gather.volume_gal",
        },
    )
    assert fields(proposal) == [{"act": "gather", "tree": 9, "volume_gal": 3}]


def test_another_tree_is_another_note() -> None:
    proposal = guessed(
        "tree nine gave two gallons and tree ten gave three gallons",
        {"act=gather": SURE},
        {
            "tree nine": "gather.tree",
            "two gallons": "gather.volume_gal",
            "tree ten": "gather.tree",
            "three gallons": "gather.volume_gal",
        },
    )
    assert fields(proposal) == [
        {"act": "gather", "tree": 9, "volume_gal": 2},
        {"act": "gather", "tree": 10, "volume_gal": 3},
    ]


def test_an_amount_from_each_of_some_trees_is_a_note_for_each() -> None:
    proposal = guessed(
        "two gallons each out of trees three and five",
        {"act=gather": SURE},
        {"two gallons": "gather.volume_gal", "trees three and five": "gather.trees"},
    )
    assert fields(proposal) == [
        {"act": "gather", "tree": 3, "volume_gal": 2},
        {"act": "gather", "tree": 5, "volume_gal": 2},
    ]


def test_a_girth_becomes_a_diameter() -> None:
    """A circumference divided by pi: 31.4 in makes 10 in (to the second decimal)."""
    proposal = guessed(
        "tape says thirty one point four inches about tree six",
        {"act=measure": SURE},
        {"thirty one point four inches": "measure.girth", "tree six": "measure.tree"},
    )
    (said,) = fields(proposal)
    assert said["diameter_in"] == pytest.approx(31.4 / math.pi, abs=0.01)


def test_a_value_that_its_field_cannot_have_makes_no_note() -> None:
    """No tree is two and a half."""
    words = "the one by number two point five is empty"
    roles = {"two point five": "inspect.tree", "empty": "inspect.fill"}
    assert guessed(words, {"act=inspect": SURE}, roles) is None


def test_a_number_that_is_left_over_makes_the_proposal_unlikely() -> None:
    """Surely a tree's number, but no piece of it is a tree that this note could have."""
    proposal = guessed(
        "about seven of it came to two gallons",
        {"act=gather": SURE},
        {"two gallons": "gather.volume_gal", "seven": "inspect.tree"},
    )
    assert proposal is None or proposal.chance < 0.01


def test_an_unlikely_kind_is_nothing() -> None:
    assert guessed("the old dog barked at it", {"act=gather": 0.05}, {}) is None


def test_a_card_is_asked_for_by_its_topic() -> None:
    proposal = guessed("why has my batch gone dark", {"card=why-dark": SURE}, {})
    assert fields(proposal) == [{"ask": "advice", "topic": "why-dark"}]


def test_a_command_keeps_no_company() -> None:
    """Beside a note that has its pieces a command is not done."""
    proposal = guessed(
        "tree nine gave two gallons scrap it",
        {"act=gather": SURE, "do=undo": 0.9},
        {"tree nine": "gather.tree", "two gallons": "gather.volume_gal"},
    )
    assert fields(proposal) == [{"act": "gather", "tree": 9, "volume_gal": 2}]


def test_a_number_of_dollars_is_no_hour() -> None:
    words = words_of("six pints at ten dollars, lit the fire at ten", GRAMMAR.words)
    hours = [one for one in spans(NETWORKS, words) if one.sort in ("when", "clock")]
    assert hours
    assert all(one.start > words.index("dollars") for one in hours)


def test_a_name_goes_on_after_at_and_a_price_of_each_is_times_all() -> None:
    proposal = guessed(
        "sold six pints to the lady at church at ten dollars apiece",
        {"act=stock_out": SURE, "stock_out.why=sold": SURE},
        {
            "six": "stock_out.count",
            "pints": "stock_out.size",
            "lady": "stock_out.to",
            "church": "stock_out.to",
            "ten": "stock_out.price",
        },
    )
    (sold,) = fields(proposal)
    assert (sold["to"], sold["price"]) == ("lady at church", 60)


def test_a_far_number_is_no_tree_unless_it_is_called_one() -> None:
    roles = {"two gallons": "gather.volume_gal", "four eleven": "gather.tree"}
    proposal = guessed("two gallons, four eleven", {"act=gather": SURE}, roles)
    assert [one.get("tree") for one in fields(proposal)] == [4, 11]
    roles = {"two gallons": "gather.volume_gal", "tree four eleven": "gather.tree"}
    proposal = guessed("two gallons, tree four eleven", {"act=gather": SURE}, roles)
    assert fields(proposal) == [{"act": "gather", "volume_gal": 2, "tree": 411}]


def test_what_was_told_first_is_of_the_tree_named_after_it() -> None:
    proposal = guessed(
        "sap is yellow on the whole, pulled fourteen",
        {"act=inspect": SURE, "act=pull": SURE, "sap=yellow": SURE},
        {"yellow": "inspect.sap", "fourteen": "pull.tree"},
    )
    told = {one["act"]: one["tree"] for one in fields(proposal)}
    assert told == {"inspect": 14, "pull": 14}


def test_with_the_tree_taken_back_what_follows_is_told_anew() -> None:
    proposal = guessed(
        "tree nine two gallons, hang on, tree ten two gallons",
        {"act=gather": SURE},
        {
            "tree nine": "gather.tree",
            "two gallons": "gather.volume_gal",
            "tree ten": "gather.tree",
        },
    )
    assert fields(proposal) == [{"act": "gather", "tree": 10, "volume_gal": 2}]


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("skipped tree nine", True),  # it tells all there is to tell
        ("what a day, skipped tree nine", True),
        ("sorry but skipped tree nine", False),
        ("but skipped tree nine", True),
        ("skipped tree nine but why", False),
    ],
)
def test_what_is_plain_is_told_whole_and_not_turned(text: str, *, plain: bool) -> None:
    proposal = guessed(text, {"act=skip": SURE}, {"tree nine": "skip.tree"})
    assert proposal.is_plain is plain


def test_a_whole_one_has_a_place_for_every_number_and_unit() -> None:
    roles = {"one": "gather.volume_gal", "tree nine": "gather.tree"}
    assert not guessed("one, i mean quarts, from tree nine", {"act=gather": SURE}, roles).is_whole
    roles = {"one quart": "gather.volume_gal", "tree nine": "gather.tree"}
    assert guessed("one quart from tree nine", {"act=gather": SURE}, roles).is_whole


def test_where_something_hangs_or_stands_is_no_other_note() -> None:
    proposal = guessed(
        "two pails went on number fourteen",
        {"act=hang": SURE},
        {"two": "hang.count", "pails": "hang.item", "number fourteen": "hang.tree"},
    )
    assert fields(proposal) == [{"act": "hang", "tree": 14, "item": "pail", "count": 2}]
    proposal = guessed(
        "twenty eight belongs to the back row",
        {"act=stand": SURE},
        {"twenty eight": "stand.tree", "the back row": "stand.site"},
    )
    assert fields(proposal) == [{"act": "stand", "tree": 28, "site": "back row"}]


def test_a_state_said_twice_is_one_note() -> None:
    proposal = guessed(
        "nothing in tree twenty, bone dry",
        {"act=inspect": SURE},
        {"nothing": "inspect.fill", "tree twenty": "inspect.tree", "bone dry": "inspect.fill"},
    )
    assert fields(proposal) == [{"act": "inspect", "tree": 20, "fill": 0}]
    assert proposal.is_plain


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("two gallons, no wait, three gallons from tree nine", True),
        ("two gallons, scratch that, that was three gallons from tree nine", True),
        ("two gallons, no, it was not full, three gallons from tree nine", False),
        ("two gallons, no, three gallons from tree nine if it was tree nine", False),
        ("not two gallons, no wait, three gallons from tree nine", False),
    ],
)
def test_what_was_taken_back_for_another_value_turns_nothing(text: str, *, plain: bool) -> None:
    proposal = guessed(
        text,
        {"act=gather": SURE},
        {
            "two gallons": "gather.volume_gal",
            "three gallons": "gather.volume_gal",
            "tree nine": "gather.tree",
        },
    )
    assert fields(proposal) == [{"act": "gather", "tree": 9, "volume_gal": 3}]
    assert proposal.is_plain is plain


def test_a_number_in_place_of_one_that_counts_for_nothing_is_whole() -> None:
    roles = {"thirteen": "X", "fourteen": "pack.count", "half pints": "pack.size"}
    corrected = guessed("bottled thirteen, wait, fourteen half pints", {"act=pack": SURE}, roles)
    assert corrected.is_plain
    assert corrected.is_whole
    beside = guessed("bottled for thirteen days, fourteen half pints", {"act=pack": SURE}, roles)
    assert not beside.is_plain


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("poured ten gallons in tank one", True),
        ("tank one, ten gallons more", True),
        ("there are ten gallons in tank one", False),  # poured in, or found there
    ],
)
def test_that_sap_was_poured_is_told_by_a_word(text: str, *, plain: bool) -> None:
    roles = {"ten gallons": "store.volume_gal", "tank one": "store.vessel"}
    assert guessed(text, {"act=store": SURE}, roles).is_plain is plain


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("strained it through the felt", True),
        ("i felt like it was strained", False),
        ("strained it all, all told", True),
        ("we were told it was strained", False),
    ],
)
def test_what_says_nothing_beside_another_word_turns_nothing(text: str, *, plain: bool) -> None:
    assert guessed(text, {"act=filter": SURE}, {}).is_plain is plain


def test_a_number_before_another_unit_is_no_amount() -> None:
    roles = {"two": "ice_out.volume_gal", "the milk can": "ice_out.vessel"}
    proposal = guessed("two inches of ice off the milk can", {"act=ice_out": SURE}, roles)
    assert fields(proposal) == [{"act": "ice_out", "vessel": "milk can"}]
    assert not proposal.is_whole
    assert proposal.is_short


def test_the_unit_may_stand_a_word_behind() -> None:
    roles = {"six": "gather.volume_gal", "tree nine": "gather.tree"}
    proposal = guessed("six more quarts from tree nine", {"act=gather": SURE}, roles)
    assert fields(proposal) == [{"act": "gather", "tree": 9, "volume_gal": 1.5}]
    assert proposal.is_whole


def test_what_is_whole_as_the_likeliest_kind_alone_is_that() -> None:
    proposal = guessed(
        "sealed the last two pints",
        {"act=pack": SURE, "act=stock_out": 0.4},
        {"two": "stock_out.count", "pints": "pack.size"},
    )
    assert fields(proposal) == [
        {"act": "stock_out", "count": 2},
        {"act": "pack", "size": "pint"},
    ]
    words = ("two", "pints")
    near = {"pack.count": math.log(0.4), "stock_out.count": math.log(0.6), "O": -9.0, "X": -9.0}
    size = {"pack.size": -0.1, "stock_out.size": -4.0, "O": -9.0, "X": -9.0}
    for one in (near, size):
        one.update(dict.fromkeys({*near, *size} - one.keys(), -9.0))
    guess = Guess({"act=pack": SURE, "act=stock_out": 0.4}, (near, size), np.zeros(1))
    alone = bind(words, guess, spans(NETWORKS, words))
    assert alone is not None
    assert fields(alone) == [{"act": "pack", "count": 2, "size": "pint"}]
    assert alone.is_whole


@pytest.mark.parametrize(
    ("text", "lost"),
    [
        ("strained three gallons of it", "three gallons"),
        ("strained it, every one helped", None),
        ("put the cloth back and strained it", None),
        ("strained it two days back", "two days back"),
    ],
)
def test_numbers_that_have_no_place_are_lost(text: str, lost: str | None) -> None:
    proposal = guessed(text, {"act=filter": SURE}, {})
    words = words_of(text, GRAMMAR.words, breaks=True)
    told = None if proposal.lost is None else " ".join(words[slice(*proposal.lost)])
    assert told == lost
    assert proposal.is_whole is (lost is None)


def test_a_number_taken_back_is_not_told_as_lost() -> None:
    roles = {"twelve": "X", "a gallon": "gather.volume_gal", "thirteen": "gather.tree"}
    proposal = guessed("twelve gave a gallon, i mean thirteen", {"act=gather": SURE}, roles)
    assert fields(proposal) == [{"act": "gather", "tree": 13, "volume_gal": 1}]
    assert proposal.lost is None
    proposal = guessed("twelve gave a gallon to thirteen", {"act=gather": SURE}, roles)
    assert proposal.lost == (0, 1)


def test_a_container_is_called_by_its_number() -> None:
    proposal = guessed(
        "moved five liters from can one to can two",
        {"act=transfer": SURE},
        {
            "five liters": "transfer.volume_gal",
            "can one": "transfer.vessel",
            "can two": "transfer.into",
        },
    )
    told = {"act": "transfer", "vessel": "can one", "into": "can two", "volume_gal": 1.3209}
    assert fields(proposal) == [told]
    assert proposal.is_whole
