"""The manual page and the lists of what is shipped are those of the program as it is."""

from __future__ import annotations

import tomllib
from pathlib import Path

from docs.man_page import PAGE, page

ROOT = Path(__file__).parents[2]
#: What is no text in the package was made from something, which has a licence.
BINARY = {".onnx", ".bin", ".npz"}


def test_the_page_is_up_to_date() -> None:
    """After a change of the commands: make docs."""
    assert PAGE.read_text(encoding="utf-8") == page()


def test_every_part_that_was_made_from_others_work_has_its_licence_told() -> None:
    told = (ROOT / "licenses" / "README.md").read_text(encoding="utf-8")
    files = (ROOT / "fieldvoice").rglob("*")
    folders = {path.parent for path in files if path.suffix in BINARY}
    assert folders
    for folder in folders:
        assert f"`{folder.relative_to(ROOT).as_posix()}/`" in told
        assert any(folder.glob("LICENSE*"))


def test_the_licences_named_for_the_wheel_are_there() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    for pattern in project["license-files"]:
        assert list(ROOT.glob(pattern)), pattern
