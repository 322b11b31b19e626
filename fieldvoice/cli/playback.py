"""Finding and playing the sound of what was said, where it still is."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from fieldvoice.errors import UnreadableAudioError

if TYPE_CHECKING:
    from fieldvoice.asr import Recording
    from fieldvoice.book import Book
    from fieldvoice.transcript import AudioSpan
    from fieldvoice.tts import Sound

#: Heard before and after the words, so that nothing is cut off, in seconds.
_MARGIN_S = 0.3


class Sounds:
    """The recordings that utterances came from, by where the book and the user say they lie."""

    def __init__(self, book: Book, beside: Path, folders: tuple[Path, ...] = ()) -> None:
        """Look where the book says, in the folder ``beside`` the book, and all through others."""
        self._book = book
        self._beside = beside
        self._folders = folders
        # The last one read: what was kept mostly comes from the same recording.
        self._read: Recording | None = None
        self._place = beside

    def find(self, span: AudioSpan) -> Path | None:
        """Return the file that still holds the sound; one with other content does not count."""
        from fieldvoice.asr import read_audio

        if self._read is not None and self._read.sha256 == span.sha256:
            return self._place
        for place in self._places(span):
            try:
                recording = read_audio(place)
            except UnreadableAudioError:
                continue
            if recording.sha256 == span.sha256:
                self._read, self._place = recording, place
                return place
        return None

    def words(self, span: AudioSpan) -> Sound | None:
        """Return the sound of ``span`` with a little before and after; None where it is gone."""
        from fieldvoice.asr.audio import SAMPLE_RATE
        from fieldvoice.tts import Sound

        if self.find(span) is None or self._read is None:
            return None
        start = round(max(0.0, span.start_s - _MARGIN_S) * SAMPLE_RATE)
        end = round((span.end_s + _MARGIN_S) * SAMPLE_RATE)
        return Sound(self._read.samples[start:end], SAMPLE_RATE)

    def play(self, span: AudioSpan) -> str:
        """Play the words of ``span`` to their end, and return what to tell about it."""
        from fieldvoice.soundcard import SoundDeviceError

        told = f"{span.start_s:.1f} to {span.end_s:.1f} s"
        words, place = self.words(span), self._place
        if words is None:
            return f"{span.file}, {told} (not found; --from FOLDER says where it is)"
        try:
            _out_loud(words)
        except SoundDeviceError:
            return f"{place}, {told}"
        return f"{place.name}, {told}, played"

    def _places(self, span: AudioSpan) -> list[Path]:
        known = self._book.memo_place(span.sha256)
        places = [Path(known)] if known else []
        places += [*self._beside.glob(span.file), *self._beside.glob(f"*/{span.file}")]
        places += self._beside.glob(f"*/*/{span.file}")
        for folder in self._folders:
            places += sorted(folder.rglob(span.file))
        return [place for place in places if place.is_file()]


def _out_loud(words: Sound) -> None:
    """Play ``words`` on the usual loudspeaker.

    Raises:
        SoundDeviceError: there is none, or no library to use it with.
    """
    from fieldvoice.cli.aloud import mouth
    from fieldvoice.live import LiveSettings

    with mouth(LiveSettings(), speaks=False) as loudspeaker:
        loudspeaker.play(words)
