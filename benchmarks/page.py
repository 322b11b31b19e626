"""The page of results about hearing, made of the data: ``python -m benchmarks.page``.

Writes ``benchmarks/results/README.md``: listeners side by side, a row each, from every file in
``benchmarks/results`` whose rows are named "what, condition: listener".
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

FOLDER = Path(__file__).with_name("results")
PAGE = FOLDER / "README.md"
#: The files, and what each is about.
ABOUT = {
    "listener": "What hears, together and alone",
    "first_recogniser": "How the first recogniser was chosen (field, which is gone, was adapted)",
    "false_alarms": "Speech and noise that is not for the assistant",
}
_HEAD = """# Hearing, measured

Made of the data beside it by `python -m benchmarks.page`; what was done, and with what recordings,
is told in [the benchmarks](../README.md). Right in every word; in brackets the 95 % interval
(Wilson) in per cent.
"""


def page() -> str:
    """Return the page as Markdown."""
    parts = [_HEAD]
    for name, about in ABOUT.items():
        path = FOLDER / f"{name}.json"
        if path.exists():
            parts.append(_part(about, json.loads(path.read_text(encoding="utf-8"))))
    return "\n".join(parts)


def _part(about: str, told: Mapping[str, Any]) -> str:
    note = f" {told['note']}" if "note" in told else ""
    command, commit, cores = told["command"], told["commit"], told["machine"]["cores"]
    told_by = f"`{command}`, commit `{commit}`, {cores} cores.{note}"
    table = _counts(told["found"]) if _is_of_counts(told["found"]) else _side_by_side(told["found"])
    return f"## {about}\n\n{told_by}\n\n" + "\n".join(table) + "\n"


def _is_of_counts(found: Mapping[str, Any]) -> bool:
    return all(isinstance(value, int) for row in found.values() for value in row.values())


def _counts(found: Mapping[str, Mapping[str, int]]) -> Iterator[str]:
    names = list(next(iter(found.values())))
    yield f"| | {' | '.join(names)} |"
    yield "| --- " * (1 + len(names)) + "|"
    for what, row in found.items():
        yield f"| {what} | " + " | ".join(str(row[name]) for name in names) + " |"


def _side_by_side(found: Mapping[str, Mapping[str, Any]]) -> Iterator[str]:
    places = list(dict.fromkeys(name.partition(": ")[0] for name in found))
    listeners = list(dict.fromkeys(name.partition(": ")[2] for name in found))
    yield f"| listener | {' | '.join(places)} | wrong notes | processor time, s |"
    yield "| --- " * (3 + len(places)) + "|"
    for listener in listeners:
        rows = [found[f"{place}: {listener}"] for place in places]
        wrong = sum(row.get("wrong", {"count": 0})["count"] for row in rows)
        seconds = sorted(row["cpu_s"] for row in rows)
        cells = [*map(_cell, rows), str(wrong), f"{seconds[0]:.2f} to {seconds[-1]:.2f}"]
        yield f"| {listener} | {' | '.join(cells)} |"


def _cell(row: Mapping[str, Any]) -> str:
    exact = row.get("exact", {"count": 0, "interval": (0.0, 0.0)})
    low, high = (round(100 * one) for one in exact["interval"])
    return f"{exact['count']} of {row['of']} ({low}–{high})"


def main() -> None:
    PAGE.write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
