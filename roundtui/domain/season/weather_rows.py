"""Days of one station as columns of numbers: a million of them are some thirty megabytes, as records ten times that.

What is wrong, or only odd, with the daily temperatures of a station.
What every file of temperatures has in common: faults by line, days each once, dates, hours and numbers as text.
"""

from __future__ import annotations

import csv
import re
from array import array
from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from itertools import pairwise
from operator import sub
from statistics import median

from roundtui.domain.records import Frozen
from roundtui.domain.season.weather import MOST_FILLED_DAYS, WeatherDay
from roundtui.domain.text import sanitize, several
from roundtui.domain.units import HIGHEST, LOWEST, TempUnit, convert_temp
from roundtui.errors import Problem

_UNITS = (TempUnit.F, TempUnit.C)
_NOON = 1 + 60 * 12


@dataclass(slots=True)
class StationDays:
    """Days of one station, in the order of their file until ``sort`` was called."""

    station: str = ""
    """Code of the station."""
    days: array[int] = field(default_factory=lambda: array("i"))
    """The days, as ordinals."""
    tmin: array[float] = field(default_factory=lambda: array("d"))
    """Minima. [unit of the day]"""
    tmax: array[float] = field(default_factory=lambda: array("d"))
    """Maxima. [unit of the day]"""
    units: bytearray = field(default_factory=bytearray)
    """Their units, as places in ``_UNITS``."""
    hours: array[int] = field(default_factory=lambda: array("H"))
    """Hours of observation in minutes from 00:00, and one more; 0 where nobody wrote it down."""
    lines: array[int] = field(default_factory=lambda: array("L"))
    """Lines they were read from; 0 where there is none."""

    @classmethod
    def of(cls, days: Iterable[WeatherDay]) -> StationDays:
        """Columns of days that are records.

        Args:
            days: Days of one station.
        """
        found = cls()
        for day in days:
            found.add(day)
        return found

    def __len__(self) -> int:
        return len(self.days)

    def __iter__(self) -> Iterator[WeatherDay]:
        return map(self.day, range(len(self)))

    def add(self, day: WeatherDay, line: int = 0) -> None:
        """Put one more day of the station at the end."""
        self.station, hour = day.station, day.observed_at
        self.days.append(day.on.toordinal())
        self.tmin.append(day.tmin)
        self.tmax.append(day.tmax)
        self.units.append(_UNITS.index(day.unit))
        self.hours.append(1 + 60 * int(hour[:2]) + int(hour[3:]) if len(hour) == 5 else 0)
        self.lines.append(line)

    def day(self, at: int) -> WeatherDay:
        """One of them as a record."""
        on, hour, unit = date.fromordinal(self.days[at]), _hour_text(self.hours[at]), _UNITS[self.units[at]]
        return WeatherDay(self.station, on, self.tmin[at], self.tmax[at], unit, hour)

    def rows(self) -> Iterator[tuple[str, float, float, str, str]]:
        """Day, temperatures, unit and hour of each, as the store has them."""
        units = (_UNITS[code].value for code in self.units)
        return zip(map(_day_text, self.days), self.tmin, self.tmax, units, map(_hour_text, self.hours), strict=True)

    @property
    def one_unit(self) -> TempUnit | None:
        """The unit of all; None where they differ, or there is none."""
        count = self.units.count(1)
        return None if count not in {0, len(self)} or not len(self) else _UNITS[count > 0]

    def within(self, unit: TempUnit) -> tuple[Sequence[float], Sequence[float]]:
        """All minima and maxima in a unit."""
        if self.one_unit is unit:
            return self.tmin, self.tmax
        pairs = [day.within(unit) for day in self]
        return [low for low, _ in pairs], [high for _, high in pairs]

    def ordered(self) -> bool:
        """Whether each day comes once, and in order."""
        return all(map(int.__lt__, self.days, self.days[1:]))

    def taken(self, places: Sequence[int]) -> StationDays:
        """Some of them, in an order wanted."""
        found = StationDays()
        for at in places:
            found.add(self.day(at), self.lines[at])
        return found


