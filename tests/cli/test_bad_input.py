"""Each command with what it cannot use: one plain line about it, the status, and no traceback.

What two programs do to one book at the same time stands in tests/book/test_durability.py; a second
ear for one book in test_models.py.
"""

from __future__ import annotations

import json
import os
import resource
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from fieldvoice.book import Book

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.cli.conftest import Ran

#: A device on which there is never room.
FULL = Path("/dev/full")
#: Commands that read or write a book, as they would be called otherwise.
OF_A_BOOK = (
    "say hello", "history", "today", "review", "wordings", "why", "report r.html", "cards c.pdf",
    "book verify", "book backup b.zip", "book export out", "book import notes.jsonl",
    "weather march.csv",
)  # fmt: skip
#: Commands and a file or folder that they cannot use, with what is told of it.
OF_FILES = [
    ("memos gone.wav", "gone.wav: no such file"),
    ("memos text.txt", "text.txt: not a recording"),
    ("memos empty.wav", "empty.wav: the file is empty"),
    ("transcribe gone.wav", "gone.wav: no such file"),
    ("transcribe text.txt", "text.txt: not a recording"),
    ("weather gone.csv", "gone.csv: No such file"),
    ("weather text.txt", "text.txt needs a head line"),
    ("weather binary.csv", "binary.csv needs a head line"),
    ("book salvage gone.db --book new.db", "gone.db cannot be read"),
    ("book salvage folder --book new.db", "folder cannot be read"),
    ("book salvage text.txt --book new.db", "text.txt is not a season book"),
    ("book restore gone.zip --book new.db", "There is no backup at gone.zip"),
    ("book restore folder --book new.db", "There is no backup at folder"),
    ("book restore text.txt --book new.db", "text.txt is no whole backup"),
    ("book verify --book gone.db", "There is no season book at gone.db"),
    ("book backup b.zip --book gone.db", "There is no season book at gone.db"),
    ("models add gone", "gone: neither a folder nor an archive"),
    ("models add text.txt", "text.txt: neither a folder nor an archive"),
    ("models add folder", "There is no model that can be used in folder"),
    ("models remove gone", "There is no model called 'gone'"),
    ("report gone/r.html --book own.db", "gone/r.html cannot be written: No such file"),
    ("cards gone/c.pdf --book own.db", "gone/c.pdf cannot be written: No such file"),
    ("review u99 tree nine full --book own.db", "There is no utterance 'u99'"),
    ("wordings --forget w99 --book own.db", "There is no wording 'w99'"),
]
#: The same that are a wrong use of the command.
OF_USE = [
    ("weather folder", "'folder' is a directory"),
    ("report folder", "'folder' is a directory"),
    ("cards folder", "'folder' is a directory"),
    ("book backup folder", "folder is a folder; name the file"),
    ("transcribe a.wav --grammar gone", "'gone' does not exist"),
    ("settings set pan-aera 8", "Did you mean pan-area?"),
    ("settings set tap-schedule often", "tap-schedule is one of conservative"),
    ("listen --open --hold", "Choose one"),
]


@pytest.fixture(autouse=True)
def _in_a_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder").mkdir()
    (tmp_path / "text.txt").write_text("nothing of use\n", encoding="utf-8")
    (tmp_path / "empty.wav").touch()
    (tmp_path / "binary.csv").write_bytes(b"\xff\xfe\x00\x81")
    (tmp_path / "march.csv").write_text("day,low_f,high_f\n2027-03-01,24,42\n", encoding="utf-8")
    (tmp_path / "notes.jsonl").touch()


def no_database(path: Path) -> None:
    path.write_bytes(b"this is no database, it only has the name of one\n" * 40)


def another_programs(path: Path) -> None:
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE shopping (item TEXT)")


@pytest.mark.parametrize("make", [no_database, another_programs])
@pytest.mark.parametrize("words", OF_A_BOOK)
def test_a_wrong_book(
    run: Callable[..., Ran], tmp_path: Path, words: str, make: Callable[[Path], None]
) -> None:
    wrong = tmp_path / "wrong.db"
    make(wrong)
    before = wrong.read_bytes()
    ran = run(*words.split(), "--book", str(wrong), bare=True)
    assert (ran.status, ran.out) == (1, "")
    assert ran.err == f"fieldvoice: {wrong} is not a season book; name another with --book.\n"
    assert wrong.read_bytes() == before


@pytest.mark.parametrize("words", OF_A_BOOK)
def test_a_folder_as_the_book(run: Callable[..., Ran], words: str) -> None:
    ran = run(*words.split(), "--book", "folder", bare=True)
    assert (ran.status, ran.out) == (2, "")
    assert "'folder' is a directory" in ran.err
    assert len(ran.err.splitlines()) == 1


@pytest.mark.parametrize(("words", "told"), OF_FILES)
def test_what_cannot_be_used(run: Callable[..., Ran], words: str, told: str) -> None:
    ran = run(*words.split(), bare=True)
    assert (ran.status, ran.out) == (1, "")
    assert told in ran.err
    assert len(ran.err.splitlines()) == 1
    assert "Errno" not in ran.err


@pytest.mark.parametrize(("words", "told"), OF_USE)
def test_what_is_no_use(run: Callable[..., Ran], words: str, told: str) -> None:
    ran = run(*words.split(), bare=True)
    assert (ran.status, ran.out) == (2, "")
    assert told in ran.err
    assert len(ran.err.splitlines()) == 1


