"""Daily temperatures out of ``weather.csv``: typed days, or problems that name line and column.

Daily temperatures out of GHCN-Daily, the open format of the US National Oceanic and Atmospheric Administration.
Hourly temperatures: read from text, reduced to daily extremes, and looked up at an instant such as sunset.
"""

from __future__ import annotations

import csv
from bisect import bisect_left
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, time, timedelta, tzinfo
from itertools import pairwise

from roundtui.domain.records import Frozen
from roundtui.domain.season import weather_rows
from roundtui.domain.season.weather import MOST_FILLED_DAYS, WeatherDay
from roundtui.domain.text import listed, sanitize
from roundtui.domain.toml_table import column_name, shown
from roundtui.domain.units import HIGHEST, LOWEST, TempUnit, unit_of
from roundtui.errors import Problem

_MOST_REMEMBERED = 100_000
"""Different days and temperatures that are kept understood; thirty years in tenths of a degree are some 13,000."""
FORMS = {"weather": "columns of weather.csv", "ghcn": "GHCN-Daily", "hourly": "columns station, time, temp"}
"""Forms of temperature files that are read, with what they are; see DEVELOPERS.md for one more."""
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
) -> weather_rows.WeatherRead:
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
    settling = weather_rows.Settling(where, most_filled)
    settling.unsorted = parser.unsorted
    return weather_rows.finish(parser.stations.values(), settling, parser.faults.listed(), parser.left_out())


def _header_is_good(header: list[str], line: int, faults: weather_rows.Faults) -> bool:
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
        faults.add(line, "", f"the column {name} is there twice", "keep one of them")
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
        self.faults = weather_rows.Faults(where)
        self.stations: dict[str, weather_rows.StationDays] = {}
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
        line, header = next(weather_rows.numbered(lines, self.faults), (1, []))
        self._lines = line
        if header:
            header[0] = header[0].removeprefix("\ufeff").strip()
        known = (*REQUIRED, *OPTIONAL)
        header = [column_name(name) if column_name(name) in known else name for name in header]
        self._columns = header
        return not self.faults.listed() and _header_is_good(header, line, self.faults)

    def pass_over(self, lines: int) -> None:
        """So many lines follow that are not read."""
        self._lines += lines

    def feed(self, lines: Iterable[str]) -> None:
        """Read further lines, each row whole."""
        before, rows = self._lines, csv.reader(lines, strict=True)
        at = [self._columns.index(name) for name in REQUIRED]
        station_at, date_at, low_at, high_at = at
        unit_at, hour_at = (self._columns.index(name) if name in self._columns else None for name in OPTIONAL)
        days, temps, units, hours, width = self._days, self._temps, self._units, self._hours, len(self._columns)
        places: dict[str, weather_rows.StationDays] = {}
        newest: weather_rows.StationDays | None = None
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
                    # What ``StationDays.add`` does, without the call: this runs a million times.
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

    def left_out(self) -> tuple[Problem, ...]:
        """Remarks on days with a blank temperature."""
        more = f"and {self._more_blank} more days with a blank temperature"
        return (*self._blank, *([Problem(self.faults.where, more, "")] if self._more_blank else []))

    def _slow(self, row: list[str], line: int) -> weather_rows.StationDays | None:
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
        here = self.stations.setdefault(day.station, weather_rows.StationDays())
        here.add(day, line)
        if len(self._days) + len(self._temps) < _MOST_REMEMBERED:
            self._days[written["date"]] = day.on.toordinal()
            self._temps[written["tmin"]], self._temps[written["tmax"]] = day.tmin, day.tmax
            self._units[written.get("unit", "")] = here.units[-1]
            self._hours[written.get("observed_at", "")] = here.hours[-1]
        return here

    def _day(self, row: Mapping[str, str], line: int) -> WeatherDay | None:
        station = row["station"]
        on = self._date(row["date"], line)
        nothing = not row["tmin"] and not row["tmax"]
        unit = self.unit or TempUnit.F if nothing and not row.get("unit") else self._unit(row.get("unit", ""), line)
        hour = weather_rows.hour_of(row.get("observed_at", ""))
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
            words = f"{sanitize(station, 40)}, {on}: {' and '.join(blank)} is blank"
            if len(self._blank) < weather_rows.MOST_PROBLEMS:
                self._blank.append(Problem(self.faults.place(line), words, "the day counts as not read"))
            else:
                self._more_blank += 1
        if low is None or high is None:
            return None
        return WeatherDay(station, on, low, high, unit, hour)

    def _date(self, text: str, line: int) -> date | None:
        on = weather_rows.date_of(text)
        if on is None:
            self.faults.add(line, "date", f"{shown(text)} {weather_rows.why_no_date(text)}", "write it as 2025-05-09")
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
        value = weather_rows.number_of(text)
        if value is None:
            hint = "write decimals with a point, as 12.5" if "," in text else "write it as 12.5"
            self.faults.add(line, column, f"{shown(text)} is no temperature", hint)
        return value


