"""What phones sent, on the disk before anything is made of it, until the book has it."""

from __future__ import annotations

import json
import shutil
from contextlib import suppress
from typing import TYPE_CHECKING

from fieldvoice.phone.note import BadNoteError, Note
from fieldvoice.whole_files import own_folder, write_whole

if TYPE_CHECKING:
    from pathlib import Path

#: Room that is left on the disk, in bytes: the book must be able to go on.
_ROOM_LEFT = 200_000_000
#: How kinds of sound are known by their first bytes, and what their files end in. A phone's word
#: for it is not gone by.
_KINDS = (
    (b"\x1aE\xdf\xa3", 0, ".webm"), (b"ftyp", 4, ".m4a"), (b"OggS", 0, ".ogg"),
    (b"RIFF", 0, ".wav"), (b"\xff\xf1", 0, ".aac"), (b"\xff\xf9", 0, ".aac"), (b"caff", 0, ".caf"),
)  # fmt: skip


class Inbox:
    """The notes that wait in ``folder``; their sounds lie in ``sounds`` and stay there."""

    def __init__(self, folder: Path, sounds: Path) -> None:
        self._folder, self._sounds = folder, sounds

    def keep_sound(self, name: str, sound: bytes) -> Path:
        """Write the sound of a note to the disk, and return its file.

        Raises:
            OSError: it cannot be written, or the disk is nearly full.
        """
        own_folder(self._sounds)
        if shutil.disk_usage(self._sounds).free < _ROOM_LEFT:
            raise OSError("the disk is nearly full")
        place = self._sounds / f"{name}{_ending(sound)}"
        write_whole(place, sound)
        return place

    def keep(self, note: Note) -> None:
        """Write a note to the disk; its sound must be there.

        Raises:
            OSError: it cannot be written.
        """
        kept = json.dumps(note.as_json(), ensure_ascii=False)
        write_whole(self._place(note.name), kept.encode("utf-8"))

    def done(self, note: Note) -> None:
        """Forget a note that the book has."""
        self._place(note.name).unlink(missing_ok=True)

    def waiting(self) -> list[Note]:
        """Return the notes that the program ended before, in the order in which they came."""
        found = []
        for place in self._folder.glob("*.json") if self._folder.is_dir() else ():
            with suppress(OSError, ValueError, BadNoteError):
                fields = json.loads(place.read_text(encoding="utf-8"))
                found.append(Note.from_json(fields, self._sounds))
        return sorted(found, key=lambda note: (note.arrived, note.name))

    def _place(self, name: str) -> Path:
        return self._folder / f"{name}.json"


def _ending(sound: bytes) -> str:
    for mark, at, ending in _KINDS:
        if sound[at : at + len(mark)] == mark:
            return ending
    return ".sound"
