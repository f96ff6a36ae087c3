"""Seasons of a session's folder: each is read once, until something is entered."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from functools import lru_cache, partial
from typing import TYPE_CHECKING

from roundtui.domain.figures.history import season_start
from roundtui.report.charts import Chart, write_pictures
from roundtui.report.season.chart import Key, OtherYear, Picture, other_year, picture_of
from roundtui.store.office import files_here
from roundtui.store.season.season import MODELS, SeasonRecord, seasons_on_record
from roundtui.store.season.weather import FORECAST

if TYPE_CHECKING:
    import sqlite3
    from pathlib import Path

    from roundtui.domain.entries import BiofixSettled, TempsRead
    from roundtui.domain.season.years import By, Years
    from roundtui.errors import Problem
    from roundtui.store.session import Session

Choose = Callable[[tuple[Key, ...]], Key | None]
"""Chooses a block and species of those there are."""


def seasons_of(session: Session) -> Seasons:
    """What the Season screen asks and tells: as it was left, where nothing that it is made of changed since."""
    files = files_here(session.folder, (MODELS, FORECAST))
    written = tuple(path.stat().st_mtime_ns for paths in files.values() for path in paths)
    others = session.conn.execute("PRAGMA data_version").fetchone()[0]
    return _kept(session, session.on, session.changes, session.conn.total_changes, others, written)


@lru_cache(maxsize=1)
def _kept(session: Session, *_state: object) -> Seasons:
    return Seasons(session)


class Seasons:
    """What the Season screen asks and tells.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self._records: dict[int, SeasonRecord] = {}
        self._newest: tuple[tuple[int, Key, str], Picture] | None = None
        self.others: dict[tuple[Key, int], tuple[OtherYear, ...]] = {}
        """The other years of what was shown, as ``other_years`` read them."""
        self.now = season_start(session.on, session.office.season_starts_on).year
        """Year in which the running season started."""
        on_record = [year for year in seasons_on_record(session.conn, session.office) if year < self.now]
        self.years = (*on_record, self.now)
        """Years of the seasons that can be shown, oldest first."""

    def record(self, year: int) -> SeasonRecord:
        """The season of a year: the running one as of the session's day, another one as of its last day."""
        if year not in self._records:
            self._records[year] = self._made(year, self.session.conn)
        return self._records[year]

    def _made(self, year: int, conn: sqlite3.Connection) -> SeasonRecord:
        return SeasonRecord(conn, self.session.folder, self._day(year), self.session.office)

    def known(self, year: int, choose: Choose, trap: str = "") -> tuple[Key, Picture] | None:
        """The picture made last, where it is the one asked for as ``picture`` is; None elsewhere."""
        key = choose(self._records[year].keys()) if year in self._records else None
        return (key, self._newest[1]) if key and self._newest and self._newest[0] == (year, key, trap) else None

    def picture(self, year: int, choose: Choose, trap: str = "") -> tuple[Key, Picture] | None:
        """A season as a picture. Meant for a thread: it reads over a connection of its own.

        Args:
            year: Year in which the season started.
            choose: Chooses a block and species of those there are.
            trap: The one trap to show; empty: the mean of all.

        Returns:
            Whose picture it is, with the picture; None where no trap hung.
        """
        session = self.session
        with session.connection() as conn:
            record = self._records[year].over(conn) if year in self._records else self._made(year, conn)
            key = choose(record.keys())
            if key is not None:
                self._newest = (year, key, trap), picture_of(record, key, trap)
            self._records[year] = record.over(session.conn)
        return self.known(year, choose, trap)

    def other_years(self, key: Key, year: int) -> tuple[OtherYear, ...]:
        """The other years of a block and species. Meant for a thread: it reads over a connection of its own."""
        with self.session.connection() as conn:
            found = [other_year(self._made(other, conn), key) for other in self.years if other != year]
        self.others[key, year] = tuple(one for one in found if one is not None)
        return self.others[key, year]

    def against(self, key: Key, year: int) -> dict[By, Years]:
        """A season beside those before it, both ways. Meant for a thread: it reads over a connection of its own.

        Args:
            key: Block and species; an empty block stands for the area.
            year: Year of the season with which the others are compared.

        Raises:
            RoundtuiError: The store, or a file of the office, cannot be used.
        """
        from roundtui.domain.season.years import By
        from roundtui.store.season.years import YearsRecord

        session = self.session
        with session.connection() as conn:
            record = YearsRecord(conn, session.folder, self._day(year), session.office, key)
            return {by: record.of(*key, by) for by in By}

    def settle(self, entry: BiofixSettled) -> BiofixSettled:
        """Put a biofix on record."""
        from roundtui.store.season.biofix import settle_biofix

        session = self.session
        recorded = settle_biofix(session.conn, self.record(entry.season), entry, session.author, session.clock())
        self.forget()
        return recorded

    def changes(self, entry: BiofixSettled) -> tuple[str, ...]:
        """In words, what a biofix would change, looked up over a connection of its own; nothing is recorded."""
        from roundtui.store.season.biofix import biofix_changes, settle_biofix

        session, record = self.session, self.record(entry.season)
        with session.connection() as conn:
            change = partial(settle_biofix, conn, record.over(conn), entry, session.author, session.clock())
            return biofix_changes(conn, session.folder, record, entry, change)

    def enter_temps(self, entry: TempsRead, *, sure: bool = False) -> tuple[TempsRead, tuple[Problem, ...]]:
        """Put a day's temperatures on record; what is odd about them comes back with them."""
        from roundtui.store.season.weather_load import enter_temps

        session = self.session
        found = enter_temps(
            session.conn,
            session.programme,
            entry,
            author=session.author,
            now=session.clock(),
            today=session.on,
            sure=sure,
        )
        self.forget()
        return found

    def unit_of(self, station: str) -> str:
        """Unit of a station's newest day, else the office's; empty where neither says one."""
        from roundtui.store.season.weather_load import unit_used_last

        unit = unit_used_last(self.session.conn, station) or self.record(self.now).season_office.unit
        return unit.value if unit else ""

    def write(self, name: str, chart: Chart) -> tuple[Path, Path]:
        """Write a picture into the folder."""
        return write_pictures(self.session.folder, name, chart)

    def forget(self) -> None:
        """Read everything anew when it is next needed."""
        self._records.clear()
        self.others.clear()
        self._newest = None
        self.session.forget()

    def _day(self, year: int) -> date:
        if year == self.now:
            return self.session.on
        month, day = self.session.office.season_starts_on
        return date(year + 1, month, day) - timedelta(days=1)
