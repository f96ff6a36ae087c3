"""The end of a season: what was walked, read, used and lost, and where it stood over its band, by farm or for all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from roundtui.domain.programme.farm import Programme, Trap, natural_key
from roundtui.domain.programme.rounds import OPEN_DAYS, SECOND_LOOK_DAYS
from roundtui.domain.round.recounts import Pair
from roundtui.domain.season.years import YearOf, Years
from roundtui.domain.traps.parts import Part, Whereabouts
from roundtui.domain.traps.season_close import Stored, stored, to_discard
from roundtui.domain.visits import NONE, YES, NoReading, Visit


@dataclass(frozen=True, slots=True)
class BlockEnd:
    """The season of one block and species."""

    block: str
    """Code of the block."""
    species: str
    """Abbreviation of the species."""
    traps: int
    """Traps in its mean over the season."""
    weeks_over: int
    """Weeks in which it was over its band."""
    weeks_judged: int
    """Weeks in which it could be compared with one."""
    first_catch: date | None
    """Day of the first moth."""
    peak: Fraction | None
    """Highest mean of a round; None without any catch. [moths/trap/week]"""
    peak_on: date | None
    """When that was."""
    total: Fraction | None
    """Catch of the season. [moths/trap]"""
    last_total: Fraction | None
    """Catch of the season before up to the same day of the calendar. [moths/trap]"""
    why_not: tuple[str, ...]
    """Why the two cannot be compared; empty where they can, or where there is no season before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonEnd:
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
    """Counts made, second looks not among them."""
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
    blocks: tuple[BlockEnd, ...]
    """Every block and species, by farm and block."""
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
        return sum(row.weeks_over for row in self.blocks)


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
        moths=_moths(years_of := [y for y in years if farm in ("", programme.farm_of(y.block))], season[0]),
        not_read=tuple((reason, reasons[reason]) for reason in NoReading if reasons[reason]),
        lost=tuple(_lost(inside)),
        lures=tuple(_lures(programme, hung, inside, first)),
        liners=sum(visit.liner for visit in every),
        kill_strips=sum(visit.kill_strip for visit in every),
        bodies=sum(visit.body is not None for visit in every),
        blocks=tuple(_block(one.seasons, one) for one in years_of if one.seasons),
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
        visits: Visits of the traps of one route, in any order; a second look within two days is of the same round.
    """
    rounds = 0
    started: date | None = None
    seen: dict[str, date] = {}
    walked = [v for v in visits if (v.count is not None or v.no_reading is not None) and not v.recount]
    for visit in sorted(walked, key=lambda visit: visit.order):
        again = visit.trap in seen and visit.read_on - seen[visit.trap] > timedelta(days=SECOND_LOOK_DAYS)
        if started is None or again or (visit.read_on - started).days > OPEN_DAYS:
            rounds += 1
            started, seen = visit.read_on, {}
        seen[visit.trap] = visit.read_on
    return rounds


def _moths(years: Iterable[Years], season: int) -> int:
    return sum(
        reading.net or 0
        for one in years
        for year in one.seasons
        if year.season == season
        for trap in year.every
        for reading in trap.readings
    )


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


def _block(seasons: Sequence[YearOf], years: Years) -> BlockEnd:
    now, peak = seasons[-1], seasons[-1].peak
    before = next((year for year in seasons if year.season == now.season - 1), None)
    until = before.day_at(now.at(now.last)) if before else None
    return BlockEnd(
        block=years.block,
        species=years.species,
        traps=len({place.trap for place in now.places}),
        weeks_over=now.weeks_over,
        weeks_judged=now.weeks_judged,
        first_catch=now.first_catch,
        peak=peak.per_week if peak else None,
        peak_on=peak.on if peak else None,
        total=now.total,
        last_total=before.total_on(until) if before and until else None,
        why_not=years.against[0].why_not if years.against else (),
    )
