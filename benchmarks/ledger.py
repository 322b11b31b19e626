"""How fast a long history answers: ten seasons, more than 100,000 notes, every question.

    python -m benchmarks.ledger [--seasons 10] [--keep FOLDER]

Writes the book (invented notes), then asks each question several times, each time with the book
opened anew and a conversation made for it, as a program started for one question would. The
baseline beside it goes through all notes from the first, as it would be without snapshots.
"""

from __future__ import annotations

import argparse
import random
import sqlite3
import tempfile
import time
from contextlib import closing
from datetime import datetime, timedelta, timezone
from pathlib import Path
from statistics import median
from typing import Any

from fieldvoice.book import Book
from fieldvoice.book.fold import fold
from fieldvoice.dialogue import Conversation
from fieldvoice.grammar import load_grammar
from fieldvoice.nlu import Interpreter
from fieldvoice.schema import Act, meaning_from
from fieldvoice.transcript import typed

LOCAL = timezone(timedelta(hours=-5))
FIRST_YEAR, TREES, DAYS = 2018, 60, 64

QUESTIONS = (
    "what should i boil today", "and then what", "can i wait till saturday", "when must i start",
    "how much wood do i need", "how many jars will i need", "how full is tank one",
    "how old is the sap in tank two", "how long to boil tank one",
    "how much syrup will tank one make",
    "how much sap did we collect today", "how much sap have we gathered this season",
    "how is the season going", "where did the sap go", "how much syrup do we have",
    "which jars have sap from tank two", "which jars have sap from tree nine in them",
    "how did the boil go", "how fast does my pan boil", "tell me about tree nine",
    "when was tree nine last emptied", "which trees have i missed", "which trees are slow",
    "where should i drill tree nine", "how many taps can tree nine take",
    "can i pour tank two into tank one",
    "will it run tomorrow", "what temperature do i draw off at", "what did i say about tree nine",
    "what can i say", "is it time to tap", "what did i write about the gate",
)  # fmt: skip


def season_notes(year: int, chance: random.Random) -> list[tuple[datetime, dict[str, Any]]]:
    """Return one season: every tree looked at and gathered on most days, a boil every third."""
    notes: list[tuple[datetime, dict[str, Any]]] = []
    at = datetime(year, 2, 22, 8, tzinfo=LOCAL)

    def note(act: str, **fields: Any) -> None:
        nonlocal at
        notes.append((at, {"act": act, **fields}))
        at += timedelta(seconds=20)

    for tree in range(1, TREES + 1):
        note("tap", tree=tree, count=1 + (tree % 3 == 0), side="south", depth_in=1.5)
        note("measure", tree=tree, diameter_in=12 + tree % 14)
    for day in range(DAYS):
        at = datetime(year, 2, 22, 8, tzinfo=LOCAL) + timedelta(days=day)
        note("weather", low_f=18 + day // 4 + chance.randint(-5, 5), high_f=38 + day // 4)
        total = 0.0
        for tree in range(1, TREES + 1):
            fill = chance.choice([0.25, 0.5, 0.75, 1.0])
            note("inspect", tree=tree, fill=fill, sap="clear")
            note("gather", tree=tree, volume_gal=2 * fill)
            if tree % 2:
                note("sweetness", tree=tree, brix=round(chance.uniform(1.5, 2.8), 1))
            total += 2 * fill
        for tank in (1, 2):
            note("store", vessel=f"tank {tank}", volume_gal=total / 2)
            note("reading", vessel=f"tank {tank}", temp_f=chance.randint(33, 42))
        if day % 3 == 2:
            note("boil", vessel="tank 1", phase="start")
            at += timedelta(hours=6)
            note("draw", syrup_gal=2.0, temp_f=219)
            note("boil", vessel="tank 1", phase="stop")
            note("pack", count=8, size="quart", colour="amber", temp_f=186)
            note("stock_out", count=7, size="quart", why="sold")
            note("boil", vessel="tank 2", phase="start")
            at += timedelta(hours=6)
            note("boil", vessel="tank 2", phase="stop")
    return notes


def write(path: Path, seasons: int) -> int:
    """Write a book of so many seasons; return the number of its notes."""
    chance = random.Random(2018)
    count = 0
    with Book.in_memory_copy() as book:
        for year in range(FIRST_YEAR, FIRST_YEAR + seasons):
            for at, fields in season_notes(year, chance):
                act = meaning_from(fields)
                assert isinstance(act, Act)
                book.take(
                    at=at, source="typed", heard=typed("words"), outcome="saved", meanings=[act],
                    reply="Saved.", notes=[act],
                )  # fmt: skip
                count += 1
        with closing(sqlite3.connect(path)) as target:
            book._connection.backup(target)
    return count


def ask(path: Path, understander: Interpreter, question: str, now: datetime) -> tuple[float, float]:
    """Open the book, ask one question, close it; return the seconds, by the clock and of work."""
    began, worked = time.perf_counter(), time.process_time()
    with Book.open(path) as book:
        talk = Conversation(book, understander, clock=lambda: now)
        reply = talk.hear(typed(question))
    took = time.perf_counter() - began, time.process_time() - worked
    assert reply.outcome == "answered", (question, reply.text)
    return took


def main() -> None:
    """Write the book, ask, and print a table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seasons", type=int, default=10)
    options.add_argument("--times", type=int, default=10)
    options.add_argument("--keep", type=Path)
    chosen = options.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = chosen.keep or Path(scratch)
        path = folder / "ten_seasons.db"
        began = time.perf_counter()
        count = write(path, chosen.seasons)
        print(f"{count} notes written in {time.perf_counter() - began:.0f} s")
        now = datetime(FIRST_YEAR + chosen.seasons - 1, 4, 18, 21, tzinfo=LOCAL)
        understander = Interpreter(load_grammar(cache=folder))
        began = time.perf_counter()
        ask(path, understander, QUESTIONS[0], now)
        print(f"first question, snapshots made: {time.perf_counter() - began:.1f} s")
        took = {
            question: [ask(path, understander, question, now) for _ in range(chosen.times)]
            for question in QUESTIONS
        }
        for question, times in sorted(took.items(), key=lambda pair: -_median(pair[1], 1)):
            print(f"{_median(times, 0):6.0f} ms  {_median(times, 1):6.0f} ms of work  {question}")
        began = time.perf_counter()
        with Book.open(path) as book:
            fold(book.entries())
        baseline = time.perf_counter() - began
        for which, name in enumerate(("by the clock", "of work")):
            every = sorted(one[which] * 1000 for times in took.values() for one in times)
            at99 = every[int(len(every) * 0.99)]
            print(
                f"{name}: {len(every)} questions, median {median(every):.0f} ms, "
                f"99th percentile {at99:.0f} ms, longest {every[-1]:.0f} ms"
            )
        print(f"baseline, all notes from the first: {baseline:.1f} s by the clock")


def _median(times: list[tuple[float, float]], which: int) -> float:
    return median(one[which] for one in times) * 1000


if __name__ == "__main__":
    main()