@lru_cache(maxsize=2048)
def _hour_text(code: int) -> str:
    return f"{(code - 1) // 60:02d}:{(code - 1) % 60:02d}" if code else ""


@lru_cache(maxsize=100_000)
def _day_text(ordinal: int) -> str:
    return date.fromordinal(ordinal).isoformat()


ODD_JUMP_C = 30.0
"""Difference from both days beside it at which a day is remarked; common practice, no source. [°C]"""
ODD_RANGE_C = 45.0
"""Difference of maximum and minimum at which a day is remarked; common practice, no source. [°C]"""
_HALF_A_YEAR = 180
_MOST_REMARKS = 5


def impossible(days: StationDays, where: str) -> list[Problem]:
    """What cannot be in the days of one station, told once for each kind, with how often it happens.

    Args:
        days: Days of one station, in any order.
        where: File name as problems show it.

    Returns:
        Problems; a file that has any is not to be taken in.
    """
    crossed = [at for at, (low, high) in enumerate(zip(days.tmin, days.tmax, strict=True)) if low > high]
    unit = days.one_unit
    sound = unit is not None and _measured(unit, min(days.tmin), max(days.tmin), min(days.tmax), max(days.tmax))
    out = [] if sound else [at for at, day in enumerate(days) if not _measured(day.unit, day.tmin, day.tmax)]
    return [tell(days, places, where) for tell, places in ((_crossed, crossed), (_out_of_range, out)) if places]


def place(where: str, line: int) -> str:
    """File and line as problems show them; the file alone for line 0."""
    return f"{where}, line {line}" if line else where


def _measured(unit: TempUnit, *temps: float) -> bool:
    # Rounding to whole degrees may carry a true record half a degree further.
    return LOWEST[unit] - 0.5 <= min(temps) and max(temps) <= HIGHEST[unit] + 0.5


def _crossed(days: StationDays, places: Sequence[int], where: str) -> Problem:
    day, total = days.day(places[0]), len(days)
    message = f"{day.on}: the minimum {day.tmin:g} is above the maximum {day.tmax:g}{_of_all(days, places)}"
    swapped = len(places) * 2 > total > 1
    return Problem(
        place(where, days.lines[places[0]]),
        message,
        "the columns tmin and tmax look swapped: swap their names in the header" if swapped else "swap or correct them",
    )


def _of_all(days: StationDays, places: Sequence[int]) -> str:
    many = f"; so it is in {len(places)} of {len(days)} rows of {sanitize(days.station, 40)}"
    return many if len(places) > 1 else ""


def _out_of_range(days: StationDays, places: Sequence[int], where: str) -> Problem:
    day = days.day(places[0])
    value = day.tmax if day.tmax > HIGHEST[day.unit] else day.tmin
    message = f"{day.on}: {value:g} {day.unit.sign} was never measured anywhere{_of_all(days, places)}"
    if day.unit is TempUnit.C and 0 < value <= HIGHEST[TempUnit.F]:
        hint = "it looks like °F: write F in the column unit"
    elif value % 1 == 0 and LOWEST[day.unit] <= value / 10 <= HIGHEST[day.unit]:
        hint = "it looks like tenths of a degree: divide by ten, or correct it"
    else:
        hint = "correct it, or take the row out"
    return Problem(place(where, days.lines[places[0]]), message, hint)


def remarks(days: StationDays, most_filled: int = MOST_FILLED_DAYS) -> list[Problem]:
    """What is odd in the days of one station, and still taken in as written.

    Args:
        days: Days of one station, each day once, in order.
        most_filled: Longest gap that is filled. [d]

    Returns:
        Remarks: unlikely days, a unit that looks wrong, long gaps, the hour of observation.
    """
    if not len(days):
        return []
    return [*_unlikely(days), *_unit(days), *_gaps(days, most_filled), *_hours(days)]


def _few(found: list[Problem], station: str, what: str) -> list[Problem]:
    if len(found) <= _MOST_REMARKS:
        return found
    rest = len(found) - _MOST_REMARKS
    return [*found[:_MOST_REMARKS], Problem(station, f"and {rest} more {what}", "")]


