"""What an office settled for the season, in its ``models.toml``: models, biofix rules, habits of weather.

The season of every block, put together from the record: one reading of the store serves all that is asked of it.
"""

from __future__ import annotations

import sqlite3
from bisect import bisect_left
from collections.abc import Iterable, Mapping
from copy import copy
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from functools import cached_property
from pathlib import Path

from roundtui.domain.entries import TreatmentSaid
from roundtui.domain.figures import integrity
from roundtui.domain.figures.blocks import Record, block_row
from roundtui.domain.figures.figures import Reading, Series, block_figure, by_block, series, window_start
from roundtui.domain.figures.history import History, Observations, season_last, season_start
from roundtui.domain.figures.learned import Rounds
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.verdicts import BlockRow
from roundtui.domain.programme.farm import natural_key
from roundtui.domain.season import season
from roundtui.domain.season.biofix import Sunsets
from roundtui.domain.season.degree_days import Development
from roundtui.domain.season.models import FROM_BIOFIX, SeasonOffice, SpeciesModel, model_for, parse_models, stands_in
from roundtui.domain.season.outlook import Outlook, StandIn
from roundtui.domain.season.weather import DegreeDaySum, StationYears, WeatherDay, degree_day_sum
from roundtui.domain.season.weather_rows import StationDays, remarks
from roundtui.errors import Problem, ProblemsError
from roundtui.store.failures import plainly
from roundtui.store.figures.history import history
from roundtui.store.figures.learned import learned_by
from roundtui.store.office import read_toml
from roundtui.store.record.observations import Key, confirmed_biofixes, present, settled_biofixes
from roundtui.store.record.read import SUSPECT, hangings, programme_for
from roundtui.store.record.rows import EVERY, TREATMENTS, Only
from roundtui.store.season.weather import normals_of, read_forecast, station_days, sunsets_of

MODELS = "models.toml"
"""Name of the file inside the scouting folder."""


def read_season_office(folder: Path) -> SeasonOffice:
    """The office's models and biofix rules before those that ship.

    Args:
        folder: The scouting folder.

    Raises:
        ProblemsError: The file cannot be read or says something wrong; every fault is in it.
    """
    office, problems = preview_models(folder)
    if office is None:
        raise ProblemsError(
            f"{MODELS} cannot be used; no season is worked out without it", problems, "correct the file"
        )
    return office


def preview_models(folder: Path) -> tuple[SeasonOffice | None, tuple[Problem, ...]]:
    """The same, with the faults as values.

    Args:
        folder: The scouting folder.
    """
    hint = "look at the line it names; models begin with [[model]], rules with [[biofix]], and texts stand in quotes"
    table, problem = read_toml(folder / MODELS, hint)
    if problem is not None:
        return None, (problem,)
    return (SeasonOffice(), ()) if table is None else parse_models(table, MODELS)


_EDGE_DAYS = 40
"""Days beyond a sum's ends that may be needed to fill a gap there. [d]"""


