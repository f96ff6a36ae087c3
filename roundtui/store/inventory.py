"""Lures in stock, from the record: what was bought and counted, what was put out since, what will be wanted.

What an office settled for its plans, from ``plan.toml`` in its folder.
"""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from functools import cached_property
from pathlib import Path

from roundtui.domain.entries import NONE, YES, Assembled, PartKind, Stocked
from roundtui.domain.figures.history import History, season_start
from roundtui.domain.figures.rules import Office
from roundtui.domain.inventory.packing import Before, Packing, Place, first_lures, places, round_packing, season_packing
from roundtui.domain.inventory.plan import PastSeason, Planner, SeasonPlan, Span, Warmth, past_season, season_to_plan
from roundtui.domain.inventory.plan_rules import HangRule, PlanOffice, parse_plan
from roundtui.domain.inventory.stock import NEXT_ROUNDS_DAYS, LotStock, StoreRoom, Uses, lots_in_stock, lure_uses, wants
from roundtui.domain.programme.farm import Programme, Trap, grouped, natural_key
from roundtui.domain.round.recounts import came_by
from roundtui.domain.season.degree_days import Development
from roundtui.domain.season.models import model_for
from roundtui.domain.season.weather import StationYears, same_day
from roundtui.domain.traps.season_close import bodies_in_store
from roundtui.store.checks.trouble import NAMED_LOT
from roundtui.store.failures import plainly
from roundtui.store.figures.history import history
from roundtui.store.figures.learned import needed_in
from roundtui.store.office import read_table
from roundtui.store.record.observations import present
from roundtui.store.record.read import programme
from roundtui.store.record.rows import ASSEMBLIES, STOCKS, VISITS, standing
from roundtui.store.season.season import SeasonRecord, read_season_office
from roundtui.store.season.weather import normals_of, station_days
from roundtui.store.traps.parts import KitRecord, read_kit


