"""From typed text to spoken words."""

from __future__ import annotations

import pytest
from num2words import num2words

from fieldvoice.nlu.normalise import spell, within_figures, words_of

CASES = [
    ("Tree 12, bucket nearly full; sap cloudy.", "tree twelve bucket nearly full sap cloudy"),
    ("T12 half full", "tree twelve half full"),
    ("2½ gallons", "two and a half gallons"),
    ("2 1/2 gal", "two and a half gallons"),
    ("½ gal", "a half gallons"),
    ("2.5 gal", "two point five gallons"),
    (".5 gal", "point five gallons"),
    ('5/16" bit', "five sixteenths inch bit"),
    ('18" across', "eighteen inches across"),
    ("tree 9 is 20″ across", "tree nine is twenty inches across"),
    ('"poured 11 gal into tank 1"', "poured eleven gallons into tank one"),
    ('"tree 7 is 20" across"', "tree seven is twenty inches across"),
    ('"tree 7" and "tree 8"', "tree seven and tree eight"),
    ("“tree 3 empty”", "tree three empty"),
    ('call tree 9 "the big one"', "call tree nine the big one"),
    ("36°F", "thirty six degrees"),
    ("36 F", "thirty six degrees"),
    ("2 °C", "two degrees celsius"),
    ("2.2%", "two point two percent"),
    ("trees 10-15 empty", "trees ten through fifteen empty"),
    ("10 l", "ten liters"),
    ("nine's dry", "nine 's dry"),
    ("hole 3' up, the trunk 6'2″", "hole three feet up the trunk six feet two inches"),
    ("‘tree 9’ is 20'' across", "tree nine is twenty inches across"),
    ("tree 9 2 gal 3/8/27", "tree nine two gallons 3/8/27"),
    ("tree 9's dry, tree 22’s full", "tree nine 's dry tree twenty two 's full"),
    ("the 1990's", "the one thousand nine hundred ninety 's"),
    ("i'd say it should've", "i would say it should have"),
    ("1,200 feet", "one thousand two hundred feet"),
    ("18in across", "eighteen inches across"),
    ("2,5 l", "two point five liters"),
    ("tank 1,4 degrees", "tank one four degrees"),
    ("trees 3,4,5", "trees three four five"),
    ("t9,3 l", "tree nine three liters"),
    ("fire lit at 6.30", "fire lit at six thirty"),
    ("at 6.30 gal", "at six point three zero gallons"),
    ("at 2.15", "at two point one five"),
    ("made 2 qt @ 715", "made two quarts at seven fifteen"),
    ("drew off at 219", "drew off at two hundred nineteen"),
    ("we are at 1100 feet", "we are at one thousand one hundred feet"),
    ("off at 16:30", "off at four thirty p m"),
    ("t4 n t5 full", "tree four and tree five full"),
    ("half-full", "half full"),
    ("12345 gallons", "12345 gallons"),
    ("", ""),
    ("?!… 🍁", ""),
]


@pytest.mark.parametrize(("text", "words"), CASES)
def test_words(text: str, words: str) -> None:
    assert " ".join(words_of(text)) == words


def test_a_comma_or_full_stop_between_words_can_be_kept_as_a_break() -> None:
    assert words_of("to Mr. Oak. Two", breaks=True) == ("to", "mr", "oak", ",", "two")
    assert words_of("4, 5; six. empty!", breaks=True) == (
        "four",
        ",",
        "five",
        ",",
        "six",
        ",",
        "empty",
    )


def test_a_number_in_figures_is_one() -> None:
    """ "Tree 122 pints" is no tree one hundred; said, it may be tree one hundred twenty."""
    assert within_figures("tree 122 pints") == {2, 3, 4}
    assert within_figures("tree 21 quart, 9") == {2}
    assert within_figures("tree one hundred twenty two pints") == frozenset()


def test_a_short_form_that_the_grammar_has_is_kept() -> None:
    assert words_of("don't dump it", {"don't"}) == ("don't", "dump", "it")


def test_spelling_agrees_with_num2words() -> None:
    """num2words (PyPI) is the outside reference for English number words."""
    for number in (*range(1000), 1000, 1500, 2019, 9999):
        theirs = num2words(number).replace(" and ", " ").replace("-", " ").replace(",", "")
        assert spell(number) == theirs