_ELEMENTS = ("TMIN", "TMAX")
_MISSING = "-9999"
_NO_HOUR = "9999"
_NAMED = 3
"""Days that a remark names; the rest are counted."""


_Element = tuple[int, str, int]
"""Value, hour and line of one element on one day."""
_Days = list[tuple[str, date]]
"""Stations and days."""


def _left_out(where: str, days: _Days, words: str, hint: str = "they count as not read") -> list[Problem]:
    """A remark on days that are left out for one reason; none where there are none."""
    named = listed((f"{sanitize(station, 40)} {on}" for station, on in days), _NAMED)
    return [Problem(where, f"{words}: {len(days)} ({named})", hint)] if days else []


def parse_ghcn(
    lines: Iterable[str],
    *,
    stations: Mapping[str, str] | None = None,
    where: str = "ghcn.csv",
    most_filled: int = MOST_FILLED_DAYS,
) -> weather_rows.WeatherRead:
    """Read a GHCN-Daily file.

    Args:
        lines: The file's lines; a year of all stations may be long, so they are taken one by one.
        stations: The office's station code by GHCN id; lines of other stations are passed over. None: every station
            is taken, under its own id.
        where: File name as problems show it.
        most_filled: Longest gap that is filled, for the remarks. [d]

    Returns:
        The days in °C, with problems and remarks.
    """
    faults = weather_rows.Faults(where)
    reader = _Reader(stations, faults)
    rows = weather_rows.numbered(lines, faults)
    line, first = next(rows, (1, []))
    first = [first[0].removeprefix("\ufeff").strip('"'), *first[1:]] if first else first
    # In capitals as the agency writes them: the office's own file has these words in small letters, in whole degrees.
    if {"STATION", "DATE", *_ELEMENTS} <= set(first):
        if not {f"{element}_ATTRIBUTES" for element in _ELEMENTS} <= set(first):
            faults.add(line, "", "the columns TMAX_ATTRIBUTES and TMIN_ATTRIBUTES are missing", "they hold the flags")
        for line, row in rows:
            reader.read_day(first, row, line)
    elif len(first) >= 6 and (first[0] in {"ID", "STATION"} or weather_rows.date_of(first[1])):
        if weather_rows.date_of(first[1]):
            reader.read_element(first, line)
        for line, row in rows:
            reader.read_element(row, line)
    elif not faults.listed():
        hint = "a line is id, YYYYMMDD, element, value, flags, hour; or a header holds STATION, DATE, TMAX, TMIN"
        faults.add(line, "", "this is no GHCN-Daily file", hint)
    found, left_out = reader.days(where)
    return weather_rows.finish(found, weather_rows.Settling(where, most_filled), faults.listed(), left_out)


