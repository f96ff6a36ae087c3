"""Year against year: one season of a block or of the area beside the seasons before, by calendar or by degree-days.

Catches of two seasons say something of each other only where the same traps hung in the same places with lures of the
same strength; where they did not, that is said, and by which traps. A season's total is moths per trap, so that a week
nobody read and a trap more do not count twice.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction

from roundtui.domain.figures.figures import Series, cumulative
from roundtui.domain.figures.verdicts import Status
from roundtui.domain.programme.farm import natural_key
from roundtui.domain.season.weather import same_day
from roundtui.domain.units import TempUnit

NEAR_DAYS = 3
"""How far a round may lie from the same place in another season and still stand for it. [d]"""
_COMMON_YEAR = 2001
_JUDGED = (Status.BELOW, Status.WITHIN, Status.OVER)


class By(StrEnum):
    """What two seasons are laid beside each other by."""

    DATE = "date"
    """The day of the calendar."""
    DEGREE_DAYS = "degree-days"
    """Degree-days after the biofix of the first generation."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a trap hung, and with what lure."""

    trap: str
    """Label of the trap."""
    block: str
    """Code of its block."""
    row: str
    """Orchard row."""
    tree: str
    """Tree in the row."""
    load_mg: Fraction | None = None
    """Pheromone load of the lure it was hung with; None where not on record. [mg]"""

    def words(self) -> str:
        """The place in words."""
        parts = [f"row {self.row}" if self.row else "", f"tree {self.tree}" if self.tree else ""]
        return ", ".join([self.block, *filter(None, parts)])


@dataclass(frozen=True, slots=True)
class YearPoint:
    """What was shown on one round."""

    on: date
    """Last day of the round."""
    at: float | None
    """Days since the season began, or degree-days since biofix; None before biofix, or where nobody knows."""
    per_week: Fraction | None
    """Mean over the valid traps; None where none is valid. [moths/trap/week]"""
    total: Fraction | None
    """Catch since the season began, as far as it was read by then. [moths/trap]"""
    begins: bool = False
    """Whether the curve breaks off before it."""


@dataclass(frozen=True, slots=True)
class Judged:
    """Where a block stood on one round."""

    block: str
    """Code of the block."""
    on: date
    """The day."""
    status: Status
    """What its rule says."""


@dataclass(frozen=True, kw_only=True)
class YearOf:
    """One season of a block, or of the area."""

    season: int
    """Year in which it started."""
    first: date
    """Its first day."""
    last: date
    """Last day that is looked at."""
    by: By
    """What its points are laid out by."""
    biofix: date | None = None
    """Biofix of the first generation, confirmed or proposed; for the area the earliest."""
    gathered: Mapping[date, float] = field(default_factory=dict, repr=False)
    """Degree-days since biofix by day. [unit of the model, d]"""
    rounds: tuple[tuple[date, Fraction | None, bool], ...] = ()
    """Last day of each round, the mean, and whether the curve breaks off before it. [moths/trap/week]"""
    series: tuple[Series, ...] = field(default=(), repr=False)
    """Readings of the traps in the mean, those of this season."""
    every: tuple[Series, ...] = field(default=(), repr=False)
    """The same of all traps, those at the edge among them."""
    judged: tuple[Judged, ...] = ()
    """Where the block stood on each round; for the area, every block."""
    places: tuple[Place, ...] = ()
    """Where the traps in the mean hung; a trap that was moved has several."""
    moved: tuple[tuple[str, date], ...] = ()
    """Traps that were moved in the season, and when."""

    def at(self, on: date) -> float | None:
        """Where a day lies in the season.

        Args:
            on: The day.

        Returns:
            Days since the season began, as in a year without 29 February, or degree-days since biofix.
        """
        if self.by is By.DEGREE_DAYS:
            return self.gathered.get(on)
        start = same_day(self.first, _COMMON_YEAR)
        return float((same_day(on, _COMMON_YEAR + on.year - self.first.year) - start).days)

    def day_at(self, at: float | None) -> date | None:
        """The day that lies at a place; None where the season never got there, or nobody knows.

        Args:
            at: Days since the season began, or degree-days since biofix.
        """
        if at is None:
            return None
        if self.by is By.DEGREE_DAYS:
            return next((on for on, gathered in self.gathered.items() if gathered >= at), None)
        day = same_day(self.first, _COMMON_YEAR) + timedelta(days=int(at))
        found = same_day(day, self.first.year + day.year - _COMMON_YEAR)
        return found if found <= self.last else None

    @property
    def points(self) -> tuple[YearPoint, ...]:
        """A point for each round, oldest first."""
        return tuple(YearPoint(on, self.at(on), mean, self._read_by(on), new) for on, mean, new in self.rounds)

    @property
    def peak(self) -> YearPoint | None:
        """The round with the highest mean, the first of them where several are alike; None without any catch."""
        found = self._highest(self.last)
        if found is None:
            return None
        mean, on, new = found
        return YearPoint(on, self.at(on), mean, self._read_by(on), new)

    def peak_by(self, on: date) -> tuple[date, Fraction] | None:
        """Day and mean of the highest round up to a day; None without any catch by then. [d, moths/trap/week]

        Args:
            on: The day.
        """
        found = self._highest(on)
        return (found[1], found[0]) if found else None

    def _highest(self, last: date) -> tuple[Fraction, date, bool] | None:
        known = [(mean, on, new) for on, mean, new in self.rounds if mean and on <= last]
        return max(known, key=lambda one: one[0], default=None)

    @property
    def first_catch(self) -> date | None:
        """Day of the first reading with a moth in it, of traps that can be trusted."""
        return min(
            (r.read_on for one in self.series for r in one.readings if r.net and not r.suspect and not r.conflict),
            default=None,
        )

    @property
    def total(self) -> Fraction | None:
        """Catch of the season so far. [moths/trap]"""
        return self.total_on(self.last)

    def total_on(self, on: date) -> Fraction | None:
        """Catch from the first day of the season to a day; None where no valid reading covers any of it. [moths/trap]

        Readings made later count for the days before that they cover, so that a day between two rounds of one season
        can stand beside the day of a round in another.

        Args:
            on: The day.
        """
        return cumulative(self.series, self.first, on)

    def _read_by(self, on: date) -> Fraction | None:
        """The same from the readings made by then, as the summary of that day has it."""
        known = [Series(one.hanging, tuple(r for r in one.readings if r.read_on <= on)) for one in self.series]
        return cumulative(known, self.first, on)

    @property
    def weeks_over(self) -> int:
        """Weeks in which a block was over its band; for the area, of all blocks together."""
        return self.weeks_by(self.last)[0]

    @property
    def weeks_judged(self) -> int:
        """Weeks in which a block could be compared with a band; for the area, of all blocks together."""
        return self.weeks_by(self.last)[1]

    def weeks_by(self, on: date) -> tuple[int, int]:
        """Weeks over the band, and weeks that could be compared with one, up to a day.

        Args:
            on: The day.
        """
        over, judged = (self._weeks(wanted, on) for wanted in ((Status.OVER,), _JUDGED))
        return len(over), len(judged)

    def _weeks(self, wanted: Sequence[Status], last: date) -> set[tuple[str, int, int]]:
        known = (one for one in self.judged if one.status in wanted and one.on <= last)
        return {(one.block, *one.on.isocalendar()[:2]) for one in known}


