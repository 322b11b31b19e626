"""What is shipped and installed: releases that fit what is needed, and a licence told of each."""

from __future__ import annotations

import re
import tomllib
from itertools import product
from pathlib import Path

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
LICENCES = (ROOT / "licenses" / "README.md").read_text(encoding="utf-8")
LOCKED = [
    Requirement(line)
    for line in (ROOT / "requirements.lock").read_text(encoding="utf-8").splitlines()
]
#: What is no text in the package was made from something, which has a licence.
BINARY = {".onnx", ".bin", ".npz"}
#: Machines by what markers ask of them, and the Pythons that the project is for.
MACHINES = (
    {"sys_platform": "linux", "platform_machine": "x86_64"},
    {"sys_platform": "linux", "platform_machine": "aarch64"},
    {"sys_platform": "win32", "platform_machine": "AMD64"},
    {"sys_platform": "darwin", "platform_machine": "arm64"},
    {"sys_platform": "darwin", "platform_machine": "x86_64"},
)
PYTHONS = ("3.11", "3.12", "3.13", "3.14")


def wanted() -> list[Requirement]:
    """What the project needs, with the parts that a household may want."""
    extras = PROJECT["optional-dependencies"]
    every = [*PROJECT["dependencies"], *extras["live"], *extras["phone"], *extras["sheets"]]
    return [Requirement(one) for one in every]


@pytest.mark.parametrize(("machine", "python"), list(product(MACHINES, PYTHONS)))
def test_the_lock_file_has_a_release_that_fits_each_need(
    machine: dict[str, str], python: str
) -> None:
    """What .ci/wheels.py resolves anew; here without the network."""
    here = {**machine, "python_version": python, "python_full_version": f"{python}.1"}
    pinned = {
        one.name: str(one.specifier).removeprefix("==")
        for one in LOCKED
        if one.marker is None or one.marker.evaluate(here)
    }
    for need in wanted():
        if need.marker is None or need.marker.evaluate(here):
            assert need.specifier.contains(pinned[need.name.replace("_", "-")]), str(need)


def test_the_classifiers_name_these_pythons() -> None:
    told = [one.rpartition(" ")[2] for one in PROJECT["classifiers"] if ":: Python :: 3." in one]
    assert tuple(told) == PYTHONS


def test_every_package_that_is_installed_has_its_licence_told() -> None:
    table = LICENCES.partition("| packages |")[2].partition("Some carry more")[0]
    assert set(re.findall(r"`([^`]+)`", table)) == {one.name for one in LOCKED}


def test_every_part_that_was_made_from_others_work_has_its_licence_told() -> None:
    files = (ROOT / "fieldvoice").rglob("*")
    folders = {path.parent for path in files if path.suffix in BINARY}
    assert folders
    for folder in folders:
        assert f"`{folder.relative_to(ROOT).as_posix()}/`" in LICENCES
        assert any(folder.glob("LICENSE*"))


def test_the_licences_named_for_the_wheel_are_there() -> None:
    for pattern in PROJECT["license-files"]:
        assert list(ROOT.glob(pattern)), pattern