def _unlikely(days: StationDays) -> list[Problem]:
    unit = days.one_unit or TempUnit.C
    degrees = 1.8 if unit is TempUnit.F else 1.0
    lows, highs = days.within(unit)
    wide = {at for at, range_ in enumerate(map(sub, highs, lows)) if range_ > ODD_RANGE_C * degrees}
    found = {at: [_wide(days.day(at))] for at in wide}
    for name, temps in (("minimum", lows), ("maximum", highs)):
        steps = list(map(sub, temps[1:], temps))
        jump = ODD_JUMP_C * degrees
        for at, step in enumerate(steps[:-1], start=1):
            if not -jump <= step <= jump and at not in wide:
                after = steps[at]
                if (step > jump and after < -jump) or (step < -jump and after > jump):
                    found.setdefault(at, []).append(_far(days.day(at), name))
    every = [problem for at in sorted(found) for problem in found[at]]
    return _few(every, sanitize(days.station, 40), "unlikely days")


def _wide(day: WeatherDay) -> Problem:
    limit = ODD_RANGE_C * (1.8 if day.unit is TempUnit.F else 1.0)
    words = f"from {day.tmin:g} to {day.tmax:g} {day.unit.sign} within one day is more than {limit:g}"
    return Problem(f"{sanitize(day.station, 40)}, {day.on}", words, "check it; kept as written")


def _far(day: WeatherDay, name: str) -> Problem:
    value = day.tmin if name == "minimum" else day.tmax
    words = f"the {name} {value:g} {day.unit.sign} is far from both days beside it"
    return Problem(f"{sanitize(day.station, 40)}, {day.on}", words, "check it; kept as written")


def _unit(days: StationDays) -> list[Problem]:
    station = sanitize(days.station, 40)
    if days.one_unit is TempUnit.F:
        long = days.days[-1] - days.days[0] >= _HALF_A_YEAR
        if long and max(days.tmax) < 45:
            return [
                Problem(station, "no day of at least half a year passes 45 °F", "are these °C? Then write C as unit")
            ]
    elif len(days) > _MOST_REMARKS and median(days.within(TempUnit.C)[1]) > 42:
        return [Problem(station, "half the days are hotter than 42 °C", "are these °F? Then write F as unit")]
    return []


def _gaps(days: StationDays, most_filled: int) -> list[Problem]:
    if days.days[-1] - days.days[0] + 1 == len(days):
        return []
    found = []
    for before, after in pairwise(days.days):
        missing = after - before - 1
        if missing > most_filled:
            first, last = date.fromordinal(before + 1), date.fromordinal(after - 1)
            words = f"no temperatures from {first} to {last}, {several(missing, 'day')}"
            found.append(Problem(sanitize(days.station, 40), words, "sums stop there: ask the station for the days"))
    return _few(found, sanitize(days.station, 40), "gaps")


def _hours(days: StationDays) -> list[Problem]:
    """A changed hour of observation shifts sums, for a season by days to weeks; a morning hour belongs to yesterday."""
    written = set(days.hours) - {0}
    if not written:
        return []
    station = sanitize(days.station, 40)
    found: list[Problem] = []
    known = [at for at, hour in enumerate(days.hours) if hour]
    for before, after in pairwise(known) if len(written) > 1 else ():
        if days.hours[before] != days.hours[after]:
            last, first = days.day(before), days.day(after)
            words = f"read at {last.observed_at} until {last.on}, at {first.observed_at} from {first.on}"
            hint = "sums before and after do not compare: one hour a station, or two stations"
            found.append(Problem(station, words, hint))
    if sum(days.hours[at] < _NOON for at in known) * 2 > len(known):
        hint = "sums run about a day late against stations read at midnight; do not mix them"
        found.append(
            Problem(station, "read in the morning: the maximum of a row is mostly that of the day before", hint)
        )
    return _few(found, station, "changes of the hour")


