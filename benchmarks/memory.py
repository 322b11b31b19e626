"""The most memory that a command and all its processes have at once, shared pages counted once.

    python -m benchmarks.memory COMMAND …
    python -m benchmarks.memory fieldvoice transcribe note.flac --json

The proportional set size of each process (``/proc/PID/smaps_rollup``: Linux alone), added up twenty
times a second.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from types import TracebackType

EVERY_S = 0.05


class Watched:
    """Watches a process and those that it starts, while the block runs; then tells the most."""

    def __init__(self, pid: int | None = None) -> None:
        self._pid = pid or os.getpid()
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._watch, daemon=True)
        self.most_mb = 0.0

    def __enter__(self) -> Watched:
        self._thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._over.set()
        self._thread.join()

    def _watch(self) -> None:
        while not self._over.wait(EVERY_S):
            self.most_mb = max(self.most_mb, sum(map(pss_mb, family(self._pid))))


def family(pid: int) -> list[int]:
    """Return a process and all that it has started, and those."""
    found = [pid]
    for one in found:
        for task in Path(f"/proc/{one}/task").glob("*/children"):
            try:
                found += [int(child) for child in task.read_text().split()]
            except OSError:
                continue
    return found


def pss_mb(pid: int) -> float:
    """Return the memory of a process, its part of what is shared; nothing of one that is gone."""
    try:
        lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
    except OSError:
        return 0.0
    return sum(int(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1024


def main() -> None:
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    process = subprocess.Popen(sys.argv[1:])
    with Watched(process.pid) as watched:
        status = process.wait()
    print(f"{watched.most_mb:.0f} MB at most", file=sys.stderr)
    sys.exit(status)


if __name__ == "__main__":
    main()
