"""What a package offers, imported when it is first asked for.

Who wants a bound or a setting of a package alone needs none of the libraries for the rest of it.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping


def lazily(package: str, homes: Mapping[str, str]) -> Callable[[str], Any]:
    """Return the ``__getattr__`` of a package; ``homes`` are the names that each module has.

    What it returns raises AttributeError for other names.
    """
    module_of = {name: module for module, names in homes.items() for name in names.split()}

    def found(name: str) -> Any:
        if name not in module_of:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        return getattr(import_module(f"{package}.{module_of[name]}"), name)

    return found
