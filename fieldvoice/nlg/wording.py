"""How things are named in a reply: trees, vessels, amounts and times, in few and common words.

Amounts are written with figures and units ("2.5 gal"); speaking turns them into spoken words.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from datetime import date, datetime

    from fieldvoice.schema import TreeId
    from fieldvoice.segments import Quantity

_LITRES_PER_GAL = 3.785411784
_CM_PER_IN = 2.54
_M2_PER_FT2, _M3_PER_CORD, _KPA_PER_INHG = 0.09290304, 3.6245563, 3.386389

#: Fill as people say it; anything else is a percentage.
_FILLS: tuple[tuple[float, str], ...] = (
    (0.0, "empty"), (0.1, "nearly empty"), (0.25, "a quarter full"), (1 / 3, "a third full"),
    (0.5, "half full"), (2 / 3, "two thirds full"), (0.75, "three quarters full"),
    (0.9, "nearly full"), (1.0, "full"),
)  # fmt: skip


def start(text: str) -> str:
    """Return ``text`` with a capital letter first."""
    return text[:1].upper() + text[1:]


def tree_names(trees: Sequence[TreeId], say: Callable[[int], str] = str) -> str:
    """Return "tree 12", "trees 10 to 15" or "trees 3, 7 and 9"; ``say`` gives one number."""
    numbers = [tree for tree in trees if isinstance(tree, int)]
    named = [tree for tree in trees if isinstance(tree, str)]
    if not numbers:
        return joined(named)
    told = f"tree{'' if len(numbers) == 1 else 's'} {_number_list(numbers, say)}"
    return joined([told, *named])


def _number_list(numbers: Sequence[int], say: Callable[[int], str]) -> str:
    """Return "3, 7 and 9", with runs of three or more as "10 to 15"."""
    parts: list[str] = []
    for run in _runs(numbers):
        if len(run) > 2:
            parts.append(f"{say(run[0])} to {say(run[-1])}")
        else:
            parts.extend(say(number) for number in run)
    return joined(parts)


def spans(trees: Sequence[TreeId]) -> int:
    """Return how many numbers and names have to be said to tell of ``trees``."""
    numbers = [tree for tree in trees if isinstance(tree, int)]
    told = sum(2 if len(run) > 2 else len(run) for run in _runs(numbers))
    return told + len(trees) - len(numbers)


def _runs(numbers: Sequence[int]) -> list[list[int]]:
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return runs


def joined(parts: Iterable[str], word: str = "and") -> str:
    """Return "a", "a and b" or "a, b and c"."""
    known = list(parts)
    if len(known) < 2:
        return "".join(known)
    return f"{', '.join(known[:-1])} {word} {known[-1]}"


def fill_words(fill: float) -> str:
    """Return how full in words, such as "nearly full"."""
    for value, words in _FILLS:
        if abs(fill - value) < 0.01:
            return words
    return f"{fill * 100:.0f} % full"


def part_words(share: float) -> str:
    """Return a part in words, such as "a third"; anything else is a percentage."""
    for value, words in (
        (0.25, "a quarter"),
        (1 / 3, "a third"),
        (0.5, "half"),
        (2 / 3, "two thirds"),
        (0.75, "three quarters"),
        (1.0, "all"),
    ):
        if abs(share - value) < 0.01:
            return words
    return f"{share * 100:.0f} %"


def sap_words(sap: str) -> str:
    """Return the condition of sap as it is said."""
    return "slightly cloudy" if sap == "hazy" else sap


#: Kinds of tree that are told by their name alone.
_NO_MAPLE = ("box elder", "birch", "walnut", "butternut", "sycamore")


def species_name(species: str) -> str:
    """Return "sugar maple" for "sugar"; box elder, and what is no maple, keep their own names."""
    plain = not species or species in _NO_MAPLE or species.endswith("maple")
    return species if plain else f"{species} maple"


def figure(value: float, places: int = 2) -> str:
    """Return a figure with no more decimals than it needs."""
    return f"{value:.{places}f}".rstrip("0").rstrip(".") if places else f"{value:.0f}"


def measured(amount: Quantity, metric: bool = False) -> tuple[str, str, str]:
    """Return an amount as figures, the sign of their unit, and what it is an amount of."""
    if amount.unit in _AMOUNTS:
        return _AMOUNTS[amount.unit](amount.value, amount.places, metric)
    places, sign, what = _PLAIN[amount.unit]
    return figure(amount.value, places if amount.places is None else amount.places), sign, what


def _volume(gallons: float, places: int | None, metric: bool) -> tuple[str, str, str]:
    """Return a volume; small ones as quarts, pints or ounces, or all in litres when ``metric``."""
    if metric:
        litres = gallons * _LITRES_PER_GAL
        return figure(litres, 2 if litres < 1 else 1 if litres < 20 else 0), "L", ""
    if places is not None:
        return figure(gallons, places), "gal", ""
    pints = gallons * 8
    if 0 < pints < 8 and pints != 4 and (pints * 2).is_integer():
        whole_quarts = pints.is_integer() and pints != 1
        return (figure(pints / 2), "qt", "") if whole_quarts else (figure(pints), "pt", "")
    ounces = gallons * 128
    # The book keeps four places of a gallon: of an ounce a hundredth may be lost.
    if 0 < ounces < 32 and abs(ounces - round(ounces)) < 0.01:
        return figure(ounces, 0), "oz", ""
    return figure(gallons, 2 if gallons < 10 else 1), "gal", ""


def _syrup(gallons: float, places: int | None, metric: bool) -> tuple[str, str, str]:
    """Return an amount of syrup in one unit, quarts under a gallon: "1.3 gal", "2.8 qt"."""
    if metric:
        return _volume(gallons, None, metric)
    if gallons >= 1:
        return _volume(round(gallons, 1), None, metric)
    return figure(gallons * 4, 1), "qt", ""


def _temperature(temp_f: float, places: int | None, metric: bool) -> tuple[str, str, str]:
    value, sign = ((temp_f - 32) / 1.8, "°C") if metric else (temp_f, "°F")
    return figure(value, 1 if places is None else places), sign, ""


def _length(inches: float, places: int | None, metric: bool) -> tuple[str, str, str]:
    value, sign = (inches * _CM_PER_IN, "cm") if metric else (inches, "in")
    return figure(value, 1 if places is None else places), sign, ""


def _bit(inches: float, places: int | None, metric: bool) -> tuple[str, str, str]:
    """Return a drill bit's size as it is stamped: "5/16 in"."""
    sixteenths = inches * 16
    if abs(sixteenths - round(sixteenths)) < 0.01:
        return f"{round(sixteenths)}/16", "in", ""
    return figure(inches, 3), "in", ""


