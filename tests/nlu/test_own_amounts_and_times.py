"""What people call an amount, a level or a time in words of their own: worth what it is, no more.

Spans of ``grammars/spans.jsgf`` that the grammar of whole sentences does not have, and what is made
of them. US measures are exact definitions: a gallon is 4 quarts, 8 pints and 3.785411784 litres.
"""

from __future__ import annotations

import math
from datetime import datetime, timedelta, timezone
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words

from fieldvoice.nlu import Interpreter
from fieldvoice.nlu.binder import bind
from fieldvoice.nlu.chunker import Span, spans
from fieldvoice.nlu.normalise import words_of
from fieldvoice.nlu.reader_net import Guess
from fieldvoice.nlu.times import date_of, moment_of
from fieldvoice.transcript import typed
from models.reader.corpus import _row
from tests.one_grammar import GRAMMAR

NETWORKS = Interpreter(GRAMMAR).networks
EASTERN = timezone(timedelta(hours=-5))
#: A Friday.
NOW = datetime(2027, 3, 5, 9, 10, tzinfo=EASTERN)
SURE, NO = 0.999, 0.0001


def found(text: str) -> list[Span]:
    return spans(NETWORKS, words_of(text, GRAMMAR.words, breaks=True))


def values(text: str, said: str, sort: str) -> list[Any]:
    """Return the values of a sort that just the words ``said`` have."""
    words = words_of(text, GRAMMAR.words, breaks=True)
    run = words_of(said, GRAMMAR.words)
    return [
        one.value for one in found(text) if one.sort == sort and words[one.start : one.end] == run
    ]


@pytest.mark.parametrize(
    ("said", "gallons"),
    [
        ("six five gallon pails", 30),
        ("two and a half five gallon pails", 12.5),
        ("half a five gallon pail", 2.5),
        ("a couple of five gallon buckets", 10),
        ("half a dozen two gallon pails", 12),
        ("half a dozen gallons", 6),
        ("eight ish gallons", 8),
        ("thirty or so gallons", 30),
        ("a couple quarts", 0.5),
        ("couple gallons", 2),
        ("a liter and a half", 1.5 / 3.785411784),
        ("quart and a half", 0.375),
        ("just shy of ten gallons", 10),
    ],
)
def test_an_amount_in_own_words(said: str, gallons: float) -> None:
    (value,) = values(f"well there went {said} i guess", said, "volume")
    assert value == pytest.approx(gallons, abs=1e-4)


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 19), st.sampled_from([2, 3, 5, 6]))
def test_so_many_pails_of_a_size_are_never_one_pail(count: int, size: int) -> None:
    """The product stands, and neither the count nor the size alone."""
    text = f"{num2words(count)} {num2words(size)} gallon pails went in"
    pieces = [one for one in found(text) if one.sort in ("volume", "number") and one.end <= 4]
    assert [one.value for one in pieces] == [count * size]


@pytest.mark.parametrize(
    ("said", "fill"),
    [
        ("nothing", 0), ("not a drop", 0), ("zip", 0), ("a dribble", 0.1), ("hardly anything", 0.1),
        ("half a bucket", 0.5), ("a third of a pail", 1 / 3), ("full as a tick", 1),
        ("up to the lid", 1), ("good as full", 0.9),
    ],
)  # fmt: skip
def test_a_level_in_own_words(said: str, fill: float) -> None:
    assert values(f"so nine there {said} today", said, "fill") == [pytest.approx(fill, abs=1e-3)]


@pytest.mark.parametrize(
    ("said", "moment"),
    [
        ("on march third", "2027-03-03T12:00"),
        ("the second of march", "2027-03-02T12:00"),
        ("february twenty eighth", "2027-02-28T12:00"),
        ("december first", "2026-12-01T12:00"),
        ("quarter past six", "2027-03-05T06:15"),
        ("a quarter to eight", "2027-03-05T07:45"),
        ("twenty five to seven", "2027-03-05T06:35"),
        ("half past eight", "2027-03-05T08:30"),
        ("a little before midnight", "2027-03-05T00:00"),
        ("two days back", "2027-03-03T12:00"),
        ("a week ago", "2027-02-26T12:00"),
        ("an hour back", "2027-03-05T08:10"),
        ("ten past nine last night", "2027-03-04T21:10"),
    ],
)
def test_a_time_in_own_words(said: str, moment: str) -> None:
    (value,) = values(f"we did that one {said} i think", said, "when")
    assert moment_of(value, NOW).isoformat().startswith(moment)


@pytest.mark.parametrize("said", ["february thirtieth", "april thirty first", "march ninety"])
def test_a_day_that_is_none_is_not_read(said: str) -> None:
    assert values(f"that was {said} then", said, "when") == []


