"""The page in a real browser, over the real TLS, with a recorded voice for its microphone."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.phone import chromium
from tests.phone.chromium import SIZES, PhoneBrowser, die, hold, pair, types
from tests.phone.served import Served

if TYPE_CHECKING:
    from collections.abc import Iterator

WHY = chromium.lacking()
pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(WHY is not None, reason=f"no browser: {WHY}"),
]
MEMO = Path(__file__).parents[2] / "demo_sessions" / "first_round" / "01_first_trees.flac"


@pytest.fixture(scope="module")
def driver() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="module")
def voice(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Somebody says: tree seven, bucket half full, sap clear."""
    return chromium.voice_file(MEMO, tmp_path_factory.mktemp("voice") / "tree_seven.wav")


@pytest.fixture
def browser(driver, voice, tmp_path):
    """Make a browser that trusts a house."""

    def made(house: Served, name: str = "anna") -> PhoneBrowser:
        return PhoneBrowser(driver, tmp_path / name, house.place / "authority.pem", voice)

    return made


def _expect(locator: Any) -> Any:
    from playwright.sync_api import expect

    # A machine with other work takes its time.
    expect.set_options(timeout=40_000)
    return expect(locator)


@contextmanager
def fieldvoice_phone(folder: Path) -> Iterator[tuple[str, Any]]:
    """Run the real command; yield its address and what tells the newest code."""
    told = folder / "told.txt"
    book = folder / "season.db"
    with told.open("wb") as out:
        ran = subprocess.Popen(
            [sys.executable, "-m", "fieldvoice", "phone", "--address", "127.0.0.1",
             "--port", "8543", "--book", str(book)],
            stdout=out, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL, env=os.environ,
        )  # fmt: skip

    def code() -> str:
        return "".join(re.findall(r"The code: (\d{3}) (\d{3})", told.read_text())[-1])

    try:
        until = time.monotonic() + 180
        while "Listening at" not in told.read_text():
            assert ran.poll() is None, told.read_text()
            assert time.monotonic() < until, told.read_text()
            time.sleep(0.2)
        yield "https://127.0.0.1:8543", code
    finally:
        ran.terminate()
        assert ran.wait(30) == 0


def test_pair_hold_speak_and_hear_the_reply(driver, voice, tmp_path):
    """The real ear and voice; somebody else's board shows it, and the checker is content."""
    with fieldvoice_phone(tmp_path) as (base, code):
        authority = tmp_path / "season_phone" / "authority.pem"
        anna = PhoneBrowser(driver, tmp_path / "anna", authority, voice)
        ben = PhoneBrowser(driver, tmp_path / "ben", authority, voice)
        with anna.opened() as page, ben.opened("small", dark=True) as other:
            pair(page, base, code(), "Anna")
            pair(other, base, code(), "Ben")
            hold(page, 2.9)
            _expect(page.locator("#reply")).to_have_text("Tree 7: half full, clear.")
            _expect(page.locator("#heard")).to_contain_text("tree seven bucket half full")
            other.click("nav button[data-to=notes]")
            _expect(other.locator("#latest li").first).to_contain_text("Anna")
            _until(lambda: page.evaluate("document.getElementById('aloud').currentTime") > 0)
            page.click("#undo")
            _expect(page.locator("#reply")).to_contain_text("Took back: Tree 7")
            other.click("nav button[data-to=round]")
            _expect(other.locator("#trees")).to_contain_text("No tree was noted yet.")
            types(page, "poured thirty gallons into tank one")
            types(page, "tree nine two gallons, sap cloudy")
            other.click("nav button[data-to=day]")
            _expect(other.locator("#vessels")).to_contain_text("tank 1")
            for shown, size in ((page, "large"), (other, "small")):
                _accessible(shown, tmp_path, size)