@dataclass(frozen=True, slots=True)
class Against:
    """A past season beside this one, at the same place in the season."""

    season: int
    """The past season."""
    on: date | None
    """Its day at the same place; None where it never got there."""
    per_week: Fraction | None
    """Mean of its round nearest to that day; None where none is near. [moths/trap/week]"""
    total: Fraction | None
    """Its catch up to that day. [moths/trap]"""
    why_not: tuple[str, ...]
    """In words, why the two cannot be compared; empty where they can."""
    peak: tuple[date, Fraction] | None
    """Its highest round up to that day; None without any catch by then. [d, moths/trap/week]"""
    weeks: tuple[int, int]
    """Its weeks over the band up to that day, and those that could be compared with one."""

    @property
    def comparable(self) -> bool:
        """Whether the same traps hung in the same places, with lures of the same strength."""
        return not self.why_not


@dataclass(frozen=True, slots=True, kw_only=True)
class Years:
    """A block, or the area, over the years."""

    block: str
    """Code of the block; empty for the area."""
    species: str
    """Abbreviation of the species."""
    by: By
    """What the seasons are laid beside each other by."""
    unit: TempUnit | None = None
    """Unit of the degree-days; None by calendar, or where nobody has a model."""
    seasons: tuple[YearOf, ...] = ()
    """Every season with traps of the species, oldest first; the last is the one that is looked at."""
    against: tuple[Against, ...] = ()
    """The past seasons beside the last one, the newest first."""
    remarks: tuple[str, ...] = ()
    """What else one should know."""

    @property
    def now(self) -> YearOf | None:
        """The season that is looked at."""
        return self.seasons[-1] if self.seasons else None


def beside(now: YearOf, past: YearOf, place: float | None) -> Against:
    """A past season beside this one.

    Args:
        now: This season.
        past: The past season, laid out by the same.
        place: Where to look: the place of the newest round of this season.
    """
    on = past.day_at(place)
    near = [one for one in past.rounds if on is not None and abs((one[0] - on).days) <= NEAR_DAYS]
    closest = min(near, key=lambda one: abs((one[0] - on).days) if on else 0, default=None)
    return Against(
        season=past.season,
        on=on,
        per_week=closest[1] if closest else None,
        total=past.total_on(on) if on else None,
        why_not=tuple(why_not(now, past)),
        peak=past.peak_by(on) if on else None,
        weeks=past.weeks_by(on) if on else (0, 0),
    )


def why_not(now: YearOf, past: YearOf) -> Iterable[str]:
    """Why two seasons cannot be compared, in words.

    Args:
        now: The later season.
        past: The earlier one.

    Returns:
        A sentence for each trap or lure that differs; none where they can be compared.
    """
    for one in (now, past):
        for trap, day in one.moved:
            yield f"{trap} was moved on {day.isoformat()}"
    ours, theirs = _by_trap(now.places), _by_trap(past.places)
    for trap in sorted(ours.keys() - theirs.keys(), key=natural_key):
        yield f"{trap} hung in {now.season} and not in {past.season}"
    for trap in sorted(theirs.keys() - ours.keys(), key=natural_key):
        yield f"{trap} hung in {past.season} and not in {now.season}"
    settled = {trap for one in (now, past) for trap, _ in one.moved}
    for trap in sorted((ours.keys() & theirs.keys()) - settled, key=natural_key):
        here, there = ours[trap], theirs[trap]
        if here.words() != there.words():
            yield f"{trap} hung elsewhere: {here.words()} in {now.season}, {there.words()} in {past.season}"
        if None not in (here.load_mg, there.load_mg) and here.load_mg != there.load_mg:
            loads = f"{_mg(here.load_mg)} mg in {now.season}, {_mg(there.load_mg)} mg in {past.season}"
            yield f"{trap} had lures of another strength: {loads}"


def _by_trap(places: Iterable[Place]) -> dict[str, Place]:
    return {place.trap: place for place in places}


def _mg(load: Fraction | None) -> str:
    return f"{float(load or 0):g}"
