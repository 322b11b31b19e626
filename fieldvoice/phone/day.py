"""The day as phones show it: the board, the round, trees seen last, what waits, what was said."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from fieldvoice.book.rounds import trees_in
from fieldvoice.dialogue.board import board
from fieldvoice.dialogue.readback import told
from fieldvoice.dialogue.round import missed_trees, round_of_today, round_trees, trees_in_words
from fieldvoice.dialogue.waiting import is_note, notes_first
from fieldvoice.nlg.written import Style, phrase, written
from fieldvoice.segments import TreeRef

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from fieldvoice.book import Book, Season, Utterance
    from fieldvoice.dialogue import Settings

#: How many of the newest are shown.
_TREES, _NOTES = 12, 12


class Day:
    """What the book says of today."""

    def __init__(self, book: Book, settings: Settings, clock: Callable[[], datetime]) -> None:
        self._book, self._settings, self._clock = book, settings, clock

    def shown(self) -> dict[str, Any]:
        """Return all of it in plain fields, told in the book's units.

        Raises:
            BookError: the book cannot be read.
            RangeError: it has sap so sweet that no rule speaks of it.
        """
        now = self._clock()
        season = self._book.season(self._settings.capacities_gal, now).at(now.year)
        style = Style(self._settings.metric, season.names)
        day = board(season, self._settings, now)
        return {
            "at": now.isoformat(timespec="seconds"),
            "board": {
                "headline": day.headline,
                "press": day.press,
                "rows": [asdict(row) for row in day.rows],
                "lines": list(day.lines),
            },
            "round": _round(season, style, now),
            "trees": _trees(season, style),
            "waiting": [
                {**said(one), "note": is_note(one)} for one in notes_first(self._book.kept())
            ],
            "notes": [said(one) for one in reversed(self._book.utterances(_NOTES))],
        }


def said(one: Utterance) -> dict[str, Any]:
    """Return an utterance as phones show it.

    ``question`` is how it may be answered by a touch: "yes_no", or "open" in words alone.
    """
    kind = None if one.pending is None else one.pending["kind"]
    levels = {finding.get("level") for finding in one.findings}
    return {
        "utterance": one.id,
        "at": one.at.isoformat(),
        "by": one.by,
        "heard": one.text,
        "outcome": one.outcome,
        "reply": one.reply,
        "question": kind and ("yes_no" if kind == "yes_no" else "open"),
        "level": next((level for level in ("stop", "care") if level in levels), None),
    }


def _round(season: Season, style: Style, now: datetime) -> dict[str, Any] | None:
    """Return how far the round of today is; None where none was walked and nothing is known."""
    walked, stops = round_of_today(season, now), round_trees(season)
    if walked is None and not stops:
        return None
    missed = missed_trees(season, now)
    seen = () if walked is None else walked.trees
    return {
        "open": walked is not None and walked.is_open(now),
        "seen": len(seen),
        "stops": len({*stops, *seen}),
        "missed": phrase(trees_in_words(missed), style) if missed else "",
    }


def _trees(season: Season, style: Style) -> list[dict[str, Any]]:
    """Return the trees seen last, the newest first, each with what was noted then."""
    noted = {
        tree: note
        for walked in season.rounds
        for note in walked.notes
        for tree in trees_in(note[1])
    }
    seen = sorted(noted.items(), key=lambda one: one[1][0], reverse=True)
    return [
        {
            "tree": phrase((TreeRef((tree,)),), style),
            "at": at.isoformat(),
            "told": written((told(act),), style),
        }
        for tree, (at, act) in seen[:_TREES]
    ]