FAR_C = 15.0
"""Difference from the station's past of that fortnight at which a day is remarked; own choice, measured. [°C]"""
_FITS_C = 9.0
_RUN_DAYS = 5
_APART = 4
_FROM_RECORD = 5
"""Days of a fortnight on record that are enough to hold a file against; else its own other years are asked."""
_FIRST_HALF, _LAST_HALF = 2, 25
_Medians = dict[int, dict[int, tuple[float, float]]]


def _fortnights(days: StationDays) -> Iterator[tuple[int, int, int, int]]:
    """Half months of ordered days: which of the year's 24, the year, where they begin and end."""
    at = 0
    while at < len(days):
        on = date.fromordinal(days.days[at])
        half = on.day > 15
        after = date(on.year + on.month // 12, on.month % 12 + 1, 1) if half else on.replace(day=16)
        end = bisect_left(days.days, after.toordinal(), at)
        yield on.month * 2 + half, on.year, at, end
        at = end


def _medians(days: StationDays, unit: TempUnit, least: int) -> _Medians:
    """Median minimum and maximum by fortnight and year, where there are so many days. [°C]"""
    lows, highs = days.within(unit)
    found: _Medians = {}
    for half, year, at, end in _fortnights(days):
        if end - at >= least:
            middle = (convert_temp(median(temps[at:end]), unit, TempUnit.C) for temps in (lows, highs))
            found.setdefault(half, {})[year] = (next(middle), next(middle))
    return found


def against_past(days: StationDays, past: StationDays | None = None) -> tuple[list[Problem], list[Problem]]:
    """Hold days against the station's own past of that fortnight: what is on record, else the file's other years.

    Args:
        days: Days of one station, each once and in order.
        past: Days on record; None: there are none.

    Returns:
        Runs of days that fit the past only in the other unit: to be asked about before they are taken in; and remarks
        on single days that lie far from it.
    """
    if not len(days):
        return [], []
    unit = days.one_unit or TempUnit.C
    lows, highs = days.within(unit)
    of_record = _medians(past, past.one_unit or TempUnit.C, _FROM_RECORD) if past is not None and len(past) else {}
    of_file = _medians(days, unit, _FROM_RECORD)
    far = FAR_C * (1.8 if unit is TempUnit.F else 1.0)
    odd: list[tuple[int, tuple[float, float], bool]] = []
    for half, year, at, end in _fortnights(days):
        years = of_record.get(half) or {one: pair for one, pair in of_file.get(half, {}).items() if one != year}
        # In a station's first season the fortnight before has to do.
        years = years or of_record.get(half - 1 if half > _FIRST_HALF else _LAST_HALF, {})
        if not years:
            continue
        usual = median(pair[0] for pair in years.values()), median(pair[1] for pair in years.values())
        low, high = (convert_temp(temp, TempUnit.C, unit) for temp in usual)
        ends = ((highs[at:end], high), (lows[at:end], low))
        if all(max(temps) - past <= far and past - min(temps) <= far for temps, past in ends):
            continue
        odd += [
            (one, usual, _fits_otherwise(days.day(one), usual))
            for one in range(at, end)
            if abs(highs[one] - high) > far or abs(lows[one] - low) > far
        ]
    return _sorted_out(days, odd)


def _other(unit: TempUnit) -> TempUnit:
    return TempUnit.C if unit is TempUnit.F else TempUnit.F


def _fits_otherwise(day: WeatherDay, usual: tuple[float, float]) -> bool:
    temps = (convert_temp(temp, _other(day.unit), TempUnit.C) for temp in (day.tmin, day.tmax))
    return all(abs(temp - past) <= _FITS_C for temp, past in zip(temps, usual, strict=True))


def _sorted_out(
    days: StationDays, odd: Sequence[tuple[int, tuple[float, float], bool]]
) -> tuple[list[Problem], list[Problem]]:
    station = sanitize(days.station, 40)
    runs: list[list[int]] = []
    for at, _, fits in odd:
        if fits:
            if runs and days.days[at] - days.days[runs[-1][-1]] <= _APART:
                runs[-1].append(at)
            else:
                runs.append([at])
    runs = [run for run in runs if len(run) >= _RUN_DAYS]
    doubtful = []
    for run in runs:
        first, last = days.day(run[0]), days.day(run[-1])
        words = f"{len(run)} days from {first.on} to {last.on} do not fit this station's past in {first.unit.sign}"
        hint = f"write {_other(first.unit).value} as their unit, or say that they are right as they are"
        doubtful.append(Problem(station, f"{words}; as {_other(first.unit).sign} they fit", hint))
    in_runs = {at for run in runs for at in run}
    single = []
    for at, (low, high), fits in odd:
        if at not in in_runs:
            day = days.day(at)
            name, value, past = max(
                (("minimum", day.tmin, low), ("maximum", day.tmax, high)),
                key=lambda one: abs(convert_temp(one[1], day.unit, TempUnit.C) - one[2]),
            )
            usual = convert_temp(past, TempUnit.C, day.unit)
            words = f"the {name} {value:g} {day.unit.sign} is far from {usual:.0f}, this station's usual for the time"
            fit = f"; as {_other(day.unit).sign} it fits" if fits else ""
            single.append(Problem(f"{station}, {day.on}", words + fit, "check it; kept as written"))
    return doubtful, _few(single, station, "days far from the station's past")


MOST_PROBLEMS = 50
"""Problems of single rows that are listed; one fault in a long file is not told ten thousand times."""
_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]*)?|[+-]?\.[0-9]+")
_HOUR = re.compile(r"([0-9]{1,2})(?::?([0-9]{2}))?(?::00)?")


