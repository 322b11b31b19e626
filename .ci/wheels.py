"""Resolves fieldvoice for every Python and system that it is for, with wheels alone.

Nobody should need a compiler. Each pair is resolved twice: with wheels alone, which must succeed,
and as people install, where the newest releases are taken even if they must be compiled; both must
come out the same. Then the lock file is held against ``pyproject.toml``; ``wheels.py lock`` writes
it anew, with the newest releases. Needs ``uv`` and the network. Prints a table, and leaves with 1
if a pair fails or the lock file is another, with 77 if the packages' index cannot be reached.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from itertools import product
from pathlib import Path

PYTHONS = ("3.11", "3.12", "3.13", "3.14")
SYSTEMS = {
    "Linux x86-64": "x86_64-manylinux_2_28",
    "Linux ARM": "aarch64-manylinux_2_28",
    "Windows": "x86_64-pc-windows-msvc",
    "macOS 14 ARM": "aarch64-apple-darwin",
    "macOS 14 Intel": "x86_64-apple-darwin",
}
#: What the networks run on has no wheels for Intel Macs since Python 3.14; they take 3.13.
WITHOUT = {("3.14", "macOS 14 Intel")}
#: The parts that a household may want.
EXTRAS = ("live", "phone", "sheets")
AT_A_TIME = 4
#: The exit status that tells that nothing was tried; ``.ci/run`` says so in its table.
LEFT_OUT = 77
PROJECT = Path(__file__).parents[1] / "pyproject.toml"
LOCK = PROJECT.with_name("requirements.lock")


def compiled(*options: str) -> subprocess.CompletedProcess[str]:
    """Return what ``uv`` resolves of the project and the parts that a household may want."""
    command = [
        sys.executable, "-m", "uv", "pip", "compile", "--quiet", "--no-header", "--no-annotate",
        *(word for extra in EXTRAS for word in ("--extra", extra)), *options, str(PROJECT),
    ]  # fmt: skip
    env = {**os.environ, "MACOSX_DEPLOYMENT_TARGET": "14.0"}
    return subprocess.run(command, capture_output=True, text=True, env=env, check=False)


def locked(into: Path, *options: str) -> bool:
    """Write the releases for every Python and system ``into`` a file; those in it are kept.

    Return whether it could be done; what is in the way is printed.
    """
    done = compiled(
        "--universal", "--only-binary", ":all:", "--python-version", PYTHONS[0],
        "--output-file", str(into), *options,
    )  # fmt: skip
    print(done.stderr, end="")
    return done.returncode == 0


def lock_holds() -> bool:
    """Whether the lock file is what the project resolves to; a newer release is no fault of it."""
    with tempfile.TemporaryDirectory() as folder:
        anew = Path(shutil.copy(LOCK, folder))
        return locked(anew) and anew.read_text("utf-8") == LOCK.read_text("utf-8")


def resolved(python: str, system: str, *, wheels_alone: bool) -> tuple[list[str], str]:
    """Return the releases for a pair, or none of them and what is in the way."""
    done = compiled(
        "--python-platform", SYSTEMS[system], "--python-version", python,
        *(("--only-binary", ":all:") if wheels_alone else ()),
    )  # fmt: skip
    return done.stdout.split("\n")[:-1], " ".join(done.stderr.split())


def verdict(pair: tuple[str, str]) -> tuple[bool, str]:
    """Return whether a pair installs without a compiler, and what is told of it."""
    python, system = pair
    wheels, fault = resolved(python, system, wheels_alone=True)
    if pair in WITHOUT:
        return not wheels, "no wheels of onnxruntime; Python 3.13 serves" if not wheels else "now!"
    if not wheels:
        return False, fault[-300:]
    newest, _ = resolved(python, system, wheels_alone=False)
    others = set(newest) - set(wheels)
    if others:
        return False, f"would be compiled: {', '.join(sorted(others))}"
    hears = next((one for one in wheels if one.startswith("pocketsphinx")), "the listener alone")
    return True, f"{len(wheels)} wheels; hears with {hears}"


def main() -> int:
    """Print the table of all pairs; return 1 if one fails, ``LEFT_OUT`` if none was tried."""
    pairs = list(product(PYTHONS, SYSTEMS))
    if "Failed to fetch" in resolved(*pairs[0], wheels_alone=True)[1]:
        print("The packages' index cannot be reached: nothing was resolved.")
        return LEFT_OUT
    with ThreadPoolExecutor(AT_A_TIME) as several:
        told = list(several.map(verdict, pairs))
    for (python, system), (fine, what) in zip(pairs, told, strict=True):
        print(f"{python}  {system:<15} {'ok    ' if fine else 'FAILED'}  {what}")
    holds = lock_holds()
    print(f"{LOCK.name}  {'ok' if holds else 'FAILED: not what resolves; make lock writes it'}")
    return 0 if holds and all(fine for fine, _ in told) else 1


if __name__ == "__main__":
    if sys.argv[1:] == ["lock"]:
        sys.exit(not locked(LOCK, "--upgrade"))
    sys.exit(main())
