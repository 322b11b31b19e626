"""The page's charts, each drawn for a width: once for wide pages and paper, once for phones."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, TypeVar

from fieldvoice.dialogue.boil_day import water_an_hour
from fieldvoice.dialogue.sums import expected_gal
from fieldvoice.nlg.wording import species_name
from fieldvoice.paper import measures as m
from fieldvoice.paper.drawing import Axis, Picture, axis_to, shortened, width_of, written
from fieldvoice.paper.jars import WAYS
from fieldvoice.paper.story import FREEZING_F
from fieldvoice.schema.acts.pantry import containers

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from fieldvoice.book import Account, BoilState, DayWeather
    from fieldvoice.paper.jars import LotRow
    from fieldvoice.paper.measures import Measures, Scale
    from fieldvoice.paper.story import YearSums
    from fieldvoice.paper.trees import TreeRow

#: Below this a page is a phone's, and the narrow picture is drawn.
WIDE, NARROW = 760.0, 350.0
_LEFT, _RIGHT = 44.0, 10.0
#: Rows in one picture: a printed page has room for them.
_TREES_TOGETHER, _LOTS_TOGETHER = 30, 18
Row = TypeVar("Row")


@dataclass(frozen=True, slots=True)
class DayRow:
    """A day of the season: its night's low and its high (°F), and the sap gathered."""

    day: date
    low_f: float | None
    high_f: float | None
    sap_gal: float


def day_rows(sap: dict[date, float], weather: Sequence[DayWeather]) -> list[DayRow]:
    """Return every day of which anything is noted, in order."""
    known = {one.day: one for one in weather}
    return [
        DayRow(
            day,
            known[day].low_f if day in known else None,
            known[day].high_f if day in known else None,
            sap.get(day, 0.0),
        )
        for day in sorted({*sap, *known})
    ]


def runs(rows: Sequence[DayRow], told: Measures, width: float) -> Picture:
    """Draw the sap of each day, and under it the day's range with the nights below freezing."""
    cold = [row for row in rows if row.low_f is not None or row.high_f is not None]
    top, sap_high = 26.0, 150.0
    height = top + sap_high + (44 + 130 if cold else 0) + 24
    picture = Picture(width, height, _runs_in_words(rows, told))
    across = _Days(rows[0].day, rows[-1].day, _LEFT, width - _RIGHT)
    _months(picture, across, top, height - 24)
    scale = told.volume
    up = axis_to(max(scale.of(row.sap_gal) for row in rows), top + sap_high, top)
    picture.text(f"Sap gathered, {scale.sign} a day", 0, 14, "h")
    _grid(picture, up, _LEFT, width - _RIGHT)
    for row in rows:
        high = up.start - up.at(scale.of(row.sap_gal))
        picture.rect(across.left(row.day), up.start - high, across.bar, high, "sap")
    if cold:
        _temperatures(picture, cold, across, told, top + sap_high + 44)
    return picture


def _runs_in_words(rows: Sequence[DayRow], told: Measures) -> str:
    sap = sum(1 for row in rows if row.sap_gal)
    frosts = sum(1 for row in rows if row.low_f is not None and row.low_f < FREEZING_F)
    most = max(rows, key=lambda row: row.sap_gal)
    peak = f"; most on {m.day(most.day)}, {told.gallons(most.sap_gal)}" if most.sap_gal else ""
    return (
        f"Columns: sap gathered on {m.count(sap, 'day')} from "
        f"{m.days(rows[0].day, rows[-1].day)}{peak}. {m.count(frosts, 'night')} below freezing."
    )


@dataclass(frozen=True, slots=True)
class _Days:
    """Days across a picture."""

    first: date
    last: date
    start: float
    end: float

    @property
    def slot(self) -> float:
        return (self.end - self.start) / ((self.last - self.first).days + 1)

    @property
    def bar(self) -> float:
        return min(26.0, self.slot * 0.78)

    def middle(self, day: date) -> float:
        return self.start + ((day - self.first).days + 0.5) * self.slot

    def left(self, day: date) -> float:
        return self.middle(day) - self.bar / 2


