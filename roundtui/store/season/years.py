"""The seasons of a block, or of the area, beside each other: each season is read once for all that is asked."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date, timedelta
from functools import cached_property
from pathlib import Path

from roundtui.domain.entries import Visit
from roundtui.domain.figures import upkeep
from roundtui.domain.figures.blocks import Record, Standings
from roundtui.domain.figures.figures import Series
from roundtui.domain.figures.history import Observations, newest_service
from roundtui.domain.figures.rules import Office
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.season.models import FROM_BIOFIX, model_for
from roundtui.domain.season.season import moves_of, round_days, round_means
from roundtui.domain.season.years import By, Caught, Judged, Place, SeasonEnd, YearOf, Years, held_against, season_end
from roundtui.store.figures.history import uncollected
from roundtui.store.record.observations import Key, confirmed_biofixes
from roundtui.store.round.recounts import pairs
from roundtui.store.season.season import SeasonRecord, seasons_on_record
from roundtui.store.traps.parts import known_on

KEPT_VISITS = 20_000
"""With more visits a season one past season is held at a time for the area: each visit takes about a kilobyte."""


class YearsRecord:
    """Every season up to a day.

    Args:
        conn: The store.
        folder: The scouting folder.
        on: The day; the others are compared with its season.
        office: The office's rules and season; past seasons are judged by them as well.
        only: Block and species whose traps alone are read; an empty one stands for all.

    Raises:
        StoreError: The store cannot be read.
        ProblemsError: ``models.toml`` is faulty.
    """

    def __init__(self, conn: sqlite3.Connection, folder: Path, on: date, office: Office, only: Key = ("", "")) -> None:
        self._conn = conn
        self._folder = folder
        self._office = office
        self.only = only
        """Block and species whose traps alone are read."""
        self.now = SeasonRecord(conn, folder, on, office, (only,))
        """The season that is looked at."""
        self._past: dict[int, SeasonRecord] = {}

    @cached_property
    def seasons(self) -> tuple[int, ...]:
        """Years whose seasons hold a reading, up to that of the day, oldest first."""
        known = [year for year in seasons_on_record(self._conn, self._office) if year < self.now.season]
        return (*known, self.now.season)

    def season(self, year: int) -> SeasonRecord:
        """A season, as it looks on its last day, or on the day where it is the one that is looked at.

        Args:
            year: Year in which it started.
        """
        if year == self.now.season:
            return self.now
        if year not in self._past:
            self._past[year] = SeasonRecord(self._conn, self._folder, self._last_of(year), self._office, (self.only,))
        return self._past[year]

    def _last_of(self, year: int) -> date:
        """Last day of a season: the day before the next one starts."""
        return date(year + 1, *self._office.season_starts_on) - timedelta(days=1)

    def ending(self, season: int) -> YearsRecord:
        """The same with a past season as the one that is looked at, on its last day.

        Args:
            season: Year in which it started.
        """
        found = YearsRecord(self._conn, self._folder, self._last_of(season), self._office, self.only)
        found._past = self._past
        return found

    def ends(
        self, farms: Iterable[str], progress: Callable[[int, int], None] = lambda *_: None
    ) -> tuple[SeasonEnd, ...]:
        """The end of the season that is looked at.

        Args:
            farms: Codes of the farms; an empty one stands for the programme.
            progress: Told how many blocks are done, and of how many.
        """
        now, every = self.now, []
        for key in self.keys():
            every.append(self.of(*key))
            progress(len(every), len(self.keys()))
        season = (now.season, now.first, now.on)
        twice = pairs(self._conn, now.programme, now.first, now.on)
        parts = tuple(known_on(self._conn, now.on).parts.values())
        return tuple(
            season_end(now.programme, now.history.visits, every, season, farm, second_counts=twice, parts=parts)
            for farm in farms
        )

    def keys(self) -> tuple[Key, ...]:
        """Blocks and species with traps in the season that is looked at, by farm and block."""
        return self.now.keys()

    @uncollected()
    def of(self, block: str, species: str, by: By = By.DATE, most_past: int | None = None) -> Years:
        """A block and species over the years.

        Args:
            block: Code of the block; empty: the area, over all blocks.
            species: Abbreviation of the species.
            by: What the seasons are laid beside each other by.
            most_past: Seasons on record that are looked at before this one, the newest; None: all.
        """
        wanted = self.seasons if most_past is None else self.seasons[-most_past - 1 :]
        found = []
        for season in wanted:
            year = self.year(season, block, species, by)
            if year.places:
                found.append(year)
            if not block and sum(map(len, self.season(season).history.visits.values())) > KEPT_VISITS:
                self._past.clear()
        now = found[-1] if found and found[-1].season == self.now.season else None
        place = now.at(now.rounds[-1][0]) if now is not None and now.rounds else None
        model = model_for(self.now.season_office.models, species)
        remarks = []
        if by is By.DEGREE_DAYS:
            remarks += [f"{year.season}: no biofix is known" for year in found if year.biofix is None]
            remarks += [f"{year.season}: no degree-days" for year in found if year.biofix and not year.accumulated]
        if not block and by is By.DEGREE_DAYS:
            remarks.append("the area counts from the earliest biofix of its blocks, at that block's station")
        return Years(
            block=block,
            species=species,
            by=by,
            unit=model.development.unit if model is not None and by is By.DEGREE_DAYS else None,
            seasons=tuple(found),
            against=tuple(held_against(now, past, place) for past in reversed(found[:-1])) if now is not None else (),
            remarks=tuple(remarks),
        )

    def year(self, season: int, block: str, species: str, by: By = By.DATE) -> YearOf:
        """One season of a block and species.

        Args:
            season: Year in which it started.
            block: Code of the block; empty: the area.
            species: Abbreviation of the species.
            by: What its points are laid out by.
        """
        of = self.season(season)
        keys = [key for key in of.series if key[1] == species and block in ("", key[0])]
        groups = [[one.within(of.first, of.on) for one in of.series[key]] for key in keys]
        # Series of the traps in a block's mean, or of those at its edge alone.
        inside = [one for group in groups for one in [row for row in group if not row.hanging.edge] or group]
        moves = [(one.hanging.trap, day) for one in inside for day in moves_of([one], of.programme.hangings, of.first)]
        biofix, accumulated = self._axis(of, keys) if by is By.DEGREE_DAYS else (self._biofix(of, keys)[0], {})
        return YearOf(
            season=season,
            first=of.first,
            last=of.on,
            by=by,
            biofix=biofix,
            accumulated=accumulated,
            # In the area a trap more or less that moved is no new series of all the others.
            rounds=round_means(inside, [day for _, day in moves] if block else []),
            caught=Caught.of(inside, (one for group in groups for one in group)),
            judged=tuple(self._judged(of, keys)),
            places=tuple(_places(of.programme, inside)),
            moved=tuple(sorted(moves, key=lambda move: (move[1], natural_key(move[0])))),
        )

    def _biofix(self, of: SeasonRecord, keys: Iterable[Key]) -> tuple[date | None, str]:
        """The earliest biofix of the first generation, and the block that has it."""
        found = ((of.first_biofix(key), key[0]) for key in keys)
        return min(((day, block) for day, block in found if day is not None), default=(None, ""))

    def _axis(self, of: SeasonRecord, keys: list[Key]) -> tuple[date | None, Mapping[date, float]]:
        biofix, block = self._biofix(of, keys)
        model = model_for(of.season_office.models, keys[0][1], from_biofix=True) if keys else None
        if biofix is None or model is None or model.starts != FROM_BIOFIX:
            return biofix, {}
        total = of.sum_of(of.station_of(block), model.development, biofix, of.on)
        return biofix, {row.on: row.total for row in total.rows}

    def judged(self, species: str) -> Iterable[tuple[int, Judged]]:
        """Where every block of a species stood on each of its rounds, season by season, by the office's rules.

        Args:
            species: Abbreviation of the species.
        """
        for season in self.seasons:
            of = self.season(season)
            yield from ((season, one) for one in self._judged(of, [key for key in of.series if key[1] == species]))

    def _judged(self, of: SeasonRecord, keys: Iterable[Key]) -> Iterator[Judged]:
        """Where blocks stood on the last day of each of their rounds, as the summary of that day says."""
        against = Observations(treatments=of.treatments).against()
        confirmed = confirmed_biofixes(self._conn, of.on, self._office)
        known = Record(of.programme, of.history, of.office, of.on, confirmed, against, of.days_to_gather)
        by_load = {rule.species for rule in of.office.rules if rule.load_mg is not None}

        def service(trap: str, on: date) -> Mapping[str, Visit]:
            hanging = of.programme.hanging(trap, on)
            known = [visit for visit in of.history.visits.get(trap, ()) if visit.read_on <= on]
            return newest_service(of.programme, hanging, known) if hanging else {}

        for key in keys:
            group = of.series[key]
            standings = Standings(known, key, group, service if key[1] in by_load else None)
            for on in round_days([one.within(of.first, of.on) for one in group]):
                stands = standings.on(on)
                if stands is not None:
                    yield Judged(key[0], on, stands.verdict.status)


def _places(programme: Programme, group: Iterable[Series]) -> Iterable[Place]:
    for one in group:
        row = one.hanging
        lot = upkeep.present_lot(programme, row, {})
        yield Place(row.trap, row.block, row.row, row.tree, lot.load_mg if lot else None)
