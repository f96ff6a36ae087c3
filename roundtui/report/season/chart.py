"""A block's season as a chart: catch above, degree-days below, biofix and events between them.

What a picture of a season shows, put together from the record of the season.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING

from roundtui.domain.figures.figures import Series
from roundtui.domain.figures.rules import RuleKind, rule_name
from roundtui.domain.programme.cautions import SUMMARY_CAUTIONS
from roundtui.domain.programme.farm import natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.season.season import CatchPoint, catch_points, days_moved
from roundtui.domain.season.weather import same_day
from roundtui.domain.text import sanitize
from roundtui.report.charts import Band, Chart, Event, Line, Panel, Point, Spot, runs
from roundtui.report.season.season import biofix_words, event_mark, event_words, point_words, stage_lines
from roundtui.report.text import Names, figure
from roundtui.report.text import band as band_words

if TYPE_CHECKING:
    from roundtui.domain.season.season import BlockSeason
    from roundtui.domain.season.weather import DegreeDaySum
    from roundtui.store.season.season import SeasonRecord

READING, DOUBTFUL = "o", "!"
"""Marks of a point that can be trusted, and of one in which a trap is suspect or two readings disagree."""
TREATED = "T"
"""Mark of a treatment that a grower spoke of."""
CONFIRMED, PROPOSED = "B", "P"
"""Marks of a biofix that is confirmed, and of one that is only proposed."""
LEAST_DAYS = 150
"""Fewest days shown, so that the first weeks of a season are no broad sweep. [d]"""


class OtherYear(Frozen):
    """Another year of the same block and species."""

    season: int
    """Year in which it started."""
    points: tuple[CatchPoint, ...]
    """Its catch."""
    from_start: DegreeDaySum | None
    """Its degree-days from the season's first day."""


class Picture(Frozen):
    """Everything in a picture of a season."""

    season: BlockSeason
    """The season."""
    place: str
    """Block and farm as people say them."""
    points: tuple[CatchPoint, ...]
    """Its catch: of the block, or of one trap."""
    moves: tuple[date, ...] = ()
    """Days on which a trap was moved."""
    others: tuple[OtherYear, ...] = ()
    """Other years, drawn thinly."""
    trap: str = ""
    """The one trap shown; empty: the mean of the block."""
    treatments: tuple[date, ...] = ()
    """Days on which the block was treated against the species, as growers said."""
    rule_kind: RuleKind | None = None
    """Figure that the rule of the band compares; None where there is no rule."""
    reference: tuple[str, ...] = ()
    """What is published of the tree's stages and of frost, a line each."""


def season_chart(picture: Picture) -> Chart:
    """Put a season into a chart.

    Args:
        picture: What to show.

    Returns:
        Two panels over the days in which something is known or expected.
    """
    season = picture.season
    events = [*_events(season), *_treatments(picture)]
    first, last = _span(picture, events)
    return Chart(
        title=title(picture),
        about=" ".join([title(picture) + ".", *_sentences(picture)]),
        first=first,
        last=last,
        panels=(_catch(picture, first, last), _degree_days(picture, first, last)),
        events=tuple(event for event in events if first <= event.on <= last),
        breaks=tuple(day for day in picture.moves if first <= day <= last),
        signs=_signs(picture),
        notes=SUMMARY_CAUTIONS[:3],
    )


def title(picture: Picture) -> str:
    """Which block, species, year and traps."""
    what = f", trap {sanitize(picture.trap, 20)}" if picture.trap else ""
    return f"{picture.place}: {picture.season.species} {picture.season.season}{what}"


def _signs(picture: Picture) -> tuple[tuple[str, str], ...]:
    highest = _highest(picture)
    on = f", highest {figure(highest.per_week)} on {highest.on.day} {highest.on:%b}" if highest else ""
    found = [(READING, f"reading{on}")]
    if any(_doubtful(point) for point in picture.points):
        found.append((DOUBTFUL, "in doubt"))
    if picture.treatments:
        found.append((TREATED, "treated"))
    return tuple(found)


