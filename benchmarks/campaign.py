"""What takes too long for CI, run one after the other: ``python -m benchmarks.campaign [NAME …]``.

What each prints is written to ``benchmarks/campaign/NAME.md``, under the command that printed it.
To add one, add it to ``RUNS``.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from pathlib import Path

WRITTEN = Path(__file__).parent / "campaign"

#: The runs by name: a module of the benchmarks and its arguments. Seeds draw other sentences.
RUNS: dict[str, tuple[str, ...]] = {
    "mutations-held-out": (
        "benchmarks.understanding", "--mutations", "400", "--half", "held-out", "--seed", "931",
    ),
    "durability": ("benchmarks.durability", "--states", "12000"),
    "fuzzed-lines": ("benchmarks.fuzz", "lines", "--minutes", "120"),
    "fuzzed-sound": ("benchmarks.fuzz", "sound", "--minutes", "120"),
    "size": ("benchmarks.size", "--seasons", "10"),
    "size-large": ("benchmarks.size", "--seasons", "100", "--times", "2"),
    "silence": ("benchmarks.silence", "--seconds", "60"),
    "phone-once": ("benchmarks.phone", "once", "--sends", "10000"),
    "phone-malformed": ("benchmarks.phone", "malformed", "--requests", "20000"),
    "phone-load": ("benchmarks.phone", "load", "--phones", "50"),
    "mutations-all": ("benchmarks.understanding", "--mutations", "400", "--seed", "932"),
}  # fmt: skip


def main() -> None:
    """Run what was asked for, or all of it; leave with 1 if a run failed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("names", nargs="*", metavar="NAME", help="which: " + ", ".join(RUNS))
    names = parser.parse_args().names or list(RUNS)
    if unknown := [name for name in names if name not in RUNS]:
        parser.error(f"there is no {unknown[0]}")
    WRITTEN.mkdir(exist_ok=True)
    failed = [name for name in names if not _run(name)]
    if failed:
        sys.exit(f"failed: {', '.join(failed)}")


def _run(name: str) -> bool:
    """Run one and write down what it printed; return whether it went well."""
    command = f"python -m {' '.join(RUNS[name])}"
    print(f"{name}: {command}", flush=True)
    began = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-m", *RUNS[name]], stdout=subprocess.PIPE, text=True, check=False
    )
    minutes = (time.monotonic() - began) / 60
    if done.returncode != 0:
        return False
    told = f"# {name}\n\n`{command}`, {minutes:.0f} minutes\n\n{done.stdout}"
    (WRITTEN / f"{name}.md").write_text(told, encoding="utf-8")
    print(done.stdout, flush=True)
    return True


if __name__ == "__main__":
    main()
