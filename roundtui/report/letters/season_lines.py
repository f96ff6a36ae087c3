"""Biofix, degree-days and what is to be expected, in a letter. Dates are told only where the biofix is confirmed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from string import ascii_uppercase

from roundtui.domain.outlook import EventOutlook
from roundtui.domain.season_view import BiofixRow, OutlookRow
from roundtui.report import numbers
from roundtui.report.letters.letter import Figure, Line, Place, line
from roundtui.report.letters.material import Key, Material
from roundtui.report.letters.pictures import Picture, Progress, Step
from roundtui.report.letters.words import day_figure, event_name, short_day, short_figure, species_name
from roundtui.report.words import Names

MOST_EVENTS = 3
"""Events to come that are told of each species, the nearest first."""
RECENT_DAYS = 10
"""Days for which an event that came is still told. [d]"""


def biofixes(material: Material, names: Names, farm: str) -> Iterable[Line]:
    """Biofix of each species and generation, or that it is still open; blocks that share a day are told together."""
    said: dict[tuple[str, int, date | None], list[BiofixRow]] = {}
    for key in _keys(material, farm):
        for row in material.biofixes.get(key, ()):
            proposed = row.biofix.proposal is not None and row.biofix.proposal.on is not None
            if row.biofix.confirmed is not None or row.biofix.generation == 1 or proposed:
                said.setdefault((row.species, row.biofix.generation, row.biofix.confirmed), []).append(row)
    still_open = []
    for (species, generation, confirmed), rows in said.items():
        where = numbers.listed(names.block(row.block) for row in rows)
        what = f"{species_name(species)}, generation {generation}, {where}"
        if confirmed is None:
            still_open.append(what)
        else:
            place: Place = ("biofix", rows[0].block, species, str(generation), "confirmed")
            yield line(f"{what}: biofix on ", day_figure(confirmed, place), ".")
    if still_open:
        yield line(f"Not confirmed yet, so no dates are given from it: {'; '.join(still_open)}.")


def events(material: Material, names: Names, farm: str) -> Iterable[Line]:
    """What came in the last days, and the next events of each species; blocks that share the dates together."""
    groups: dict[tuple[object, ...], list[OutlookRow]] = {}
    for key in _keys(material, farm):
        for row in _worth_telling(material, material.outlooks.get(key, ())):
            event = row.event
            shared = (row.species, event.generation, event.event.name, event.reached_on, event.expected_on)
            groups.setdefault((*shared, event.earliest, event.latest, event.by_normal), []).append(row)
    rows = sorted(groups.values(), key=lambda group: _date(group[0].event))
    for group in rows:
        yield _event(group, names)


def progress(material: Material, farm: str) -> tuple[Picture, ...]:
    """A bar of degree-days for each species with a confirmed start; one for blocks that share it."""
    bars: dict[tuple[str, float], Picture] = {}
    for key in _keys(material, farm):
        rows = [row for row in material.outlooks.get(key, ()) if row.confirmed and row.event.accumulated is not None]
        newest = [row for row in rows if row.outlook.start == rows[-1].outlook.start] if rows else []
        now = newest[0].event.accumulated or 0.0 if newest else 0.0
        if any(row.event.event.degree_days > now for row in newest):
            bars.setdefault((key[1], round(now, 1)), _bar(key[1], now, newest))
    return tuple(bars.values())


def _keys(material: Material, farm: str) -> list[Key]:
    return [(row.block, row.species) for row in material.rows.get(farm, ())]


def _worth_telling(material: Material, rows: Sequence[OutlookRow]) -> list[OutlookRow]:
    sure = [row for row in rows if row.confirmed and not row.outlook.provisional]
    came = [
        row
        for row in sure
        if row.event.reached_on is not None and (material.on - row.event.reached_on).days <= RECENT_DAYS
    ]
    ahead = sorted((row for row in sure if row.event.expected_on is not None), key=lambda row: _date(row.event))
    return [*came, *ahead[:MOST_EVENTS]]


def _date(event: EventOutlook) -> date:
    return event.reached_on or event.expected_on or date.max


def _event(group: Sequence[OutlookRow], names: Names) -> Line:
    row = group[0]
    event = row.event
    place: Place = ("outlook", row.block, row.species, str(event.generation), event.event.name)
    where = numbers.listed(names.block(one.block) for one in group)
    head = f"{species_name(row.species)}, {event_name(event.event.name)}"
    if event.generation > 1:
        head += f", generation {event.generation}"
    if event.reached_on is not None:
        return line(f"{head}: reached on ", day_figure(event.reached_on, (*place, "reached_on")), f" [{where}].")
    parts: list[str | Figure] = [f"{head}: to be expected about "]
    parts.append(day_figure(event.expected_on or date.max, (*place, "expected_on")))
    if event.earliest is not None:
        parts += [", from ", short_figure(event.earliest, (*place, "earliest"))]
        if event.latest is not None:
            parts += [" to ", short_figure(event.latest, (*place, "latest"))]
    if event.by_normal:
        parts.append(", by normal temperatures, so without a range")
    elif event.years:
        years = Figure(numbers.several(event.years, "year"), event.years, (*place, "years"))
        parts += [", by ", years, " of this station"]
    return line(*parts, f" [{where}].")


def _bar(species: str, now: float, rows: Sequence[OutlookRow]) -> Picture:
    unit = f"{rows[0].outlook.model.development.unit.sign}-days"
    ordered = sorted(rows, key=lambda row: row.event.event.degree_days)[: len(ascii_uppercase)]
    steps = tuple(
        Step(sign, row.event.event.degree_days, f"{event_name(row.event.event.name)} {_when(row.event)}")
        for sign, row in zip(ascii_uppercase, ordered, strict=False)
    )
    title = f"{species_name(species)}: degree-days so far"
    came = [step.words for step, row in zip(steps, ordered, strict=True) if row.event.reached_on]
    ahead = [step.words for step, row in zip(steps, ordered, strict=True) if not row.event.reached_on]
    alt = f"{title}: {now:.0f} {unit}."
    alt += f" Reached: {'; '.join(came)}." if came else ""
    alt += f" To come: {'; '.join(ahead)}." if ahead else ""
    return Picture(title, alt, Progress(now, unit, steps))


def _when(event: EventOutlook) -> str:
    if event.reached_on is not None:
        return short_day(event.reached_on)
    return f"about {short_day(event.expected_on)}" if event.expected_on is not None else "not dated"
