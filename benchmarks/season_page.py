"""How long the season's page takes, and how big it is: ``python -m benchmarks.season_page``.

The book is that of ``benchmarks.ledger``: ten seasons of 60 trees, each looked at and gathered on
every day, 100,000 notes. ``--book FILE`` takes another.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from benchmarks.ledger import FIRST_YEAR, write


def main() -> None:
    """Make the page a few times, each in a process of its own, and print what it took."""
    options = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    options.add_argument("--book", type=Path)
    options.add_argument("--seasons", type=int, default=10)
    options.add_argument("--times", type=int, default=5)
    chosen = options.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        book = chosen.book or Path(scratch) / "seasons.db"
        if chosen.book is None:
            print(f"{write(book, chosen.seasons)} notes")
        page = Path(scratch) / "season.html"
        cards = Path(scratch) / "cards.pdf"
        environment = {**os.environ, "FIELDVOICE_CACHE": scratch}
        # After the made book's last season, whatever the clock says.
        now = [] if chosen.book else ["--now", f"{FIRST_YEAR + chosen.seasons - 1}-06-01T12:00"]
        for index in range(chosen.times + 1):
            first = "the first time, earlier seasons gone through" if index == 0 else "again"
            print(_took(["report", str(page), *now], book, environment), f"page, {first}")
        print(_took(["cards", str(cards), *now], book, environment), "cards")
        print(f"page {page.stat().st_size / 1e6:.2f} MB, cards {cards.stat().st_size / 1e6:.2f} MB")


def _took(arguments: list[str], book: Path, environment: dict[str, str]) -> str:
    """Run a command; return its seconds by the clock and of work."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    began = time.perf_counter()
    command = [sys.executable, "-m", "fieldvoice", *arguments, "--book", str(book)]
    subprocess.run(command, check=True, env=environment, capture_output=True)
    clock = time.perf_counter() - began
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    work = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return f"{clock:6.1f} s by the clock, {work:5.1f} s of work"


if __name__ == "__main__":
    main()