class _Reader:
    """Gathers elements by station and day."""

    def __init__(self, stations: Mapping[str, str] | None, faults: weather_rows.Faults) -> None:
        self._stations = stations
        self._faults = faults
        self._found: dict[tuple[str, date], dict[str, _Element]] = {}
        self._flagged: _Days = []

    def read_element(self, row: Sequence[str], line: int) -> None:
        """Take one line of the first layout."""
        if len(row) < 6:
            self._faults.add(line, "", f"has {len(row)} fields", "a line of GHCN-Daily has 8")
        elif row[2].upper() in _ELEMENTS:
            hour = row[7] if len(row) > 7 else ""
            self._take(row[0], row[1], row[2].upper(), (row[3], row[5], hour), line)

    def read_day(self, names: Sequence[str], row: Sequence[str], line: int) -> None:
        """Take one line of the second layout."""
        if len(row) != len(names):
            self._faults.add(line, "", f"has {len(row)} fields, the header {len(names)}", "check the commas")
            return
        fields = dict(zip(names, row, strict=True))
        for element in _ELEMENTS:
            if fields[element]:
                flags = [*(part.strip() for part in fields.get(f"{element}_ATTRIBUTES", "").split(",")), "", "", "", ""]
                self._take(fields["STATION"], fields["DATE"], element, (fields[element], flags[1], flags[3]), line)

    def _take(self, id_: str, dated: str, element: str, said: tuple[str, str, str], line: int) -> None:
        value, quality, hour = said
        station = id_ if self._stations is None else self._stations.get(id_)
        if station is None or value == _MISSING:
            return
        on = weather_rows.date_of(dated)
        digits = value.lstrip("+-")
        if on is None:
            self._faults.add(
                line, "date", f"{shown(dated)} {weather_rows.why_no_date(dated)}", "GHCN-Daily writes 20250509"
            )
        elif not (digits.isascii() and digits.isdigit() and len(digits) <= 5):
            hint = "GHCN-Daily holds whole tenths of °C; this looks like another export"
            self._faults.add(line, element, f"{shown(value)} is no whole number", hint)
        elif quality:
            self._flagged.append((station, on))
        else:
            known = weather_rows.hour_of("" if hour == _NO_HOUR else hour) or ""
            elements = self._found.setdefault((station, on), {})
            before, _, earlier = elements.setdefault(element, (int(value), known, line))
            if before != int(value):
                words = f"{element} of {sanitize(station, 40)}, {on} is given twice, with different values"
                self._faults.add(line, "", words, f"keep this line or line {earlier}")

    def days(self, where: str) -> tuple[Iterable[weather_rows.StationDays], list[Problem]]:
        """Days that have both temperatures, and remarks on those left out."""
        stations: dict[str, weather_rows.StationDays] = {}
        half: _Days = []
        crossed: _Days = []
        out: _Days = []
        for (station, on), elements in self._found.items():
            if len(elements) < len(_ELEMENTS):
                half.append((station, on))
                continue
            (low, hour, line), (high, other, _) = (elements[name] for name in _ELEMENTS)
            if low > high:
                crossed.append((station, on))
            elif low < LOWEST[TempUnit.C] * 10 or high > HIGHEST[TempUnit.C] * 10:
                out.append((station, on))
            else:
                day = WeatherDay(station, on, low / 10, high / 10, TempUnit.C, hour or other)
                stations.setdefault(station, weather_rows.StationDays()).add(day, line)
        flagged = "values with a quality flag, not used", "the day counts as not read"
        return stations.values(), [
            *_left_out(where, self._flagged, *flagged),
            *_left_out(where, half, "days with only one of TMIN and TMAX"),
            *_left_out(where, crossed, "days whose minimum is above the maximum"),
            *_left_out(where, out, "days with a temperature never measured anywhere"),
        ]


LONGEST_WITHOUT = timedelta(hours=3)
"""Longest time without a reading in a day that is still taken as whole; common practice, no source."""
_COLUMNS = ("station", "time", "temp")


class Moment(Frozen):
    """One temperature at one instant."""

    at: datetime
    """Instant; with its offset from UTC, or by the station's standard time without one."""
    temp: float
    """Air temperature."""


class HourlyRead(Frozen):
    """What a file of hourly temperatures held."""

    moments: dict[str, tuple[Moment, ...]]
    """Readings by station, in order of time."""
    units: dict[str, TempUnit]
    """Unit of each station's readings."""
    problems: tuple[Problem, ...] = ()
    """What cannot be; the file is refused."""


def parse_hourly(lines: Iterable[str], *, unit: TempUnit | None = None, where: str = "hourly.csv") -> HourlyRead:
    """Read a file with the columns station, time, temp and, where there is one, unit.

    Args:
        lines: The file's lines.
        unit: Unit of rows that state none.
        where: File name as problems show it.

    Returns:
        Readings by station. A time is written in ISO 8601, with its offset (``2025-05-09T14:00-04:00``, ``…Z``) or
        without one for the station's standard time, all year, as loggers keep it.
    """
    faults = weather_rows.Faults(where)
    rows = weather_rows.numbered(lines, faults)
    line, header = next(rows, (1, []))
    header = [name.removeprefix("\ufeff").strip() for name in header]
    if set(header) - {"unit"} != set(_COLUMNS) or len(set(header)) != len(header):
        if not faults.listed():
            faults.add(
                line,
                "",
                f"the header is {shown(','.join(header))}",
                f"write {','.join(_COLUMNS)}, and unit if you like",
            )
        return HourlyRead({}, {}, faults.listed())
    by_station: dict[str, list[Moment]] = {}
    units: dict[str, TempUnit] = {}
    for line, row in rows:
        if len(row) != len(header):
            faults.add(line, "", f"has {len(row)} fields, the header {len(header)}", "check the commas")
            continue
        fields = dict(zip(header, row, strict=True))
        moment = _moment(fields, line, faults)
        stated = unit_of(fields.get("unit", "")) or (unit if not fields.get("unit") else None)
        if stated is None:
            faults.add(line, "unit", f"{shown(fields.get('unit', ''))} is no unit", "write F or C")
        elif not fields["station"]:
            faults.add(line, "station", "is blank", "write the station's code")
        elif moment:
            held = by_station.setdefault(fields["station"], [])
            if units.setdefault(fields["station"], stated) is not stated:
                faults.add(line, "unit", "changes within the station", "write one unit a station")
            elif held and (held[0].at.tzinfo is None) != (moment.at.tzinfo is None):
                faults.add(line, "time", "some times have an offset from UTC and some have none", "write all one way")
            else:
                held.append(moment)
    if faults.listed():
        return HourlyRead({}, {}, faults.listed())
    return HourlyRead({name: tuple(sorted(held, key=lambda m: m.at)) for name, held in by_station.items()}, units)