@settings(max_examples=60, deadline=None)
@given(st.dates(datetime(2026, 11, 1).date(), datetime(2027, 3, 5).date()))
def test_a_date_is_the_last_one_of_its_name(day: Any) -> None:
    said = f"{day:%B} {num2words(day.day, ordinal=True).replace('-', ' ')}".lower()
    (value,) = values(f"i got it {said} for sure", said, "when")
    assert date_of(value, NOW.date()) == day


def test_since_a_date_and_since_the_week() -> None:
    assert values("how much since march first then", "since march first", "since") == ["march 1"]
    assert values("the total for the week please", "the week", "since") == ["week"]


def guessed(text: str, labels: dict[str, float], roles: list[tuple[str, str]]) -> Any:
    """Return what is made of ``text``; ``roles`` in the order said, each found after the last."""
    words = words_of(text, GRAMMAR.words, breaks=True)
    role_of, after = ["O"] * len(words), 0
    for said, role in roles:
        run = words_of(said, GRAMMAR.words)
        at = next(at for at in range(after, len(words)) if words[at : at + len(run)] == run)
        role_of[at : at + len(run)] = [role] * len(run)
        after = at + len(run)
    names = {"O", "X", *role_of}
    told = tuple(
        {name: math.log(SURE if name == role else NO) for name in names} for role in role_of
    )
    return bind(words, Guess(labels, told, np.zeros(1)), spans(NETWORKS, words))


def fields(proposal: Any) -> list[dict[str, Any]]:
    return [meaning.json_fields() for meaning in proposal.meanings]


def test_an_amount_put_right_keeps_the_unit_of_what_was_taken_back() -> None:
    """Three what? Quarts, as were the two."""
    proposal = guessed(
        "two quarts off tree six, sorry, three",
        {"act=gather": SURE},
        [("tree six", "gather.tree"), ("three", "gather.volume_gal")],
    )
    assert fields(proposal) == [{"act": "gather", "tree": 6, "volume_gal": 0.75}]
    assert not proposal.is_plain


def test_an_amount_without_a_unit_has_that_of_the_note_before() -> None:
    proposal = guessed(
        "tree six ten liters, tree seven eight",
        {"act=gather": SURE},
        [
            ("tree six", "gather.tree"), ("ten liters", "gather.volume_gal"),
            ("tree seven", "gather.tree"), ("eight", "gather.volume_gal"),
        ],
    )  # fmt: skip
    assert [one["volume_gal"] for one in fields(proposal)] == [
        pytest.approx(10 / 3.785411784, abs=1e-3), pytest.approx(8 / 3.785411784, abs=1e-3)
    ]  # fmt: skip
    assert not proposal.is_plain


def test_gallons_stay_gallons_after_a_word_of_jars() -> None:
    """What was counted in pints is no amount of sap."""
    proposal = guessed(
        "packed nine pints, tank one is at forty",
        {"act=pack": SURE, "act=reading": SURE},
        [
            ("nine", "pack.count"), ("pints", "pack.size"), ("tank one", "reading.vessel"),
            ("forty", "reading.volume_gal"),
        ],
    )  # fmt: skip
    assert fields(proposal)[1] == {"act": "reading", "vessel": "tank 1", "volume_gal": 40}


def test_a_gallon_apiece_is_a_gallon_for_each_tree_named() -> None:
    proposal = guessed(
        "a gallon apiece out of seven and eight",
        {"act=gather": SURE},
        [("a gallon", "gather.volume_gal"), ("seven", "gather.tree"), ("eight", "gather.tree")],
    )
    assert fields(proposal) == [
        {"act": "gather", "tree": 7, "volume_gal": 1},
        {"act": "gather", "tree": 8, "volume_gal": 1},
    ]


def test_a_price_of_one_is_the_price_of_all_of_them() -> None:
    proposal = guessed(
        "sold three pints at twelve dollars each",
        {"act=stock_out": SURE, "stock_out.why=sold": SURE},
        [
            ("three", "stock_out.count"), ("pints", "stock_out.size"),
            ("twelve", "stock_out.price"),
        ],
    )  # fmt: skip
    assert fields(proposal) == [
        {"act": "stock_out", "count": 3, "size": "pint", "price": 36, "why": "sold"}
    ]


def test_the_level_that_no_piece_has_is_of_the_tree_of_which_nothing_else_is_told() -> None:
    proposal = guessed(
        "tree seven full, tree eight half, tree nine never woke up",
        {"act=inspect": SURE, "fill=1": SURE, "fill=0.5": SURE, "fill=0": 0.9},
        [
            ("tree seven", "inspect.tree"), ("full", "inspect.fill"),
            ("tree eight", "inspect.tree"), ("half", "inspect.fill"),
            ("tree nine", "inspect.tree"),
        ],
    )  # fmt: skip
    assert fields(proposal)[2] == {"act": "inspect", "tree": 9, "fill": 0}
    assert not proposal.is_plain