def test_a_file_as_the_folder_for_what_is_exported(run: Callable[..., Ran]) -> None:
    run("say", "tree nine two gallons")
    ran = run("book", "export", "text.txt", "--book", "season.db", bare=True)
    assert (ran.status, ran.out) == (2, "")
    assert "text.txt is a file; name a folder" in ran.err


def test_a_folder_without_recordings_is_told(run: Callable[..., Ran]) -> None:
    """It is no fault: a stick with nothing new on it."""
    ran = run("memos", "folder")
    assert (ran.status, ran.err) == (0, "folder: no recordings in this folder.\n")


@pytest.mark.skipif(not FULL.exists(), reason="no such device")
@pytest.mark.parametrize(("words", "unbuffered"), [("help", ""), ("help", "1"), ("-h", "")])
def test_an_output_that_takes_nothing(words: str, unbuffered: str) -> None:
    """At once, or only when Python writes what it has held back."""
    with FULL.open("w", encoding="utf-8") as full:
        done = subprocess.run(
            [sys.executable, "-m", "fieldvoice", words],
            stdout=full, stderr=subprocess.PIPE, text=True, timeout=60, check=False,
            env={**os.environ, "PYTHONUNBUFFERED": unbuffered},
        )  # fmt: skip
    assert done.returncode == 1
    assert done.stderr == "fieldvoice: The output cannot be used: No space left on device.\n"


@pytest.mark.skipif(sys.platform == "win32", reason="no such limit there")
@pytest.mark.long
def test_no_room_on_the_disk(run: Callable[..., Ran], book_path: Path) -> None:
    """As with a full disk, no file may grow: the note is not said to be saved."""
    run("say", "tree nine two gallons")
    done = subprocess.run(
        [sys.executable, "-m", "fieldvoice", "say", "tree ten two gallons", "--json",
         "--book", str(book_path)],
        capture_output=True, text=True, timeout=60, check=False,
        # Python would write its own files cut short, and stumble over them ever after.
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096)),
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (1, "")
    assert "Traceback" not in done.stderr
    assert str(book_path) in done.stderr.splitlines()[-1]
    assert "tree ten" not in run("history", "--json").out
    assert run("book", "verify", "--book", str(book_path), bare=True).status == 0


@pytest.mark.skipif(sys.platform == "win32", reason="no such pipes there")
@pytest.mark.parametrize("words", ["handbook", "-h"])
def test_a_pipe_that_is_closed(words: str) -> None:
    """Quietly: whoever reads has read enough."""
    done = subprocess.run(
        f'"{sys.executable}" -m fieldvoice {words} | true',
        shell=True, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert (done.stdout, done.stderr) == ("", "")


@pytest.mark.parametrize("colours", [{"NO_COLOR": "1"}, {"NO_COLOR": "", "TERM": "dumb"}])
def test_no_colour_where_none_is_wanted(
    colours: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a terminal, which is asked with a pseudo-terminal."""
    pty = pytest.importorskip("pty")
    for name, value in colours.items():
        monkeypatch.setenv(name, value)
    told = bytearray()

    def read(terminal: int) -> bytes:
        data = os.read(terminal, 4096)
        told.extend(data)
        return data

    pty.spawn([sys.executable, "-m", "fieldvoice", "handbook", "foam"], read)
    assert b"Foam climbing" in told
    assert b"\x1b[" not in told


def test_what_looks_after_the_book_tells_programs_too(run: Callable[..., Ran]) -> None:
    """Stable names: these are relied on."""
    run("say", "tree nine two gallons")
    place = ("--json",)

    def told(*words: str) -> dict[str, object]:
        ran = run(*words, *place, "--book", str(book), bare=True)
        assert (ran.status, ran.err) == (0, "")
        fields: dict[str, object] = json.loads(ran.out)
        return fields

    book = "season.db"
    assert told("book", "backup", "b.zip").keys() == {"file", "bytes"}
    assert told("book", "export", "out") == {"folder": "out", "notes": 1}
    assert told("weather", "march.csv") == {"new": 1, "known": 0}
    book = "other.db"
    assert told("book", "restore", "b.zip") == {"book": "other.db", "put_aside": []}
    assert json.loads(run("help", "--json", bare=True).out).keys() == {
        "notes",
        "questions",
        "commands",
    }


@pytest.mark.skipif(sys.platform == "win32", reason="no such streams there")
@pytest.mark.parametrize("closed", ["<&-", ">&-", "2>&-"])
def test_a_stream_that_is_closed(closed: str, book_path: Path) -> None:
    """Nothing is read or told there; the note is written, and the book stays whole."""
    say = f'"{sys.executable}" -m fieldvoice say "tree nine two gallons"'
    done = subprocess.run(
        f'{say} --book "{book_path}" {closed}',
        shell=True, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    with Book.open(book_path) as book:
        assert [one.act.act for one in book.entries()] == ["gather"]


@pytest.mark.skipif(sys.platform == "win32", reason="no such streams there")
@pytest.mark.parametrize("command", ["say --stdin", "chat"])
def test_standard_input_that_is_closed(command: str, book_path: Path) -> None:
    done = subprocess.run(
        f'"{sys.executable}" -m fieldvoice {command} --book "{book_path}" <&-',
        shell=True, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