def _moment(fields: dict[str, str], line: int, faults: weather_rows.Faults) -> Moment | None:
    text = fields["time"]
    try:
        at = datetime.fromisoformat(text) if len(text) > 10 else None
    except ValueError:
        at = None
    if at is None:
        faults.add(line, "time", f"{shown(text)} is no date and time", "write it as 2025-05-09T14:00-04:00")
    temp = weather_rows.number_of(fields["temp"])
    # A blank temperature is an hour nobody read: no fault, and no reading.
    if temp is None and fields["temp"]:
        faults.add(line, "temp", f"{shown(fields['temp'])} is no temperature", "write it as 12.5")
    return Moment(at, temp) if at is not None and temp is not None else None


def daily_extremes(
    moments: Sequence[Moment],
    station: str,
    unit: TempUnit,
    *,
    tz: tzinfo | None = None,
    where: str = "hourly.csv",
    longest_without: timedelta = LONGEST_WITHOUT,
    most_filled: int = MOST_FILLED_DAYS,
) -> weather_rows.WeatherRead:
    """Reduce readings through the day to its lowest and highest.

    Args:
        moments: Readings of one station, in order of time.
        station: Code of the station.
        unit: Unit of the readings.
        tz: Clock by which a day runs from midnight to midnight, for readings that have an offset.
        where: File name as remarks show it.
        longest_without: A day with a longer time without a reading is left out: its extreme may lie in there.
        most_filled: Longest gap that is filled, for the remarks. [d]

    Returns:
        Days that are whole, with problems and with remarks on those left out.

    Raises:
        ValueError: The readings have an offset and no clock is given.
    """
    by_day: dict[date, list[tuple[datetime, float]]] = {}
    for moment in moments:
        at = moment.at
        if at.tzinfo is not None:
            if tz is None:
                raise ValueError("readings with an offset from UTC need the clock of their station")
            at = at.astimezone(tz).replace(tzinfo=None)
        by_day.setdefault(at.date(), []).append((at, moment.temp))
    found, partial = weather_rows.StationDays(), []
    for on, readings in by_day.items():
        midnight = datetime.combine(on, time())
        clock = [midnight, *(at for at, _ in readings), midnight + timedelta(days=1)]
        if max(later - earlier for earlier, later in pairwise(sorted(clock))) > longest_without:
            partial.append((station, on))
            continue
        temps = [temp for _, temp in readings]
        found.add(WeatherDay(station, on, min(temps), max(temps), unit, "24:00"))
    words = f"days with more than {longest_without / timedelta(hours=1):g} hours without a reading"
    settling = weather_rows.Settling(where, most_filled)
    return weather_rows.finish([found], settling, (), _left_out(where, partial, words))


def temp_at(moments: Sequence[Moment], at: datetime, longest_without: timedelta = LONGEST_WITHOUT) -> float | None:
    """Temperature at an instant, on a straight line between the readings beside it.

    Args:
        moments: Readings of one station, in order of time.
        at: Instant, as of sunset; with an offset if the readings have one.
        longest_without: Readings further apart tell nothing of the time between.

    Returns:
        The temperature; None where there is no reading on either side, or they lie too far apart.
    """
    place = bisect_left(moments, at, key=lambda moment: moment.at)
    if place < len(moments) and moments[place].at == at:
        return moments[place].temp
    if place in {0, len(moments)}:
        return None
    before, after = moments[place - 1], moments[place]
    span = after.at - before.at
    if span > longest_without:
        return None
    return before.temp + (after.temp - before.temp) * ((at - before.at) / span)
