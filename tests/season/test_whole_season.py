"""A whole invented season, said line by line, against sums done apart in plain Python.

The script is ``demo_sessions/season/script.txt``. The sums here read its words by themselves: no
grammar, no book, no rule of fieldvoice has a part in them.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fieldvoice.book import Book
from fieldvoice.book.exchange import export, import_notes
from fieldvoice.cli.played import read_script
from fieldvoice.dialogue import Conversation, Settings
from fieldvoice.dialogue.sums import totals
from fieldvoice.nlu import Interpreter
from fieldvoice.paper.charts import flow_sides
from fieldvoice.paper.page import page
from fieldvoice.paper.sheet import sheet_of
from fieldvoice.transcript import typed
from tests.one_grammar import GRAMMAR

SCRIPT = Path(__file__).parents[2] / "demo_sessions" / "season" / "script.txt"


@dataclass
class Sums:
    """What the season comes to, by arithmetic alone."""

    gathered: float = 0.0
    by_tree: dict[int, float] = field(default_factory=lambda: defaultdict(float))
    held: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    boils: list[float] = field(default_factory=list)
    boil_hours: list[float] = field(default_factory=list)
    drawn: float = 0.0
    packed: Counter[tuple[str, str]] = field(default_factory=Counter)
    left: Counter[tuple[str, str]] = field(default_factory=Counter)
    dumped: float = 0.0
    cubic_feet: float = 0.0
    rolling: datetime | None = None
    last: tuple[int, float] = (0, 0.0)


def summed_up(path: Path) -> Sums:
    """Go through the script's words with patterns and add up."""
    sums = Sums()
    for line in path.read_text(encoding="utf-8").splitlines()[1:]:
        stamp, words = line.split(" ", 1)
        for pattern, add in PATTERNS:
            if found := re.fullmatch(pattern, words):
                add(sums, found, datetime.fromisoformat(stamp))
    return sums


def gathered(sums, found, at):
    sums.last = (int(found[1]), float(found[2]))
    sums.gathered += sums.last[1]
    sums.by_tree[sums.last[0]] += sums.last[1]


def scratched(sums, found, at):
    sums.gathered -= sums.last[1]
    sums.by_tree[sums.last[0]] -= sums.last[1]


def poured(sums, found, at):
    sums.held[found[2]] += float(found[1])


def moved(sums, found, at):
    sums.held[found[2]] -= float(found[1])
    sums.held[found[3]] += float(found[1])


def boiled(sums, found, at):
    sums.boils[-1] += sums.held.pop(found[1])


def rolled(sums, found, at):
    sums.rolling = at


def stopped(sums, found, at):
    sums.boil_hours.append((at - sums.rolling).total_seconds() / 3600)


def drew(sums, found, at):
    sums.drawn += int(found[1]) / 8


def packed(sums, found, at):
    sums.packed[found[2], found[3]] += int(found[1])
    sums.left[found[2], found[3]] += int(found[1])


def went(sums, found, at):
    sums.left[found[1], found[2]] -= 1


def burned(sums, found, at):
    sums.cubic_feet += int(found[1])


def dumped(sums, found, at):
    sums.dumped += sums.held.pop(found[1])


PATTERNS = [
    (r"tree (\d+) ([\d.]+) gallons clear", gathered),
    (r"scratch that", scratched),
    (r"poured ([\d.]+) gallons into (.+)", poured),
    (r"moved ([\d.]+) gallons from (.+) into (.+)", moved),
    (r"lit the arch", lambda sums, found, at: sums.boils.append(0.0)),
    (r"boiling (.+)", boiled),
    (r"the pan is rolling", rolled),
    (r"stopped boiling", stopped),
    (r"drew off (\d+) pints at .+", drew),
    (r"packed (\d+) (pint|quart)s of (\w+) at 186", packed),
    (r"(?:sold|gave) one (pint|quart) of (\w+)(?: to the neighbors)?", went),
    (r"burned (\d+) cubic feet of wood", burned),
    (r"dump ((?!tree).+)", dumped),
]


@pytest.fixture(scope="module")
def played():
    """The season's book once the script was said, and what was asked back or not understood."""

    clock = {"now": datetime.now().astimezone()}
    with Book.in_memory_copy() as book:
        talk = Conversation(book, Interpreter(GRAMMAR), clock=lambda: clock["now"])
        outcomes: Counter[str] = Counter()
        for clock["now"], words in read_script(SCRIPT):
            outcomes[talk.hear(typed(words)).outcome] += 1
        yield book, outcomes, talk


@pytest.fixture(scope="module")
def sums():
    return summed_up(SCRIPT)


