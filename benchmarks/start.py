"""How long a command takes that is started, does one thing and ends: processor and clock.

    python -m benchmarks.start [--times 5]

Each is run with the files in its caches made and Python's own files compiled, and the quickest run
counts: what others on the machine take away is no part of it. Processor time is that of the whole
process, Python's start included.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SAID = "tree twelve two gallons"
OPENS_EARS = (
    "from fieldvoice.cli.app import the_grammar\n"
    "from fieldvoice.cli.recognisers import ears\n"
    "ears(the_grammar())\n"
)
#: What is measured, by what is told of it; ``{book}`` has a note in it, ``{new}`` is not there yet.
COMMANDS: dict[str, tuple[str, ...]] = {
    "Python alone": ("-c", ""),
    "`say`, a note": ("-m", "fieldvoice", "say", SAID, "--book", "{book}"),
    "`say`, the first note of a new book": ("-m", "fieldvoice", "say", SAID, "--book", "{new}"),
    "`say`, a question": ("-m", "fieldvoice", "say", "how is the season going", "--book", "{book}"),
    "`say`, in words that the grammar has not": (
        "-m", "fieldvoice", "say", "nine was good to us, two gallons and then some",
        "--book", "{book}",
    ),
    "`today --once`": ("-m", "fieldvoice", "today", "--once", "--book", "{book}"),
    "the ears of `listen`, opened": ("-c", OPENS_EARS),
}  # fmt: skip


def main() -> None:
    """Print a line for each command."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--times", type=int, default=5, help="how often each is run")
    times = parser.parse_args().times
    print("| what is started | processor s | by the clock s |\n| --- | --- | --- |")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for what, command in COMMANDS.items():
            _run(command, folder, 0)  # makes what the caches lack
            runs = [_run(command, folder, number) for number in range(1, times + 1)]
            busy, waited = (min(one) for one in zip(*runs, strict=True))
            print(f"| {what} | {busy:.2f} | {waited:.2f} |", flush=True)


def _run(command: tuple[str, ...], folder: Path, number: int) -> tuple[float, float]:
    """Return the seconds of processor and clock that one run took."""
    books = {"book": folder / "season.db", "new": folder / f"new{number}.db"}
    words = [word.format_map(books) if word.startswith("{") else word for word in command]
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    before, began = os.times(), time.monotonic()
    subprocess.run([sys.executable, *words], env=env, check=True, stdout=subprocess.DEVNULL)
    waited, after = time.monotonic() - began, os.times()
    busy = after.children_user + after.children_system
    return busy - before.children_user - before.children_system, waited


if __name__ == "__main__":
    main()
