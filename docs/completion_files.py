"""Writes the files by which shells complete words, ``docs/completion/``, as click makes them."""

from __future__ import annotations

from pathlib import Path

from click.shell_completion import get_completion_class

from fieldvoice.cli.main import cli

FOLDER = Path(__file__).parent / "completion"
#: The file of each shell, by the name under which that looks for it.
FILES = {"bash": "fieldvoice", "zsh": "_fieldvoice", "fish": "fieldvoice.fish"}


def script(shell: str) -> str:
    """Return what a shell reads once; it asks the program itself for the words."""
    found = get_completion_class(shell)
    assert found is not None
    complete = found(cli, {}, "fieldvoice", "_FIELDVOICE_COMPLETE")
    return complete.source_template % complete.source_vars()


def main() -> None:
    """Write the files."""
    for shell, name in FILES.items():
        (FOLDER / name).write_text(script(shell), encoding="utf-8")


if __name__ == "__main__":
    main()