def uses_since(conn: sqlite3.Connection, programme: Programme, first: date, on: date) -> Uses:
    """Lures put out in a span of days, and whatever of the time before tells of which lot they were.

    Args:
        conn: The store.
        programme: All that is set up.
        first: First day that has to be whole.
        on: Last day.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        found = standing(conn, VISITS, "lure IS NOT NULL AND read_on BETWEEN ? AND ?", first, on)
        visits = grouped((visit.trap, visit) for visit in found)
        for trap, own in visits.items():
            # The first lure put in is of a lot that only an older visit may name.
            if next((visit.lure for visit in own if visit.lure != NONE), None) == YES:
                older = standing(conn, VISITS, f"trap = ? AND read_on < ? AND {NAMED_LOT}", trap, first)
                visits[trap] = [*older, *own]
        assemblies: list[Assembled] = present(conn, ASSEMBLIES, date.min, on)
    return lure_uses(programme, visits, assemblies)


def store_room(conn: sqlite3.Connection, programme: Programme, on: date) -> StoreRoom:
    """What is on record of lures in stock up to a day.

    Args:
        conn: The store.
        programme: All that is set up.
        on: The day.

    Returns:
        Nothing where no lot was ever bought or counted on record: then nobody asks what was used.

    Raises:
        StoreError: The store cannot be read.
    """
    entries: list[Stocked] = present(conn, STOCKS, date.min, on)
    if not entries:
        return StoreRoom()
    return StoreRoom(entries, uses_since(conn, programme, min(one.stocked_on for one in entries), on).known)


def season_ends_on(conn: sqlite3.Connection, on: date, office: Office) -> date | None:
    """Day on which the running season's traps are expected to come down: as last season.

    Args:
        conn: The store.
        on: The day.
        office: For the start of the season.

    Returns:
        The day on which last season's last trap was taken down, else of its last reading, as a day of this one; None
        where there is neither.
    """
    first = season_start(on, office.season_starts_on)
    before = season_start(first - timedelta(days=1), office.season_starts_on)
    span = (before.isoformat(), (first - timedelta(days=1)).isoformat())
    with plainly(conn):
        row = conn.execute("SELECT max(down_on) FROM traps WHERE down_on BETWEEN ? AND ?", span).fetchone()
        if row[0] is None:
            row = conn.execute("SELECT max(read_on) FROM present_visits WHERE read_on BETWEEN ? AND ?", span).fetchone()
    if row[0] is None:
        return None
    day = date.fromisoformat(row[0])
    return same_day(day, day.year + first.year - before.year)


def lots_to_watch(
    conn: sqlite3.Connection, programme: Programme, history: History, on: date, office: Office
) -> tuple[LotStock, ...]:
    """Lots that somebody has to do something about.

    Args:
        conn: The store.
        programme: What is set up, as far as it can matter.
        history: The record up to the day.
        on: The day.
        office: For the start of the season.

    Raises:
        StoreError: The store cannot be read.
    """
    room = store_room(conn, programme, on)
    if not room.entries:
        return ()
    # Where no season before tells the end, the next rounds have to do.
    ends = season_ends_on(conn, on, office) or on + timedelta(days=NEXT_ROUNDS_DAYS + 1)
    wanted = wants(programme, history.last_service, on, ends)
    lots = lots_in_stock(programme, room.entries, room.uses, wanted, on)
    return tuple(lot for lot in lots if lot.warned)


PLAN = "plan.toml"
"""Name of the file inside the scouting folder."""


def read_plan_office(folder: Path) -> PlanOffice:
    """The office's rules for hanging before those that ship, its numbers of traps and habits.

    Args:
        folder: The scouting folder.

    Raises:
        ProblemsError: The file cannot be read or says something wrong; every fault is in it.
    """
    hint = "look at the line it names; it has [[hang]], [[density]], [[traps]], [[visits]], [[find]]; texts in quotes"
    return read_table(folder / PLAN, hint, parse_plan, "no season is planned") or PlanOffice()


def next_visit(every: str, last: date) -> date:
    """The first day of a recurrence after a visit.

    Args:
        every: The recurrence, as ``VisitRule`` has it.
        last: Day of the visit, on which it begins.
    """
    from dateutil.rrule import rrulestr

    start = datetime.combine(last, time())
    found: datetime | None = rrulestr(every, dtstart=start).after(start)
    return found.date() if found else last


class VisitDays:
    """By which day each trap is to be visited, where ``plan.toml`` asks for an interval.

    Args:
        season: The season that the traps hang in.
        office: The office's rules for plans.
    """

    def __init__(self, season: SeasonRecord, office: PlanOffice) -> None:
        self._season = season
        self.office = office
        """The office's rules for plans."""

    def after(self, row: Trap, last: date) -> date | None:
        """Day by which a trap last seen on a day is to be seen again; None where no interval is asked for.

        Args:
            row: The hanging.
            last: Day of the last visit, or of hanging.
        """
        block = self._season.programme.blocks.get(row.block)
        rule = self.office.visit_rule(row.species, block.markets if block else (), last, self._since(row, last))
        return next_visit(rule.every, last) if rule else None

    def due(self) -> dict[str, date]:
        """The day of every trap that hangs and has one."""
        season, found = self._season, {}
        for trap in season.programme.hangings if self.office.visits else ():
            row = season.programme.hanging(trap, season.on)
            if row is not None and row.down_on != season.on:
                seen = [one.read_on for one in season.history.visits.get(trap, ()) if came_by(one)]
                last = max((day for day in seen if row.hangs_on(day)), default=row.hung_on)
                day = self.after(row, last) if last is not None else None
                if day is not None:
                    found[trap] = day
        return found

    def _since(self, row: Trap, on: date) -> float | None:
        """Degree-days from the confirmed biofix to a day; None where there is none by then, or nobody asks."""
        if not any(rule.biofix or rule.degree_days for rule in self.office.visits):
            return None
        settled = (one.biofix for one in self._season.biofixes(row.block, row.species))
        first = next((one.confirmed for one in settled if one.generation == 1), None)
        model = model_for(self._season.season_office.models, row.species)
        if first is None or on < first:
            return None
        station = self._season.station_of(row.block)
        return self._season.sum_of(station, model.development, first, on).total if model else 0.0


def visits_due(conn: sqlite3.Connection, folder: Path, on: date, office: Office) -> dict[str, date]:
    """Day by which each trap is to be visited; the season is read only where ``plan.toml`` asks for an interval.

    Args:
        conn: The store.
        folder: The scouting folder.
        on: The day.
        office: The office's rules and season.
    """
    rules = read_plan_office(folder)
    return VisitDays(SeasonRecord(conn, folder, on, office), rules).due() if rules.visits else {}


