"""The season's page in a real browser: clean for an accessibility checker, never too wide."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from fieldvoice.book import Book
from fieldvoice.cli.played import read_script
from fieldvoice.dialogue import Conversation, Settings
from fieldvoice.nlu import Interpreter
from fieldvoice.paper.cards import cards
from fieldvoice.paper.page import page
from fieldvoice.paper.sheet import sheet_of
from fieldvoice.transcript import typed
from tests.one_grammar import GRAMMAR
from tests.paper.conftest import FIRST, SEASON, on, write
from tests.paper.ten_seasons import LAST_YEAR, LOOKED_AT, notes
from tests.paper.test_page import NASTY

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldvoice.paper.sheet import Sheet

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(CHROMIUM is None, reason="no browser: Debian: apt install chromium"),
]
SCRIPT = Path(__file__).parents[2] / "demo_sessions" / "season" / "script.txt"
#: Widths of a phone, a tablet and a screen, in the page's own units.
WIDTHS = (320, 820, 1280)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    api = pytest.importorskip("playwright.sync_api")
    with api.sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield opened
        opened.close()


def _last_of_ten(trees: int) -> Sheet:
    """Return the sheet of the last of ten seasons."""
    with Book.in_memory_copy() as book:
        write(book, *notes(trees=trees))
        with book.years({}, now=LOOKED_AT) as years:
            return sheet_of(years, LAST_YEAR, Settings())


@pytest.fixture(scope="module")
def ten_seasons() -> Sheet:
    """The sheet of the last of ten seasons of 60 trees."""
    return _last_of_ten(60)


def _violations(opened: Any) -> list[tuple[str, str]]:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    source = Path(sys.modules[axe.Axe.__module__].__file__ or "").parent / "axe.min.js"
    opened.evaluate(source.read_text(encoding="utf-8"))
    found = opened.evaluate("axe.run()")["violations"]
    return [(one["id"], one["nodes"][0]["html"]) for one in found]


def _looked_at(browser: Any, html: str) -> None:
    """Look at a page at each width, light and dark, shut and with all that can be opened."""
    for scheme in ("light", "dark"):
        for width in WIDTHS:
            opened = browser.new_page(viewport={"width": width, "height": 800}, color_scheme=scheme)
            opened.set_content(html)
            opened.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
            assert opened.evaluate("document.documentElement.scrollWidth") <= width
            # What is drawn is the same at the two larger widths.
            if (scheme, width) in (("light", 320), ("light", 1280), ("dark", 1280)):
                assert _violations(opened) == []
            opened.close()


def test_a_short_season_is_clean(browser, looked_back):
    """With warnings, an odd name and a season before it."""
    odd = (
        on(-400, "gather", tree=1, volume_gal=2), on(0, "name", tree=2, name=NASTY),
        on(0, "remark", tree=1, text=NASTY),
    )  # fmt: skip
    with looked_back(*odd, *SEASON) as (sheet, _):
        _looked_at(browser, page(sheet, FIRST))


def test_the_demo_season_is_clean(browser):
    """Sixty trees and eight weeks, told line by line."""
    times = []
    with Book.in_memory_copy() as book:
        talk = Conversation(book, Interpreter(GRAMMAR), clock=lambda: times[-1])
        for at, words in read_script(SCRIPT):
            times.append(at)
            talk.hear(typed(words))
        with book.years({}, now=at) as years:
            _looked_at(browser, page(sheet_of(years, at.year, Settings()), at))


def test_ten_seasons_are_clean(browser):
    """Of a few trees: the checker takes seconds for each trunk's pictures."""
    _looked_at(browser, page(_last_of_ten(6), LOOKED_AT))


def test_ten_seasons_are_small(ten_seasons):
    """Under two megabytes with every trunk's pictures and tables."""
    html = page(ten_seasons, LOOKED_AT)
    assert len(html.encode()) < 2e6
    assert html.count('class="bark"') == 60


def test_ten_seasons_print(browser, ten_seasons):
    """The page prints, and so do the cards; nobody has more than four trees to a sheet."""
    opened = browser.new_page()
    opened.set_content(page(ten_seasons, LOOKED_AT))
    printed = opened.pdf(format="A4", print_background=True)
    pypdfium2 = pytest.importorskip("pypdfium2")
    told = " ".join(one.get_textpage().get_text_bounded() for one in pypdfium2.PdfDocument(printed))
    assert "Seasons side by side" in told
    assert len(pypdfium2.PdfDocument(cards(ten_seasons, ["trees"], "a4", LOOKED_AT))) == 15
