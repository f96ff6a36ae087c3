"""Daily temperatures out of ``weather.csv``: typed days, or problems that name line and column."""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import date

from roundtui.domain.plain import plain
from roundtui.domain.table import column_name, shown
from roundtui.domain.units import TempUnit, unit_of
from roundtui.domain.weather.columns import StationDays, hour_code, unit_code
from roundtui.domain.weather.days import MOST_FILLED_DAYS, WeatherDay
from roundtui.domain.weather.rows import (
    MOST_PROBLEMS,
    Faults,
    Settling,
    WeatherRead,
    date_of,
    hour_of,
    number_of,
    numbered,
    settled,
    why_no_date,
)
from roundtui.errors import Problem

_MOST_REMEMBERED = 100_000
"""Different days and temperatures that are kept understood; thirty years in tenths of a degree are some 13,000."""
REQUIRED = ("station", "date", "tmin", "tmax")
"""Columns that ``weather.csv`` must have."""
OPTIONAL = ("unit", "observed_at")
"""Columns that it may have."""


def parse_weather(
    lines: Iterable[str],
    *,
    unit: TempUnit | None = None,
    where: str = "weather.csv",
    stations: Collection[str] | None = None,
    last: date | None = None,
    most_filled: int = MOST_FILLED_DAYS,
) -> WeatherRead:
    """Read the office's own file of daily temperatures.

    Args:
        lines: The file's lines, or its rows of text as an open file gives them.
        unit: Unit of rows that state none; None: each row has to state its own.
        where: File name as problems show it.
        stations: Stations that are set up; None: any.
        last: Last day a row may have, as today; None: any.
        most_filled: Longest gap that is filled, for the remarks. [d]

    Returns:
        The days, with problems and remarks.
    """
    source = iter(lines)
    parser = WeatherParser(where, unit=unit, stations=stations, last=last)
    if parser.header(source):
        parser.feed(source)
    settling = Settling(where, most_filled)
    settling.unsorted = parser.unsorted
    return settled(parser.stations.values(), settling, parser.problems(), parser.left_out())


def _header_is_good(header: list[str], line: int, faults: Faults) -> bool:
    known = (*REQUIRED, *OPTIONAL)
    if not any(header):
        faults.add(line, "", "is empty", f"the first line names the columns: {','.join(REQUIRED)}")
        return False
    unknown = [name for name in header if name not in known]
    missing = [name for name in REQUIRED if name not in header]
    twice = sorted({name for name in header if header.count(name) > 1 and name in known})
    for name in unknown:
        faults.add(line, "", f"the column {shown(name)} is unknown", f"known: {', '.join(known)}")
    for name in twice:
        faults.add(line, "", f"the column {name} stands there twice", "keep one of them")
    if missing:
        faults.add(line, "", f"the column {' and '.join(missing)} is missing", f"needed: {', '.join(REQUIRED)}")
    return not (unknown or missing or twice)


