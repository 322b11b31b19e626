"""What trees and vessels are called now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.grammar.entity_names import EntityNames
from fieldvoice.schema import plain_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from fieldvoice.book import Season
    from fieldvoice.dialogue.settings import Settings


#: A vessel of these is known by its number, or is the only one.
_KINDS_OF_VESSEL = frozenset(
    "tank tote barrel drum can jug pail bucket bag pan cooler vat bin tub pot keg".split()
)


def _called(vessels: Iterable[str]) -> Iterator[str]:
    """Yield the vessels that notes call by words of their own: "steel tank", "blue cooler"."""
    return (
        name for name in vessels if name.replace(" ", "").isalpha() and name not in _KINDS_OF_VESSEL
    )


def names_in_use(season: Season, settings: Settings) -> EntityNames:
    """Return what trees and vessels are called, by the book and by the settings."""
    return EntityNames(
        frozenset({*season.names.trees, *map(plain_name, settings.trees)}),
        frozenset(
            {*season.names.vessels, *map(plain_name, settings.vessels), *_called(season.vessels)}
        ),
    )
