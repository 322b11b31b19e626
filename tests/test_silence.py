"""What runs the networks reports to nobody: no socket of the internet, nothing of it on the disk.

Left as it comes, onnxruntime 1.29 and later keeps a device's id and a store of events under the
home's cache, and sends them (its pull request 27379); on the runtime of these tests that was seen.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest

from benchmarks import silence
from benchmarks.durability import can_trace

ROOT = Path(__file__).parents[1]

#: Looked for and not loaded: here it would not be silenced.
needs_runtime = pytest.mark.skipif(
    find_spec("onnxruntime") is None, reason="no voice that runs on it is installed"
)

#: Opens and runs a network as the noise cleaner does, and prints the sockets that were made.
OPENS_A_NETWORK = """
import socket, sys, time
made = []
sys.addaudithook(lambda event, args: made.append(event) if event.startswith("socket.") else None)
from fieldvoice.onnx_session import on_one_core
session = on_one_core(sys.argv[1], keeps_memory=False)
assert session.get_inputs()
time.sleep(1)
print("sockets:", made)
"""


def _run(home: Path, *before: str) -> subprocess.CompletedProcess[str]:
    network = ROOT / "fieldvoice/asr/noise_net/gtcrn.onnx"
    # where tests are run by a machine the runtime is silent of itself
    silent = ("CI", "ORT_RUNNING_UNIT_TESTS", "ORT_DISABLE_TELEMETRY", "GITHUB_ACTIONS", "TF_BUILD")
    env = {key: value for key, value in os.environ.items() if key not in silent}
    env |= {"HOME": str(home), "XDG_CACHE_HOME": str(home / ".cache"), "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [*before, sys.executable, "-c", OPENS_A_NETWORK, str(network)],
        env=env,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


@needs_runtime
def test_a_network_opens_no_socket_and_leaves_nothing_behind(tmp_path: Path) -> None:
    """The runtime's store of events and its device's id would lie in the home."""
    done = _run(tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "sockets: []"
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


@needs_runtime
def test_the_system_sees_no_socket_of_the_internet(tmp_path: Path) -> None:
    """What is compiled does not pass the interpreter's ear; the system sees it."""
    strace = shutil.which("strace")
    if strace is None:
        pytest.skip("no strace")
    log = tmp_path / "calls"
    home = tmp_path / "home"
    home.mkdir()
    done = _run(home, strace, "-f", "-qq", "-e", "trace=socket,connect", "-o", str(log))
    if "sockets:" not in done.stdout:
        pytest.skip(f"strace may not watch here: {done.stderr[:100]}")
    assert "AF_INET" not in log.read_text(encoding="utf-8")


def test_it_is_off_before_the_runtime_is_loaded() -> None:
    """For the command, for the library and for the tests alike: with the package itself."""
    told = subprocess.run(
        [
            sys.executable,
            "-c",
            "import fieldvoice, os, sys; "
            "print(os.environ['ORT_DISABLE_TELEMETRY'], 'onnxruntime' in sys.modules)",
        ],
        cwd=ROOT,
        env={key: value for key, value in os.environ.items() if key != "ORT_DISABLE_TELEMETRY"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert told.stdout.split() == ["1", "False"]


#: Says, asks, exports and backs up in one process, with the networks loaded; every socket of an
#: internet family and every look-up of a name is refused, and told of.
TALKS = """
import socket, sys
from pathlib import Path
met = []
def hook(event, args):
    if event in ("socket.getaddrinfo", "socket.gethostbyname") or (
        event == "socket.__new__" and args[1] in (socket.AF_INET, socket.AF_INET6)):
        met.append(event)
        raise OSError("the network is not there")
sys.addaudithook(hook)
if sys.argv[2] == "shown to fail":
    try:
        socket.create_connection(("192.0.2.1", 9), timeout=0.1)
    except OSError:
        pass
from click.testing import CliRunner
from fieldvoice.cli.main import cli
book = ["--book", sys.argv[1] + "/season.db"]
for words in (["say", "tree nine two gallons", *book], ["say", "can i tap an oak", *book],
              ["say", "the bucket on nine was nigh on brimming", *book], ["today", *book],
              ["review", *book], ["book", "backup", sys.argv[1] + "/b.zip", *book],
              ["book", "export", sys.argv[1] + "/out", *book], ["book", "verify", *book]):
    done = CliRunner().invoke(cli, words, input="")
    assert done.exit_code == 0, (words, done.output)
print("network:", met)
"""


@pytest.mark.parametrize("way", ["as it is", "shown to fail"])
def test_no_command_looks_for_the_network(tmp_path: Path, shared_cache: Path, way: str) -> None:
    env = {**os.environ, "PYTHONPATH": str(ROOT), "FIELDVOICE_CACHE": str(shared_cache)}
    done = subprocess.run(
        [sys.executable, "-c", TALKS, str(tmp_path), way],
        env=env,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert (done.stdout.splitlines()[-1] == "network: []") == (way == "as it is")


@pytest.mark.long
@needs_runtime
@pytest.mark.skipif(not can_trace(), reason="strace is missing, or may not watch")
def test_the_system_sees_no_command_open_a_socket_of_the_internet(
    tmp_path: Path, shared_cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each for 20 s, with the runtime loaded (a minute in the campaign); one that reports is seen.

    The system's own calls are watched, for what is compiled does not pass the interpreter's ear.
    """
    monkeypatch.setenv("FIELDVOICE_CACHE", str(shared_cache))
    found = silence.watch(tmp_path, 20)
    reported = found.pop(silence.LOUD)
    assert found == {name: [] for name in silence.COMMANDS}
    assert any("AF_INET" in call for call in reported)
