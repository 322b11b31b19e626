"""Writes ``docs/handbook.md`` from the cards in ``handbook/``: ``make docs``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.handbook import handbook_folder, load

if TYPE_CHECKING:
    from fieldvoice.handbook import Card

HERE = Path(__file__).parent

_INTRO = """\
# The handbook

What fieldvoice tells when somebody asks about the trade: first what it says aloud, then why and by
whom. Written from the cards in `handbook/` by `make docs`; what is wrong there can be corrected
there. The same is `fieldvoice handbook`.

A card's level: *note* (good to know), *care* (mind this), *stop* (do not go on), *emergency*
(somebody is or may be hurt). Nothing here calls sap, syrup or gear safe, and no page replaces a
doctor, the fire department or your food agency.
"""


def page() -> str:
    """Return the whole page as Markdown."""
    subjects = load(handbook_folder()).subjects
    contents = [f"- [{subject}](#{_anchor(subject)})" for subject in subjects]
    parts = [_INTRO.rstrip(), "\n".join(contents)]
    for subject, cards in subjects.items():
        parts.append(f"## {subject}")
        parts += [_told(card) for card in cards]
    return "\n\n".join(parts) + "\n"


def _anchor(heading: str) -> str:
    kept = "".join(letter for letter in heading.lower() if letter.isalnum() or letter in " -")
    return kept.replace(" ", "-")


def _told(card: Card) -> str:
    sources = "; ".join(card.sources)
    return (
        f"### {card.title}\n\n**{card.say}**\n\n{card.why}\n\n"
        f"`{card.id}`, {card.level}. Source: {sources}. Asked like: “{card.asked[0]}”"
    )


def write(folder: Path = HERE) -> None:
    """Write the page into ``folder``."""
    (folder / "handbook.md").write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    write()