class PlanRecord:
    """What is known on one day for the plan of a season; each part is read when it is asked for.

    Args:
        conn: The store.
        folder: The scouting folder, for the office's ``plan.toml`` and ``models.toml``.
        on: The day; nothing after it is used.
        office: The office's rules and season.
        season: Year in which the planned season starts; None: the running one, or the next once all traps are down.

    Raises:
        StoreError: The store cannot be read.
        ProblemsError: ``plan.toml`` or ``models.toml`` is faulty.
    """

    def __init__(
        self, conn: sqlite3.Connection, folder: Path, on: date, office: Office, season: int | None = None
    ) -> None:
        self._conn = conn
        self._folder = folder
        self._office = office
        self.on = on
        """The day."""
        self.plan_office = read_plan_office(folder)
        """The office's rules for plans."""
        self._season_office = read_season_office(folder)
        self.programme = programme(conn)
        """All that is set up."""
        self.running = season_start(on, office.season_starts_on)
        """First day of the running season."""
        if season is None:
            first = season_to_plan(self.programme, self.running, self._start(self.running.year + 1), on)
        else:
            first = self._start(season)
        self.span = Span(first, self._start(first.year + 1) - timedelta(days=1), on)
        """The planned season."""
        self._years: dict[tuple[str, Development], Warmth] = {}

    def _start(self, year: int) -> date:
        return date(year, *self._office.season_starts_on)

    @cached_property
    def _before(self) -> SeasonRecord:
        """The season before, as far as it is known on the day."""
        day = min(self.span.first - timedelta(days=1), self.on)
        return SeasonRecord(self._conn, self._folder, day, self._office)

    @cached_property
    def past(self) -> dict[tuple[str, str], PastSeason]:
        """The season before, of every block and species that had traps in it."""
        of = self._before
        log = of.history.stage_log
        return {
            key: past_season(of.season, group, of.history.visits, log.get(key[0], ()), (of.first, of.on))
            for key, group in of.series.items()
        }

    @cached_property
    def plan(self) -> SeasonPlan:
        """The plan."""
        planner = Planner(self.programme, self.plan_office, self.span, self._warmth)
        plan, needed = planner.plan(self.past), needed_in(self._conn, self._office, self.on)
        return replace(plan, rows=tuple(replace(row, needed=needed.get((row.block, row.species))) for row in plan.rows))

    def _warmth(self, block: str, rule: HangRule) -> Warmth | None:
        known, model = self.programme.blocks.get(block), model_for(self._season_office.models, rule.species)
        development = rule.development or (model.development if model else None)
        if known is None or not known.station or development is None:
            return None
        key = (known.station, development)
        if key not in self._years:
            filled = self._season_office.most_filled
            days = station_days(self._conn, known.station, last=self.on)
            normal = normals_of(self._conn, known.station, self.span.first, self.span.last)
            stated = StationYears(normal, development, filled) if normal else None
            self._years[key] = Warmth(StationYears(days, development, filled), stated)
        return self._years[key]

    # --- stock and packing -------------------------------------------------------------------------------------------

    @cached_property
    def history(self) -> History:
        """The record up to the day."""
        return history(self._conn, self.programme, self.on, self._office)

    @cached_property
    def uses(self) -> Uses:
        """All lures put out, up to the day."""
        return uses_since(self._conn, self.programme, date.min, self.on)

    @cached_property
    def _room(self) -> StoreRoom:
        with plainly(self._conn):
            return StoreRoom(present(self._conn, STOCKS, date.min, self.on), self.uses.known)

    @cached_property
    def places(self) -> tuple[Place, ...]:
        """Every trap of the plan, with the days on which it wants pieces."""
        lots = {
            use.trap: use.lot
            for use in self.uses.known
            if use.trap in self.programme.hangings
            and self.programme.lots[use.lot].species == self.programme.hangings[use.trap][-1].species
        }
        of = self._before
        liners = {
            trap: sum(1 for visit in visits if visit.liner and of.first <= visit.read_on <= of.on)
            for trap, visits in of.history.visits.items()
        }
        assembled = {trap: one.lot for trap, one in self._parts.known.waiting.items()}
        return places(self.plan, self.programme, Before(lots, liners, assembled), self.plan_office.margins)

    @cached_property
    def lots(self) -> tuple[LotStock, ...]:
        """Every lot in stock or in use, with what will be wanted of it: by the traps that hang, and by the plan."""
        ends = season_ends_on(self._conn, self.on, self._office) or self.plan.ends_on
        if ends is None:
            ends = self.on + timedelta(days=self.plan_office.margins.season_days)
        hanging = wants(self.programme, self.history.last_service, self.on, ends)
        planned = first_lures(self.places, self.programme)
        wanted = sorted((*hanging, *planned), key=lambda want: (want.on, natural_key(want.trap)))
        return lots_in_stock(self.programme, self._room.entries, self._room.uses, wanted, self.on)

    def packing(self, route: str = "") -> Packing:
        """The packing list of the season, or of a route's next round.

        Args:
            route: Name of the route; empty: the season.
        """
        margins = self.plan_office.margins
        if not route:
            return Packing(self.plan.season, season_packing(self.places, self.lots, self._bodies(), margins))
        return round_packing(
            self.programme,
            self.history,
            route,
            self.on,
            season=self.running.year,
            store=self._room,
            margins=margins,
            due=visits_due(self._conn, self._folder, self.on, self._office),
        )

    @cached_property
    def _parts(self) -> KitRecord:
        return read_kit(self._conn, self.on)

    def _bodies(self) -> dict[str, int]:
        """Bodies in store, of species whose bodies somebody put on record: a few labels in a register are no count."""
        parts = tuple(self._parts.known.parts.values())
        noted = {part.species for part in self._parts.noted if part.part is PartKind.BODY}
        return {species: bodies_in_store(parts, species) for species in noted}

    @property
    def without_lot(self) -> int:
        """Lures put out since the first count of any lot whose own lot nobody wrote down."""
        first = min((entry.stocked_on for entry in self._room.entries), default=None)
        return sum(1 for on, _ in self.uses.unknown if first is not None and on >= first)
