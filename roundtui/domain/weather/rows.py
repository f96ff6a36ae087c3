"""What every file of temperatures has in common: faults by line, days each once, dates, hours and numbers as text."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from roundtui.domain.plain import plain
from roundtui.domain.weather.checks import impossible_days, place, remarks_on
from roundtui.domain.weather.columns import StationDays, hour_code, unit_code
from roundtui.domain.weather.days import WeatherDay
from roundtui.errors import Problem

MOST_PROBLEMS = 50
"""Problems of single rows that are listed; one fault in a long file is not told ten thousand times."""
_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]*)?|[+-]?\.[0-9]+")
_HOUR = re.compile(r"([0-9]{1,2})(?::?([0-9]{2}))?(?::00)?")


@dataclass(frozen=True, slots=True)
class WeatherRead:
    """What a file of temperatures held."""

    days: tuple[WeatherDay, ...]
    """Days by station and date, each once; not to be taken in where there are problems."""
    problems: tuple[Problem, ...] = ()
    """What cannot be; the file is refused."""
    remarks: tuple[Problem, ...] = ()
    """What is odd or was left out; the file is taken in all the same."""


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
    """

    def __init__(self, where: str, most_filled: int) -> None:
        self.where = where
        self.unsorted = False
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
        found = impossible_days(read, self.where)
        self._impossible += found
        days = read if read.ordered() else self._in_order(read)
        if not found and len(days):
            self._odd += remarks_on(days, self._most_filled)
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
                words = f"{plain(read.station, 40)}, {read.on(at)} is given twice, with different values"
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
    placed: Iterable[tuple[int, WeatherDay]],
    problems: tuple[Problem, ...],
    left_out: tuple[Problem, ...],
    where: str,
    most_filled: int,
) -> WeatherRead:
    """Check typed days against each other and put them in order.

    Args:
        placed: Days with their lines, as read; 0 where a day has none.
        problems: What was wrong with single rows.
        left_out: Remarks on rows that were left out.
        where: File name as problems show it.
        most_filled: Longest gap that is filled, for the remarks. [d]

    Returns:
        The days, each once, with problems and remarks.
    """
    stations: dict[str, StationDays] = {}
    for line, day in placed:
        of_station = stations.setdefault(day.station, StationDays(day.station))
        codes = unit_code(day.unit), hour_code(day.observed_at)
        of_station.add(day.on.toordinal(), day.tmin, day.tmax, codes, line)
    return settled(stations.values(), Settling(where, most_filled), problems, left_out)


def settled(
    stations: Iterable[StationDays], settling: Settling, problems: tuple[Problem, ...], left_out: tuple[Problem, ...]
) -> WeatherRead:
    """Everything in a file, as records.

    Args:
        stations: Days of each station, as read.
        settling: Checks them.
        problems: What was wrong with single rows.
        left_out: Remarks on rows that were left out.
    """
    days: list[WeatherDay] = []
    for read in sorted(stations, key=lambda one: one.station):
        kept = settling.settle(read)
        days.extend(map(kept.day, range(len(kept))))
    faults = (*problems, *settling.problems())
    odd = settling.remarks()
    return WeatherRead(tuple(days), faults, (*left_out, *odd))


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