def _accessible(page: Any, folder: Path, size: str) -> None:
    """Every view passes the checker (axe-core), and nothing is wider than the screen."""
    from axe_playwright_python.sync_playwright import Axe

    # What the page's own policy forbids is let in for the checker alone.
    source = Path(sys.modules[Axe.__module__].__file__).parent / "axe.min.js"
    page.evaluate(source.read_text(encoding="utf-8"))
    width = SIZES[size][0]
    for view in ("talk", "day", "round", "notes"):
        page.click(f"nav button[data-to={view}]")
        page.screenshot(path=str(folder / f"{size}-{view}.png"))
        found = page.evaluate("axe.run()")
        assert [one["id"] for one in found["violations"]] == [], found["violations"]
        assert len(found["passes"]) > 15
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_an_hour_out_of_range_and_a_flat_battery(browser, tmp_path):
    """Twenty notes, the browser killed, opened again, then online: each comes once, in order."""
    with Served(tmp_path).running() as house:
        anna = browser(house)
        began = datetime.now() - timedelta(hours=1, minutes=1)
        with anna.opened() as page:
            page.clock.install(time=began)
            pair(page, house.base, house.door.open(), "Anna")
            page.evaluate("navigator.serviceWorker.ready.then(() => true)")
            page.context.set_offline(True)
            for number in range(1, 21):
                if number % 5 == 0:
                    hold(page, 1.4)
                else:
                    types(page, f"tree {number} two gallons")
                _expect(page.locator("#reply")).to_have_text(f"Kept, {number} waiting.")
                page.clock.fast_forward(180_000)
            _expect(page.locator("#state")).to_have_text("Not in reach · 20 waiting")
            die(page)
        assert house.said() == []
        with anna.opened() as page:
            page.context.set_offline(True)
            page.goto(house.base)
            _expect(page.locator("#state")).to_have_text("Not in reach · 20 waiting")
            page.context.set_offline(False)
            _until(lambda: len(house.said()) >= 20, 40)
            _expect(page.locator("#reply")).to_contain_text("20 notes arrived")
            page.reload()
            _expect(page.locator("#state")).to_have_text("In reach")
        said = [
            "tree nine two gallons" if number % 5 == 0 else f"tree {number} two gallons"
            for number in range(1, 21)
        ]
        assert house.said() == said
        times = [
            datetime.fromisoformat(at)
            for (at,) in house.rows("SELECT at FROM utterances ORDER BY id")
        ]
        assert times == sorted(times)
        assert timedelta(minutes=55) < times[-1] - times[0] < timedelta(minutes=62)


def test_the_browsers_own_pieces_are_heard_while_the_person_speaks(browser, tmp_path):
    """What its recorder hands out second by second can be decoded as it comes."""
    with Served(tmp_path).running() as house, browser(house).opened() as page:
        pair(page, house.base, house.door.open(), "Anna")
        box = page.locator("#speak").bounding_box()
        page.mouse.move(box["x"] + 50, box["y"] + 50)
        page.mouse.down()
        _until(lambda: house.ear.times == 1)
        assert house.said() == []
        page.mouse.up()
        _expect(page.locator("#reply")).to_have_text("Tree 9: 2 gal.")
        assert house.ear.times == 1


def test_the_button_is_tapped_with_a_wet_glove_or_on_a_headset(browser, tmp_path):
    """Felt twice, it begins once; a key of the phone or of a headset does what a finger does."""
    with Served(tmp_path).running() as house, browser(house).opened() as page:
        pair(page, house.base, house.door.open(), "Anna")
        box = page.locator("#speak").bounding_box()
        for _ in range(2):
            page.touchscreen.tap(box["x"] + 50, box["y"] + 50)
            page.wait_for_timeout(2500)
        _until(lambda: len(house.said()) == 1)
        page.evaluate("document.activeElement.blur()")
        for count, key in enumerate(("AudioVolumeUp", "MediaPlayPause"), start=2):
            _keys(page, key, "keydown")
            _expect(page.locator("#speak-label")).to_have_text("Listening")
            page.wait_for_timeout(2000)
            _keys(page, key, "keyup")
            _until(lambda count=count: len(house.said()) == count)
        _keys(page, "HeadsetHook", *["keydown", "keyup"] * 2)
        _expect(page.locator("#speak-label")).to_have_text("Listening")
        page.wait_for_timeout(2000)
        _keys(page, "HeadsetHook", "keydown", "keyup")
        _until(lambda: len(house.said()) == 4)


