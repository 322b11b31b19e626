"""Measures an import by guess against what a household meant by each row of its spreadsheet."""

from __future__ import annotations

import json
import math
import re
from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from fieldvoice.book import Book

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Ran

_PLACE = re.compile(r", row (\d+): ")


@dataclass
class Measured:
    """How the rows of one spreadsheet came in.

    A row is right when all that it means came in, and nothing else, or when it is in doubt and was
    listed. It is wrong when something came in that it does not mean; else it was held back.
    """

    rows: int = 0
    right: int = 0
    wrong: list[int] = field(default_factory=list)
    held_back: list[int] = field(default_factory=list)


def measure(sheet: Path, book: Path, ran: Ran) -> Measured:
    """Return how the rows of ``sheet`` came into ``book``, by what the run left and told."""
    came: dict[int, list[dict[str, Any]]] = defaultdict(list)
    with Book.open(book) as opened:
        said = {one.id: one.text for one in opened.utterances()}
        for entry in opened.entries():
            place = _PLACE.search(said[entry.utterance_id])
            assert place
            on = entry.at.date().isoformat()
            came[int(place[1])].append({**entry.act.json_fields(), "on": on})
    listed = {int(found) for found in _PLACE.findall(ran.err)}
    wanted: dict[int, list[Any]] = defaultdict(list)
    expected = sheet.with_name(f"{sheet.stem}.expected.jsonl")
    for line in expected.read_text(encoding="utf-8").splitlines():
        row = json.loads(line)
        wanted[row["row"]].append(row["notes"])
    measured = Measured()
    for number, tables in wanted.items():
        measured.rows += 1
        doubtful = "doubtful" in tables
        meant = [note for notes in tables if notes != "doubtful" for note in notes]
        strange, missing = _difference(came.get(number, []), meant)
        if strange:
            measured.wrong.append(number)
        elif missing or doubtful != (number in listed):
            measured.held_back.append(number)
        else:
            measured.right += 1
    measured.wrong += [number for number in came if number not in wanted]
    return measured


def _difference(came: list[dict[str, Any]], meant: list[dict[str, Any]]) -> tuple[int, int]:
    """Return how many notes came that were not meant, and how many that were did not come."""
    left = list(meant)
    strange = 0
    for note in came:
        same = next((one for one in left if _same(note, one)), None)
        if same is None:
            strange += 1
        else:
            left.remove(same)
    return strange, len(left)


def _same(came: dict[str, Any], meant: dict[str, Any]) -> bool:
    if came.keys() != meant.keys():
        return False
    return all(
        math.isclose(came[name], value, rel_tol=1e-6)
        if isinstance(value, float)
        else came[name] == value or (name == "on" and str(came[name]).startswith(value))
        for name, value in meant.items()
    )
