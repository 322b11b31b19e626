"""The variables of the environment that the program goes by, beside those of its settings."""

from __future__ import annotations

import os

_PREFIX = "FIELDVOICE_"

#: The season book to use.
BOOK = f"{_PREFIX}BOOK"
#: The folder of what is made from the grammar.
CACHE = f"{_PREFIX}CACHE"
#: Whether nothing may be drawn anew.
PLAIN = f"{_PREFIX}PLAIN"
#: The folder of the second listener's model; ``none`` for no second listener.
SECOND_MODEL = f"{_PREFIX}SECOND_MODEL"
#: The folder of a Vosk model; with it, that engine hears instead of the bundled one.
VOSK_MODEL = f"{_PREFIX}VOSK_MODEL"
#: Whether a fault inside the program is shown as Python shows it.
DEBUG = f"{_PREFIX}DEBUG"

#: What each is for, as the manual page tells it.
MEANINGS = {
    BOOK: "the season book to use, where --book does not name one",
    CACHE: "the folder of what is made from the grammar, to be made anew at need",
    DEBUG: "where it is set, a fault inside the program is shown with the place in its code",
    PLAIN: "where it is set, nothing is drawn anew: for a screen reader",
    SECOND_MODEL: "the folder of a larger second listener's model; none for no second listener",
    VOSK_MODEL: "the folder of a Vosk model, which then hears",
}


def tell_of_unknown() -> None:
    """Say in a line each which of the program's variables are none, with the nearest that is."""
    unknown = {one for one in os.environ if one.startswith(_PREFIX)} - MEANINGS.keys()
    if not unknown:
        return
    import difflib

    from fieldvoice.cli.faults import complain
    from fieldvoice.dialogue.settings import CHOICES
    from fieldvoice.live.settings import LIVE_CHOICES

    known = [*MEANINGS, *(one.variable for one in (*CHOICES, *LIVE_CHOICES))]
    endings = [one.removeprefix(_PREFIX) for one in known]
    for name in sorted(unknown.difference(known)):
        near = difflib.get_close_matches(name.removeprefix(_PREFIX), endings, n=1)
        hint = f"Did you mean {_PREFIX}{near[0]}?" if near else "See: fieldvoice settings"
        complain(f"{name} in the environment is no setting. {hint}")