class WeatherRead(Frozen):
    """What a file of temperatures held."""

    stations: tuple[StationDays, ...]
    """Days of each station by date, each once; not to be taken in where there are problems."""
    problems: tuple[Problem, ...] = ()
    """What cannot be; the file is refused."""
    remarks: tuple[Problem, ...] = ()
    """What is odd or was left out; the file is taken in all the same."""

    @property
    def days(self) -> tuple[WeatherDay, ...]:
        """The days as records."""
        return tuple(day for one in self.stations for day in one)


class Faults:
    """Problems of single rows, the first of them word for word and the rest counted.

    Args:
        where: File name as problems show it.
    """

    def __init__(self, where: str) -> None:
        self.where = where
        self._found: list[Problem] = []
        self._more = 0

    def add(self, line: int, column: str, message: str, hint: str = "") -> None:
        """Note what is wrong with a row, and in which column."""
        if len(self._found) < MOST_PROBLEMS:
            self._found.append(Problem(self.place(line), f"{column}: {message}" if column else message, hint))
        else:
            self._more += 1

    @property
    def faulty(self) -> bool:
        """Whether something was wrong, so far."""
        return bool(self._found)

    def place(self, line: int) -> str:
        """File and line, as problems show them."""
        return place(self.where, line)

    def listed(self) -> tuple[Problem, ...]:
        """What was found."""
        more = [Problem(self.where, f"and {self._more} more rows with faults")] if self._more else []
        return (*self._found, *more)


def numbered(lines: Iterable[str], faults: Faults) -> Iterator[tuple[int, list[str]]]:
    """Rows of a CSV file, each with the line it ends on, blank rows left out.

    Args:
        lines: The file's lines.
        faults: Takes up a quote that is never closed; nothing after it can be trusted, so the rows end there.
    """
    rows = csv.reader(lines, strict=True)
    try:
        for row in rows:
            fields = [field.strip() for field in row]
            if any(fields):
                yield rows.line_num, fields
    except csv.Error as fault:
        faults.add(rows.line_num, "", f"is not well formed ({fault})", "check the quotation marks")


