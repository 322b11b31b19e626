"""Code of other layers that belongs to a kind of note or question, registered under it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Generic, TypeVar

if TYPE_CHECKING:
    from fieldvoice.schema.base import Frozen

Handler = TypeVar("Handler", bound=Callable[..., Any])


class Registry(Generic[Handler]):
    """What does one thing for several kinds: ``@folds(Gather)`` before the function registers it.

    A kind whose declaration promises a handler and that has none is found by a test.
    """

    def __init__(self) -> None:
        self._handlers: dict[type[Frozen], Handler] = {}

    def __call__(self, *kinds: type[Frozen]) -> Callable[[Handler], Handler]:
        """Register the function that follows for ``kinds``."""

        def register(handler: Handler) -> Handler:
            for kind in kinds:
                if kind in self._handlers:
                    raise TypeError(f"{kind.__name__} has a handler already")
                self._handlers[kind] = handler
            return handler

        return register

    def of(self, meaning: Frozen) -> Handler | None:
        """Return what is registered for the kind of ``meaning``."""
        return self._handlers.get(type(meaning))

    @property
    def kinds(self) -> frozenset[type[Frozen]]:
        """The kinds that have a handler."""
        return frozenset(self._handlers)
