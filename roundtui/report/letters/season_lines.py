"""Biofix, degree-days and what is to be expected, in a letter. Dates are told only where the biofix is confirmed.

Year against year in a letter: each block's season so far beside the seasons before it, up to the same day.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from fractions import Fraction

from roundtui.domain.figures.verdicts import BlockRow
from roundtui.domain.programme.farm import grouped
from roundtui.domain.season.outlook import EventOutlook
from roundtui.domain.season.season import BiofixRow, OutlookRow
from roundtui.domain.season.years import Against, YearOf, Years
from roundtui.domain.text import listed, sanitize, several, spoken_days
from roundtui.report.letters import material as figured
from roundtui.report.letters.letter import Figure, LetterSeason, LetterYears, Line, Picture, Place, Progress, line
from roundtui.report.text import Names

MOST_EVENTS = 3
"""Events to come that are told of each species, the nearest first."""
RECENT_DAYS = 10
"""Days for which an event that came is still told. [d]"""


def biofixes(material: figured.Material, names: Names, farm: str) -> Iterable[Line]:
    """Biofix of each species and generation, or that it is still open; blocks that share a day are told together."""
    said: dict[tuple[str, int, date | None], list[BiofixRow]] = {}
    for key in _keys(material, farm):
        for row in material.biofixes.get(key, ()):
            proposed = row.biofix.proposal is not None and row.biofix.proposal.on is not None
            if row.biofix.confirmed is not None or row.biofix.generation == 1 or proposed:
                said.setdefault((row.species, row.biofix.generation, row.biofix.confirmed), []).append(row)
    still_open = []
    for (species, generation, confirmed), rows in said.items():
        where = listed(names.block(row.block) for row in rows)
        what = f"{figured.species_name(species)}, {figured.flight(generation)}, {where}"
        if confirmed is None:
            still_open.append(what)
        else:
            place: Place = ("biofix", rows[0].block, species, str(generation), "confirmed")
            yield line(f"{what}: began on ", figured.day_figure(confirmed, place), ".")
    if still_open:
        yield line(f"Dates follow once we confirm the start of the flight: {'; '.join(still_open)}.")


def events(material: figured.Material, names: Names, farm: str) -> Iterable[Line]:
    """What came in the last days, and the next events of each species; blocks that share the dates together."""
    groups: dict[tuple[object, ...], list[OutlookRow]] = {}
    for key in _keys(material, farm):
        sure = _sure(material, key)
        told = news((row.event for row in sure), material.on)
        for row in sure:
            if (event := row.event) not in told:
                continue
            shared = (row.species, event.generation, event.event.name, event.reached_on, event.expected_on)
            likely = (event.earliest, event.latest, event.by_normal, event.by_forecast)
            groups.setdefault((*shared, *likely), []).append(row)
    rows = sorted(groups.values(), key=lambda group: _date(group[0].event))
    known = temperatures_to(material, farm)
    if known is not None and any(group[0].event.expected_on is not None for group in rows):
        yield line(
            f"The dates to come are worked out from temperatures up to {figured.short_day(known)} "
            "and the years before. They are a forecast."
        )
    for group in rows:
        row, where = group[0], listed(names.block(one.block) for one in group)
        place: Place = ("outlook", row.block, row.species, str(row.event.generation), row.event.event.name)
        head = figured.species_name(row.species)
        yield line(*event_words(head, row.event, row.outlook.coverage, place), f" [{where}].")


def temperatures_to(material: figured.Material, farm: str) -> date | None:
    """Last day of temperatures behind the dates of a farm, the oldest where its stations differ; None without any.

    Args:
        material: What the letters are made from.
        farm: Code of the farm.
    """
    days = [
        row.outlook.counted_to
        for key in _keys(material, farm)
        for row in material.outlooks.get(key, ())
        if row.outlook.counted_to is not None
    ]
    return min(days, default=None)


OLD_DAYS = 2
"""Temperatures that end longer than this before a letter's day are old: gaps up to that are filled. [d]"""


def old_temperatures(material: figured.Material) -> str:
    """That the dates to come rest on old temperatures, for the coordinator before anything is written.

    Args:
        material: What the letters are made from.

    Returns:
        A sentence; empty where temperatures reach the letters' day, or no date is worked out from them.
    """
    days = [day for farm in material.farms if (day := temperatures_to(material, farm)) is not None]
    if not days or (material.on - min(days)).days <= OLD_DAYS:
        return ""
    late = (material.on - min(days)).days
    return (
        f"temperatures end on {figured.short_day(min(days))}, {late} days before: load newer ones before dates go out"
    )