def _highest(picture: Picture) -> CatchPoint | None:
    """The round with the highest mean, the first of them where several are alike; None without any catch."""
    return max((one for one in picture.points if one.per_week), key=lambda one: one.per_week or 0, default=None)


def _doubtful(point: CatchPoint) -> bool:
    return bool(point.suspect or point.conflict)


def _span(picture: Picture, events: Sequence[Event]) -> tuple[date, date]:
    season = picture.season
    days = [point.on for point in picture.points] or [season.first + timedelta(days=90)]
    days += [event.on for event in events]
    first = min(days) - timedelta(days=10)
    first = max(first.replace(day=1), season.first)
    last = max([*days, first + timedelta(days=LEAST_DAYS)])
    month = (last.replace(day=28) + timedelta(days=4)).replace(day=1) - timedelta(days=1)
    return first, min(month, season.first + timedelta(days=364))


def _catch(picture: Picture, first: date, last: date) -> Panel:
    season = picture.season
    year = season.first.year
    lines = [
        Line(str(one.season), _pieces(one.points, first, last, year), past=True) for one in picture.others if one.points
    ]
    return Panel(
        name="moths a trap a week",
        lines=(*lines, Line(str(season.season), _pieces(picture.points, first, last, year))),
        spots=tuple(
            Spot(point.on, float(point.shown), DOUBTFUL if _doubtful(point) else READING)
            for point in picture.points
            if point.shown is not None
        ),
        band=_band(picture),
        share=2,
        bars=READING,
    )


_COMPARED = {RuleKind.SINGLE_TRAP: " for any one trap", RuleKind.RUNNING: " for weeks in a row"}


def _band(picture: Picture) -> Band | None:
    """The rule's band, where it can stand on a scale of weeks: a sum over the season cannot."""
    limits, kind = picture.season.band, picture.rule_kind
    if limits is None or kind is RuleKind.CUMULATIVE:
        return None
    compared = _COMPARED.get(kind, "") if kind else ""
    compared += " (not the mean)" if kind is RuleKind.SINGLE_TRAP and not picture.trap else ""
    words = f"threshold {band_words(limits)}{compared}, rule {rule_name(sanitize(picture.season.rule, 30))}"
    return Band(float(limits[0]), float(limits[1]), words)


def _pieces(points: Sequence[CatchPoint], first: date, last: date, year: int) -> tuple[tuple[Point, ...], ...]:
    """Runs of trusted points, in the days of one year; a round without a mean parts them, as a moved trap does."""
    placed = ((point, same_day(point.on, year + point.on.year - points[0].on.year)) for point in points)
    return runs(
        (day, point.per_week if first <= day <= last else None, point.begins or point.per_week is None)
        for point, day in placed
    )


def _degree_days(picture: Picture, first: date, last: date) -> Panel:
    """Degree-days of the season; of the newest biofix where the year's first temperatures are missing."""
    season = picture.season
    if season.model is None or season.from_start is None:
        return Panel(f"no degree-days: no model of {sanitize(season.species, 12)}")
    development = season.model.development
    over = f"{development.lower:g}" + (f"/{development.upper:g}" if development.upper is not None else "")
    sums = [(f"{season.first.day} {season.first:%b}", season.from_start)]
    sums += [(f"biofix {generation}", since) for generation, since in reversed(season.from_biofix)]
    since, total = next(((name, one) for name, one in sums if one.rows), sums[0])
    if not total.rows:
        why = total.why if season.station else "the block has no station"
        return Panel(f"no degree-days: {sanitize(why, 60)}")
    others = picture.others if total is season.from_start else ()
    lines = [
        Line(str(one.season), _sums(one.from_start, first, last, season.first.year - one.season), past=True)
        for one in others
        if one.from_start is not None
    ]
    return Panel(
        name=f"{development.unit.sign}-days over {over} from {since}; solid: {season.season}",
        lines=(*lines, Line(str(season.season), _sums(total, first, last, 0))),
    )