class WeatherParser:
    """Rows of ``weather.csv`` into columns, one station's apart from another's.

    Args:
        where: File name as problems show it.
        unit: Unit of rows that state none; None: each row has to state its own.
        stations: Stations that are set up; None: any.
        last: Last day a row may have; None: any.
    """

    def __init__(
        self,
        where: str,
        *,
        unit: TempUnit | None = None,
        stations: Collection[str] | None = None,
        last: date | None = None,
    ) -> None:
        self.unit = unit
        self.known = stations
        self.last = last
        self.faults = Faults(where)
        self.stations: dict[str, StationDays] = {}
        """What was read, until it is taken away."""
        self.unsorted = False
        """Whether a row came before one of an earlier day, or of a station that sorts before its own."""
        self._columns: list[str] = []
        self._lines = 0
        self._blank: list[Problem] = []
        self._more_blank = 0
        # The same few texts come again and again, so each is understood once. What each is for: see ``feed``.
        self._days: dict[str, int] = {}
        self._temps: dict[str, float] = {}
        self._units: dict[str, int] = {}
        self._hours: dict[str, int] = {}

    def header(self, lines: Iterator[str]) -> bool:
        """Read the line that names the columns; False where there is something wrong with it.

        Args:
            lines: The file's lines; what follows the header stays in it.
        """
        line, header = next(numbered(lines, self.faults), (1, []))
        self._lines = line
        if header:
            header[0] = header[0].removeprefix("\ufeff").strip()
        known = (*REQUIRED, *OPTIONAL)
        header = [column_name(name) if column_name(name) in known else name for name in header]
        self._columns = header
        return not self.faults.listed() and _header_is_good(header, line, self.faults)

    def feed(self, lines: Iterable[str], after: int | None = None) -> None:
        """Read further lines.

        Args:
            lines: Whole rows.
            after: How many lines stand before them in the file; None: those fed so far.
        """
        before = self._lines if after is None else after
        rows = csv.reader(lines, strict=True)
        at = [self._columns.index(name) for name in REQUIRED]
        station_at, date_at, low_at, high_at = at
        unit_at, hour_at = (self._columns.index(name) if name in self._columns else None for name in OPTIONAL)
        days, temps, units, hours, width = self._days, self._temps, self._units, self._hours, len(self._columns)
        places: dict[str, StationDays] = {}
        newest: StationDays | None = None
        try:
            for row in rows:
                try:
                    if len(row) != width:
                        raise KeyError
                    here = places[row[station_at]]
                    day = days[row[date_at]]
                    low, high = temps[row[low_at]], temps[row[high_at]]
                    unit = units["" if unit_at is None else row[unit_at]]
                    hour = 0 if hour_at is None else hours[row[hour_at]]
                except KeyError:
                    found = self._slow(row, before + rows.line_num)
                    if found is None:
                        continue
                    here = places[row[station_at]] = found
                else:
                    # What ``add`` does, without the call: this runs a million times.
                    here.days.append(day)
                    here.tmin.append(low)
                    here.tmax.append(high)
                    here.units.append(unit)
                    here.hours.append(hour)
                    here.lines.append(before + rows.line_num)
                if here is not newest:
                    self.unsorted = self.unsorted or (newest is not None and here.station < newest.station)
                    newest = here
        except csv.Error as fault:
            self.faults.add(before + rows.line_num, "", f"is not well formed ({fault})", "check the quotation marks")
        self._lines = before + rows.line_num

    def problems(self) -> tuple[Problem, ...]:
        """What was wrong with single rows."""
        return self.faults.listed()

    def left_out(self) -> tuple[Problem, ...]:
        """Remarks on days with a blank temperature."""
        more = f"and {self._more_blank} more days with a blank temperature"
        return (*self._blank, *([Problem(self.faults.where, more, "")] if self._more_blank else []))

    def _slow(self, row: list[str], line: int) -> StationDays | None:
        """A row with something in it that was not understood before; None where it gives no day."""
        fields = [field.strip() for field in row]
        if not any(fields):
            return None
        if len(fields) != len(self._columns):
            words = f"has {len(fields)} fields, the header {len(self._columns)}"
            self.faults.add(line, "", words, "check the commas")
            return None
        day = self._day(dict(zip(self._columns, fields, strict=True)), line)
        if day is None:
            return None
        written = dict(zip(self._columns, row, strict=True))
        codes = unit_code(day.unit), hour_code(day.observed_at)
        if len(self._days) + len(self._temps) < _MOST_REMEMBERED:
            self._days[written["date"]] = day.on.toordinal()
            self._temps[written["tmin"]], self._temps[written["tmax"]] = day.tmin, day.tmax
            self._units[written.get("unit", "")], self._hours[written.get("observed_at", "")] = codes
        here = self.stations.setdefault(day.station, StationDays(day.station))
        here.add(day.on.toordinal(), day.tmin, day.tmax, codes, line)
        return here

    def _day(self, row: Mapping[str, str], line: int) -> WeatherDay | None:
        station = row["station"]
        on = self._date(row["date"], line)
        nothing = not row["tmin"] and not row["tmax"]
        unit = self.unit or TempUnit.F if nothing and not row.get("unit") else self._unit(row.get("unit", ""), line)
        hour = hour_of(row.get("observed_at", ""))
        if not station:
            self.faults.add(line, "station", "is blank", "write the station's code")
        elif self.known is not None and station not in self.known:
            self.faults.add(line, "station", f"{shown(station)} is unknown", "add it to stations.csv first")
            station = ""
        if hour is None:
            self.faults.add(line, "observed_at", f"{shown(row['observed_at'])} is no hour", "write it as 07:00")
        blank = [name for name in ("tmin", "tmax") if not row[name]]
        low, high = (self._number(name, row[name], line) for name in ("tmin", "tmax"))
        if not station or on is None or unit is None or hour is None:
            return None
        if blank:
            words = f"{plain(station, 40)}, {on}: {' and '.join(blank)} is blank"
            if len(self._blank) < MOST_PROBLEMS:
                self._blank.append(Problem(self.faults.place(line), words, "the day counts as not read"))
            else:
                self._more_blank += 1
        if low is None or high is None:
            return None
        return WeatherDay(station, on, low, high, unit, hour)

    def _date(self, text: str, line: int) -> date | None:
        on = date_of(text)
        if on is None:
            self.faults.add(line, "date", f"{shown(text)} {why_no_date(text)}", "write it as 2025-05-09")
        elif self.last is not None and on > self.last:
            self.faults.add(line, "date", f"{on} is in the future", f"no day after {self.last} can have been read")
            return None
        return on

    def _unit(self, text: str, line: int) -> TempUnit | None:
        unit = unit_of(text) if text else self.unit
        if unit is None and text:
            self.faults.add(line, "unit", f"{shown(text)} is no unit", "write F or C")
        elif unit is None:
            self.faults.add(line, "unit", "is not stated", "add a column unit with F or C, or set the office's unit")
        return unit

    def _number(self, column: str, text: str, line: int) -> float | None:
        if not text:
            return None
        value = number_of(text)
        if value is None:
            hint = "write decimals with a point, as 12.5" if "," in text else "write it as 12.5"
            self.faults.add(line, column, f"{shown(text)} is no temperature", hint)
        return value
