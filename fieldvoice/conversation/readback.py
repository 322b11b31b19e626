"""What was saved, in as few words as possible: "Tree 12: nearly full, cloudy."."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from fieldvoice.conversation import wording as w
from fieldvoice.conversation.readback_ledger import TELL as TELL_LEDGER
from fieldvoice.meaning import acts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from fieldvoice.meaning import Act


def subject(act: Act) -> str:
    """Return what a note is about, "tree 12" or "tank 2"; empty when it names nothing."""
    fields = act.json_fields()
    if "tree" in fields:
        return w.tree_name(fields["tree"])
    if "trees" in fields:
        return w.tree_names(fields["trees"])
    return str(fields.get("site") or fields.get("vessel") or "")


def readback(act: Act, metric: bool = False, now: datetime | None = None) -> str:
    """Return one note as one short sentence, with the time that it has as told at ``now``.

    Without ``now`` its time is left out: it stands beside the note, or nobody said it.
    """
    telling = TELL_LEDGER.get(act.act) or _TELL[type(act)]
    head, details = telling(act, metric)
    told = ", ".join(detail for detail in details if detail)
    time = "" if now is None or act.at is None else time_told(act.at, now)
    if not told:
        return f"{w.start(head)}{f' {time}' if time else ''}."
    told = f"{told}, {time}" if time else told
    return f"{w.start(head)}: {told}." if head else f"{w.start(told)}."


def time_told(at: str, now: datetime) -> str:
    """Return when something was, an ISO time: "at 7:00 am", "yesterday", "Monday at 4:00 pm".

    A past day of which no hour was said is stored as its noon.
    """
    then = datetime.fromisoformat(at).astimezone(now.tzinfo)
    clock = f"{then.hour % 12 or 12}:{then:%M} {'am' if then.hour < 12 else 'pm'}"
    days = (now.date() - then.date()).days
    if days == 0:
        return f"at {clock}"
    day = "yesterday" if days == 1 else f"{then:%A}" if days < 7 else w.calendar_day(then.date())
    return day if (then.hour, then.minute) == (12, 0) else f"{day} at {clock}"


def with_its_sound(remark: Act) -> str:
    """Return the read-back of a remark whose words are unsure: its recording tells them."""
    return f"{readback(remark.replace(text=None)).rstrip('.')}, with its sound."


def readbacks(acts: Iterable[Act], metric: bool = False, now: datetime | None = None) -> list[str]:
    """Return notes as sentences, those about the same thing in one: "Tree 14: full, cloudy."."""
    told: list[str] = []
    before: Act | None = None
    for act in acts:
        sentence = readback(act, metric, now)
        head, colon, rest = sentence.partition(": ")
        if told and colon and told[-1].startswith(f"{head}: "):
            if before is not None and before.at == act.at:  # the time is told once, at the end
                told[-1] = _without_time(told[-1], act, now)
            told[-1] = f"{told[-1].rstrip('.')}, {rest}"
        else:
            told.append(sentence)
        before = act
    return told


def _without_time(sentence: str, act: Act, now: datetime | None) -> str:
    if now is None or act.at is None:
        return sentence
    return sentence.removesuffix(f", {time_told(act.at, now)}.")


def _looks(act: acts.Inspect | acts.Gather | acts.Store | acts.Reading) -> list[str]:
    fill = getattr(act, "fill", None)
    return [
        "" if fill is None else w.fill_words(fill),
        "" if act.sap is None else w.sap_words(act.sap),
    ]


def _volume(gallons: float | None, metric: bool) -> str:
    return "" if gallons is None else w.volume(gallons, metric)


def _temperature(temp_f: float | None, metric: bool) -> str:
    return "" if temp_f is None else w.temperature(temp_f, metric)


def _sugar(brix: float | None) -> str:
    return "" if brix is None else f"{w.figure(brix, 1)} % sugar"


def _inspect(act: acts.Inspect, metric: bool) -> tuple[str, list[str]]:
    smell = "" if act.smell is None else f"smells {act.smell}"
    return subject(act), [*_looks(act), smell]


def _gather(act: acts.Gather, metric: bool) -> tuple[str, list[str]]:
    amount = _volume(act.volume_gal, metric)
    fill, sap = _looks(act)
    if not amount:
        amount = f"emptied, was {fill}" if fill else "emptied"
    return subject(act), [amount, sap, f"into {act.vessel}" if act.vessel else ""]


def _store(act: acts.Store, metric: bool) -> tuple[str, list[str]]:
    return subject(act), [f"{_volume(act.volume_gal, metric)} in", *_looks(act)]


def _reading(act: acts.Reading, metric: bool) -> tuple[str, list[str]]:
    return subject(act), [
        _volume(act.volume_gal, metric),
        "" if act.depth_in is None else f"{w.length(act.depth_in, metric)} deep",
        *_looks(act), _temperature(act.temp_f, metric),
    ]  # fmt: skip


def _sweetness(act: acts.Sweetness, metric: bool) -> tuple[str, list[str]]:
    sample = _temperature(act.temp_f, metric)
    return subject(act), [_sugar(act.brix), f"sample at {sample}" if sample else ""]


def _measure(act: acts.Measure, metric: bool) -> tuple[str, list[str]]:
    across = "" if act.diameter_in is None else f"{w.length(act.diameter_in, metric)} across"
    yard = "yard tree" if act.yard else ""
    return subject(act), [across, w.species_name(act.species or ""), yard]


def _health(act: acts.Health, metric: bool) -> tuple[str, list[str]]:
    dead = "" if act.dieback is None else f"{w.figure(act.dieback, 0)} % of the crown dead"
    return subject(act), [act.condition or "", dead, act.remark or ""]


def _tap(act: acts.Tap, metric: bool) -> tuple[str, list[str]]:
    details = [
        "tapped" if act.count is None else w.counted(act.count, "tap"),
        f"{act.side} side" if act.side else "",
        "" if act.height_ft is None else f"{w.height(act.height_ft, metric)} up",
        "" if act.depth_in is None else f"{w.length(act.depth_in, metric)} deep",
        "" if act.bit_in is None else f"{_bit(act.bit_in)} bit",
        f"{act.shavings} shavings" if act.shavings else "",
    ]
    said = [detail for detail in details[1:] if detail]
    return subject(act), [details[0] if act.count is not None or not said else "", *said]


def _bit(bit_in: float) -> str:
    sixteenths = bit_in * 16
    if abs(sixteenths - round(sixteenths)) < 0.01:
        return f"{round(sixteenths)}/16 in"
    return f"{w.figure(bit_in, 3)} in"


def _pull(act: acts.Pull, metric: bool) -> tuple[str, list[str]]:
    what = "spile pulled" if act.count in (None, 1) else f"{act.count} spiles pulled"
    if act.all:
        return "all spiles pulled", [act.reason or ""]
    if act.trees or act.site:
        what = "spiles pulled"
    return subject(act), [what, act.reason or ""]


def _boil(act: acts.Boil, metric: bool) -> tuple[str, list[str]]:
    amount = _volume(act.volume_gal, metric)
    source = f"from {act.vessel}" if act.vessel and amount else act.vessel or ""
    head = {"start": "boil started", "stop": "boil stopped", None: "onto the pan"}[act.phase]
    return head, [" ".join(part for part in (amount, source) if part)]


def _draw(act: acts.Draw, metric: bool) -> tuple[str, list[str]]:
    at = _temperature(act.temp_f, metric)
    amount = _volume(act.syrup_gal, metric)
    return "drawn off", [amount + (f" at {at}" if at else ""), _sugar(act.brix)]


def _pack(act: acts.Pack, metric: bool) -> tuple[str, list[str]]:
    size = act.size or "container"
    many = size if size.endswith("ml") else size + ("s" if act.count != 1 else "")
    count = f"{act.count} of {many}" if size.endswith("ml") else f"{act.count} {many}"
    return "packed", [count, act.colour or "", _temperature(act.temp_f, metric)]


def _dump(act: acts.Dump, metric: bool) -> tuple[str, list[str]]:
    return subject(act), ["dumped"]


def _clean(act: acts.Clean, metric: bool) -> tuple[str, list[str]]:
    return act.vessel or act.item or "", ["washed"]


def _weather(act: acts.Weather, metric: bool) -> tuple[str, list[str]]:
    low = "" if act.low_f is None else f"low {_temperature(act.low_f, metric)}"
    high = "" if act.high_f is None else f"high {_temperature(act.high_f, metric)}"
    return w.calendar_day(date.fromisoformat(act.day)) if act.day else "", [low, high]


def _equipment(act: acts.Equipment, metric: bool) -> tuple[str, list[str]]:
    facts = {
        "rust": act.rust, "lead solder": act.solder, "food grade": act.food_grade,
    }  # fmt: skip
    known = [
        name if value else f"not {name}" if name == "food grade" else f"no {name}"
        for name, value in facts.items()
        if value is not None
    ]
    return act.item or "", [act.material or "", *known]


def _remark(act: acts.Remark, metric: bool) -> tuple[str, list[str]]:
    about = subject(act)
    return f"noted for {about}" if about else "noted", [act.text or ""]


def _round(act: acts.Round, metric: bool) -> tuple[str, list[str]]:
    return ("round done" if act.phase == "stop" else "round started"), []


def _name(act: acts.Name, metric: bool) -> tuple[str, list[str]]:
    name = act.name or ""
    return ("new tree", [name]) if act.new else (subject(act), [f"now {name}"])


_TELL: dict[type[Act], Callable[..., tuple[str, list[str]]]] = {
    acts.Inspect: _inspect, acts.Gather: _gather, acts.Store: _store, acts.Reading: _reading,
    acts.Sweetness: _sweetness, acts.Measure: _measure, acts.Health: _health, acts.Tap: _tap,
    acts.Pull: _pull, acts.Boil: _boil, acts.Draw: _draw, acts.Pack: _pack, acts.Dump: _dump,
    acts.Clean: _clean, acts.Weather: _weather, acts.Equipment: _equipment,
    acts.Remark: _remark, acts.Round: _round, acts.Name: _name,
}  # fmt: skip