def _sums(total: DegreeDaySum, first: date, last: date, years: int) -> tuple[tuple[Point, ...], ...]:
    """A running sum in the days of the year shown; every third day draws the same curve."""
    rows = [(same_day(row.on, row.on.year + years), row.total) for row in total.rows]
    inside = [(day, amount) for day, amount in rows if first <= day <= last]
    return (tuple(inside[:-1:3] + inside[-1:]),) if inside else ()


def _events(season: BlockSeason) -> list[Event]:
    found = [
        Event(row.biofix.on, CONFIRMED if row.biofix.confirmed else PROPOSED, biofix_words(row))
        for row in season.biofixes
        if row.biofix.on is not None
    ]
    for one in season.events:
        if (on := one.reached_on or one.expected_on) is not None:
            likely = (one.earliest, one.latest) if one.reached_on is None else (None, None)
            found.append(Event(on, event_mark(one), event_words(one), *likely))
    return found


def _treatments(picture: Picture) -> list[Event]:
    return [Event(on, TREATED, _treated_words(picture, on)) for on in picture.treatments]


def _treated_words(picture: Picture, on: date) -> str:
    return f"Treated against {sanitize(picture.season.species, 12)} on {on}, as the grower said"


def _sentences(picture: Picture) -> list[str]:
    """What there is to see, for those who cannot."""
    season = picture.season
    known = [point for point in picture.points if point.per_week is not None]
    found, highest = [f"{len(known)} rounds."] if known else [], _highest(picture)
    found += [f"Highest: {point_words(highest, season)}."] if highest else []
    found += [f"Last: {point_words(known[-1], season)}."] if known and known[-1] is not highest else []
    found += [f"{_treated_words(picture, on)}." for on in picture.treatments]
    found += [f"{biofix_words(row)}." for row in season.biofixes]
    found += [f"{event_words(one)}." for one in season.events if one.expected_on is not None]
    return found


Key = tuple[str, str]
"""Block and species."""


def traps_of(record: SeasonRecord, key: Key) -> tuple[str, ...]:
    """Traps of a block and species that hung in the season, those at the edge too, in order of label."""
    return tuple(sorted({one.hanging.trap for one in record.series.get(key, ())}, key=natural_key))


def picture_of(record: SeasonRecord, key: Key, trap: str = "", others: Sequence[OtherYear] = ()) -> Picture:
    """A season as a picture.

    Args:
        record: The season, on the day from which it is looked at.
        key: Block and species.
        trap: The one trap to show; empty: the mean of the block.
        others: Other years, drawn thinly.
    """
    group = _group(record, key, trap)
    season = record.block(*key)
    rule = next((rule for rule in record.office.rules if rule.id == season.rule), None)
    return Picture(
        season=season,
        place=Names(record.programme).place(key[0]),
        points=_points(record, group),
        moves=days_moved(group, record.programme.hangings, record.first),
        others=tuple(others),
        trap=trap,
        treatments=tuple(sorted({one.treated_on for one in record.treatments if (one.block, one.species) == key})),
        rule_kind=rule.kind if rule else None,
        reference=stage_lines(record, key[0]),
    )


def other_year(record: SeasonRecord, key: Key) -> OtherYear | None:
    """Another year to stand beside a season.

    Args:
        record: The other year, on its last day.
        key: Block and species.

    Returns:
        None where no trap of the species hung in the block that year.
    """
    if key not in record.series:
        return None
    group = _group(record, key, "")
    return OtherYear(record.season, _points(record, group), record.block(*key).from_start)


def _group(record: SeasonRecord, key: Key, trap: str) -> list[Series]:
    """Series of one trap, or of those in the block's mean; where all hang at the edge, of these."""
    group = record.series.get(key, [])
    if trap:
        return [one for one in group if one.hanging.trap == trap]
    return [one for one in group if not one.hanging.edge] or group


def _points(record: SeasonRecord, group: Sequence[Series]) -> tuple[CatchPoint, ...]:
    """Points of the season alone; readings of the season before are at hand for the first of them."""
    moves = days_moved(group, record.programme.hangings, record.first)
    return tuple(point for point in catch_points(group, moves) if record.first <= point.on <= record.on)
