"""What all meanings share: frozen, exact, and silent about what was not said."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

if TYPE_CHECKING:
    from collections.abc import Iterator

#: A number in a name or a time: "tank 2".
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")

#: A tree is known by its number or by the name its owner gave it.
TreeId = int | str

Fill = Annotated[float, Field(ge=0, le=1)]
Sap = Literal["clear", "hazy", "cloudy", "yellow", "ropey", "sour", "buddy", "frozen"]
Side = Literal["north", "south", "east", "west", "northeast", "northwest", "southeast", "southwest"]
Size = str
Colour = Literal["golden", "amber", "dark", "very dark"]


class Frozen(BaseModel):
    """A value that is never changed; ``replace`` gives a changed copy."""

    # What checks a kind is made when the first of it is: a typed line needs one or two of ninety.
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    def json_fields(self) -> dict[str, Any]:
        """Return the fields that were said, as plain JSON values."""
        return self.model_dump(mode="json", exclude_none=True)

    def replace(self, **fields: Any) -> Any:
        """Return a checked copy with ``fields`` changed (None removes one)."""
        return type(self).model_validate({**self.model_dump(), **fields})

    def numbers(self) -> list[float]:
        """Return the numbers in the fields, in their order, those in names and times as well."""
        return list(_numbers_in(self.json_fields()))

    def without_numbers(self) -> Any:
        """Return the fields with 0 for every number: equal where two differ in numbers alone."""
        return _without_numbers(self.json_fields())


def _numbers_in(value: Any) -> Iterator[float]:
    if isinstance(value, str):
        yield from map(float, _NUMBER.findall(value))
    elif isinstance(value, dict | list):
        for inner in value.values() if isinstance(value, dict) else value:
            yield from _numbers_in(inner)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield float(value)


def _without_numbers(value: Any) -> Any:
    if isinstance(value, str):
        return _NUMBER.sub("0", value)
    if isinstance(value, dict):
        return {key: _without_numbers(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_without_numbers(inner) for inner in value]
    return 0 if isinstance(value, int | float) and not isinstance(value, bool) else value
