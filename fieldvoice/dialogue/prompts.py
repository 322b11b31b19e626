"""A question asked back: what it is about, how it is kept, and what counts as its answer.

The open question is written into the journal with the utterance, so that a new process goes on
where the last one stopped. A question left hanging lapses; its note then waits for review.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any, Literal, Self

from fieldvoice.dialogue.fields import carries, changed, number_into
from fieldvoice.nlg.written import written
from fieldvoice.schema import Act, Ask, Command, EntityMention, Meaning, meaning_from
from fieldvoice.segments import Sentence, Text

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldvoice.book import Source, Utterance
    from fieldvoice.nlg.written import Style

#: How long a question waits (a design choice: after two minutes "twelve" may mean anything).
QUESTION_WAITS = timedelta(minutes=2)

Kind = Literal["slot", "choice", "yes_no", "season"]
#: The order in which a number is put to the choice as degrees of either sort.
DEGREES = ("celsius", "fahrenheit")
Meanings = tuple[Meaning, ...]


@dataclass(frozen=True, slots=True)
class Prompt:
    """One open question, asked in the words of ``asks``; from the journal, as it was told then.

    ``options`` are the readings it is about: two for a choice, else one. ``slot`` is what is asked
    for, in the meaning at ``index``. ``settles`` tells that a yes accepts an unlikely value.
    ``repeated`` tells that it was said again already: it is not said a third time.
    ``is_about_degrees`` tells that the options are a number as Celsius and as Fahrenheit. The kind
    ``season`` is about no note: whether a new season begins with everything out and empty.
    ``asked_by`` and ``asked_at`` are the utterance that asked, once it is in the journal.
    """

    kind: Kind
    asks: tuple[Sentence, ...]
    options: tuple[Meanings, ...]
    slot: str | None = None
    index: int = 0
    settles: bool = False
    repeated: bool = False
    asked_by: str | None = None
    asked_at: datetime | None = None
    is_about_degrees: bool = False

    @property
    def expects(self) -> str | None:
        """What understanding should listen for: a slot, or ``yes_no``."""
        if self.kind == "choice":
            differing = differing_fields(*self.options)
            return next(iter(differing), None)
        return "yes_no" if self.kind in ("yes_no", "season") else self.slot

    @property
    def is_about_words(self) -> bool:
        """Whether the words as a whole are in doubt, and not a value or a slot in them."""
        return self.kind != "slot" and not self.settles and self.slot is None

    def as_json(self, now: datetime, style: Style) -> dict[str, Any]:
        """Return what the journal keeps; ``style`` is how the question was told."""
        return {
            "kind": self.kind,
            "text": written(self.asks, style),
            "options": [[one.json_fields() for one in option] for option in self.options],
            "slot": self.slot,
            "index": self.index,
            "settles": self.settles,
            "repeated": self.repeated,
            "is_about_degrees": self.is_about_degrees,
            "asked_by": self.asked_by,
            "asked_at": (self.asked_at or now).isoformat(),
        }

    @classmethod
    def from_json(cls, fields: Mapping[str, Any], asked_by: str) -> Self:
        """Return the question as the journal kept it; ``asked_by`` where it does not say."""
        return cls(
            kind=fields["kind"],
            asks=(Sentence("prompt", (Text(fields["text"]),)),),
            options=tuple(tuple(map(meaning_from, option)) for option in fields["options"]),
            slot=fields["slot"],
            index=fields["index"],
            settles=fields["settles"],
            repeated=fields.get("repeated", False),
            is_about_degrees=fields.get("is_about_degrees", False),
            asked_by=fields["asked_by"] or asked_by,
            asked_at=datetime.fromisoformat(fields["asked_at"]),
        )


def open_question(last: Utterance | None, now: datetime, source: Source) -> Prompt | None:
    """Return the question that is still waiting, if any.

    Nobody answers in a memo: whoever spoke it had not heard the question.
    """
    if last is None or last.pending is None or source == "memo":
        return None
    question = Prompt.from_json(last.pending, asked_by=last.id)
    assert question.asked_at is not None
    return None if now - question.asked_at > QUESTION_WAITS else question


@dataclass(frozen=True, slots=True)
class Settled:
    """The question is answered: these are the meanings. ``sure`` lets an unlikely value pass."""

    meanings: Meanings
    sure: bool = False


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """The speaker said no: nothing is to be saved."""


@dataclass(frozen=True, slots=True)
class Unchosen:
    """The speaker said yes to one thing or another: it is asked again which."""


Answered = Settled | Withdrawn | Unchosen


def answer(
    question: Prompt, meanings: Sequence[Meaning], *, metric: bool = False
) -> Answered | None:
    """Return what ``meanings`` are as an answer to ``question``; None when they are none.

    A bare number is one of the units of a ``metric`` book.
    """
    if len(meanings) != 1:
        return None
    said = meanings[0]
    if isinstance(said, Command):
        return _commanded(question, said, metric=metric)
    if isinstance(said, EntityMention):
        return _named(question, said.mention, metric=metric)
    if isinstance(said, Act):
        return _noted(question, said)
    return _asked(question, said)


def _asked(question: Prompt, said: Ask) -> Answered | None:
    """Return the question itself where it was in doubt which one was meant."""
    in_doubt = question.kind == "choice" and any(
        isinstance(one, Ask) for option in question.options for one in option
    )
    return Settled((said,)) if in_doubt else None


def _commanded(question: Prompt, said: Command, *, metric: bool) -> Answered | None:
    if said.do == "confirm" and question.kind == "yes_no":
        return Settled(question.options[0], sure=True)
    if said.do == "confirm" and question.kind == "choice":
        return Unchosen()
    if said.do in ("undo", "deny"):
        return Withdrawn()
    if said.do == "correct" and said.fields:
        return _put_right(question, said.fields, metric=metric)
    return None


def _put_right(question: Prompt, right: Mapping[str, Any], *, metric: bool) -> Answered | None:
    """Return the answer in "no, fourteen": another value in what was asked about.

    The speaker has heard the rest and puts one thing right, so that even words that were in doubt
    are settled by it. A bare number goes where there is just one place for it.
    """
    meant = question.options[0]
    if question.kind != "yes_no" or question.slot is not None or len(meant) != 1:
        return _named(question, right, metric=metric)
    fields = meant[0].json_fields()
    places = [
        new
        for name, value in fields.items()
        if "number" in right and isinstance(value, int | float) and name != "fill"
        if (filled := number_into(name, right["number"], meant[0], metric=metric))
        if (new := changed(meant[0], filled)) is not None
    ]
    if "number" not in right:
        new = changed(meant[0], right)
        places = [] if new is None else [new]
    return Settled((places[0],)) if len(places) == 1 else None


def _named(question: Prompt, named: Mapping[str, Any], *, metric: bool) -> Answered | None:
    if question.kind == "choice":
        if question.is_about_degrees and "number" in named:
            return Unchosen()  # the number was heard; what it counts is the question
        chosen = _picked(question, named) or _chosen(question, named)
        if chosen is not None:
            return Settled(chosen, sure=question.settles)
        if any(isinstance(one, Command) for option in question.options for one in option):
            return None  # which of two values is right; another one would be neither
    if question.kind == "yes_no" and not question.settles:
        return None  # the words as a whole are in doubt, not one value in them
    about = question.options[0]
    fields = _fields_for(question, named, metric=metric)
    if not fields:
        return None
    for index in (question.index, *range(len(about))):
        new = changed(about[index], fields)
        if new is not None:
            return Settled((*about[:index], new, *about[index + 1 :]))
    return None


def _fields_for(question: Prompt, named: Mapping[str, Any], *, metric: bool) -> Mapping[str, Any]:
    """Return what was named as fields of the slot asked for; none for a number without one."""
    slot = question.slot
    if slot == "into" and named.keys() == {"vessel"}:
        return {"into": named["vessel"]}
    if "number" not in named:
        return named
    if slot is None:
        return {}
    meant = question.options[0][question.index]
    return number_into(slot, named["number"], meant, metric=metric)


def _picked(question: Prompt, named: Mapping[str, Any]) -> Meanings | None:
    """Return the option picked by its place: "the second one"."""
    place = named.get("option", 0)
    if "unit" in named and question.is_about_degrees:
        place = DEGREES.index(named["unit"]) + 1
    return question.options[place - 1] if 0 < place <= len(question.options) else None


def _chosen(question: Prompt, named: Mapping[str, Any]) -> Meanings | None:
    """Return the one option that holds a value named, if just one does."""
    differing = differing_fields(*question.options)
    fitting = [
        option
        for option in question.options
        if all(_holds(option, key, value, differing) for key, value in named.items())
    ]
    return fitting[0] if len(fitting) == 1 else None


def _holds(option: Meanings, key: str, value: object, differing: set[str]) -> bool:
    keys = differing if key == "number" else {key}
    if keys == {"at"} and key == "number":
        return any(_hour_of(one.json_fields().get("at")) == value for one in option)
    return any(one.json_fields().get(name) == value for one in option for name in keys)


def _hour_of(at: str | None) -> int | None:
    """Return the hour of the twelve that a time begins: seven, of 7:00 and of 19:00."""
    return None if at is None else (datetime.fromisoformat(at).hour % 12 or 12)


def _noted(question: Prompt, said: Act) -> Answered | None:
    """Return the answer in a note that says again, and more fully, what was asked about."""
    fitting = [option for option in question.options if any(carries(said, one) for one in option)]
    if question.kind == "slot" and fitting and len(fitting[0]) == 1:
        return Settled((said,))
    if question.kind == "choice":
        values = {k: v for k, v in said.json_fields().items() if k not in ("act", "at")}
        chosen = _chosen(question, values)
        return None if chosen is None else Settled(chosen)
    return None


def differing_fields(*options: Meanings) -> set[str]:
    """Return the fields in which readings of as many meanings differ; empty if they differ more."""
    if len({len(option) for option in options}) != 1:
        return set()
    differing: set[str] = set()
    for alike in zip(*options, strict=True):
        fields = [meaning.json_fields() for meaning in alike]
        keys = {key for one in fields for key in one}
        differing |= {key for key in keys if len({repr(one.get(key)) for one in fields}) > 1}
    return differing