def _months(picture: Picture, across: _Days, top: float, bottom: float) -> None:
    """Letter the days below, weekly or so, with the month where it begins or changes."""
    every = next((step for step in (1, 2, 7, 14, 28, 56) if step * across.slot >= 52), 112)
    day, month = across.first, 0
    while day <= across.last:
        x = across.middle(day)
        name = f"{day:%b} {day.day}" if day.month != month else str(day.day)
        month = day.month
        picture.text(name, x, bottom + 18, "a", "middle")
        picture.line([(x, bottom), (x, bottom + 4)], "axis")
        day += timedelta(days=every)


def _grid(picture: Picture, up: Axis, left: float, right: float, about: int = 4) -> None:
    marks = up.marks(about)
    picture.lines([[(left, up.at(mark)), (right, up.at(mark))] for mark in marks], "grid")
    for mark in marks:
        picture.text(written(mark), left - 6, up.at(mark) + 4, "a", "end")


def _temperatures(
    picture: Picture, cold: Sequence[DayRow], across: _Days, told: Measures, top: float
) -> None:
    scale = told.temperature
    known = [
        scale.of(value) for row in cold for value in (row.low_f, row.high_f) if value is not None
    ]
    freezing = scale.of(FREEZING_F)
    low, high = min([*known, freezing]) - 2, max([*known, freezing]) + 2
    up = Axis(low, high, top + 126, top)
    picture.text(f"Night's low to day's high, {scale.sign}", 0, top - 10, "h")
    picture.rect(_LEFT, up.at(freezing), across.end - _LEFT, up.start - up.at(freezing), "frost")
    _grid(picture, up, _LEFT, across.end, 3)
    picture.line([(_LEFT, up.at(freezing)), (across.end, up.at(freezing))], "freezing")
    ranges = [
        [(across.middle(row.day), up.at(scale.of(row.low_f))),
         (across.middle(row.day), up.at(scale.of(row.high_f)))]
        for row in cold
        if row.low_f is not None and row.high_f is not None
    ]  # fmt: skip
    picture.lines(ranges, "range")
    radius = max(1.6, min(4.0, across.slot * 0.32))
    for row in cold:
        if row.low_f is not None:
            kind = "night cold" if row.low_f < FREEZING_F else "night mild"
            picture.dot(across.middle(row.day), up.at(scale.of(row.low_f)), radius, kind)


def trees(rows: Sequence[TreeRow], told: Measures, width: float) -> list[Picture]:
    """Draw a bar a tree for its sap and a dot for its sugar, its size and health in words."""
    lanes = _Lanes.of(rows, told, width)
    words = _trees_in_words(rows, told)
    return [
        _some_trees(part, told, lanes, words if not begin else f"Going on from tree {begin + 1}.")
        for begin, part in _parts(rows, _TREES_TOGETHER)
    ]


@dataclass(frozen=True, slots=True)
class _Lanes:
    """Where the columns of the picture of trees begin and end, common to all of its parts."""

    width: float
    sap: Axis
    sugar: Axis | None
    words_from: float

    @classmethod
    def of(cls, rows: Sequence[TreeRow], told: Measures, width: float) -> _Lanes:
        narrow = width < WIDE
        sugars = [row.tree.brix for row in rows if row.tree.brix is not None]
        widest = max((width_of(told.tree(row.tree.id)) for row in rows), default=0.0) + 8
        bar_to, sugar_to = (238.0, width - 4) if narrow else (400.0, 520.0)
        names = min(max(widest, 60.0), 96.0 if narrow else 170.0)
        most = max((told.volume.of(row.tree.gathered_gal) for row in rows), default=0.0)
        # Behind the longest bar its figure and "slow" or "best" have their place.
        sap = Axis(0.0, most or 1.0, names, (bar_to if sugars else sugar_to) - 76)
        sweet = Axis(0.0, max([3.0, *sugars]), bar_to + 12, sugar_to - 36) if sugars else None
        return cls(width, sap, sweet, sugar_to + 8)

    @property
    def narrow(self) -> bool:
        """Whether what is known of the trunk stands on a line of its own."""
        return self.width < WIDE