@pytest.mark.long
class TestSeason:
    def test_the_script_is_a_season(self, sums):
        """Eight weeks, 60 trees, 4 vessels, 20 boils."""
        times = [at for at, _ in read_script(SCRIPT)]
        assert (times[-1] - times[0]).days == 56
        assert len(sums.by_tree) == 60
        assert len(sums.boils) == 20

    def test_everything_was_understood(self, played):
        """The one question is whether to dump what was left."""
        _, outcomes, _ = played
        assert outcomes["kept"] == 0
        assert outcomes["asked"] == 1

    def test_sap(self, played, sums):
        """What was gathered, by tree and in all; what was boiled and dumped; the account closes."""
        season = played[0].season()
        account = season.account
        assert account.gathered_gal == pytest.approx(sums.gathered)
        for tree, gallons in sums.by_tree.items():
            assert season.trees[tree].gathered_gal == pytest.approx(gallons), tree
        assert account.boiled_gal == pytest.approx(sum(sums.boils))
        assert account.dumped_gal == pytest.approx(sums.dumped)
        assert account.open_gal == pytest.approx(0, abs=1e-6)
        assert account.held_gal == pytest.approx(sum(sums.held.values()), abs=1e-6)

    def test_boils(self, played, sums):
        """Each boil's sap and hours, the syrup drawn, the wood burnt."""
        boils = played[0].season().boilings
        assert [boil.sap_gal for boil in boils] == pytest.approx(sums.boils)
        assert [boil.hours for boil in boils] == pytest.approx(sums.boil_hours)
        assert sum(boil.syrup_gal for boil in boils) == pytest.approx(sums.drawn)
        assert sum(boil.cords for boil in boils) == pytest.approx(sums.cubic_feet / 128, abs=2e-3)

    def test_jars(self, played, sums):
        """Packed, and left after what was sold and given away."""
        pantry = played[0].season().pantry
        packed: Counter[tuple[str, str]] = Counter()
        left: Counter[tuple[str, str]] = Counter()
        for lot in pantry:
            packed[lot.size, lot.colour] += lot.count
            left[lot.size, lot.colour] += lot.left
        assert packed == sums.packed
        assert left == sums.left

    def test_every_lot_knows_where_it_came_from(self, played, sums):
        """Trees, days and vessels; no lot from sap gathered after it was packed."""
        for lot in played[0].season().pantry:
            assert set(lot.trees) <= set(sums.by_tree)
            assert lot.trees
            assert lot.vessels
            assert lot.gathered_from <= lot.gathered_to <= lot.at.date()

    def test_the_page_has_the_same_sums(self, played, sums):
        """Sap, syrup, jars, each tree and what became of it all, to the digit that is told."""
        with played[0].years() as years:
            sheet = sheet_of(years, 2027, Settings())
        html = page(sheet, datetime(2027, 4, 20, tzinfo=UTC))
        assert f"60 trees gave {round(sums.gathered, 1):g} gal of sap" in html
        assert f"20 boils made {round(sums.drawn, 1):g} gal of syrup" in html
        assert f"{sum(sums.packed.values())} jars were filled" in html
        assert f"{sum(sums.left.values())} left of them" in html
        given = {row.tree.id: row.tree.gathered_gal for row in sheet.trees}
        assert given == pytest.approx(dict(sums.by_tree))
        came, went = (sum(gal for _, gal in side) for side in flow_sides(sheet.season.account))
        assert came == pytest.approx(sums.gathered, abs=1e-6)
        assert went == pytest.approx(came, abs=1e-6)

    def test_what_is_said_of_it(self, played, sums):
        """The spoken summary has the sums."""
        talk = played[2]
        told = talk.hear(typed("how is the season going")).text
        assert f"{round(sums.gathered, 1):g} gal of sap from 60 trees, 20 boils" in told
        assert f"{round(sums.drawn, 1):g} gal of syrup" in told

    def test_out_in_and_out_again_is_the_same(self, played, tmp_path):
        """Every file to the byte, into an empty book, and what it adds up to."""
        book = played[0]
        count = export(book, tmp_path / "out")
        with Book.in_memory_copy() as other:
            told = import_notes(other, [tmp_path / "out"], datetime.now(UTC))
            assert (told.new, told.there, told.faults, told.conflicts) == (count, 0, [], [])
            export(other, tmp_path / "again")
            assert totals(other.season()) == totals(book.season())
        written = sorted(path.name for path in (tmp_path / "out").iterdir())
        assert len(written) > 10
        for name in written:
            one, two = (tmp_path / folder / name for folder in ("out", "again"))
            assert one.read_bytes() == two.read_bytes(), name
