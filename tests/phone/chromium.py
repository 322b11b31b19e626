"""Chromium as a phone: its own profile, its own trust, and a recorded voice for a microphone."""

from __future__ import annotations

import os
import shutil
import subprocess
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Any

import numpy as np

from fieldvoice.asr import SAMPLE_RATE, read_audio
from fieldvoice.tts import Sound, write_wav

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

#: A small phone, a large one, and a tablet: width and height in the page's own units.
SIZES = {"small": (320, 568), "large": (412, 915), "tablet": (820, 1180)}


def lacking() -> str | None:
    """Return why no browser can be driven here; None where one can."""
    try:
        import playwright.sync_api  # noqa: F401
    except ImportError:
        return 'playwright is not installed: pip install "fieldvoice[browser]"'
    if _browser() is None:
        return "there is no Chromium here (Debian: apt install chromium)"
    if shutil.which("certutil") is None:
        return "there is no certutil to let it trust the house (Debian: apt install libnss3-tools)"
    return None


def _browser() -> str | None:
    return shutil.which("chromium") or shutil.which("chromium-browser")


def voice_file(recording: Path, place: Path, seconds: float = 2.6) -> Path:
    """Write the first words of a recording as a file that Chromium takes for its microphone."""
    samples = np.asarray(read_audio(recording).samples)[: round(seconds * SAMPLE_RATE)]
    # Whoever lets go late has some silence at the end.
    write_wav(place, Sound(np.pad(samples, (0, 3 * SAMPLE_RATE)), SAMPLE_RATE))
    return place


class PhoneBrowser:
    """One person's phone: what it keeps is in ``folder``, and stays when it is shut or dies."""

    def __init__(self, driver: Any, folder: Path, authority: Path, voice: Path) -> None:
        self._driver, self._folder, self._voice = driver, folder, voice
        trust = folder / "home" / ".pki" / "nssdb"
        trust.mkdir(parents=True)
        store = f"sql:{trust}"
        for command in (
            ["-N", "--empty-password"],
            ["-A", "-t", "C,,", "-n", "house", "-i", str(authority)],
        ):
            subprocess.run(["certutil", "-d", store, *command], check=True, capture_output=True)

    @contextmanager
    def opened(self, size: str = "large", dark: bool = False) -> Iterator[Any]:
        """Open it and yield a page; faults of its scripts fail the block."""
        width, height = SIZES[size]
        context = self._driver.chromium.launch_persistent_context(
            str(self._folder / "profile"),
            executable_path=_browser(),
            headless=True,
            args=[
                "--no-sandbox",
                "--use-fake-device-for-media-stream",
                "--use-fake-ui-for-media-stream",
                f"--use-file-for-fake-audio-capture={self._voice}%noloop",
                "--autoplay-policy=no-user-gesture-required",
            ],
            env={**os.environ, "HOME": str(self._folder / "home")},
            viewport={"width": width, "height": height},
            color_scheme="dark" if dark else "light",
            has_touch=True,
        )
        faults: list[str] = []
        page = context.pages[0]
        page.on("pageerror", lambda fault: faults.append(str(fault)))
        page.set_default_timeout(30_000)
        try:
            yield page
            assert not faults
        finally:
            with suppress(Exception):  # it may have died on purpose
                context.close()


def pair(page: Any, base: str, code: str, name: str) -> None:
    """Open the house's page and pair the phone."""
    from playwright.sync_api import expect

    page.goto(base)
    page.fill("#pair-name", name)
    page.fill("#pair-code", code)
    page.click("#pair-form button")
    expect(page.locator("#state")).to_have_text("In reach", timeout=40_000)


def hold(page: Any, seconds: float) -> None:
    """Hold the button down for so long."""
    box = page.locator("#speak").bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.wait_for_selector("#speak-label:has-text('Listening')")
    page.wait_for_timeout(1000 * seconds)
    page.mouse.up()
    page.wait_for_selector("#speak:not(.on)")


def types(page: Any, text: str) -> None:
    """Type words instead of speaking them."""
    if not page.locator("#type-text").is_visible():
        page.click("#type")
    page.fill("#type-text", text)
    page.press("#type-text", "Enter")


def die(page: Any) -> None:
    """Let the whole browser die at once, as a phone does whose battery is empty."""
    with suppress(Exception):
        page.context.new_cdp_session(page).send("Browser.crash")
    try:
        page.evaluate("1")
    except Exception:  # it is gone
        return
    raise AssertionError("the browser did not die")
