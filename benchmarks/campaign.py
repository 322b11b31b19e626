"""What takes too long for CI, run one after the other: ``python -m benchmarks.campaign [NAME …]``.

What each prints is written to ``benchmarks/campaign/NAME.md``, under the command that printed it,
and most write figures to ``benchmarks/results``. A campaign that was stopped goes on with the run
that it was at, and after the last begins anew. ``--share 0.05`` tries a twentieth of each.
To add one, add it to ``RUNS``.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
from pathlib import Path

WRITTEN = Path(__file__).parent / "campaign"

#: The runs by name: a module of the benchmarks and its arguments; numbers are how much is tried.
#: Seeds draw other sentences.
RUNS: dict[str, tuple[str | int, ...]] = {
    "mutations-held-out": (
        "benchmarks.understanding", "--mutations", 400, "--half", "held-out", "--seed", "931",
    ),
    "kills": ("benchmarks.durability", "--only", "kills", "--notes", 5),
    "power-cuts": ("benchmarks.durability", "--only", "cuts", "--states", 12_000),
    "failing-disk": ("benchmarks.durability", "--only", "failing", "--notes", 5),
    "full-disk": ("benchmarks.durability", "--only", "full", "--step", "1", "--notes", 5),
    "fuzzed-lines": ("benchmarks.fuzz", "lines", "--minutes", 120),
    "fuzzed-sound": ("benchmarks.fuzz", "sound", "--minutes", 120),
    "size": ("benchmarks.size", "--seasons", 10),
    "size-large": ("benchmarks.size", "--seasons", 100, "--times", "2"),
    "silence": ("benchmarks.silence", "--seconds", "60"),
    "phone-once": ("benchmarks.phone", "once", "--sends", 10_000),
    "phone-malformed": ("benchmarks.phone", "malformed", "--requests", 20_000),
    "phone-load": ("benchmarks.phone", "load", "--phones", 50),
    "mutations-all": ("benchmarks.understanding", "--mutations", 400, "--seed", "932"),
}  # fmt: skip
#: The runs of this campaign that are done.
_DONE = WRITTEN / "done.json"


def main() -> None:
    """Run what was asked for, or all of it; leave with 1 if a run failed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("names", nargs="*", metavar="NAME", help="which: " + ", ".join(RUNS))
    parser.add_argument("--share", type=float, default=1.0, help="how much of each, 1 for all")
    asked = parser.parse_args()
    if unknown := [name for name in asked.names if name not in RUNS]:
        parser.error(f"there is no {unknown[0]}")
    WRITTEN.mkdir(exist_ok=True)
    done = [] if asked.names or not _DONE.exists() else json.loads(_DONE.read_text("utf-8"))
    failed = list[str]()
    for name in asked.names or [one for one in RUNS if one not in done]:
        if not _run(name, asked.share):
            failed.append(name)
        done.append(name)
        if not asked.names:
            _DONE.write_text(json.dumps(done) + "\n", encoding="utf-8")
    if not asked.names:
        _DONE.unlink()
    if failed:
        sys.exit(f"failed: {', '.join(failed)}")


def _run(name: str, share: float) -> bool:
    """Run one, show what it prints, and write that down; return whether it went well."""
    words = [str(one if isinstance(one, str) else max(1, round(one * share))) for one in RUNS[name]]
    command = f"python -m {' '.join(words)}"
    print(f"{name}: {command}", flush=True)
    began, printed = time.monotonic(), list[str]()
    run = [sys.executable, "-m", *words]
    with subprocess.Popen(run, stdout=subprocess.PIPE, text=True) as going:
        assert going.stdout is not None
        for line in going.stdout:
            print(line, end="", flush=True)
            printed.append(line)
    minutes = (time.monotonic() - began) / 60
    went = "" if going.returncode == 0 else f", **left with {going.returncode}**"
    told = f"# {name}\n\n`{command}`, {minutes:.0f} minutes{went}\n\n{''.join(printed)}"
    (WRITTEN / f"{name}.md").write_text(told, encoding="utf-8")
    return going.returncode == 0


if __name__ == "__main__":
    main()
