"""Taught lines as the program hears them: what a sentence still says with some words wrong.

``misheard.txt`` has a line each, what was said with each part heard otherwise as ``{said|heard}``:
``drop {needed|even} for suction``. ``models.reader.mishear`` makes it.
"""

from __future__ import annotations

import re
from difflib import SequenceMatcher
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldvoice.nlu.binder import NUMBER_WORDS
from fieldvoice.nlu.normalise import BREAK
from fieldvoice.nlu.shared_units import UNIT_WORDS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

FILE = Path(__file__).with_name("misheard.txt")

#: At most this share of the words may be heard otherwise, left out or put in.
MOST_WRONG = 0.5

#: Words that are heard as they were said, or the line is left out; one or more of a thing is the
#: same.
_COUNTED = set("cord jar inch foot dollar tree tank tote barrel zero oh point".split())
_WEIGHTY = NUMBER_WORDS | _COUNTED | {word.removesuffix("s") for word in UNIT_WORDS}
_DENIALS = frozenset("no not none never nothing without nobody neither nor minus cannot".split())
#: Where one of these comes in, something else is said to have been done.
_DONE = frozenset(
    "pulled poured filled dumped tapped emptied washed cleaned boiled bought sold gave took packed "
    "burned drew moved hung".split()
)
_NAMING = frozenset({"tree", "trees", "vessel", "into", "site", "name", "new"})
_PARTED = re.compile(r"\{([^{}|]*)\|([^{}|]*)\}")

Words = tuple[str, ...]


def plain(words: Iterable[str]) -> Words:
    """Return words without the commas, which nobody hears."""
    return tuple(word for word in words if word != BREAK)


def joined(said: Sequence[str], heard: Sequence[str]) -> str:
    """Return both as a line of the file.

    >>> joined("how long do i boil".split(), "how log do i boil".split())
    'how {long|log} do i boil'
    """
    matcher = SequenceMatcher(a=said, b=heard, autojunk=False)
    return " ".join(
        " ".join(said[a:b]) if way == "equal"
        else f"{{{' '.join(said[a:b])}|{' '.join(heard[c:d])}}}"
        for way, a, b, c, d in matcher.get_opcodes()
    )  # fmt: skip


def parted(line: str) -> tuple[Words, Words]:
    """Return what was said and what was heard of a line of the file."""
    said, heard = (tuple(_PARTED.sub(rf"\{part}", line).split()) for part in (1, 2))
    return said, heard


def rows(written: Mapping[Words, Mapping[str, Any]]) -> Iterator[dict[str, Any]]:
    """Yield the row of each line by the ``written`` rows, whose keys are words without commas.

    What is heard and written there too is that, whatever it was misheard from.
    """
    for line in FILE.read_text(encoding="utf-8").splitlines():
        said, heard = parted(line)
        if said in written and heard not in written:
            row = row_of(written[said], heard)
            if row is not None:
                yield row


def row_of(row: Mapping[str, Any], heard: Words) -> dict[str, Any] | None:
    """Return a taught row as it was ``heard``: of the same kinds, its roles where the words agree.

    None where too much is wrong, or what is heard says something else: another number or amount, a
    "not" lost or come in, a tree or vessel of another name, a value told by a lost word,
    something else done.
    """
    told = [
        (word, role) for word, role in zip(row["words"], row["roles"], strict=True) if word != BREAK
    ]
    said = [word for word, _ in told]
    is_other = _weighty(said) != _weighty(heard) or bool(_DONE & {*heard} - {*said})
    if row["part"] != "learn" or is_other or _sounds(heard) == _sounds(said):
        return None
    roles, kept, wrong = ["?"] * len(heard), set[int](), 0
    matcher = SequenceMatcher(a=said, b=heard, autojunk=False)
    for way, a, b, c, d in matcher.get_opcodes():
        if way == "equal":
            roles[c:d] = [role for _, role in told[a:b]]
            kept.update(range(a, b))
        else:
            wrong += max(b - a, d - c)
    lost = {role for at, (_, role) in enumerate(told) if at not in kept}
    if wrong > MOST_WRONG * len(said) or _tells_value(lost, row["states"]):
        return None
    return {**row, "source": "misheard", "words": list(heard), "roles": roles}


def _weighty(words: Iterable[str]) -> list[str]:
    each = (word if word in NUMBER_WORDS else word.removesuffix("s") for word in words)
    return [word for word in each if word in _WEIGHTY or word in _DENIALS or word.endswith("n't")]


def _sounds(words: Iterable[str]) -> str:
    """Return words as one: "sugar house" is heard as "sugarhouse" is."""
    return "".join(words).replace("'", "")


def _tells_value(roles: set[str], states: Iterable[str]) -> bool:
    """Whether words of these roles name a tree or vessel, or tell one of the states."""
    fields = {role.rpartition(".")[2] for role in roles}
    if not fields.isdisjoint(_NAMING):
        return True
    return any(state.partition("=")[0] in roles | fields for state in states)
