"""Files that are whole or not there, sealed folders, and text that steers no terminal."""

from __future__ import annotations

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

import pytest

from fieldvoice.asr import model_files
from fieldvoice.cli.written_file import write_whole as write_page
from fieldvoice.harmless import harmless
from fieldvoice.whole_files import is_sealed, own_folder, seal, whole_file, write_whole

if TYPE_CHECKING:
    from pathlib import Path


def test_an_error_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "a"
    write_whole(path, b"old")
    with pytest.raises(ValueError, match="broke"), whole_file(path) as draft:  # noqa: PT012
        draft.write_bytes(b"half")
        raise ValueError("broke")
    assert path.read_bytes() == b"old"
    assert [one.name for one in path.parent.iterdir()] == ["a"]
    assert path.stat().st_mode & 0o777 == 0o600
    assert path.parent.stat().st_mode & 0o777 == 0o700


def test_a_folder_that_is_there_keeps_its_rights(tmp_path: Path) -> None:
    tmp_path.chmod(0o755)
    own_folder(tmp_path)
    assert tmp_path.stat().st_mode & 0o777 == 0o755


def test_a_seal_tells_what_changed(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"one")
    assert not is_sealed(tmp_path)
    seal(tmp_path)
    assert is_sealed(tmp_path)
    (tmp_path / "a").write_bytes(b"One")
    assert not is_sealed(tmp_path)
    (tmp_path / "a").unlink()
    assert not is_sealed(tmp_path)


def test_damaged_files_of_the_recogniser_are_made_anew(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """Deaf without a word is what it must not be."""
    folder = tmp_path / "hearing"

    def fill(draft: Path) -> None:
        (draft / "words").write_bytes(b"words")

    model_files.made_whole(folder, fill)
    model_files._LOOKED_AT.clear()
    (folder / "words").write_bytes(b"wards")
    model_files.made_whole(folder, fill)
    assert (folder / "words").read_bytes() == b"words"
    assert [record.message for record in caplog.records] == [
        f"The recogniser's files in {folder} were damaged; they are made anew."
    ]


def test_two_that_change_settings_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "season.toml"
    program = (
        "import sys\nfrom pathlib import Path\nfrom fieldvoice.cli.settings_file import *\n"
        "from fieldvoice.dialogue.choices import choice\n"
        "from fieldvoice.dialogue.settings import CHOICES\n"
        "for n in range(20):\n"
        "    write_setting(Path(sys.argv[1]), choice(sys.argv[2], CHOICES), float(n % 3 + 1))\n"
    )
    names = ("pan-area", "pan-rate")
    runs = [subprocess.Popen([sys.executable, "-c", program, str(path), name]) for name in names]
    assert [run.wait(60) for run in runs] == [0, 0]
    assert path.read_text(encoding="utf-8").count(" = 2.0\n") == 2


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("tree nine ½ °F –", "tree nine ½ °F –"),
        ("a\x1b[31mb\x07", "a�[31mb�"),
        ("a\x9bb\u202ec\udcffd\ne", "a�b�c�d�e"),
    ],
)
def test_control_characters_do_nothing(text: str, shown: str) -> None:
    assert harmless(text) == shown


def test_a_link_stays_and_what_it_leads_to_is_written(tmp_path: Path) -> None:
    """Settings kept elsewhere, for one."""
    kept, link = tmp_path / "kept.toml", tmp_path / "season.toml"
    kept.write_text("old", encoding="utf-8")
    link.symlink_to(kept)
    write_whole(link, b"new")
    assert link.is_symlink()
    assert kept.read_bytes() == b"new"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no such pipes there")
def test_what_is_no_file_is_never_replaced(tmp_path: Path) -> None:
    """A device has a name too, and root may write to its folder; a page is written into it."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(OSError, match="it is no file"):
        write_whole(pipe, b"a backup")
    with ThreadPoolExecutor(1) as beside:
        read = beside.submit(pipe.read_bytes)
        write_page(pipe, b"a page")
        assert read.result(timeout=10) == b"a page"
    assert pipe.is_fifo()
