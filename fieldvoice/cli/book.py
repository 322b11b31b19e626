"""``fieldvoice book``: backups, is the book sound, and notes out of it and in again."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.faults import UNREADABLE, complain, say_aside
from fieldvoice.cli.options import book_option, clock_of, examples, json_option, now_option
from fieldvoice.cli.progress import Progress

if TYPE_CHECKING:
    from datetime import datetime

    from fieldvoice.book import Book
    from fieldvoice.book.verify import Fault, Verified

_A_PATH = click.Path(path_type=Path)


@click.group("book")
def command() -> None:
    """Look after the book: backups, its soundness, export."""


def _tell(told: str, as_json: bool, **fields: object) -> int:
    """Say what was done, in words or as one JSON object."""
    if as_json:
        from fieldvoice.cli.show import show_json

        show_json(fields)
    else:
        click.echo(told)
    return 0


def _counted(count: int, one: str) -> str:
    """Return "1 note", "3 notes"."""
    return f"{count} {one}{'' if count == 1 else 's'}"


def _were(count: int) -> str:
    return f"{count} {'was' if count == 1 else 'were'}"


def _place(book: Path | None) -> Path:
    from fieldvoice.cli.app import default_book

    return book or default_book()


@command.command(
    "backup",
    epilog=examples(
        "fieldvoice book backup season.zip",
    ),
)
@click.argument("path", type=_A_PATH)
@json_option
@book_option
def backup(path: Path, as_json: bool, book: Path | None) -> int:
    """Write the whole book into the one file PATH.

    Notes, settings and kept sound; it may be in use meanwhile. Each day's first note makes a backup
    by itself, without the sound; "fieldvoice book backups" lists those.
    """
    from fieldvoice.book.backups import back_up

    if path.is_dir():
        raise click.UsageError(f"{path} is a folder; name the file, like {path / 'season.zip'}")
    with Progress("Backing up", megabytes=True) as progress:
        back_up(_place(book), path, tell=progress)
    return _tell(f"Backed up to {path}.", as_json, file=str(path), bytes=path.stat().st_size)


@command.command(
    "backups",
    epilog=examples(
        "fieldvoice book backups",
    ),
)
@json_option
@book_option
def backups(as_json: bool, book: Path | None) -> int:
    """List the backups made by themselves, the newest first.

    Each with its size, or that it is damaged. The setting "backups" names another folder for them.
    """
    from fieldvoice.book.backups import DailyBackups, is_whole
    from fieldvoice.cli.settings_file import read_settings
    from fieldvoice.cli.show import show_json

    place = _place(book)
    daily = DailyBackups(place, read_settings(place.with_suffix(".toml")).backups_in, say_aside)
    made = daily.made()
    for path in made:
        size, whole = path.stat().st_size, is_whole(path)
        if as_json:
            show_json({"file": str(path), "bytes": size, "whole": whole})
        else:
            click.echo(f"{path}  {max(1, size // 1000)} kB{'' if whole else ', damaged'}")
    if not made:
        say_aside(f"No backups are in {daily.folder()} yet; each day's first note makes one.")
    elif not as_json:
        say_aside(f"To put one back: fieldvoice book restore {made[0]} --replace")
    return 0


@command.command(
    "restore",
    epilog=examples(
        "fieldvoice book restore season.zip --replace",
        "fieldvoice book restore season.zip --book elsewhere.db",
    ),
)
@click.argument("path", type=_A_PATH)
@click.option("--replace", is_flag=True, help="Put a book that is there aside, under another name.")
@json_option
@book_option
def restore(path: Path, replace: bool, as_json: bool, book: Path | None) -> int:
    """Put the book of the backup PATH in its place.

    Or where --book says. A book that is there is never written over.
    """
    from fieldvoice.book.backups import restore as restored

    to = _place(book)
    with Progress("Looking through the book") as progress:
        put_aside = restored(path, to, replace=replace, tell=progress)
    for aside in put_aside:
        say_aside(f"What was there is now {aside}.")
    return _tell(
        f"The book is at {to}.", as_json, book=str(to), put_aside=[str(one) for one in put_aside]
    )


@command.command(
    "verify",
    epilog=examples(
        "fieldvoice book verify",
    ),
)
@json_option
@book_option
def verify(as_json: bool, book: Path | None) -> int:
    """See whether every row is whole and as it was written.

    Exit status 1 if not, with a line for each fault.
    """
    from fieldvoice.book.verify import verify as verified
    from fieldvoice.cli.show import show_json
    from fieldvoice.errors import BookError

    place = _place(book)
    if not place.exists():
        raise BookError(f"There is no season book at {place}.")
    with Progress("Looking through the book") as progress:
        found = verified(place, progress)
    if found.remark:
        say_aside(found.remark)
    for fault in found.faults:
        if as_json:
            show_json(_fields(fault))
        else:
            click.echo(fault.text)
    if found.sound:
        if as_json:
            show_json({"sound": True, "notes": found.rows.get("entries", 0)})
        else:
            click.echo(_sound(found))
    else:
        say_aside(
            "To go on with what can be read: fieldvoice book salvage "
            f"{place} --book NEW, or a backup: fieldvoice book restore BACKUP --book NEW"
        )
    return 0 if found.sound else UNREADABLE


def _fields(fault: Fault) -> dict[str, object]:
    told = {"sound": False, "fault": fault.kind, "row": fault.row, "table": fault.table}
    return {**{name: value for name, value in told.items() if value is not None},
            "text": fault.text}  # fmt: skip


def _sound(found: Verified) -> str:
    if not found.rows:
        return "The book is sound."
    notes, said = found.rows["entries"], found.rows["utterances"]
    return f"The book is sound: {notes} notes, {said} utterances, each as it was written."


@command.command(
    "salvage",
    epilog=examples(
        "fieldvoice book salvage broken.db --book new.db",
    ),
)
@click.argument("broken", type=_A_PATH)
@click.option("--book", "new", type=_A_PATH, required=True, help="The new book to make.")
@json_option
def salvage(broken: Path, new: Path, as_json: bool) -> int:
    """Save what can still be read of a BROKEN book.

    Into a new book; it says what could not be read.
    """
    from fieldvoice.book import Book
    from fieldvoice.book.salvage import salvage as salvaged

    with Progress("Saving what can be read") as progress:
        told = salvaged(broken, new, progress)
    with Book.open(new) as opened:
        _go_through(opened, new, clock_of(None)())
    saved = len(told.notes) + len(told.made_again)
    if as_json:
        made, lost = list(told.made_again), list(told.lost)
        return _tell("", True, book=str(new), saved=saved, made_again=made, lost=lost)
    click.echo(f"Saved {saved} of {saved + len(told.lost)} notes in {new}.")
    if told.made_again:
        click.echo(f"Made again from what was said: {', '.join(told.made_again)}.")
    if told.lost:
        click.echo(f"Lost: {', '.join(told.lost)}.")
    if told.words_lost:
        click.echo(f"Of {told.words_lost} utterances the words are lost.")
    return 0


@command.command(
    "export",
    epilog=examples(
        "fieldvoice book export notes",
    ),
)
@click.argument("folder", type=_A_PATH)
@json_option
@book_option
def export(folder: Path, as_json: bool, book: Path | None) -> int:
    """Write every note into FOLDER.

    As notes.jsonl and a table for each kind of note, with what they mean.
    """
    from fieldvoice.book import Book
    from fieldvoice.book.exchange import export as exported
    from fieldvoice.errors import BookError

    place = _place(book)
    if not place.exists():
        raise BookError(f"There is no season book at {place}.")
    if folder.is_file():
        raise click.UsageError(f"{folder} is a file; name a folder")
    with Book.open(place) as opened:
        opened.on_bad_row = complain
        with Progress("Writing the notes") as progress:
            count = exported(opened, folder, progress)
    return _tell(
        f"{_counted(count, 'note')} in {folder}.", as_json, folder=str(folder), notes=count
    )


@command.command(
    "import",
    epilog=examples(
        "fieldvoice book import notes --dry-run",
        "fieldvoice book import notes",
    ),
)
@click.argument("paths", nargs=-1, required=True, type=_A_PATH)
@book_option
@click.option("--dry-run", is_flag=True, help="Say what would come in, and save nothing.")
@click.option("--yes", is_flag=True, help="Go by the guess about columns, and do not ask.")
@now_option
def bring_in(
    paths: tuple[Path, ...], book: Path | None, dry_run: bool, yes: bool, now: datetime | None
) -> int:
    """Bring in notes, exported or of your own spreadsheet.

    Nothing comes in twice. Exported are notes.jsonl, its tables, or the folder. Of a spreadsheet
    (CSV or .xlsx) the columns are guessed, shown and asked about. Rows in doubt, and what speaks
    against what stands in the book, are listed and left out.
    """
    from fieldvoice.cli.spreadsheets import is_own

    own = [path for path in paths if is_own(path)]
    exported = [path for path in paths if path not in own]
    place, clock = _place(book), clock_of(now)
    status = _import_exported(exported, place, clock(), dry_run) if exported else 0
    return (_import_spreadsheets(own, place, clock(), dry_run, yes) if own else 0) or status


def _go_through(opened: Book, place: Path, now: datetime) -> None:
    """Go through what came in, so that the first question need not."""
    from fieldvoice.cli.settings_file import read_settings

    capacities = read_settings(place.with_suffix(".toml")).capacities_gal
    with Progress("Going through the notes") as progress:
        opened.season(capacities, now, tell=progress)


def _aside(progress: Progress, told: str) -> None:
    progress.clear()
    say_aside(told)


def _import_exported(paths: list[Path], place: Path, now: datetime, dry_run: bool) -> int:
    from fieldvoice.book import Book
    from fieldvoice.book.exchange import import_notes

    with Book.in_memory_copy(place) if dry_run else Book.open(place) as opened:
        opened.refuse_if_damaged()
        with Progress("Bringing in") as progress:
            told = import_notes(opened, paths, now, progress)
        _go_through(opened, place, now)
    for fault in told.faults:
        complain(fault)
    if told.faults and not told.new + told.there:
        return UNREADABLE
    would = "would come in" if dry_run else "came in"
    click.echo(f"{_counted(told.new, 'note')} {would}; {_were(told.there)} there already.")
    if told.changed:
        click.echo(f"{told.changed} that were there {'would be' if dry_run else 'are'} taken back.")
    if told.conflicts:
        click.echo(f"{len(told.conflicts)} left out, because the book says otherwise:")
        for conflict in told.conflicts:
            click.echo(f"  {conflict}")
        if not dry_run:
            click.echo("They wait for you to say which is right: fieldvoice review")
    return UNREADABLE if told.faults else 0


def _import_spreadsheets(
    paths: list[Path], place: Path, now: datetime, dry_run: bool, yes: bool
) -> int:
    from fieldvoice.book import Book
    from fieldvoice.book.backups import DailyBackups
    from fieldvoice.cli.settings_file import read_settings
    from fieldvoice.cli.spreadsheets import tables_of
    from fieldvoice.dialogue.context import TurnContext
    from fieldvoice.dialogue.focus import Focus
    from fieldvoice.grammar.entity_names import EntityNames
    from fieldvoice.spreadsheet.bring_in import bring_in as brought_in

    beside = place.with_suffix(".toml")
    tables = list(tables_of(paths, now.date(), beside, yes=yes, dry_run=dry_run))
    settings = read_settings(beside)
    with Book.in_memory_copy(place) if dry_run else Book.open(place) as opened:
        opened.refuse_if_damaged()
        if not dry_run:
            backups = DailyBackups(place, settings.backups_in, complain)
            opened.before_notes = lambda: backups.see_to(now.date())
        season = opened.season(settings.capacities_gal)
        moment = TurnContext(
            now, "import", opened, season, settings, Focus(), None, EntityNames(),
            degrees_named=True,
        )  # fmt: skip
        with Progress("Bringing in") as progress:
            told = brought_in(
                tables, moment, partial(_aside, progress), dry_run=dry_run, progress=progress
            )
        _go_through(opened, place, now)
    would = "would come in" if dry_run else "came in"
    new = f"{_counted(told.new, 'note')} of {_counted(told.rows, 'row')}"
    click.echo(f"{new} {would}; {_were(told.there)} there already.")
    for count, one, what in (
        (told.doubtful, "row", "in doubt left out; listed above."),
        (told.conflicts, "note", "left out because the book says otherwise; listed above."),
        (told.totals, "row", "of totals left out."),
    ):
        if count:
            click.echo(f"{_counted(count, one)} {what}")
    return 0