def _height(feet: float, places: int | None, metric: bool) -> tuple[str, str, str]:
    if metric:
        return figure(feet * 12 * _CM_PER_IN, 0), "cm", ""
    return figure(feet, 1 if places is None else places), "ft", ""


def _cords(amount: float, places: int | None, metric: bool) -> tuple[str, str, str]:
    if metric:
        return figure(amount * _M3_PER_CORD, 1), "stacked m³", " of wood"
    return figure(amount), "cord" if amount == 1 else "cords", " of wood"


def _area(square_feet: float, places: int | None, metric: bool) -> tuple[str, str, str]:
    if metric:
        return figure(square_feet * _M2_PER_FT2, 2), "m²", ""
    return figure(square_feet, 1 if places is None else places), "square feet", ""


def _pressure(inches: float, places: int | None, metric: bool) -> tuple[str, str, str]:
    if metric:
        return figure(inches * _KPA_PER_INHG, 1), "kPa", ""
    return figure(inches, 2 if places is None else places), "inHg", ""


_AMOUNTS: Mapping[str, Callable[[float, int | None, bool], tuple[str, str, str]]] = {
    "gal": _volume, "syrup gal": _syrup, "in": _length, "bit in": _bit, "ft": _height,
    "°F": _temperature, "cord": _cords, "sq ft": _area, "inHg": _pressure,
}  # fmt: skip
#: Units that are the same for everybody: their decimals, their sign, and what it is an amount of.
_PLAIN: Mapping[str, tuple[int, str, str]] = {
    "% sugar": (1, "%", " sugar"), "Brix": (2, "Brix", ""), "%": (2, "%", ""),
}  # fmt: skip


def calendar_day(day: date, say: Callable[[int], str] = str) -> str:
    """Return a day such as "Friday, March 5"; ``say`` gives its number."""
    return f"{day:%A}, {day:%B} {say(day.day)}"


