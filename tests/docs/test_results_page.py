"""The page of results is what the data say."""

from __future__ import annotations

from benchmarks.page import PAGE, page


def test_the_page_is_made_of_the_data() -> None:
    """Else run ``python -m benchmarks.page``."""
    assert PAGE.read_text(encoding="utf-8") == page()
    assert "| field+listener | 37 of 40 (80–97)" in page()