def _some_trees(rows: Sequence[TreeRow], told: Measures, lanes: _Lanes, words: str) -> Picture:
    step, head = (34.0, 40.0) if lanes.narrow else (23.0, 40.0)
    picture = Picture(lanes.width, head + step * len(rows) + 4, words)
    picture.text(f"Sap, {told.volume.sign}", lanes.sap.start, 14, "h")
    if lanes.sugar:
        picture.text("Sugar, %", lanes.sugar.start, 14, "h")
    if not lanes.narrow:
        picture.text("Trunk and health", lanes.words_from, 14, "h")
    for index, row in enumerate(rows):
        y = head + step * index
        if index % 2 == 0:
            picture.rect(0, y - 9, lanes.width, step, "stripe")
        _tree(picture, row, told, y, lanes)
        if lanes.sugar and row.tree.brix is not None:
            x = lanes.sugar.at(row.tree.brix)
            picture.line([(lanes.sugar.start, y + 3), (x, y + 3)], "stem")
            picture.dot(x, y + 3, 4.5, "sugar")
            picture.text(written(round(row.tree.brix, 1)), x + 9, y + 7, "v")
        about = trunk_in_words(row, told)
        if lanes.narrow:
            picture.text(shortened(about, lanes.width), 0, y + 21, "a")
        else:
            room = lanes.width - lanes.words_from
            picture.text(shortened(about, room), lanes.words_from, y + 7, "a")
    return picture


def _parts(rows: Sequence[Row], most: int) -> list[tuple[int, Sequence[Row]]]:
    """Return rows in parts that a printed page has room for, each with where it begins."""
    return [(begin, rows[begin : begin + most]) for begin in range(0, len(rows), most)]


def _tree(picture: Picture, row: TreeRow, told: Measures, y: float, lanes: _Lanes) -> None:
    begin = lanes.sap.start
    picture.text(shortened(told.tree(row.tree.id), begin - 8), 0, y + 7, "n")
    gallons = row.tree.gathered_gal
    if not gallons:
        picture.text("no sap noted", begin, y + 7, "a")
        return
    end = lanes.sap.at(told.volume.of(gallons))
    picture.rect(begin, y - 4, end - begin, 14, f"sap {row.mark}".strip(), 2)
    figures = written(round(told.volume.of(gallons), 1))
    picture.text(f"{figures} {row.mark}".strip(), end + 6, y + 7, "v")


def trunk_in_words(row: TreeRow, told: Measures) -> str:
    """Return "damaged, 18 in, red maple, 2 taps": what matters most is not cut off."""
    tree = row.tree
    known = [
        tree.condition or "",
        told.amount(tree.diameter_in, "in") if tree.diameter_in is not None else "",
        species_name(tree.species or ""),
        m.count(row.taps, "tap") if row.taps else "",
    ]
    return ", ".join(one for one in known if one)


def _trees_in_words(rows: Sequence[TreeRow], told: Measures) -> str:
    given = [row for row in rows if row.tree.gathered_gal]
    if not given:
        return f"{m.count(len(rows), 'tree')}; none has sap noted."
    first, last = given[0], given[-1]
    return (
        f"Bars: sap of {m.count(len(given), 'tree')}, from "
        f"{told.gallons(first.tree.gathered_gal)} ({told.tree(first.tree.id)}) to "
        f"{told.gallons(last.tree.gathered_gal)} ({told.tree(last.tree.id)})."
    )