def progress(material: figured.Material, farm: str) -> tuple[Picture, ...]:
    """A bar of degree-days for each species with a confirmed start; one for blocks that share it."""
    bars: dict[tuple[str, float], Picture] = {}
    for key in _keys(material, farm):
        rows = [row for row in _sure(material, key) if row.event.accumulated is not None]
        newest = [row for row in rows if row.outlook.start == rows[-1].outlook.start] if rows else []
        now = newest[0].event.accumulated or 0.0 if newest else 0.0
        if any(row.event.event.degree_days > now for row in newest):
            bars.setdefault((key[1], round(now, 1)), _bar(key[1], now, newest))
    return tuple(bars.values())


def _keys(material: figured.Material, farm: str) -> list[figured.Key]:
    return [(row.block, row.species) for row in material.rows.get(farm, ())]


def _sure(material: figured.Material, key: figured.Key) -> list[OutlookRow]:
    """Events reckoned from a confirmed start; of a first catch the traps themselves have said when it came."""
    years = material.years.get(key)
    caught = years is not None and years.now is not None and years.now.caught.first is not None
    rows = [row for row in material.outlooks.get(key, ()) if row.confirmed and not row.outlook.provisional]
    return [row for row in rows if not (caught and row.event.event.name.startswith("first catch"))]


def news(events: Iterable[EventOutlook], on: date) -> list[EventOutlook]:
    """What came in the last days, and the nearest events to come.

    Args:
        events: Events of one species and place.
        on: Day of the letter or update. What was expected before it, where temperatures are old, is no news.
    """
    known = list(events)
    came = [one for one in known if one.reached_on is not None and (on - one.reached_on).days <= RECENT_DAYS]
    ahead = [one for one in known if one.expected_on is not None and one.expected_on > on]
    return [*came, *sorted(ahead, key=_date)[:MOST_EVENTS]]


def _date(event: EventOutlook) -> date:
    return event.reached_on or event.expected_on or date.max


def event_words(head: str, event: EventOutlook, coverage: float, place: Place) -> Iterable[str | Figure]:
    """When an event came, or is expected, with its range and what the date rests on.

    Args:
        head: Species or station that it is about.
        event: The event.
        coverage: How often its range is meant to hold.
        place: Where its figures stand.
    """
    flight = f", {figured.flight(event.generation)}" if event.generation > 1 else ""
    yield f"{head}{flight}: {figured.event_name(event.event.name)}, "
    if event.reached_on is not None:
        yield from ("reached on ", figured.day_figure(event.reached_on, (*place, "reached_on")))
        return
    yield from ("expected about ", figured.day_figure(event.expected_on or date.max, (*place, "expected_on")))
    if event.earliest is not None:
        yield f" ({coverage * 10:.0f} in 10: " + ("" if event.latest else "not before ")
        yield figured.short_figure(event.earliest, (*place, "earliest"))
        if event.latest is not None:
            yield from (" to ", figured.short_figure(event.latest, (*place, "latest")))
        yield ")"
    if event.by_normal:
        yield ", by normal temperatures, so without a range"
    elif event.years:
        yield from (", from ", Figure(several(event.years, "year"), event.years, (*place, "years")))
    if event.by_forecast:
        yield ", with the weather forecast of the next days in it"


_STEPS_BACK, _STEPS_AHEAD = 3, 5
"""Events on a bar that came last, and that come next."""


def _bar(species: str, now: float, rows: Sequence[OutlookRow]) -> Picture:
    unit = f"{rows[0].outlook.model.development.unit.sign}-days"
    every = sorted((row.event for row in rows), key=lambda one: one.event.degree_days)
    reached = sum(1 for one in every if one.reached_on)
    back = min(reached, _STEPS_BACK)
    steps = tuple(
        (one.event.degree_days, f"{figured.event_name(one.event.name)} {_when(one)}")
        for one in every[reached - back : reached + _STEPS_AHEAD]
    )
    title = f"{figured.species_name(species)}: degree-days so far"
    came, ahead = [words for _, words in steps[:back]], [words for _, words in steps[back:]]
    alt = f"{title}: {now:.0f} {unit}."
    alt += f" Reached: {'; '.join(came)}." if came else ""
    alt += f" To come: {'; '.join(ahead)}." if ahead else ""
    return Picture(title, alt, Progress(now, unit, steps))


