"""``fieldvoice book``: backups, is the book sound, and notes out of it and in again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fieldvoice.cli.faults import UNREADABLE, complain, say_aside
from fieldvoice.cli.options import book_option, clock_of, json_option, now_option

if TYPE_CHECKING:
    from datetime import datetime

    from fieldvoice.book.verify import Fault, Verified

_A_PATH = click.Path(path_type=Path)


@click.group("book")
def command() -> None:
    """Look after the season book: back it up, see whether it is sound, take its notes elsewhere."""


def _place(book: Path | None) -> Path:
    from fieldvoice.cli.app import default_book

    return book or default_book()


@command.command("backup")
@click.argument("path", type=_A_PATH)
@book_option
def backup(path: Path, book: Path | None) -> int:
    r"""Write the whole book into the one file PATH: notes, settings and kept sound.

    \b
    fieldvoice book backup /media/stick/season.zip
    It may be in use meanwhile. Each day's first note makes a backup by itself, without the sound.
    """
    from fieldvoice.book.backups import back_up

    if path.is_dir():
        raise click.UsageError(f"{path} is a folder; name the file, like {path / 'season.zip'}")
    back_up(_place(book), path)
    click.echo(f"Backed up to {path}.")
    return 0


@command.command("restore")
@click.argument("path", type=_A_PATH)
@click.option("--replace", is_flag=True, help="Put a book that is there aside, under another name.")
@book_option
def restore(path: Path, replace: bool, book: Path | None) -> int:
    """Put the book of the backup PATH in its place, or where --book says; never over another."""
    from fieldvoice.book.backups import restore as restored

    to = _place(book)
    for aside in restored(path, to, replace=replace):
        say_aside(f"What was there is now {aside}.")
    click.echo(f"The book is at {to}.")
    return 0


@command.command("verify")
@json_option
@book_option
def verify(as_json: bool, book: Path | None) -> int:
    """See whether every row of the book is whole and as it was written; status 1 if not."""
    from fieldvoice.book.verify import verify as verified
    from fieldvoice.cli.show import show_json
    from fieldvoice.errors import BookError

    place = _place(book)
    if not place.exists():
        raise BookError(f"There is no season book at {place}.")
    found = verified(place)
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


@command.command("salvage")
@click.argument("broken", type=_A_PATH)
@click.option("--book", "new", type=_A_PATH, required=True, help="The new book to make.")
def salvage(broken: Path, new: Path) -> int:
    """Write every note that can still be read in BROKEN into a new book, and say what could not."""
    from fieldvoice.book.salvage import salvage as salvaged

    told = salvaged(broken, new)
    saved = len(told.notes) + len(told.made_again)
    click.echo(f"Saved {saved} of {saved + len(told.lost)} notes in {new}.")
    if told.made_again:
        click.echo(f"Made again from what was said: {', '.join(told.made_again)}.")
    if told.lost:
        click.echo(f"Lost: {', '.join(told.lost)}.")
    if told.words_lost:
        click.echo(f"Of {told.words_lost} utterances the words are lost.")
    return 0


@command.command("export")
@click.argument("folder", type=_A_PATH)
@book_option
def export(folder: Path, book: Path | None) -> int:
    """Write every note into FOLDER: notes.jsonl, a table for each kind, and what they mean."""
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
        count = exported(opened, folder)
    click.echo(f"{count} notes in {folder}.")
    return 0


@command.command("import")
@click.argument("paths", nargs=-1, required=True, type=_A_PATH)
@book_option
@click.option("--dry-run", is_flag=True, help="Say what would come in, and save nothing.")
@click.option("--yes", is_flag=True, help="Go by the guess about columns, and do not ask.")
@now_option
def bring_in(
    paths: tuple[Path, ...], book: Path | None, dry_run: bool, yes: bool, now: datetime | None
) -> int:
    """Bring in notes that were exported, or your own spreadsheet; nothing twice.

    Exported are notes.jsonl, its tables, or the folder. Of a spreadsheet (CSV or .xlsx) the columns
    are guessed, shown and asked about. Rows in doubt, and what speaks against what stands in the
    book, are listed and left out.
    """
    from fieldvoice.cli.spreadsheets import is_own

    own = [path for path in paths if is_own(path)]
    exported = [path for path in paths if path not in own]
    place, clock = _place(book), clock_of(now)
    status = _import_exported(exported, place, clock(), dry_run) if exported else 0
    return (_import_spreadsheets(own, place, clock(), dry_run, yes) if own else 0) or status


def _import_exported(paths: list[Path], place: Path, now: datetime, dry_run: bool) -> int:
    from fieldvoice.book import Book
    from fieldvoice.book.exchange import import_notes

    with Book.in_memory_copy(place) if dry_run else Book.open(place) as opened:
        opened.refuse_if_damaged()
        told = import_notes(opened, paths, now)
    for fault in told.faults:
        complain(fault)
    would = "would come in" if dry_run else "came in"
    click.echo(f"{told.new} notes {would}; {told.there} were there already.")
    if told.changed:
        click.echo(f"{told.changed} that were there {'would be' if dry_run else 'are'} taken back.")
    if told.conflicts:
        click.echo(f"{len(told.conflicts)} left out, because the book says otherwise:")
        for conflict in told.conflicts:
            click.echo(f"  {conflict}")
    return UNREADABLE if told.faults else 0


def _import_spreadsheets(
    paths: list[Path], place: Path, now: datetime, dry_run: bool, yes: bool
) -> int:
    from fieldvoice.book import Book
    from fieldvoice.book.backups import DailyBackups
    from fieldvoice.cli.settings_file import read_settings
    from fieldvoice.cli.spreadsheets import tables_of
    from fieldvoice.dialogue.context import Moment
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
        moment = Moment(
            now, "import", opened, season, settings, Focus(), None, EntityNames(),
            degrees_named=True,
        )  # fmt: skip
        told = brought_in(tables, moment, say_aside, dry_run=dry_run)
    would = "would come in" if dry_run else "came in"
    click.echo(f"{told.new} notes of {told.rows} rows {would}; {told.there} were there already.")
    for count, what in (
        (told.doubtful, "rows are in doubt and were left out; they are listed above."),
        (told.conflicts, "were left out because the book says otherwise; they are listed above."),
        (told.totals, "rows of totals were left out."),
    ):
        if count:
            click.echo(f"{count} {what}")
    return 0