def flow(account: Account, told: Measures, width: float) -> Picture:
    """Draw where the sap came from and what became of it; both sides are equally high."""
    came, went = flow_sides(account)
    total = sum(amount for _, amount in came)
    high, gap, top = 210.0, 32.0, 18.0
    height = top + high + gap * (max(len(came), len(went)) - 1) + 22
    picture = Picture(width, height, _flow_in_words(came, went, told))
    middle = width / 2 - 7
    lead = high / total
    _half(picture, came, told, lead, (0.0, middle), (top, gap, height), leftwards=True)
    _half(picture, went, told, lead, (width - 14, middle + 14), (top, gap, height), leftwards=False)
    centre = top + (height - top - 22 - high) / 2
    picture.rect(middle, centre, 14, high, "sap")
    whole = told.whole(sum(gallons for _, gallons in came))
    picture.text(f"{whole} in all", width / 2, centre - 6, "halo h", "middle")
    return picture


def flow_sides(account: Account) -> tuple[list[tuple[str, float]], list[tuple[str, float]]]:
    """Return what came and what went, in gallons; both sides sum up to the same.

    Levels that were read above the notes came in unseen; those below went unseen.
    """
    more = account.adjusted_gal
    came = [
        ("gathered", account.gathered_gal),
        ("poured, not gathered", account.poured_gal),
        ("rain", account.rain_gal),
        ("levels read higher", max(0.0, more)),
    ]
    went = [
        ("boiled", account.boiled_gal),
        ("in store", account.held_gal),
        ("dumped", account.dumped_gal),
        ("thrown out as ice", account.iced_gal),
        ("never placed", account.lost_gal),
        ("levels read lower", max(0.0, -more)),
    ]
    return [one for one in came if one[1] > 1e-9], [one for one in went if one[1] > 1e-9]


def _half(
    picture: Picture, parts: Sequence[tuple[str, float]], told: Measures, lead: float,
    sides: tuple[float, float], tall: tuple[float, float, float], *, leftwards: bool,
) -> None:  # fmt: skip
    """Draw one side of the flow: its ends outside, and bands to or from the middle."""
    outer, inner = sides
    top, gap, height = tall
    total = sum(amount for _, amount in parts) * lead
    y = top + (height - top - 22 - total - gap * (len(parts) - 1)) / 2
    at = top + (height - top - 22 - total) / 2
    for name, amount in parts:
        high = amount * lead
        kind = f"flow {_FLOW_KINDS.get(name, 'other')}"
        edge = outer + 14 if leftwards else outer
        picture.band(edge, y, y + high, inner, at, at + high, f"{kind} soft")
        picture.rect(outer, y, 14, max(high, 1.0), kind)
        x, anchor = (outer + 20, "start") if leftwards else (outer - 6, "end")
        lines = [name, told.whole(amount)]
        if picture.width >= WIDE:
            lines = [", ".join(lines)]
        for index, words in enumerate(lines):
            below = (index - (len(lines) - 1) / 2) * 15
            cut = shortened(words, picture.width / 2 - 24)
            picture.text(cut, x, y + high / 2 + 4 + below, "halo", anchor)
        y += high + gap
        at += high


_FLOW_KINDS = {
    "gathered": "sap",
    "boiled": "syrup",
    "in store": "sap",
    "dumped": "bad",
    "never placed": "bad",
}


def _flow_in_words(
    came: Sequence[tuple[str, float]], went: Sequence[tuple[str, float]], told: Measures
) -> str:
    sides = (", ".join(f"{name} {told.whole(gal)}" for name, gal in side) for side in (came, went))
    return "Flow of the sap. Came in: {}. Became: {}.".format(*sides)