def test_what_is_seen_broken_is_kept_in_the_words_it_was_told_in() -> None:
    proposal = guessed(
        "the lid on tree seven's cracked",
        {"act=remark": SURE},
        [("tree seven", "remark.tree")],
    )
    assert fields(proposal) == [
        {"act": "remark", "tree": 7, "text": "the lid on tree seven's cracked"}
    ]


def test_a_word_that_tells_a_state_is_not_left_over() -> None:
    """ "Sold" is no piece with a value, and yet said all there is to say."""
    proposal = guessed(
        "sold four pints",
        {"act=stock_out": SURE, "stock_out.why=sold": SURE},
        [("sold", "stock_out.why"), ("four", "stock_out.count"), ("pints", "stock_out.size")],
    )
    assert proposal.chance > 0.9


def test_a_date_that_is_left_over_makes_a_note_no_plain_one() -> None:
    """A note whose day was not taken would stand under today."""
    proposal = guessed(
        "on march third tree nine gave a gallon",
        {"act=gather": SURE},
        [("tree nine", "gather.tree"), ("a gallon", "gather.volume_gal")],
    )
    assert not proposal.is_plain


def test_so_much_of_each_is_taught_as_of_all_of_them() -> None:
    words = words_of("three to five gave two quarts each")
    notes = [{"act": "gather", "tree": tree, "volume_gal": 0.5} for tree in (3, 4, 5)]
    row = _row("paraphrase", words, notes, NETWORKS)
    assert row["roles"][:3] == ["gather.trees"] * 3
    assert row["roles"][4:6] == ["gather.volume_gal"] * 2


def test_a_span_that_a_line_leaves_open_is_taught_where_it_stands() -> None:
    words = words_of("how much did we get since sunday")
    row = _row("paraphrase", words, [{"ask": "sap_total", "*": ["since"]}], NETWORKS)
    assert row["roles"][5:] == ["sap_total.since"] * 2


def test_two_numbers_of_one_list_are_never_cut() -> None:
    """Twenty five and twenty six are two trees, not three or four."""
    told = [
        tuple(one.value) for one in found("in twenty five and twenty six") if one.sort == "trees"
    ]
    assert told == [(25, 26)]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(1, 99), min_size=2, max_size=4, unique=True))
def test_a_list_of_trees_has_as_many_trees_as_numbers(trees: list[int]) -> None:
    said = " and ".join(num2words(tree).replace("-", " ") for tree in trees)
    told = [
        one.value
        for one in found(f"trees {said} looked fine")
        if one.sort == "trees" and one.start == 0
    ]
    assert max(told, key=len) == trees


def test_a_fill_temperature_is_no_hour() -> None:
    assert values("bottled ten pints at one eighty five", "at one", "when") == []


def test_why_is_of_all_that_was_sold_and_the_colour_of_all_jars() -> None:
    sold = guessed(
        "sold two pints to ann and a quart to joe",
        {"act=stock_out": SURE, "stock_out.why=sold": SURE},
        [
            ("two", "stock_out.count"), ("pints", "stock_out.size"), ("ann", "stock_out.to"),
            ("quart", "stock_out.size"), ("joe", "stock_out.to"),
        ],
    )  # fmt: skip
    assert [(one["count"], one["why"]) for one in fields(sold)] == [(2, "sold"), (1, "sold")]
    packed = guessed(
        "nine pints and four quarts all amber",
        {"act=pack": SURE},
        [
            ("nine", "pack.count"), ("pints", "pack.size"), ("four", "pack.count"),
            ("quarts", "pack.size"), ("amber", "pack.colour"),
        ],
    )  # fmt: skip
    assert [one["colour"] for one in fields(packed)] == ["amber", "amber"]
    assert not packed.is_plain


def test_the_day_of_the_first_tree_is_that_of_the_next_unless_that_was_now() -> None:
    roles = [
        ("yesterday", "clean.at"), ("buckets", "clean.item"), ("lids", "clean.item"),
    ]  # fmt: skip
    both = guessed("yesterday i washed the buckets and the lids", {"act=clean": SURE}, roles)
    assert [one.get("at") for one in fields(both)] == ["yesterday", "yesterday"]
    one = guessed("yesterday i washed the buckets, today the lids", {"act=clean": SURE}, roles)
    assert [said.get("at") for said in fields(one)] == ["yesterday", None]


