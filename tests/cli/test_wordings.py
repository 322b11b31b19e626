"""``fieldvoice wordings``: what was learnt, and forgetting it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.cli.conftest import Ran


@pytest.fixture
def learnt(run: Callable[..., Ran]) -> None:
    """A note kept, told anew in the review, and said once more with other numbers."""
    run("say", "zorp nine, glimmed two gallons for the cause")
    run("review", "u1", "tree", "nine", "two", "gallons")
    run("say", "zorp four, glimmed one gallon for the cause")


def test_nothing_was_learnt(run: Callable[..., Ran]) -> None:
    assert run("wordings").out == "No wordings have been learnt.\n"
    assert run("wordings", "--json").out == ""


@pytest.mark.usefixtures("learnt")
def test_a_wording_and_its_notes(run: Callable[..., Ran]) -> None:
    line = "w1   2027-03-05  zorp <tree_or_number> glimmed <volume> for the cause  (gather)"
    assert run("wordings").out.splitlines() == [line]
    (wording,) = run("wordings", "--json").answers
    assert wording["shape"] == [
        {"act": "gather", "tree": "tree_or_number#1", "volume_gal": "volume#1"}
    ]
    assert (wording["heard"], wording["counts"], wording["used_by"]) == (
        "zorp nine, glimmed two gallons for the cause", True, "u3",
    )  # fmt: skip
    assert run("history").out.splitlines()[-1].endswith("Tree 4: 1 gal.  by a learnt wording")
    assert [one.get("wording") for one in run("history", "--json").answers] == [None, "w1"]


@pytest.mark.usefixtures("learnt")
@pytest.mark.parametrize("name", ["w1", "1"])
def test_forgotten(run: Callable[..., Ran], name: str) -> None:
    """Its notes stay; forgotten twice, or unknown, is said in a line."""
    assert "asked about again" in run("wordings", "--forget", name).out
    assert run("wordings").out.rstrip().endswith("(gather)  forgotten")
    assert len(run("history").out.splitlines()) == 2
    again = run("wordings", "--forget", name)
    assert again.status == 1
    assert "was forgotten before" in again.err
    assert "There is no wording 'w7'" in run("wordings", "--forget", "w7").err
