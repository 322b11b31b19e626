"""The manual page is that of the program as it is."""

from __future__ import annotations

from docs.man_page import PAGE, page


def test_the_page_is_up_to_date() -> None:
    """After a change of the commands: make docs."""
    assert PAGE.read_text(encoding="utf-8") == page()