class SeasonRecord:
    """What is known on one day of the season it belongs to. Temperatures are read once for each station.

    Args:
        conn: The store.
        folder: The scouting folder, for the office's ``models.toml``.
        on: The day; nothing after it is used.
        office: The office's rules and season.
        only: Blocks and species whose traps are read; an empty one stands for all.

    Raises:
        StoreError: The store cannot be read.
        ProblemsError: ``models.toml`` is faulty.
    """

    def __init__(self, conn: sqlite3.Connection, folder: Path, on: date, office: Office, only: Only = EVERY) -> None:
        self.conn = conn
        self._only = only
        self.on = on
        """The day."""
        self.office = office
        """The office's rules and season."""
        self.season_office = read_season_office(folder)
        """The office's models, biofix rules and weather habits."""
        self.first = season_start(on, office.season_starts_on)
        """First day of the season."""
        self.season = self.first.year
        """Year in which the season started."""
        self.last = season_last(on, office.season_starts_on)
        """Last day of the season."""
        self.programme = programme_for(conn, on, office, only)
        """What is set up, as far as it can matter."""
        self.treatments: tuple[TreatmentSaid, ...] = tuple(present(conn, TREATMENTS, self.first, on))
        """Treatments that growers spoke of, up to the day."""
        self._days: dict[tuple[str, date | None], tuple[WeatherDay, ...]] = {}
        self._years: dict[tuple[str, Development, date | None], StationYears] = {}
        self._normals: dict[str, tuple[WeatherDay, ...]] = {}
        self._folder = folder
        self._forecast: tuple[WeatherDay, ...] | None = None
        self._biofixes: dict[Key, tuple[season.BiofixRow, ...]] = {}
        self._settled = settled_biofixes(conn, self.season, on)
        self._rounds: dict[date, Rounds] = {}

    def over(self, conn: sqlite3.Connection) -> SeasonRecord:
        """The same over another connection, as a thread of its own needs it; what was read is known there too."""
        found = copy(self)
        found.conn = conn
        return found

    @cached_property
    def history(self) -> History:
        """The record up to the day, as its summary needs it."""
        whole = self._only == EVERY
        return history(self.conn, self.programme, self.on, self.office, self._only, whole=whole)

    @cached_property
    def series(self) -> Mapping[Key, list[Series]]:
        """Readings by block and species, of traps that hung in the season; by farm and block."""
        known = self.history
        # No other trap was ever in trouble.
        suspect = replace(self.programme, traps=hangings(self.conn, SUSPECT))
        found = integrity.examine(suspect, known.scent, self.on, known.assembled, known.bodies)
        every = {
            trap: series(rows, known.visits.get(trap, ()), found) for trap, rows in self.programme.hangings.items()
        }
        grouped = {
            key: [one for one in group if one.hanging.hung_a_night_in(self.first, self.on)]
            for key, group in by_block(every).items()
        }
        return {key: grouped[key] for key in sorted(filter(grouped.get, grouped), key=self._place)}

    def _place(self, key: Key) -> tuple[object, ...]:
        block, species = key
        return natural_key(self.programme.farm_of(block)), natural_key(block), species

    def keys(self) -> tuple[Key, ...]:
        """Blocks and species with traps in the season, by farm and block."""
        return tuple(self.series)

    # --- temperatures ------------------------------------------------------------------------------------------------

    def station_of(self, block: str) -> str:
        """Code of the station that stands for a block; empty where none does."""
        known = self.programme.blocks.get(block)
        return known.station if known else ""

    def days_of(self, station: str, since: date | None = None) -> tuple[WeatherDay, ...]:
        """Days of a station up to the day; of all its years, or since a day."""
        key = (station, since)
        if key not in self._days:
            self._days[key] = station_days(self.conn, station, since, self.on) if station else ()
        return self._days[key]

    def years_of(self, station: str, development: Development, *, now: bool = False) -> StationYears:
        """A station's degree-days for one way of counting: over all its years, or of now, what has been of this season.

        Args:
            station: Code of the station.
            development: How they are counted.
            now: Whether this season is enough.
        """
        whole = (station, development, None)
        key = (station, development, self.first - timedelta(days=_EDGE_DAYS)) if now else whole
        if key not in self._years and whole in self._years:
            key = whole
        if key not in self._years:
            self._years[key] = StationYears(self.days_of(station, key[2]), development, self.season_office.most_filled)
        return self._years[key]

    def sum_of(self, station: str, development: Development, first: date, last: date) -> DegreeDaySum:
        """Running sum of a station's degree-days.

        Args:
            station: Code of the station.
            development: How they are counted.
            first: First day, included.
            last: Last day, included.
        """
        since, until = first - timedelta(days=_EDGE_DAYS), last + timedelta(days=_EDGE_DAYS)
        days = self.days_of(station)
        begin = bisect_left(days, since, key=lambda one: one.on)
        end = bisect_left(days, until, key=lambda one: one.on)
        # One day more on either side tells a gap from the ends of all there is.
        near = days[max(begin - 1, 0) : end + 1]
        return degree_day_sum(near, development, first, last, self.season_office.most_filled)

    def remarks_on(self, station: str) -> tuple[Problem, ...]:
        """What is odd in a station's temperatures of the season: gaps, a changed hour of observation, unlikely days."""
        return tuple(
            remarks(
                StationDays.of(day for day in self.days_of(station) if day.on >= self.first),
                self.season_office.most_filled,
            )
        )

    def remarks(self) -> tuple[Problem, ...]:
        """The same of every station that stands for a block with traps."""
        stations = dict.fromkeys(self.station_of(block) for block, _ in self.keys())
        return tuple(odd for station in stations for odd in self.remarks_on(station))

    def days_to_gather(self, block: str, species: str, day: date, amount: Fraction) -> date | None:
        """Day by which so many degree-days were accumulated in a block after a day; None where they were not, so far.

        Args:
            block: Code of the block.
            species: Abbreviation of the species, for the way of counting.
            day: The day before the first one that counts.
            amount: Degree-days. [unit of the species' model]
        """
        model = model_for(self.season_office.models, species)
        if model is None:
            return None
        years = self.years_of(self.station_of(block), model.development, now=True)
        return years.reach(day + timedelta(days=1), float(amount), self.on).on

    # --- biofix ------------------------------------------------------------------------------------------------------

    def biofixes(self, block: str, species: str) -> tuple[season.BiofixRow, ...]:
        """Biofix of every generation that has begun or is waited for; none where nobody has a rule and none was set."""
        key = (block, species)
        if key not in self._biofixes:
            model = model_for(self.season_office.models, species, from_biofix=True)
            station = self.years_of(self.station_of(block), model.development, now=True) if model else None
            settled = self._settled.get(key, {})
            self._biofixes[key] = tuple(
                season.BiofixRow(block, species, self.season, one, settled.get(one.generation, ()))
                for one in self._find_biofixes(key, station=station)
                if one.proposal is not None or one.confirmed is not None
            )
        return self._biofixes[key]

    def first_biofix(self, key: Key) -> date | None:
        """Biofix of the first generation of a block and species; None where there is none by the day."""
        on = next((one.on for one in self._find_biofixes(key, generations=1)), None)
        return on if on is not None and on <= self.on else None

    def _find_biofixes(
        self, key: Key, *, station: StationYears | None = None, generations: int = season.MOST_GENERATIONS
    ) -> tuple[season.Biofix, ...]:
        return season.season_biofixes(
            self.season_office.biofix_rules,
            key[1],
            self._trap_readings(key),
            on=self.on,
            station=station,
            confirmed={generation: entries[0].day for generation, entries in self._settled.get(key, {}).items()},
            sunsets=self._sunsets(key),
            generations=generations,
        )

    def _sunsets(self, key: Key) -> Sunsets | None:
        """The evenings of a block's station, where a rule of the species asks for them."""
        if not any(rule.sunset is not None for rule in self.season_office.biofix_rules if rule.species == key[1]):
            return None
        # Loads what works out a sunset, which nothing else needs.

        station = self.programme.stations.get(self.station_of(key[0]))
        if station is not None and not station.timezone:
            station = replace(station, timezone=self.season_office.timezone)
        return sunsets_of(self.conn, station)

    def biofix_rows(self) -> tuple[season.BiofixRow, ...]:
        """Biofixes of all blocks."""
        return tuple(row for key in self.keys() for row in self.biofixes(*key))

    def _trap_readings(self, key: Key) -> Iterable[Reading]:
        """Readings that may tell of a flight: of the traps in the block's mean, or of those at its edge alone."""
        group = self.series.get(key, [])
        inside = [one for one in group if not one.hanging.edge] or group
        return [reading for one in inside for reading in one.within(self.first, self.on).readings]

    # --- outlook -----------------------------------------------------------------------------------------------------

    def outlooks(self, block: str, species: str) -> tuple[Outlook, ...]:
        """Events of a block and species, from each biofix; none where nobody has a model."""
        model = model_for(self.season_office.models, species)
        if model is None:
            return ()
        station = self.station_of(block)
        biofixes = [row.biofix for row in self.biofixes(block, species)] if model.starts == FROM_BIOFIX else []
        return season.season_outlook(
            model,
            self.years_of(station, model.development),
            biofixes,
            on=self.on,
            stand_in=self._stand_in(model, station),
            season_begins=self.first,
            season_ends=self.last,
            normal=self._normal_of(station, model.development),
            forecast=self._forecast_of(station, model.development),
        )

    def _forecast_of(self, station: str, development: Development) -> StationYears | None:
        """A station's days to come as they are forecast, counted as a model counts; None where there are none."""
        if self._forecast is None:
            self._forecast = read_forecast(self._folder, self.season_office.unit)
        days = [day for day in self._forecast if day.station == station]
        return StationYears(days, development, self.season_office.most_filled) if days else None

    def _normal_of(self, station: str, development: Development) -> StationYears | None:
        """A station's normals over this season, counted as a model counts; None where none are stated."""
        if station not in self._normals:
            self._normals[station] = normals_of(self.conn, station, self.first, self.last) if station else ()
        stated = self._normals[station]
        return StationYears(stated, development, self.season_office.most_filled) if stated else None

    def _stand_in(self, model: SpeciesModel, station: str) -> StandIn | None:
        if model.starts != FROM_BIOFIX:
            return None
        of_year = model_for(self.season_office.models, model.species, from_biofix=False)
        if of_year is None or not stands_in(of_year, self.first):
            return None
        development = of_year.development
        return StandIn(of_year, self.years_of(station, development), self._normal_of(station, development))

    def outlook_rows(self, keys: Iterable[Key] | None = None) -> tuple[season.OutlookRow, ...]:
        """Events of some blocks.

        Args:
            keys: Blocks and species; None: all of them.
        """
        found = []
        for block, species in self.keys() if keys is None else keys:
            confirmed = {row.biofix.confirmed for row in self.biofixes(block, species)}
            for view in self.outlooks(block, species):
                sure = view.model.starts != FROM_BIOFIX or (view.start is not None and view.start in confirmed)
                events = sorted(view.events, key=lambda one: (one.generation, one.event.degree_days))
                found += [season.OutlookRow(block, species, event, view, sure) for event in events]
        return tuple(found)

    # --- the whole of one block --------------------------------------------------------------------------------------

    def block(self, block: str, species: str) -> season.BlockSeason:
        """All that is drawn of one block and species.

        Args:
            block: Code of the block.
            species: Abbreviation of the species.
        """
        group = self.series.get((block, species), [])
        inside = [one for one in group if not one.hanging.edge]
        read = sorted({r.read_on for one in group for r in one.readings if self.first <= r.read_on <= self.on})
        row = self._row((block, species), group, read[-1] if read else self.on)
        model = model_for(self.season_office.models, species)
        station = self.station_of(block)
        biofixes = self.biofixes(block, species)
        sums = []
        if model is not None and model.starts == FROM_BIOFIX:
            for one in biofixes:
                if one.biofix.on is not None and one.biofix.on <= self.on:
                    total = self.sum_of(station, model.development, one.biofix.on, self.on)
                    sums.append((one.biofix.generation, total))
        return season.BlockSeason(
            block=block,
            species=species,
            season=self.season,
            first=self.first,
            on=self.on,
            newest=(read[-1], block_figure(inside, read[-1]).mean) if read else None,
            band=row.band if row else None,
            rule=row.rule.id if row and row.rule else "",
            status=row.status if row else None,
            sure=row.sure if row else None,
            past_peak=row.past_peak if row else False,
            biofixes=biofixes,
            outlooks=self.outlooks(block, species),
            model=model,
            station=station,
            from_start=self.sum_of(station, model.development, self.first, self.on) if model else None,
            from_biofix=tuple(sums),
            remarks=self.remarks_on(station),
        )

    def _row(self, key: Key, group: list[Series], on: date) -> BlockRow | None:
        settled = confirmed_biofixes(self.conn, on, self.office)
        against = Observations(treatments=self.treatments).against()
        rounds = self._rounds_of(on) if on > window_start(self.on) else None
        known = Record(self.programme, self.history, self.office, on, settled, against, self.days_to_gather, rounds)
        return block_row(known, key, group)

    def _rounds_of(self, on: date) -> Rounds:
        """What the rounds of the programme taught up to a day of this week."""
        if on not in self._rounds:
            every = [one for group in self.series.values() for one in group]
            learned = learned_by(self.conn, self.programme, self.office, on)
            self._rounds[on] = Rounds(on, learned, every, self.programme.blocks)
        return self._rounds[on]


def seasons_on_record(conn: sqlite3.Connection, office: Office) -> tuple[int, ...]:
    """Years whose seasons hold a reading, oldest first.

    Args:
        conn: The store.
        office: For the start of the season.
    """
    with plainly(conn):
        # Seeks from one season to the next, so that the cost is that of the seasons and not of their visits.
        years = []
        after = ""
        while row := conn.execute("SELECT min(read_on) FROM visits WHERE read_on >= ?", (after,)).fetchone():
            if row[0] is None:
                break
            on = date.fromisoformat(row[0])
            years.append(season_start(on, office.season_starts_on).year)
            after = (season_last(on, office.season_starts_on) + timedelta(days=1)).isoformat()
    return tuple(years)
