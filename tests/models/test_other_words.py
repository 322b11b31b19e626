"""What a taught line may be said as: its values and their roles stay."""

from __future__ import annotations

import random

from models.reader.other_words import in_other_words

LINE = "how do i keep the sap in tank two from going bad".split()
ROLES = ["O"] * 7 + ["store.vessel"] * 2 + ["O"] * 3


def test_values_and_their_roles_stay() -> None:
    chance = random.Random(1)
    seen = set()
    for _ in range(200):
        words, roles = in_other_words(LINE, ROLES, chance)
        assert len(words) == len(roles)
        assert [w for w, r in zip(words, roles, strict=True) if r != "O"] == ["tank", "two"]
        seen.add(" ".join(words))
    assert len(seen) > 5
    assert " ".join(LINE) in seen


def test_a_word_that_is_a_value_is_not_another() -> None:
    chance = random.Random(2)
    for _ in range(200):
        assert in_other_words(["pail"], ["hang.container"], chance) == (
            ["pail"],
            ["hang.container"],
        )


def test_the_same_chance_says_the_same() -> None:
    told = [in_other_words(LINE, ROLES, random.Random(7)) for _ in range(2)]
    assert told[0] == told[1]