def boils(rows: Sequence[BoilState], usual_gal_h: float, told: Measures, width: float) -> Picture:
    """Draw, boil by boil, the syrup beside what its sugar would give, the rate, and the wood."""
    scale = told.volume
    panels: list[_Panel] = []
    drawn = [scale.of(boil.syrup_gal) if boil.syrup_gal else None for boil in rows]
    hoped = [scale.of(expected_gal(boil)) if boil.sap_gal else None for boil in rows]
    rates = [None if (rate := water_an_hour(boil)) is None else scale.of(rate) for boil in rows]
    cords = [boil.cords for boil in rows]
    if any(drawn):
        panels.append(
            _Panel(f"Syrup drawn, {scale.sign}", "syrup",
                   drawn, marks=hoped)
        )  # fmt: skip
    if any(rates):
        usual = scale.of(usual_gal_h)
        panels.append(
            _Panel(f"Water boiled off, {scale.sign} an hour", "sap",
                   rates, line=usual)
        )  # fmt: skip
    if any(cords):
        panels.append(_Panel("Wood burned, cords", "wood", cords))
    names = [f"{boil.started_at:%b} {boil.started_at.day}" for boil in rows]
    words = f"{m.count(len(rows), 'boil')}: syrup, rate and wood of each; the table has them."
    return _columns(panels, names, words, width)


@dataclass(frozen=True, slots=True)
class _Panel:
    """Columns over common places: values, strokes to compare with, and a line across."""

    title: str
    kind: str
    values: Sequence[float | None]
    marks: Sequence[float | None] = ()
    line: float | None = None


def _columns(
    panels: Sequence[_Panel], names: Sequence[str], words: str, width: float, high: float = 92.0
) -> Picture:
    each = high + 44
    picture = Picture(width, each * len(panels) + 20, words)
    slot = (width - _LEFT - _RIGHT) / len(names)
    bar = min(34.0, slot * 0.66)
    for index, panel in enumerate(panels):
        top = index * each + 28
        known = [one for one in (*panel.values, *panel.marks, panel.line) if one is not None]
        up = axis_to(max(known), top + high, top)
        picture.text(shortened(panel.title, width), 0, top - 12, "h")
        _grid(picture, up, _LEFT, width - _RIGHT, 3)
        for place, value in enumerate(panel.values):
            x = _LEFT + (place + 0.5) * slot
            if value is not None:
                picture.rect(x - bar / 2, up.at(value), bar, up.start - up.at(value), panel.kind)
            mark = panel.marks[place] if panel.marks else None
            if mark is not None:
                y = up.at(mark)
                picture.line([(x - bar / 2 - 3, y), (x + bar / 2 + 3, y)], "stroke")
        if panel.line is not None:
            y = up.at(panel.line)
            picture.line([(_LEFT, y), (width - _RIGHT, y)], "usual")
    every = max(1, round(46 / slot + 0.49))
    for place in range(0, len(names), every):
        x = _LEFT + (place + 0.5) * slot
        picture.text(names[place], x, picture.height - 6, "a", "middle")
    return picture


def jars(rows: Sequence[LotRow], year: int, told: Measures, width: float) -> list[Picture]:
    """Draw a bar a lot: how many of its jars are left, and how many went by which way."""
    used = [why for why in WAYS if any(why in row.ways() for row in rows)]
    key = [("left", "left"), *((way(why), WAYS[why]) for why in used)]
    along = Axis(0.0, max(max(row.stood for row in rows), 1), 22, width - 42)
    words = f"Bars: {m.count(len(rows), 'lot')} of jars, by what became of them."
    return [
        _some_lots(part, year, told, along, key, words if not begin else "Going on.")
        for begin, part in _parts(rows, _LOTS_TOGETHER)
    ]