def _keys(page: Any, key: str, *kinds: str) -> None:
    """Let a key go down and up, all at once."""
    page.evaluate(
        "([key, kinds]) => { for (const kind of kinds) document.body.dispatchEvent("
        "new KeyboardEvent(kind, {key, bubbles: true, cancelable: true})); }",
        [key, list(kinds)],
    )


def test_twenty_notes_under_an_earlier_address(browser, tmp_path):
    """The router gives the laptop another address: the old page hands over, from its own copy."""
    old = Served(tmp_path, earlier=())
    with old.running():
        anna = browser(old)
        with anna.opened() as page:
            pair(page, old.base, old.door.open(), "Anna")
            page.evaluate("navigator.serviceWorker.ready.then(() => true)")
            page.context.set_offline(True)
            for number in range(1, 21):
                types(page, f"tree {number} two gallons")
                _expect(page.locator("#reply")).to_have_text(f"Kept, {number} waiting.")
    with Served(tmp_path, earlier=(old.base,), address="127.0.0.3").running() as new:
        with anna.opened() as page:
            page.goto(new.base)
            page.click(f"#pair-links a:has-text('{old.base}')")
            _expect(page.locator("#state")).to_have_text("In reach")
            assert page.url.startswith(new.base)
            _expect(page.locator("#whose")).to_have_text("Paired as Anna.")
        assert new.said() == [f"tree {number} two gallons" for number in range(1, 21)]


def test_a_revoked_phone_is_refused_and_keeps_what_waits(browser, tmp_path):
    with Served(tmp_path).running() as house, browser(house).opened() as page:
        pair(page, house.base, house.door.open(), "Anna")
        house.phones.revoke("Anna")
        types(page, "tree nine two gallons")
        _expect(page.locator("#pair-told")).to_contain_text("is kept")
        assert house.said() == []
        page.fill("#pair-name", "Anna")
        page.fill("#pair-code", house.door.open())
        page.click("#pair-form button")
        _until(lambda: house.said() == ["tree nine two gallons"])


def test_a_clock_that_is_off_is_asked_about(browser, tmp_path):
    with Served(tmp_path).running() as house:
        with browser(house).opened() as page:
            pair(page, house.base, house.door.open(), "Anna")
            house.offset = timedelta(hours=2)
            types(page, "tree nine two gallons")
            _expect(page.locator("#reply")).to_contain_text("Which clock is right?")
            assert house.said() == []
            page.click("#no")
            _until(lambda: house.said() == ["tree nine two gallons"])
        (at,) = house.rows("SELECT at FROM utterances")[0]
        assert abs(datetime.fromisoformat(at) - house.clock()) < timedelta(seconds=30)


def test_the_pages_of_help_pass_the_checker_too(browser, tmp_path):
    with Served(tmp_path).running() as house, browser(house).opened("tablet") as page:
        from axe_playwright_python.sync_playwright import Axe

        source = Path(sys.modules[Axe.__module__].__file__).parent / "axe.min.js"
        for path in ("/", "/trust", "/trust#iphone", "/trust#android", "/moved"):
            page.goto(house.base + path)
            page.evaluate(source.read_text(encoding="utf-8"))
            found = page.evaluate("axe.run()")
            assert [one["id"] for one in found["violations"]] == [], found["violations"]


def test_each_kind_of_phone_has_its_page_of_help(browser, tmp_path):
    with Served(tmp_path).running() as house, browser(house).opened("small") as page:
        page.goto(f"{house.base}/trust")
        for kind in ("iphone", "android", "firefox", "laptop"):
            page.click(f".links a[href='#{kind}']")
            for one in page.locator(".kind").all():
                assert one.is_visible() is (one.get_attribute("id") == kind)


def _until(over: Any, seconds: float = 20.0) -> None:
    until = time.monotonic() + seconds
    while not over():
        assert time.monotonic() < until
        time.sleep(0.05)
