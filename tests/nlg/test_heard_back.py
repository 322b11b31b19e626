"""What is said aloud is heard back by the grammar as the same amount, for amounts of all sizes."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldvoice.nlg.spoken import spoken
from fieldvoice.nlu import Interpreter
from fieldvoice.segments import Quantity, TreeRef, fact
from fieldvoice.transcript import Transcript
from tests.one_grammar import GRAMMAR

UNDERSTANDER = Interpreter(GRAMMAR)


def heard_back(*parts: object) -> dict[str, object]:
    """Return the meaning of what a reply with these parts says, with no liberty taken."""
    said = spoken([fact(*parts)]).rstrip(".").lower()
    words = said.replace(",", "").replace("-", " ")
    (reading, *_) = UNDERSTANDER.read(Transcript(words, recogniser="itself"))
    assert reading.skipped == reading.repaired == (), said
    (meaning,) = reading.meanings
    return meaning.json_fields()


def halves_to_tenths(most: int) -> st.SearchStrategy[float]:
    """Return amounts from 0.25 to ``most``: quarters, halves and tenths."""
    quarters = st.integers(1, most * 4).map(lambda count: count / 4)
    return quarters | st.integers(1, most * 10).map(lambda count: count / 10)


@pytest.mark.long
@settings(max_examples=80, deadline=None)
@given(st.integers(1, 999))
def test_a_tree(tree: int) -> None:
    assert heard_back(TreeRef((tree,)), "is empty") == {"act": "inspect", "tree": tree, "fill": 0}


@pytest.mark.long
@settings(max_examples=120, deadline=None)
@given(halves_to_tenths(90), st.integers(1, 99))
def test_a_volume(gallons: float, tree: int) -> None:
    """Under a gallon it may be said in quarts or pints, from ten gallons on to a tenth."""
    meaning = heard_back("Collected", Quantity(gallons, "gal"), "from", TreeRef((tree,)))
    assert meaning == {
        "act": "gather",
        "tree": tree,
        "volume_gal": pytest.approx(gallons, abs=0.006 if gallons < 10 else 0.051),
    }


@pytest.mark.long
@settings(max_examples=60, deadline=None)
@given(st.integers(33, 230), st.sampled_from([0.0, 0.5, 0.3]))
def test_a_temperature(degrees: int, more: float) -> None:
    meaning = heard_back("Tank two is at", Quantity(degrees + more, "°F"))
    assert meaning["temp_f"] == pytest.approx(degrees + more, abs=0.06)


@pytest.mark.long
@settings(max_examples=60, deadline=None)
@given(st.integers(5, 99), st.integers(0, 9))
def test_sugar(tenths: int, tank: int) -> None:
    meaning = heard_back("Sugar is", Quantity(tenths / 10, "%"), f"in tank {tank + 1}")
    assert meaning == {
        "act": "sweetness",
        "vessel": f"tank {tank + 1}",
        "brix": pytest.approx(tenths / 10),
    }


@pytest.mark.long
@settings(max_examples=60, deadline=None)
@given(st.integers(16, 160), st.integers(1, 99))
def test_a_diameter(quarters: int, tree: int) -> None:
    inches = quarters / 4
    meaning = heard_back(TreeRef((tree,)), "is", Quantity(inches, "in", 2), "across")
    assert meaning == {
        "act": "measure",
        "tree": tree,
        "diameter_in": pytest.approx(inches, abs=0.006),
    }
