"""Questions: what can be asked. Fields and units are those of the machine interface."""

from __future__ import annotations

from fieldvoice.schema.ask import Ask
from fieldvoice.schema.asks import boiling, follow_ups, past, places, sap, season, syrup, trees

#: Every question by its name, subject by subject.
ASKS: dict[str, type[Ask]] = {
    kind.model_fields["ask"].default: kind
    for subject in (trees, places, sap, boiling, syrup, season, past, follow_ups)
    for kind in vars(subject).values()
    if isinstance(kind, type) and issubclass(kind, Ask) and kind is not Ask
}

__all__ = ["ASKS", "Ask"]