def going_on(text: str) -> str:
    """Return a sentence as it stands after a colon; "I" and names of days keep their capitals."""
    first = text.split(" ", 1)[0]
    is_own = first.startswith("I'") or first == "I" or first.strip(",.:").endswith("day")
    return text if is_own or first[1:] != first[1:].lower() else f"{text[:1].lower()}{text[1:]}"


def ago(then: datetime, now: datetime) -> str:
    """Return how long ago in the words of somebody without a calendar."""
    seconds = (now - then).total_seconds()
    minutes, hours = round(seconds / 60), round(seconds / 3600)
    if minutes < 2:
        return "just now"
    if minutes < 60:
        return f"{minutes} minutes ago"
    days = (now.date() - then.astimezone(now.tzinfo).date()).days
    if days == 0 or hours < 12:
        return "an hour ago" if hours == 1 else f"{hours} hours ago"
    return "yesterday" if days == 1 else f"{days} days ago"


def age(seconds: float) -> str:
    """Return an age such as "5 hours" or "2 days"."""
    hours = seconds / 3600
    if hours < 1:
        return "under an hour"
    if hours < 36:
        count = round(hours)
        return "1 hour" if count == 1 else f"{count} hours"
    return f"{figure(round(hours / 24 * 2) / 2, 1)} days"


def counted(count: int, one: str, many: str | None = None) -> tuple[str, str]:
    """Return how many, and of what: "1 tap", "3 taps"."""
    return str(count), one if count == 1 else f"{one}s" if many is None else many


def clock(at: datetime) -> str:
    """Return a time of day such as "noon" or "6:30 pm", to the nearest ten minutes."""
    rounded = at + timedelta(minutes=5)
    hour, minute = rounded.hour, rounded.minute // 10 * 10
    if (hour, minute) == (12, 0):
        return "noon"
    half = "am" if hour < 12 else "pm"
    told = f"{hour % 12 or 12}:{minute:02d}"
    return f"{told} {half}"


def time_past(at: datetime, now: datetime) -> str:
    """Return a time that was, such as "at 7:00 am", "yesterday at 4:10 pm" or "March 3 at noon"."""
    local = at.astimezone(now.tzinfo)
    hour = f"at {exact_clock(local)}"
    days = (now.date() - local.date()).days
    if days == 0:
        return hour
    return f"yesterday {hour}" if days == 1 else f"{local:%B} {local.day} {hour}"


def time_said(at: datetime, now: datetime) -> str:
    """Return a time that was said: "at 7:00 am", "yesterday", "Monday at 4:00 pm".

    A past day of which no hour was said is stored as its noon.
    """
    local = at.astimezone(now.tzinfo)
    days = (now.date() - local.date()).days
    hour = f"at {exact_clock(local)}"
    if days == 0:
        return hour
    day = f"{local:%A}" if days < 7 else calendar_day(local.date())
    day = "yesterday" if days == 1 else day
    return day if (local.hour, local.minute) == (12, 0) else f"{day} {hour}"


def exact_clock(at: datetime) -> str:
    """Return a time of day to the minute, such as "noon" or "6:32 pm"."""
    if (at.hour, at.minute) == (12, 0):
        return "noon"
    return f"{at.hour % 12 or 12}:{at.minute:02d} {'am' if at.hour < 12 else 'pm'}"


def time_due(at: datetime, now: datetime) -> str:
    """Return a last hour that is past, such as "at 4:20 pm", "yesterday evening", "on Sunday"."""
    local = at.astimezone(now.tzinfo)
    days = (now.date() - local.date()).days
    if days == 0:
        return f"at {clock(local)}"
    if days == 1:
        part = "morning" if local.hour < 12 else "afternoon" if local.hour < 17 else "evening"
        return f"yesterday {part}"
    return f"on {local:%A}" if days < 7 else f"on {local:%B} {local.day}"


def when(at: datetime, now: datetime) -> str:
    """Return a time to come such as "6:00 pm", "tomorrow 8:00 am" or "Saturday 8:00 am"."""
    local = at.astimezone(now.tzinfo)
    days = (local.date() - now.date()).days
    if days == 0:
        return clock(local)
    if days == 1:
        return f"tomorrow {clock(local)}"
    day = f"{local:%A}" if days < 7 else f"{local:%B} {local.day}"
    return f"{day} {clock(local)}"
