"""The page's files: small, of this house alone, and nothing newer than the features listed."""

from __future__ import annotations

import json
import re
import struct
from pathlib import Path

import pytest

from fieldvoice.phone import page

FOLDER = Path(page.__file__).parent
SCRIPTS = sorted(FOLDER.glob("*.js"))
#: Where the features that a browser must have are listed for people.
LISTED = Path(__file__).parents[2] / "docs" / "phone.md"


def test_all_of_it_is_under_100_kilobytes():
    assert sum((FOLDER / name).stat().st_size for name, _ in page.FILES.values()) < 100_000


def test_every_file_is_given_and_no_other():
    there = {one.name for one in FOLDER.iterdir() if one.suffix not in (".py", ".pyc")}
    assert there - {"__pycache__"} == {name for name, _ in page.FILES.values()}


def test_nothing_is_asked_of_anybody_else():
    """Addresses stand in help and placeholders only; the only script that leaves the origin is
    ``moved.js``, for the house at its new address."""
    for name, kind in page.FILES.values():
        if kind == "image/png":
            continue
        text = (FOLDER / name).read_text(encoding="utf-8")
        for found in re.findall(
            r"""(?:src|href|url|import|from|fetch)\W{1,3}(https?://[^'"\s)]+)""", text
        ):
            raise AssertionError(f"{name}: {found}")
        assert "//cdn" not in text


def test_there_is_a_drawing_for_home_screens_that_take_no_svg():
    """Apple's and older Android's: a PNG of the size that the manifest tells."""
    icons = json.loads((FOLDER / "app.webmanifest").read_text(encoding="utf-8"))["icons"]
    (drawn,) = [one for one in icons if one["type"] == "image/png"]
    head = (FOLDER / "icon.png").read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    assert drawn["sizes"] == "{}x{}".format(*struct.unpack(">II", head[16:]))
    assert 'rel="apple-touch-icon" href="/icon.png"' in (FOLDER / "index.html").read_text()


#: What is written in one colour on another.
WRITTEN_ON = [
    ("ink", "ground"), ("ink", "card"), ("quiet", "ground"), ("quiet", "card"), ("on-go", "go"),
    ("on-stop", "stop"), ("care", "ground"), ("stop", "ground"), ("link", "ground"),
]  # fmt: skip


def test_all_of_it_is_read_in_the_sun_and_in_the_dark():
    """Contrast of 7 to 1 for words and 3 to 1 for edges (WCAG 2.2, 1.4.6 and 1.4.11)."""
    style = (FOLDER / "page.css").read_text(encoding="utf-8")
    themes = [dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{3,6})", one))
              for one in re.findall(r"\{[^{}]*--ground:[^{}]*\}", style)]  # fmt: skip
    assert len(themes) == 3
    for theme in themes:
        for ink, ground in WRITTEN_ON:
            assert _contrast(theme[ink], theme[ground]) >= 7, (ink, ground)
        assert _contrast(theme["line"], theme["ground"]) >= 3


def _contrast(one: str, other: str) -> float:
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: str) -> float:
    """Return the relative luminance of a colour by WCAG 2.2."""
    digits = colour[1:] if len(colour) == 7 else "".join(2 * one for one in colour[1:])
    parts = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_no_text_becomes_markup():
    for script in SCRIPTS:
        text = script.read_text(encoding="utf-8")
        assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval\(", text)


def test_the_page_has_no_script_or_style_of_its_own_in_the_markup():
    for place in FOLDER.glob("*.html"):
        text = place.read_text(encoding="utf-8")
        assert not re.search(r"<script(?![^>]*src=)|<style|\son[a-z]+=|\sstyle=", text), place.name


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda one: one.name)
def test_scripts_are_in_the_language_of_2017(script):
    """ECMAScript 2017, as an independent parser of it reads them."""
    esprima = pytest.importorskip("esprima")
    esprima.parseModule(_plain(script))


def test_every_feature_of_browsers_that_is_used_is_listed():
    """What scripts name that is not their own: each stands in docs/phone.md."""
    esprima = pytest.importorskip("esprima")
    listed = set(re.findall(r"`([A-Za-z0-9]+)`", LISTED.read_text(encoding="utf-8")))
    missing = {}
    for script in SCRIPTS:
        used = _outside_names(esprima.parseModule(_plain(script)))
        missing |= dict.fromkeys(used - listed, script.name)
    assert not missing


def test_the_offline_copy_has_every_file_and_changes_with_them():
    text = page.response("/offline.js").body.decode()
    assert "VERSION" not in text
    for path in page.FILES:
        assert (f"'{path}'" in text) is (path != "/offline.js")


def _plain(script: Path) -> str:
    return script.read_text(encoding="utf-8")


def _outside_names(tree) -> set[str]:
    """Return the names that begin an expression and that the script declares nowhere."""
    names = [(node.name, key, parent) for node, key, parent in _nodes(tree, "", None)]
    declared = {name for name, key, _ in names if _declares(key)}
    used = {name for name, key, parent in names if not _is_of_another(key, parent)}
    return used - declared - {"undefined"}


def _nodes(node, key, parent):
    """Yield every name in a tree with the place that it has in the node above."""
    for one in node if isinstance(node, list) else [node]:
        kind = getattr(one, "type", None)
        if kind == "Identifier":
            yield one, key, parent
        elif kind is not None:
            # What is bound by a pattern is bound where the pattern stands.
            bound = key if kind in _PATTERNS and key in _BINDS else None
            for name, child in vars(one).items():
                is_bound = bound and name in ("left", "properties", "value", "elements")
                yield from _nodes(child, bound if is_bound else name, one)


_PATTERNS = ("ObjectPattern", "ArrayPattern", "AssignmentPattern", "Property")
_BINDS = ("id", "params", "param", "local")


def _declares(key) -> bool:
    return key in _BINDS


def _is_of_another(key, parent) -> bool:
    """Whether a name is that of a member, of a field or of a method, or imported by it."""
    if parent.type == "MemberExpression":
        return key == "property" and not parent.computed
    return key in ("key", "imported", "exported") and not getattr(parent, "computed", False)
