"""What all meanings share: frozen, exact, and silent about what was not said."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

#: A tree is known by its number or by the name its owner gave it.
TreeId = int | str

Fill = Annotated[float, Field(ge=0, le=1)]
Sap = Literal["clear", "hazy", "cloudy", "yellow", "ropey", "sour", "buddy", "frozen"]
Side = Literal["north", "south", "east", "west", "northeast", "northwest", "southeast", "southwest"]
Size = str
Colour = Literal["golden", "amber", "dark", "very dark"]


class Frozen(BaseModel):
    """A value that is never changed; ``replace`` gives a changed copy."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    def json_fields(self) -> dict[str, Any]:
        """Return the fields that were said, as plain JSON values."""
        return self.model_dump(mode="json", exclude_none=True)

    def replace(self, **fields: Any) -> Any:
        """Return a checked copy with ``fields`` changed (None removes one)."""
        return type(self).model_validate({**self.model_dump(), **fields})
