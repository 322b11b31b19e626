"""Does any command open a socket of the internet: ``python -m benchmarks.silence [--seconds 60]``.

Each command runs under strace, with all that it loads, and its process then stays for the rest of
the time with the networks' runtime loaded: that would report to its maker after some ten seconds.
Beside them one runs with that turned on, to show that it would be seen. ``fieldvoice listen`` is
among them where there is a sound server to make a virtual microphone with.
``results/silence.json`` has what was seen.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path

from benchmarks.durability import can_trace
from benchmarks.reading import origin

ROOT = Path(__file__).parents[1]
WRITTEN = ROOT / "benchmarks" / "results" / "silence.json"
_MEMO = ROOT / "demo_sessions" / "first_round" / "01_first_trees.flac"
#: What is said is in own words, so that the second reader's net is loaded too.
COMMANDS: dict[str, list[str]] = {
    "say": ["say", "the bucket on nine was nigh on brimming"],
    "memos": ["memos", str(_MEMO)],
    "review": ["review"],
    "today": ["today"],
    "book": ["book", "verify"],
}
#: With this the runtime reports, as it does when it is used without us.
LOUD = "today, reporting turned on"
#: Sockets of the internet's families, and names asked of a server, whatever the family.
_INTERNET = re.compile(r"AF_INET6?\b|AF_PACKET|htons\(53\)")

#: Runs a command in this process, loads the runtime, and stays until the time is over.
DRIVER = """
import os, sys, time
ends = time.monotonic() + float(sys.argv[1])
import fieldvoice
if sys.argv[2] == "loud":
    del os.environ["ORT_DISABLE_TELEMETRY"]
from fieldvoice.cli.main import cli
try:
    cli(sys.argv[3:])
except SystemExit as left:
    print("status", left.code, flush=True)
from fieldvoice.onnx_session import on_one_core
session = on_one_core("fieldvoice/asr/noise_net/gtcrn.onnx", keeps_memory=False)
time.sleep(max(0, ends - time.monotonic()))
print("stayed")
"""


def seen(folder: Path, words: list[str], seconds: float, *, loud: bool = False) -> list[str]:
    """Return the calls to do with the internet that a command made in so many seconds.

    Raises:
        RuntimeError: the command did not run to its end.
    """
    folder.mkdir()
    log, env = folder / "calls", _environment(folder)
    book = [] if words[0] == "listen" else ["--book", str(folder / "season.db")]
    done = subprocess.run(
        ["strace", "-f", "-qq", "-e", "trace=socket,connect,sendto", "-o", str(log),
         sys.executable, "-c", DRIVER, str(seconds), "loud" if loud else "quiet", *words, *book],
        env=env, cwd=ROOT, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if "stayed" not in done.stdout:
        raise RuntimeError(f"{words}: {done.stdout[-500:]} {done.stderr[-500:]}")
    calls = log.read_text(encoding="utf-8").splitlines()
    return [call.partition(" ")[2] for call in calls if _INTERNET.search(call)]


def _environment(folder: Path) -> dict[str, str]:
    # Where tests are run by a machine the runtime is silent of itself.
    silent = ("CI", "ORT_RUNNING_UNIT_TESTS", "ORT_DISABLE_TELEMETRY", "GITHUB_ACTIONS", "TF_BUILD")
    env = {key: value for key, value in os.environ.items() if key not in silent}
    return env | {"HOME": str(folder), "XDG_CACHE_HOME": str(folder), "PYTHONPATH": str(ROOT)}


def watch(folder: Path, seconds: float) -> dict[str, list[str]]:
    """Return what was seen of each command, all of them side by side, the loud one included."""
    with ThreadPoolExecutor(len(COMMANDS) + 1) as pool:
        runs = {
            name: pool.submit(seen, folder / name, words, seconds)
            for name, words in COMMANDS.items()
        }
        loud = COMMANDS["today"]
        runs[LOUD] = pool.submit(seen, folder / "loud", loud, seconds, loud=True)
        return {name: run.result() for name, run in runs.items()}


def watch_listening(folder: Path, seconds: float) -> list[str] | str:
    """Return what was seen of ``fieldvoice listen``, or why it could not be watched."""
    lacking = [name for name in ("pulseaudio", "pactl") if shutil.which(name) is None]
    if lacking:
        return f"not installed: {', '.join(lacking)}"
    folder.mkdir()
    (folder / "run").mkdir(mode=0o700)
    (folder / ".asoundrc").write_text("pcm.!default { type pulse }\nctl.!default { type pulse }\n")
    env = _environment(folder) | {"XDG_RUNTIME_DIR": str(folder / "run")}
    modules = ("module-native-protocol-unix auth-anonymous=1", "module-null-sink sink_name=vmic",
               "module-remap-source source_name=mic master=vmic.monitor")  # fmt: skip
    options = [part for module in modules for part in ("-L", module)]
    subprocess.run(["pulseaudio", "-n", "--daemonize=yes", "--exit-idle-time=-1", *options],
                   env=env, check=True)  # fmt: skip
    log = folder / "calls"
    try:
        with suppress(subprocess.TimeoutExpired):
            subprocess.run(
                ["strace", "-f", "-qq", "-e", "trace=socket,connect,sendto", "-o", str(log),
                 "timeout", str(seconds), sys.executable, "-m", "fieldvoice", "listen", "--json",
                 "--book", str(folder / "season.db")],
                env=env, cwd=ROOT, stdin=subprocess.DEVNULL, capture_output=True,
                timeout=seconds + 60, check=False,
            )  # fmt: skip
    finally:
        subprocess.run(["pulseaudio", "--kill"], env=env, check=False)
    return [call for call in log.read_text().splitlines() if _INTERNET.search(call)]


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--seconds", type=float, default=60)
    seconds = parser.parse_args().seconds
    if not can_trace():
        sys.exit("System calls cannot be watched here (strace is missing or may not).")
    with tempfile.TemporaryDirectory() as scratch:
        found: dict[str, list[str] | str] = {**watch(Path(scratch), seconds)}
        found["listen"] = watch_listening(Path(scratch) / "listen", seconds)
    for name, calls in found.items():
        told = calls if isinstance(calls, str) else f"{len(calls)} calls to do with the internet"
        print(f"{name}, {seconds:.0f} s: {told}")
    counts = {name: one if isinstance(one, str) else len(one) for name, one in found.items()}
    told_of = {**origin("benchmarks.silence"), "seconds": seconds, "internet_calls": counts}
    WRITTEN.write_text(json.dumps(told_of, indent=1) + "\n", encoding="utf-8")
    quiet = all(not one or isinstance(one, str) for name, one in found.items() if name != LOUD)
    sys.exit(0 if quiet and found[LOUD] else 1)


if __name__ == "__main__":
    main()