def _some_lots(
    rows: Sequence[LotRow], year: int, told: Measures, along: Axis,
    key: Sequence[tuple[str, str]], words: str,
) -> Picture:  # fmt: skip
    step, head = 40.0, 30.0
    picture = Picture(along.end + 42, head + step * len(rows), words)
    _key(picture, key)
    for index, row in enumerate(rows):
        y = head + index * step
        what = f"{told.told(containers(row.stood, row.lot.size))} {row.lot.colour or ''}".strip()
        name = f"{what}, {m.day_of(row.lot.at.date(), year)}, lot {row.lot.code}"
        picture.rect(0, y + 6, 14, 26, f"colour {tone(row.lot.colour)}", 3)
        picture.text(shortened(name, picture.width - 24), 22, y + 14, "n")
        x = along.start
        for kind, count in [("left", row.left), *((way(why), n) for why, n in row.ways().items())]:
            length = along.at(count) - along.start
            picture.rect(x, y + 19, length, 13, f"jar {kind}")
            if length > 20:
                picture.text(str(count), x + length / 2, y + 30, f"on {kind}", "middle")
            x += length
    return picture


def way(why: str | None) -> str:
    """Return the class by which a way out of the pantry is coloured."""
    return why or "gone"


def tone(colour: str | None) -> str:
    """Return the class by which syrup of a colour is coloured."""
    return (colour or "unknown").replace(" ", "-")


def _key(picture: Picture, kinds: Sequence[tuple[str, str]]) -> None:
    x = 0.0
    for kind, name in kinds:
        picture.rect(x, 4, 13, 13, f"jar {kind}")
        picture.text(name, x + 18, 15, "a")
        x += 18 + width_of(name) + 12


def seasons(sums: Sequence[YearSums], told: Measures) -> list[tuple[str, Picture]]:
    """Draw a small picture for each thing in which seasons can be compared, with its title."""
    scale = told.volume
    compared: list[tuple[str, str, Callable[[YearSums], float | None]]] = [
        (f"Sap, {scale.sign}", "sap", lambda one: _of(scale, one.totals.sap_gal)),
        (f"Syrup, {scale.sign}", "syrup", lambda one: _of(scale, one.totals.syrup_gal)),
        ("Sap to one of syrup", "plain", lambda one: one.totals.sap_to_one),
        ("Sugar of what was boiled, %", "plain", lambda one: one.brix),
        ("Days with sap", "sap", lambda one: len(one.sap_days) or None),
        ("Jars filled", "syrup", lambda one: one.jars or None),
        ("Wood, cords", "wood", lambda one: one.cords),
    ]
    found = []
    for title, kind, value in compared:
        values = [value(one) for one in sums]
        if any(values):
            found.append((title, _small([one.year for one in sums], values, kind, title)))
    return found


def _of(scale: Scale, gallons: float) -> float | None:
    return scale.of(gallons) if gallons else None


def _small(years: Sequence[int], values: Sequence[float | None], kind: str, title: str) -> Picture:
    width, high = 230.0, 84.0
    known = ", ".join(
        f"{year}: {written(round(value, 1))}"
        for year, value in zip(years, values, strict=True)
        if value is not None
    )
    picture = Picture(width, high + 40, f"{title}. {known}.")
    up = axis_to(max(one for one in values if one is not None), high + 20, 20)
    slot = width / len(years)
    bar = min(36.0, slot * 0.7)
    picture.line([(0, up.start), (width, up.start)], "axis")
    for place, (year, value) in enumerate(zip(years, values, strict=True)):
        x = (place + 0.5) * slot
        name = str(year) if slot >= 34 else f"’{year % 100:02d}"
        picture.text(name, x, high + 36, "a", "middle")
        if value is None:
            picture.text("–", x, up.start - 5, "a", "middle")
            continue
        picture.rect(x - bar / 2, up.at(value), bar, up.start - up.at(value), kind)
        if slot >= 34 or value == max(one for one in values if one is not None):
            figures = written(round(value, 1 if value < 100 else 0))
            # Beside the edge it would be cut off.
            anchor = "end" if x + width_of(figures) / 2 > width else "middle"
            right = min(x + slot / 2, width)
            picture.text(figures, right if anchor == "end" else x, up.at(value) - 5, "v", anchor)
    return picture
