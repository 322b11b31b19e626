"""``fieldvoice transcribe``: hearing alone, for trying out a voice or a microphone."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fieldvoice.cli.faults import UNREADABLE, complain, say_aside
from fieldvoice.cli.options import OfFiles, engine_option, examples, json_option
from fieldvoice.errors import UnreadableAudioError

if TYPE_CHECKING:
    from fieldvoice.cli.recognisers import Engine
    from fieldvoice.transcript import Transcript


@click.command(
    "transcribe",
    cls=OfFiles,
    epilog=examples(
        "fieldvoice transcribe monday.m4a",
        "fieldvoice transcribe monday.m4a --json",
    ),
)
@click.argument("paths", nargs=-1, required=True, type=click.Path(readable=False), metavar="FILE…")
@engine_option
@click.option(
    "--grammar",
    "folder",
    type=click.Path(path_type=Path, exists=True, file_okay=False),
    metavar="FOLDER",
    help="Hear with the grammar in FOLDER (fieldvoice.jsgf, pronunciations.dict), not the own one.",
)
@json_option
def command(paths: tuple[str, ...], engine: Engine, folder: Path | None, as_json: bool) -> int:
    """Show what is heard in recordings; nothing is saved."""
    from fieldvoice.asr import read_audio
    from fieldvoice.cli.app import cache_folder, the_grammar
    from fieldvoice.cli.hearing import heard_in, nobody_in
    from fieldvoice.cli.memos import recordings
    from fieldvoice.cli.recognisers import ears, tell_of_second
    from fieldvoice.cli.show import show_json, show_line
    from fieldvoice.grammar import load_grammar
    from fieldvoice.grammar.expect import is_unfinished
    from fieldvoice.grammar.grammar import TOP

    grammar = load_grammar(folder, cache=cache_folder()) if folder else the_grammar()

    def begins_sentence(text: str) -> bool:
        return is_unfinished(grammar.networks, TOP, text.split())

    status = 0
    recogniser = None
    for path in recordings(paths):
        try:
            recording = read_audio(path)
        except UnreadableAudioError as error:
            complain(str(error))
            status = UNREADABLE
            continue
        if recogniser is None:
            tell_of_second(engine)
            recogniser = ears(grammar, engine)
        heard_any = False
        for heard in heard_in(recording, recogniser, begins_sentence):
            heard_any = True
            if as_json:
                show_json(as_fields(heard))
            else:
                show_line("heard", _line(heard))
        if not heard_any:
            say_aside(nobody_in(recording))
    return status


def as_fields(heard: Transcript) -> dict[str, Any]:
    """Return one utterance as the machine interface's JSON fields."""
    fields: dict[str, Any] = {
        "file": heard.audio.file if heard.audio is not None else None,
        "text": heard.text,
        "confidence": round(heard.confidence, 3),
        "fit": heard.fit,
        "recogniser": heard.recogniser,
        "words": [
            {
                "word": word.text,
                "start_s": round(word.start_s, 2),
                "end_s": round(word.end_s, 2),
                "confidence": round(word.confidence, 3),
            }
            for word in heard.words
        ],
        "alternatives": [
            {"text": one.text, "score": round(one.score, 2)} for one in heard.alternatives
        ],
    }
    if heard.audio is not None:
        fields["audio"] = {
            "file": heard.audio.file,
            "start_s": round(heard.audio.start_s, 2),
            "end_s": round(heard.audio.end_s, 2),
        }
    return fields


def _line(heard: Transcript) -> str:
    if heard.audio is None:
        return heard.text
    place = f"{heard.audio.start_s:.1f}-{heard.audio.end_s:.1f} s"
    return f"{heard.audio.file} {place}: {heard.text or '(no words)'}"