def _when(event: EventOutlook) -> str:
    if event.reached_on is not None:
        return figured.short_day(event.reached_on)
    return f"about {figured.short_day(event.expected_on)}" if event.expected_on is not None else "not dated"


_NAMED = 2
"""Reasons that are told of a season that cannot be compared; the rest are counted."""
_REASON_WIDTH = 120


def other_years(material: figured.Material, names: Names, farm: str) -> tuple[LetterYears, ...]:
    """Every block and species of a farm beside its seasons before.

    Args:
        material: What the letters are made from.
        names: Names of farms and blocks.
        farm: Code of the farm.

    Returns:
        Nothing where this season is the first one on record.
    """
    if len(material.seasons) < 2:
        return ()
    found = ((row, material.years.get((row.block, row.species))) for row in material.rows.get(farm, ()))
    return tuple(_block(material, names, row, years) for row, years in found if years is not None)


def _block(material: figured.Material, names: Names, row: BlockRow, years: Years) -> LetterYears:
    now = years.now
    place: Place = ("years", row.block, row.species)
    edges = row.band or ()
    seasons = []
    newest = now.rounds[-1][0] if now is not None and now.rounds else None
    if now is not None:
        past = {year.season: year for year in years.seasons[:-1]}
        seasons.append(_season(now, place, edges))
        seasons += [_season(past[one.season], place, edges, one) for one in years.against]
    return LetterYears(
        block=names.block(row.block),
        species=figured.species_name(row.species),
        on=figured.short_figure(newest, (*place, "newest", "on")) if newest is not None else None,
        seasons=tuple(seasons),
        notes=(*_why_not(seasons), *_missing(material, {year.season for year in years.seasons})),
    )


def _season(year: YearOf, place: Place, edges: tuple[Fraction, ...], told: Against | None = None) -> LetterSeason:
    """A season up to the day of the newest round.

    Args:
        year: The whole of it.
        place: Where its figures stand.
        edges: Band of the block, by which rates are rounded.
        told: A past one up to that day; None: it is this season.
    """
    own = (*place, "seasons", str(year.season))
    by = own if told is None else (*place, "against", str(year.season))
    highest, weeks = year.peak_by(year.last), (year.weeks_over, year.weeks_judged)
    in_all = (*_peak(highest, own, edges).parts, "; ", figured.rate(year.total, (*own, "total")), " a trap in all")
    return LetterSeason(
        season=figured.count(year.season, (*by, "season")),
        first_catch=_first_catch(year, own, told.on if told else None),
        peak=_peak(told.peak if told else highest, by, edges),
        total=figured.rate(told.total if told else year.total, (*by, "total")),
        weeks=_weeks(told.weeks if told else weeks, by),
        whole=line(*in_all) if told else None,
        why_not=listed((sanitize(spoken_days(words), _REASON_WIDTH) for words in told.why_not), _NAMED) if told else "",
    )


def _first_catch(year: YearOf, own: Place, until: date | None = None) -> Line:
    found = year.caught.first
    late = "later, " if found is not None and until is not None and found > until else ""
    return line(late, figured.short_figure(found, (*own, "first_catch.on"))) if found is not None else line("none")


def _peak(found: tuple[date, Fraction] | None, own: Place, edges: tuple[Fraction, ...]) -> Line:
    if found is None:
        return line("none")
    on, mean = found
    return line(figured.rate(mean, (*own, "peak.per_week"), edges), " on ", figured.short_figure(on, (*own, "peak.on")))


def _weeks(found: tuple[int, int], own: Place) -> Line:
    over, judged = found
    if not judged:
        return line("none judged")
    return line(figured.count(over, (*own, "weeks_over")), " of ", figured.count(judged, (*own, "weeks_judged")))


def _why_not(seasons: Iterable[LetterSeason]) -> Iterable[str]:
    """Reasons, each once for all the seasons that share it."""
    for why, shared in grouped((one.why_not, str(one.season)) for one in seasons if one.why_not).items():
        yield f"* Not to be compared with {listed(shared)}: {why}."


def _missing(material: figured.Material, there: set[int]) -> Iterable[str]:
    """Seasons of the last few years of which there is nothing to show; years before the first on record are none."""
    first, now = material.seasons[0], material.seasons[-1]
    for season in range(now - 1, max(first, now - figured.MOST_PAST) - 1, -1):
        if season not in material.seasons:
            yield f"{season}: no reading is on record."
        elif season not in there:
            yield f"{season}: no trap of it hung here."