class Settling:
    """Checks the days of station after station, and gathers what is to be said of all.

    Args:
        where: File name as problems show it.
        most_filled: Longest gap that is filled, for the remarks. [d]
        past: Gives the days of a station on record, to hold its days against; None: they are not held against any.
    """

    def __init__(self, where: str, most_filled: int, past: Callable[[str], StationDays] | None = None) -> None:
        self.where = where
        self.unsorted = False
        self.doubtful: list[Problem] = []
        """Runs of days that fit only in the other unit."""
        self._past = past
        self._most_filled = most_filled
        self._impossible: list[Problem] = []
        self._doubled: list[Problem] = []
        self._odd: list[Problem] = []
        self._same = 0

    def settle(self, read: StationDays) -> StationDays:
        """The days of a station, each once and in order; not to be taken in where there are problems.

        Args:
            read: The days as read.
        """
        found = impossible(read, self.where)
        self._impossible += found
        days = read if read.ordered() else self._in_order(read)
        if not found and len(days):
            runs, odd = against_past(days, self._past(days.station)) if self._past else ([], [])
            self.doubtful += runs
            self._odd += [*remarks(days, self._most_filled), *odd]
        return days

    def _in_order(self, read: StationDays) -> StationDays:
        order = sorted(range(len(read)), key=read.days.__getitem__)
        self.unsorted = self.unsorted or any(before > after for before, after in pairwise(read.days))
        kept: list[int] = []
        for at in order:
            if not kept or read.days[at] != read.days[kept[-1]]:
                kept.append(at)
            elif read.day(at) == read.day(kept[-1]):
                self._same += 1
            elif len(self._doubled) < MOST_PROBLEMS:
                words = f"{sanitize(read.station, 40)}, {read.day(at).on} is given twice, with different values"
                hint = f"keep this row or the one in {place(self.where, read.lines[kept[-1]])}"
                self._doubled.append(Problem(place(self.where, read.lines[at]), words, hint))
        return read.taken(kept)

    @property
    def faulty(self) -> bool:
        """Whether something cannot be, so far."""
        return bool(self._impossible or self._doubled)

    def problems(self) -> tuple[Problem, ...]:
        """What cannot be."""
        return (*self._impossible, *self._doubled)

    def remarks(self) -> tuple[Problem, ...]:
        """What is odd."""
        odd = []
        if self._same:
            odd.append(
                Problem(self.where, f"rows that repeat an earlier one word for word: {self._same}", "they count once")
            )
        if self.unsorted:
            odd.append(Problem(self.where, "the rows are not in order of station and date", "they were sorted"))
        return (*odd, *(() if self.faulty else self._odd))


def finish(
    stations: Iterable[StationDays], settling: Settling, problems: Sequence[Problem], left_out: Sequence[Problem]
) -> WeatherRead:
    """Everything in a file, checked and in order.

    Args:
        stations: Days of each station, as read.
        settling: Checks them.
        problems: What was wrong with single rows.
        left_out: Remarks on rows that were left out.
    """
    kept = tuple(settling.settle(read) for read in sorted(stations, key=lambda one: one.station))
    return WeatherRead(kept, (*problems, *settling.problems()), (*left_out, *settling.remarks()))


def date_of(text: str) -> date | None:
    """A date in ISO 8601, 2025-05-09 or 20250509; None for anything else."""
    try:
        return date.fromisoformat(text) if len(text) in {8, 10} and "W" not in text else None
    except ValueError:
        return None


def why_no_date(text: str) -> str:
    """In words, why a text is no date; the day that only leap years have gets its own."""
    digits = text.replace("-", "")
    if len(digits) == 8 and digits.isascii() and digits.isdigit() and digits[4:] == "0229":
        return f"is no date: {digits[:4]} has no 29 February"
    return "is no date" if text else "is blank"


def number_of(text: str) -> float | None:
    """A plain decimal number; None for anything else, as words, thousands marks or ``nan``."""
    # The length is looked at first: a thousand digits are no temperature.
    return float(text) if len(text) <= 12 and _NUMBER.fullmatch(text) else None


def hour_of(text: str) -> str | None:
    """An hour of the day as HH:MM, 24:00 for the midnight that ends it; empty for a blank; None for anything else."""
    if not text:
        return ""
    found = _HOUR.fullmatch(text)
    if not found:
        return None
    written, minutes = found.group(1), found.group(2) or "00"
    hours = int(written)
    if hours > 24 or minutes > "59" or (hours == 24 and minutes != "00"):
        return None
    return f"{hours:02d}:{minutes}"