def test_what_is_said_twice_of_one_thing_is_one_note() -> None:
    proposal = guessed(
        "tank one cloudy, yes tank one cloudy",
        {"act=reading": SURE},
        [
            ("tank one", "reading.vessel"), ("cloudy", "reading.sap"),
            ("tank one", "reading.vessel"), ("cloudy", "reading.sap"),
        ],
    )  # fmt: skip
    assert fields(proposal) == [{"act": "reading", "vessel": "tank 1", "sap": "cloudy"}]


@pytest.mark.parametrize(
    ("said", "dollars"),
    [
        ("eleven fifty", 11.5),
        ("twelve dollars and fifty cents", 12.5),
        ("nine bucks and a half", 9.5),
    ],
)
def test_a_price_in_own_words(said: str, dollars: float) -> None:
    assert values(f"sold a pint for {said} today", said, "price") == [dollars]


def test_a_name_keeps_the_words_within_it() -> None:
    proposal = guessed(
        "the cooler on the porch is clear",
        {"act=reading": SURE},
        [("the cooler on the porch", "reading.vessel"), ("clear", "reading.sap")],
    )
    assert fields(proposal)[0]["vessel"] == "cooler on the porch"


def test_a_slip_in_a_typed_line_is_not_two_notes() -> None:
    """ "Oops" takes back what was before it; the exact parser never passes over it."""
    readings = Interpreter(GRAMMAR).read(typed("t14 2gal oops 3gal"))
    assert not [one for one in readings if len(one.meanings) > 1]


def test_what_may_have_been_taken_back_is_no_plain_note() -> None:
    """Of two trees, "wait" between them, the first may have been a slip: the second is put."""
    proposal = guessed(
        "tree twelve two gallons wait tree thirteen two gallons",
        {"act=gather": SURE},
        [
            ("tree twelve", "gather.tree"), ("two gallons", "gather.volume_gal"),
            ("tree thirteen", "gather.tree"), ("two gallons", "gather.volume_gal"),
        ],
    )  # fmt: skip
    assert [one["tree"] for one in fields(proposal)] == [13]
    assert not proposal.is_plain


def test_a_number_before_its_unit_has_that_unit() -> None:
    """Ten litres are no ten gallons, even where the net points at the ten alone."""
    proposal = guessed(
        "ten liters off tree nine",
        {"act=gather": SURE},
        [("ten", "gather.volume_gal"), ("tree nine", "gather.tree")],
    )
    assert fields(proposal)[0]["volume_gal"] == pytest.approx(10 / 3.785411784, abs=1e-3)


@pytest.mark.parametrize("said", ["a couple of five gallon pails", "half of a five gallon pail"])
def test_of_pails_of_a_size_no_part_is_taken(said: str) -> None:
    inside = [one for one in found(f"put {said} in") if one.sort in ("volume", "number", "fill")]
    assert len(inside) == 1
    assert len(inside[0]) == len(said.split())


@pytest.mark.parametrize(
    ("typed_words", "words"),
    [
        ("t12 2gal clr", "tree twelve two gallons clear"),
        ("bkt 9 mt", "bucket nine empty"),
        ("t4-t6 full", "trees four through six full"),
    ],
)
def test_what_thumbs_shorten_is_written_out(typed_words: str, words: str) -> None:
    assert " ".join(words_of(typed_words, GRAMMAR.words)) == words


def test_below_is_below_nought() -> None:
    assert values("it was four below when i got up", "four below", "temperature") == [-4]


def test_two_figures_typed_in_a_row_are_two_numbers() -> None:
    """Tree thirty and a gallon and a quarter, never tree thirty one."""
    told = [one.value for one in found("emptied t30 1.25 gal") if one.sort in ("tree", "volume")]
    assert told == [30, 1.25]


@pytest.mark.parametrize(
    ("said", "sort", "value"),
    [
        ("a gallon and a third", "volume", 4 / 3),
        ("inch and five eighths", "length", 1.625),
        ("four foot six", "length", 54),
        ("two percent and a half", "sugar", 2.5),
        ("three quarter full", "fill", 0.75),
    ],
)
def test_a_measure_in_own_words(said: str, sort: str, value: float) -> None:
    assert values(f"well {said} there", said, sort) == [pytest.approx(value, abs=1e-4)]


def test_a_number_put_right_is_taught_with_the_unit_before_it() -> None:
    words = words_of("two quarts off six sorry three")
    row = _row("paraphrase", words, [{"act": "gather", "tree": 6, "volume_gal": 0.75}], NETWORKS)
    assert row["roles"] == ["X", "O", "O", "gather.tree", "O", "gather.volume_gal"]


def test_so_many_percent_full_is_a_part_of_it() -> None:
    proposal = guessed(
        "tank two is at forty percent",
        {"act=reading": SURE},
        [("tank two", "reading.vessel"), ("forty percent", "reading.fill")],
    )
    assert fields(proposal) == [{"act": "reading", "vessel": "tank 2", "fill": 0.4}]
