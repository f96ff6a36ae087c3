"""Daily temperatures out of GHCN-Daily, the open format of the US National Oceanic and Atmospheric Administration.

Two layouts are read, told apart by the first line. One line for each station, day and element (by station or by year,
with or without a header): id, date, element, value, measurement flag, quality flag, source flag, hour of observation.
Or one line a day with a column for each element and one for its flags (``TMAX``, ``TMAX_ATTRIBUTES`` …). Temperatures
are whole tenths of °C. A value with a quality flag failed a check and is not used.

Source: GHCN-Daily by-station readme, copy at dagshub.com/DagsHub-Datasets/noaa-ghcn-dataset; -9999 for a missing value
and the columns of the second layout from memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from roundtui.domain.plain import plain
from roundtui.domain.table import shown
from roundtui.domain.units import HIGHEST, LOWEST, TempUnit
from roundtui.domain.weather.days import MOST_FILLED_DAYS, WeatherDay
from roundtui.domain.weather.rows import Faults, WeatherRead, date_of, finish, hour_of, numbered, why_no_date
from roundtui.errors import Problem

_ELEMENTS = ("TMIN", "TMAX")
_MISSING = "-9999"
_NO_HOUR = "9999"
_NAMED = 3
"""Days that a remark names; the rest are counted."""


@dataclass
class _Element:
    """One value of one element on one day."""

    value: int
    hour: str
    line: int


@dataclass
class _LeftOut:
    """Days left out for one reason."""

    days: list[str] = field(default_factory=list)

    def add(self, station: str, on: date) -> None:
        self.days.append(f"{plain(station, 40)} {on}")

    def remark(self, where: str, words: str, hint: str) -> list[Problem]:
        if not self.days:
            return []
        named = ", ".join(self.days[:_NAMED]) + (" …" if len(self.days) > _NAMED else "")
        return [Problem(where, f"{words}: {len(self.days)} ({named})", hint)]


def parse_ghcn(
    lines: Iterable[str],
    *,
    stations: Mapping[str, str] | None = None,
    where: str = "ghcn.csv",
    most_filled: int = MOST_FILLED_DAYS,
) -> WeatherRead:
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
    faults = Faults(where)
    reader = _Reader(stations, faults)
    rows = numbered(lines, faults)
    line, first = next(rows, (1, []))
    first = [first[0].removeprefix("\ufeff").strip('"'), *first[1:]] if first else first
    # In capitals as the agency writes them: the office's own file has these words in small letters, in whole degrees.
    if {"STATION", "DATE", *_ELEMENTS} <= set(first):
        if not {f"{element}_ATTRIBUTES" for element in _ELEMENTS} <= set(first):
            faults.add(line, "", "the columns TMAX_ATTRIBUTES and TMIN_ATTRIBUTES are missing", "they hold the flags")
        for line, row in rows:
            reader.read_day(first, row, line)
    elif len(first) >= 6 and (first[0] in {"ID", "STATION"} or date_of(first[1])):
        if date_of(first[1]):
            reader.read_element(first, line)
        for line, row in rows:
            reader.read_element(row, line)
    elif not faults.listed():
        hint = "a line is id, YYYYMMDD, element, value, flags, hour; or a header holds STATION, DATE, TMAX, TMIN"
        faults.add(line, "", "this is no GHCN-Daily file", hint)
    placed, left_out = reader.days(where)
    return finish(placed, faults.listed(), left_out, where, most_filled)


class _Reader:
    """Gathers elements by station and day."""

    def __init__(self, stations: Mapping[str, str] | None, faults: Faults) -> None:
        self._stations = stations
        self._faults = faults
        self._found: dict[tuple[str, date], dict[str, _Element]] = {}
        self._flagged = _LeftOut()

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

    def _take(self, id_: str, dated: str, element: str, told: tuple[str, str, str], line: int) -> None:
        value, quality, hour = told
        station = id_ if self._stations is None else self._stations.get(id_)
        if station is None or value == _MISSING:
            return
        on = date_of(dated)
        digits = value.lstrip("+-")
        if on is None:
            self._faults.add(line, "date", f"{shown(dated)} {why_no_date(dated)}", "GHCN-Daily writes 20250509")
        elif not (digits.isascii() and digits.isdigit() and len(digits) <= 5):
            hint = "GHCN-Daily holds whole tenths of °C; this looks like another export"
            self._faults.add(line, element, f"{shown(value)} is no whole number", hint)
        elif quality:
            self._flagged.add(station, on)
        else:
            known = hour_of("" if hour == _NO_HOUR else hour) or ""
            elements = self._found.setdefault((station, on), {})
            before = elements.setdefault(element, _Element(int(value), known, line))
            if before.value != int(value):
                words = f"{element} of {plain(station, 40)}, {on} is given twice, with different values"
                self._faults.add(line, "", words, f"keep this line or line {before.line}")

    def days(self, where: str) -> tuple[list[tuple[int, WeatherDay]], tuple[Problem, ...]]:
        """Days that have both temperatures, and remarks on those left out."""
        placed: list[tuple[int, WeatherDay]] = []
        half, crossed, out = _LeftOut(), _LeftOut(), _LeftOut()
        for (station, on), elements in self._found.items():
            low, high = elements.get("TMIN"), elements.get("TMAX")
            if low is None or high is None:
                half.add(station, on)
            elif low.value > high.value:
                crossed.add(station, on)
            elif low.value < LOWEST[TempUnit.C] * 10 or high.value > HIGHEST[TempUnit.C] * 10:
                out.add(station, on)
            else:
                hour = low.hour or high.hour
                day = WeatherDay(station, on, low.value / 10, high.value / 10, TempUnit.C, hour)
                placed.append((low.line, day))
        missing = "they count as not read"
        left_out = (
            *self._flagged.remark(where, "values with a quality flag, not used", "the day counts as not read"),
            *half.remark(where, "days with only one of TMIN and TMAX", missing),
            *crossed.remark(where, "days whose minimum is above the maximum", missing),
            *out.remark(where, "days with a temperature never measured anywhere", missing),
        )
        return placed, left_out
