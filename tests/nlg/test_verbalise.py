"""Replies as they are said: the tables first, then what must hold for any text."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldvoice.nlu import Interpreter
from fieldvoice.transcript import typed
from fieldvoice.tts import speakable
from tests.one_grammar import GRAMMAR

CASES = """
Tree 12: nearly full, cloudy.               => Tree twelve: nearly full, cloudy.
Tree 105 can take one tap.                  => Tree one oh five can take one tap.
Tree 100: empty.                            => Tree one hundred: empty.
Trees 10 to 15: empty.                      => Trees ten to fifteen: empty.
Trees 10-15: half full.                     => Trees ten to fifteen: half full.
Trees 3, 7 and 109: full.                   => Trees three, seven and one oh nine: full.
Tree 12, 2.5 gal.                           => Tree twelve, two and a half gallons.
You meant #14.                              => You meant number fourteen.

# letters that would be taken for a word
CO alarm on.                                => Carbon monoxide alarm on.

# volumes
2.5 gal                                     => Two and a half gallons
0.25 gal                                    => A quarter of a gallon
0.5 gal                                     => Half a gallon
0.75 gal                                    => Three quarters of a gallon
0.33 gal                                    => A third of a gallon
1 gal                                       => One gallon
1.75 gal                                    => One and three quarter gallons
3 gal                                       => Three gallons
2.38 gal                                    => Two point three eight gallons
120 gal                                     => One hundred and twenty gallons
1,200 gal                                   => One thousand two hundred gallons
Tank 1: 11 gal in.                          => Tank one: eleven gallons in.
1 qt                                        => One quart
3 qt of it                                  => Three quarts of it
2 gal. of it                                => Two gallons of it
It holds 2 gal. Tank 2 holds 3 gal.         => It holds two gallons. Tank two holds three gallons.
½ gal                                       => Half a gallon
1½ gal or ¾ gal                             => One and a half gallons or three quarters of a gallon
4.2 L                                       => Four point two litres
packed: 12 of 250 ml                        => Packed: twelve of two hundred and fifty millilitres
A full 5-gallon pail is 42 pounds.          => A full five gallon pail is forty two pounds.

# temperatures
219 °F                                      => Two nineteen degrees
219 degrees                                 => Two nineteen degrees
36°F                                        => Thirty six degrees
205 °F                                      => Two oh five degrees
200 °F                                      => Two hundred degrees
219.5 °F                                    => Two nineteen and a half degrees
219.3 °F                                    => Two nineteen point three degrees
185–190 °F                                  => One eighty five to one ninety degrees
1 °F                                        => One degree
0.5 °F                                      => Half a degree
2.2 °C                                      => Two point two degrees Celsius
-5 °C                                       => Minus five degrees Celsius
low −4 °F                                   => Low minus four degrees
12 degree-days over 50 °F so far            => Twelve degree-days over fifty degrees so far

# sugar and shares
2.2 %                                       => Two point two percent
2.5 % sugar                                 => Two point five percent sugar
66.9 Brix                                   => Sixty six point nine Brix
80 % full                                   => Eighty percent full
0 to 1 % sugar                              => Zero to one percent sugar
36 °Bé                                      => Thirty six Baumé

# lengths
18 in across                                => Eighteen inches across
1½ in                                       => One and a half inches
5/16 in                                     => Five sixteenths of an inch
0.5 in deep                                 => Half an inch deep
a 5/16 in bit                               => A five sixteenths inch bit
1.5 to 2 in into white sapwood              => One and a half to two inches into white sapwood
2.5 ft up                                   => Two and a half feet up
45.7 cm across                              => Forty five point seven centimetres across
29.92 inHg                                  => Twenty nine point nine two inches of mercury
3 in a row, 1 in 20                         => Three in a row, one in twenty
It has 40 in tank 2.                        => It has forty in tank two.

# days, times, years
2.5 days old                                => Two and a half days old
0.5 hours                                   => Half an hour
1 hour, 5 minutes                           => One hour, five minutes
at 9:05                                     => At nine oh five
at 9:00                                     => At nine o'clock
at 14:30                                    => At two thirty in the afternoon
at 19:00                                    => At seven in the evening
at 0:15                                     => At twelve fifteen at night
at 7:30 pm                                  => At seven thirty p m
2027-03-05: low 24 °F.                      => March fifth: low twenty four degrees.
made before 1995                            => Made before nineteen ninety five
the 21st tree                               => The twenty first tree

