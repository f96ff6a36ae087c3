"""The end of a season: what was walked, read, used and lost, and where it stood over its band, by farm or for all.

Year against year: one season of a block or of the area beside the seasons before, by calendar or by degree-days.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction
from functools import cached_property

from roundtui.domain.entries import NONE, YES, NoReading, Visit
from roundtui.domain.figures.figures import Exposures, Series, estimates_in, exposures_in, spread_over
from roundtui.domain.figures.verdicts import Status
from roundtui.domain.programme.farm import Programme, Trap, natural_key
from roundtui.domain.programme.rounds import AGAIN_DAYS, OPEN_DAYS
from roundtui.domain.records import Frozen
from roundtui.domain.round.recounts import Pair
from roundtui.domain.season.weather import same_day
from roundtui.domain.traps.assembly import Part, Whereabouts
from roundtui.domain.traps.season_close import Stored, stored, to_discard
from roundtui.domain.units import TempUnit


class SeasonEnd(Frozen, kw_only=True):
    """A season of one farm, or of the programme."""

    farm: str
    """Code of the farm; empty for the programme."""
    season: int
    """Year in which it started."""
    first: date
    """First day."""
    last: date
    """Last day that is looked at."""
    rounds: tuple[tuple[str, int], ...]
    """Rounds walked by route; an empty name stands for traps on no route."""
    scouts: tuple[str, ...]
    """Who walked them."""
    traps: int
    """Traps that hung."""
    readings: int
    """Counts made, second samples not among them."""
    moths: int
    """Moths counted, those left in counted once, all species together."""
    not_read: tuple[tuple[NoReading, int], ...]
    """Visits without a count, by reason."""
    lost: tuple[tuple[str, date], ...]
    """Traps found missing, and when; one that stayed missing is named once."""
    lures: tuple[tuple[str, str, int], ...]
    """Lures put out: species, lot where it is known, and how many; those that traps were hung with are among them."""
    liners: int
    """Liners replaced."""
    kill_strips: int
    """Kill strips replaced."""
    bodies: int
    """Trap bodies replaced."""
    blocks: tuple[Years, ...]
    """Every block and species up to this season, by farm and block."""
    estimated: int = 0
    """Counts that are estimates."""
    second_counts: tuple[Pair, ...] = ()
    """Catches that two people counted."""
    stored: tuple[Stored, ...] = ()
    """Parts put away, by species, part and place."""
    parts_gone: tuple[Part, ...] = ()
    """Parts noted as lost or discarded in the season."""
    to_discard: tuple[Part, ...] = ()
    """Bodies that smell of another species and are still about."""

    @property
    def rounds_walked(self) -> int:
        """Rounds of all routes."""
        return sum(number for _, number in self.rounds)

    @property
    def weeks_over(self) -> int:
        """Weeks over the band, of all blocks together."""
        return sum(row.now.weeks_over for row in self.blocks if row.now)


def season_end(
    programme: Programme,
    visits: Mapping[str, Sequence[Visit]],
    years: Iterable[Years],
    season: tuple[int, date, date],
    farm: str = "",
    *,
    second_counts: Sequence[Pair] = (),
    parts: Iterable[Part] = (),
) -> SeasonEnd:
    """Put a season's end together.

    Args:
        programme: What is set up.
        visits: Present visits by trap, in order; those beyond the season are passed over.
        years: Every block and species over the years up to this season, by farm and block.
        season: Its year, its first day, and the last day that is looked at.
        farm: Only this farm; empty: the programme.
        second_counts: Catches of the season that two people counted.
        parts: What is known of parts on the last day; a part is of the farm of the trap it was in last.
    """
    _, first, last = season
    hung = [
        row
        for rows in programme.hangings.values()
        for row in rows
        if row.hung_a_night_in(first, last) and farm in ("", programme.farm_of(row.block))
    ]
    labels = {row.trap for row in hung}
    inside = {
        trap: [v for v in visits.get(trap, ()) if first <= v.read_on <= last and _here(programme, v, farm)]
        for trap in sorted(labels, key=natural_key)
    }
    years_of = [one for one in years if farm in ("", programme.farm_of(one.block))]
    kit = [part for part in parts if farm == "" or _farm_of_part(programme, part) == farm]
    every = [visit for of_trap in inside.values() for visit in of_trap]
    reasons = Counter(visit.no_reading for visit in every if visit.no_reading)
    return SeasonEnd(
        farm=farm,
        season=season[0],
        first=first,
        last=last,
        rounds=tuple(_rounds(programme, inside)),
        scouts=tuple(sorted({visit.scout for visit in every if visit.scout})),
        traps=len(labels),
        readings=sum(1 for visit in every if visit.count is not None and not visit.recount),
        moths=sum(one.caught.moths for y in years_of for one in y.seasons if one.season == season[0]),
        not_read=tuple((reason, reasons[reason]) for reason in NoReading if reasons[reason]),
        lost=tuple(_lost(inside)),
        lures=tuple(_lures(programme, hung, inside, first)),
        liners=sum(visit.liner for visit in every),
        kill_strips=sum(visit.kill_strip for visit in every),
        bodies=sum(visit.body is not None for visit in every),
        blocks=tuple(one for one in years_of if one.seasons),
        estimated=sum(1 for visit in every if visit.estimated and not visit.recount),
        second_counts=tuple(pair for pair in second_counts if pair.trap in labels),
        stored=stored(kit),
        parts_gone=tuple(part for part in kit if part.state in _GONE and part.since and first <= part.since <= last),
        to_discard=to_discard(kit),
    )


_GONE = (Whereabouts.LOST, Whereabouts.DISCARDED)


def _farm_of_part(programme: Programme, part: Part) -> str:
    rows = programme.hangings.get(part.trap, ())
    return programme.farm_of(rows[-1].block) if rows else ""


def _here(programme: Programme, visit: Visit, farm: str) -> bool:
    hanging = programme.hanging(visit.trap, visit.read_on)
    return hanging is not None and farm in ("", programme.farm_of(hanging.block))


def _rounds(programme: Programme, visits: Mapping[str, Sequence[Visit]]) -> Iterable[tuple[str, int]]:
    on_routes: set[str] = set()
    for route, labels in programme.routes.items():
        on_routes |= set(labels)
        number = rounds_walked([visit for label in dict.fromkeys(labels) for visit in visits.get(label, ())])
        if number:
            yield route, number
    rest = rounds_walked([visit for trap, rows in visits.items() if trap not in on_routes for visit in rows])
    if rest:
        yield "", rest


def rounds_walked(visits: Iterable[Visit]) -> int:
    """How many rounds some visits belong to: one ends where a trap is come to again, or after six days.

    Args:
        visits: Visits of the traps of one route, in any order; a second sample within two days is of the same round.
    """
    rounds = 0
    started: date | None = None
    seen: dict[str, date] = {}
    walked = [v for v in visits if (v.count is not None or v.no_reading is not None) and not v.recount]
    for visit in sorted(walked, key=lambda visit: visit.order):
        again = visit.trap in seen and visit.read_on - seen[visit.trap] > timedelta(days=AGAIN_DAYS)
        if started is None or again or (visit.read_on - started).days > OPEN_DAYS:
            rounds += 1
            started, seen = visit.read_on, {}
        seen[visit.trap] = visit.read_on
    return rounds


def _lost(visits: Mapping[str, Sequence[Visit]]) -> Iterable[tuple[str, date]]:
    for trap, rows in visits.items():
        missing = False
        for visit in rows:
            if visit.no_reading is NoReading.MISSING and not missing:
                yield trap, visit.read_on
            if visit.count is not None or visit.no_reading is not None:
                missing = visit.no_reading is NoReading.MISSING


def _lures(
    programme: Programme, hung: Sequence[Trap], visits: Mapping[str, Sequence[Visit]], first: date
) -> Iterable[tuple[str, str, int]]:
    used: Counter[tuple[str, str]] = Counter()
    lots: dict[str, str] = {}
    for row in hung:
        lots[row.trap] = row.lot
        # A trap that was only moved kept the lure that was in it.
        moved = any(other.down_on == row.hung_on for other in programme.hangings[row.trap] if other is not row)
        if row.hung_on is not None and row.hung_on >= first and not moved:
            of = programme.lots.get(row.lot)
            used[of.species if of else row.species, row.lot] += 1
    for trap, rows in visits.items():
        own = programme.hangings[trap][-1].species
        for visit in rows:
            if visit.lure in (None, NONE):
                continue
            lot = lots.get(trap, "") if visit.lure == YES else visit.lure or ""
            known = programme.lots.get(lot)
            if known is not None and known.species == own:
                lots[trap] = lot
            used[known.species if known else own, lot] += 1
    for (species, lot), number in sorted(used.items()):
        yield species, lot, number


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


class Place(Frozen):
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


class YearPoint(Frozen):
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


class Judged(Frozen):
    """Where a block stood on one round."""

    block: str
    """Code of the block."""
    on: date
    """The day."""
    status: Status
    """What its rule says."""


class Caught(Frozen):
    """What is kept of the readings of a season, so that no more than one season's are held at a time."""

    exposures: Exposures = field(default_factory=dict)
    """Valid readings of the traps in the mean by the days that they cover."""
    first: date | None = None
    """Day of the first of these traps' readings with a moth in it that can be trusted."""
    moths: int = 0
    """Moths counted in all traps, those at the edge among them."""
    estimated: int = 0
    """Readings of all traps that are estimates."""

    @classmethod
    def of(cls, inside: Sequence[Series], every: Iterable[Series]) -> Caught:
        """What is kept of some readings.

        Args:
            inside: Series of the traps in the mean.
            every: Series of all traps.
        """
        known = [reading for one in inside for reading in one.readings]
        trusted = (r.read_on for r in known if r.net and not r.suspect and not r.conflict)
        first = min(trusted, default=None)
        all_of_them = [reading for one in every for reading in one.readings]
        moths = sum(reading.net or 0 for reading in all_of_them)
        return cls(exposures_in(inside, date.min, date.max), first, moths, estimates_in(all_of_them))


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
    accumulated: Mapping[date, float] = field(default_factory=dict, repr=False)
    """Degree-days since biofix by day. [unit of the model, d]"""
    rounds: tuple[tuple[date, Fraction | None, bool], ...] = ()
    """Last day of each round, the mean, and whether the curve breaks off before it. [moths/trap/week]"""
    caught: Caught = field(default_factory=Caught, repr=False)
    """Catches of this season."""
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
            return self.accumulated.get(on)
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
            return next((on for on, accumulated in self.accumulated.items() if accumulated >= at), None)
        day = same_day(self.first, _COMMON_YEAR) + timedelta(days=int(at))
        found = same_day(day, self.first.year + day.year - _COMMON_YEAR)
        return found if found <= self.last else None

    @cached_property
    def points(self) -> tuple[YearPoint, ...]:
        """A point for each round, oldest first."""
        return tuple(self._point(*one) for one in self.rounds)

    def _point(self, on: date, mean: Fraction | None, begins: bool = False) -> YearPoint:
        # The total is that of the readings made by then, as the summary of that day has it.
        total = spread_over(self.caught.exposures, self.first, on, until=on)
        return YearPoint(on, self.at(on), mean, total, begins)

    @property
    def peak(self) -> YearPoint | None:
        """The round with the highest mean, the first of them where several are alike; None without any catch."""
        found = self.peak_by(self.last)
        return self._point(*found) if found else None

    def peak_by(self, on: date) -> tuple[date, Fraction] | None:
        """Day and mean of the highest round up to a day; None without any catch by then. [d, moths/trap/week]

        Args:
            on: The day.
        """
        known = [(day, mean) for day, mean, _ in self.rounds if mean and day <= on]
        return max(known, key=lambda one: one[1], default=None)

    @property
    def traps(self) -> tuple[str, ...]:
        """Traps in its mean."""
        return tuple(sorted({place.trap for place in self.places}))

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
        return spread_over(self.caught.exposures, self.first, on)

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
        over, judged = (sum(day <= on for day in weeks.values()) for weeks in self._weeks)
        return over, judged

    @cached_property
    def _weeks(self) -> tuple[Mapping[object, date], Mapping[object, date]]:
        """First day of each week of a block that was over its band, and that could be compared with one."""
        over: dict[object, date] = {}
        judged: dict[object, date] = {}
        for one in self.judged:
            if one.status in _JUDGED:
                week = (one.block, *one.on.isocalendar()[:2])
                judged[week] = min(one.on, judged.get(week, one.on))
                if one.status is Status.OVER:
                    over[week] = min(one.on, over.get(week, one.on))
        return over, judged


class Against(Frozen):
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


class Years(Frozen, kw_only=True):
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

    @property
    def last_total(self) -> Fraction | None:
        """Catch of the season before up to the same day of the calendar. [moths/trap]"""
        now = self.now
        before = next((year for year in self.seasons if now and year.season == now.season - 1), None)
        until = before.day_at(now.at(now.last)) if before and now else None
        return before.total_on(until) if before and until else None

    @property
    def why_not(self) -> tuple[str, ...]:
        """Why it cannot be compared with the season before; empty where it can, or where there is none."""
        return self.against[0].why_not if self.against else ()


def held_against(now: YearOf, past: YearOf, place: float | None) -> Against:
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
