"""Daily temperatures out of ``weather.csv``: typed days, or problems that name line and column."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import date

from roundtui.domain.plain import plain
from roundtui.domain.table import shown
from roundtui.domain.units import TempUnit, unit_of
from roundtui.domain.weather import MOST_FILLED_DAYS, WeatherDay
from roundtui.domain.weather_checks import Placed
from roundtui.domain.weather_rows import Faults, WeatherRead, date_of, finish, hour_of, number_of, numbered, why_no_date
from roundtui.errors import Problem

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
    faults = Faults(where)
    rows = numbered(lines, faults)
    line, header = next(rows, (1, []))
    if header:
        header[0] = header[0].removeprefix("\ufeff").strip()
    if faults.listed() or not _header_is_good(header, line, faults):
        return WeatherRead((), faults.listed())
    reader = _RowReader(header, unit, stations, last, faults)
    placed = reader.read(rows)
    return finish(placed, faults.listed(), tuple(reader.left_out), where, most_filled)


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


class _RowReader:
    """Rows of ``weather.csv`` into days."""

    def __init__(
        self,
        header: list[str],
        unit: TempUnit | None,
        stations: Collection[str] | None,
        last: date | None,
        faults: Faults,
    ) -> None:
        self.header = header
        self.unit = unit
        self.stations = stations
        self.last = last
        self.faults = faults
        self.left_out: list[Problem] = []

    def read(self, rows: Iterable[tuple[int, list[str]]]) -> list[Placed]:
        placed: list[Placed] = []
        for line, fields in rows:
            if len(fields) != len(self.header):
                self.faults.add(
                    line, "", f"has {len(fields)} fields, the header {len(self.header)}", "check the commas"
                )
                continue
            day = self._day(dict(zip(self.header, fields, strict=True)), line)
            if day:
                placed.append(Placed(self.faults.place(line), day))
        return placed

    def _day(self, row: Mapping[str, str], line: int) -> WeatherDay | None:
        station = row["station"]
        on = self._date(row["date"], line)
        nothing = not row["tmin"] and not row["tmax"]
        unit = self.unit or TempUnit.F if nothing and not row.get("unit") else self._unit(row.get("unit", ""), line)
        hour = hour_of(row.get("observed_at", ""))
        if not station:
            self.faults.add(line, "station", "is blank", "write the station's code")
        elif self.stations is not None and station not in self.stations:
            self.faults.add(line, "station", f"{shown(station)} is unknown", "add it to stations.csv first")
        if hour is None:
            self.faults.add(line, "observed_at", f"{shown(row['observed_at'])} is no hour", "write it as 07:00")
        blank = [name for name in ("tmin", "tmax") if not row[name]]
        low, high = (self._number(name, row[name], line) for name in ("tmin", "tmax"))
        if not station or on is None or unit is None or hour is None:
            return None
        if blank:
            words = f"{plain(station, 40)}, {on}: {' and '.join(blank)} is blank"
            self.left_out.append(Problem(self.faults.place(line), words, "the day counts as not read"))
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