# sentences
Boil tank 2 first; it is 2 days old.        => Boil tank two first. It is two days old.
Under 23 (-5 °C) it splits.     => Under twenty three, minus five degrees Celsius, it splits.
Keep it out of the tank.                    => Keep it out of the tank.
The back row is half-full.                  => The back row is half-full.
ice & sap ~ 2 gal                           => Ice and sap about two gallons
lot a1b2                                    => Lot a one b two
call 802-555-0143                => Call eight zero two, five five five, zero one four three
a filter is $12.50                          => A filter is twelve point five zero dollars
or on face or hands: call 911.               => Or on face or hands: call nine one one.
"""


def _cases() -> list[tuple[str, ...]]:
    lines = (line for line in CASES.splitlines() if line and not line.startswith("#"))
    return [tuple(side.strip() for side in line.split("=>")) for line in lines]


@pytest.mark.parametrize(("written", "spoken"), _cases())
def test_a_reply_is_said_as_people_say_it(written: str, spoken: str) -> None:
    assert speakable(written) == spoken


@pytest.mark.parametrize("spoken", [spoken for _, spoken in _cases()])
def test_what_is_spoken_words_already_stays(spoken: str) -> None:
    assert speakable(spoken) == spoken


_pieces = st.one_of(
    st.integers(0, 20_000).map(str),
    st.decimals(0, 300, places=2).map(str),
    st.sampled_from(
        "gal gal. qt °F °C % in in. ft h ; ( ) - – / . , : ½ 5/16 tree trees tank to and 0/0 1/0 "
        "2027-02-31 25:61 9:05 # ² ٣ a full deep Brix".split()
    ),
)


@given(st.lists(_pieces, max_size=8).flatmap(lambda p: st.sampled_from([" ".join(p), "".join(p)])))
def test_no_figure_or_unit_sign_is_left_for_the_voice(text: str) -> None:
    spoken = speakable(text)
    assert not re.search(r"[\d%°½;]", spoken)
    assert "  " not in spoken


@pytest.fixture(scope="module")
def understander() -> Interpreter:
    return Interpreter(GRAMMAR)


def _read_back(understander: Interpreter, text: str) -> dict[str, object]:
    readings = understander.read(typed(speakable(text).lower()))
    assert readings, speakable(text)
    assert readings[0].skipped == readings[0].repaired == ()
    return readings[0].meanings[0].json_fields()


@pytest.mark.parametrize("tree", [*range(1, 131), 200, 219, 305, 999])
def test_a_tree_is_said_as_the_grammar_hears_it(understander: Interpreter, tree: int) -> None:
    assert _read_back(understander, f"tree {tree} empty")["tree"] == tree


@pytest.mark.parametrize("volume", ["0.25", "0.5", "0.75", "1", "1.5", "2.25", "2.5", "3.75", "12"])
def test_a_volume_is_said_as_the_grammar_hears_it(understander: Interpreter, volume: str) -> None:
    meaning = _read_back(understander, f"collected {volume} gal from tree 9")
    assert meaning == {"act": "gather", "tree": 9, "volume_gal": float(volume)}


@pytest.mark.parametrize("temp", ["205", "212", "218.5", "219", "219.3", "220"])
def test_a_draw_off_is_said_as_the_grammar_hears_it(understander: Interpreter, temp: str) -> None:
    meaning = _read_back(understander, f"drew off 3 qt at {temp} °F")
    assert meaning == {"act": "draw", "syrup_gal": 0.75, "temp_f": float(temp)}


@pytest.mark.parametrize("brix", ["1.8", "2", "2.2", "3.5"])
def test_sugar_is_said_as_the_grammar_hears_it(understander: Interpreter, brix: str) -> None:
    meaning = _read_back(understander, f"sugar is {brix} % in tank 2")
    assert meaning == {"act": "sweetness", "vessel": "tank 2", "brix": float(brix)}
