"""What is known of a trunk over the years, in words, and the table behind the trunks' pictures."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldvoice.dialogue import rule_inputs
from fieldvoice.paper import measures as m
from fieldvoice.paper.tables import Table

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fieldvoice.paper.measures import Measures
    from fieldvoice.paper.trees import TreeRow
    from fieldvoice.paper.trunk import Trunk


def lines(row: TreeRow, trunk: Trunk, told: Measures, year: int) -> Iterator[str]:
    """Yield what is known of a trunk: its growth, its holes, its wood, and where to drill next."""
    yield from filter(None, (growth(row, told), healing(row, year)))
    if trunk.unplaced:
        yield f"{m.count(trunk.unplaced, 'hole')} noted without a side."
    if row.zone is not None:
        taps, dead = m.count(row.taps, "tap"), m.percent(row.zone.dead_share)
        yield f"With {taps} a year about {dead} of the wood in reach stays dead."
    if trunk.advice:
        yield f"Next: {trunk.advice}" if trunk.next_spot else trunk.advice
    for at, text in row.remarks:
        yield f"{m.day(at.date())}: “{text}”"


def growth(row: TreeRow, told: Measures) -> str:
    """Return how much a trunk has grown, as the spoken answer has it, or else its size."""
    if not row.sizes:
        return ""
    last_at, last = row.sizes[-1]
    grown = rule_inputs.growth_of(row.tree)
    if grown is None:
        return f"{told.amount(last, 'in')} across in {last_at.year}."
    return f"{gained(row, told)} {grown.findings[0].text}"


def gained(row: TreeRow, told: Measures) -> str:
    """Return what a trunk has gained since it was first measured; empty where nobody can tell."""
    if rule_inputs.growth_of(row.tree) is None:
        return ""
    (first_at, first), (last_at, last) = row.sizes[0], row.sizes[-1]
    whole, yearly = told.amount(last - first, "in", 1), _yearly(row, told)
    return f"Gained {whole} from {first_at.year} until {last_at.year}: {yearly} a year."


def _yearly(row: TreeRow, told: Measures) -> str:
    grown = rule_inputs.growth_of(row.tree)
    return told.amount(None if grown is None else grown.diameter_in_per_year, "in", 2)


def healing(row: TreeRow, year: int) -> str:
    """Return how many of its holes should be closed by now, as the spoken answer has it."""
    ages = rule_inputs.hole_ages(row.tree, year)
    told = []
    if ages.older:
        told.append(f"{m.count(ages.older, 'hole')} should be closed by now")
    if ages.closing:
        told.append(f"{m.count(ages.closing, 'hole')} may still be closing")
    return f"{' and '.join(told)}." if told else ""


def table(rows: Sequence[TreeRow], told: Measures, year: int) -> Table:
    """Return the trunks over the years, one a row: size, growth, holes, the sap of each year."""
    years = sorted({one for row in rows for one in row.given})
    columns = (
        "Tree", "First measured", "Last measured", "Growth a year", "Holes", "of these closing",
        "Dead in the long run", *(f"Sap {one}" for one in years),
    )  # fmt: skip
    return Table("The trunks", columns, [_row(row, told, year, years) for row in rows])


def _row(row: TreeRow, told: Measures, year: int, years: Sequence[int]) -> tuple[str, ...]:
    ages = rule_inputs.hole_ages(row.tree, year)
    ends = (row.sizes[0], row.sizes[-1]) if row.sizes else ()
    measured = [f"{told.amount(size, 'in')} in {at.year}" for at, size in ends] or ["–", "–"]
    return (
        told.tree(row.tree.id),
        *measured,
        _yearly(row, told),
        str(ages.this_year + ages.closing + ages.older),
        str(ages.closing),
        "–" if row.zone is None else m.percent(row.zone.dead_share),
        *(told.gallons(row.given[one]) if one in row.given else "–" for one in years),
    )


def grown_enough(rows: Sequence[TreeRow]) -> str:
    """Return how many of the trunks measured over the years grow well enough for a tap."""
    grown = [one for row in rows if (one := rule_inputs.growth_of(row.tree)) is not None]
    if not grown:
        return ""
    enough = sum(one.enough for one in grown)
    return (
        f"Of {m.count(len(grown), 'trunk')} measured years apart, {enough} "
        f"{'grows' if enough == 1 else 'grow'} well enough for one tap."
    )
