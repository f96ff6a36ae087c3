"""What every file of temperatures has in common: faults by line, days each once, dates, hours and numbers as text."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from roundtui.domain.plain import plain
from roundtui.domain.weather import WeatherDay
from roundtui.domain.weather_checks import Placed, impossible, remarks
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

    def place(self, line: int) -> str:
        """File and line, as problems show them."""
        return f"{self.where}, line {line}"

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


def finish(
    placed: list[Placed],
    problems: tuple[Problem, ...],
    left_out: tuple[Problem, ...],
    where: str,
    most_filled: int,
) -> WeatherRead:
    """Check typed days against each other and put them in order.

    Args:
        placed: Days with their places, as read.
        problems: What was wrong with single rows.
        left_out: Remarks on rows that were left out.
        where: File name as problems show it.
        most_filled: Longest gap that is filled, for the remarks. [d]

    Returns:
        The days, each once, with problems and remarks.
    """
    kept: dict[tuple[str, date], Placed] = {}
    doubled: list[Problem] = []
    same = 0
    for row in placed:
        first = kept.setdefault((row.day.station, row.day.on), row)
        if first is row:
            continue
        if first.day == row.day:
            same += 1
        elif len(doubled) < MOST_PROBLEMS:
            words = f"{plain(row.day.station, 40)}, {row.day.on} is given twice, with different values"
            doubled.append(Problem(row.where, words, f"keep this row or the one in {first.where}"))
    order = sorted(kept)
    faults = (*problems, *impossible(placed), *doubled)
    days = tuple(kept[key].day for key in order)
    odd = list(left_out)
    if same:
        odd.append(Problem(where, f"rows that repeat an earlier one word for word: {same}", "they count once"))
    if order != list(kept):
        odd.append(Problem(where, "the rows are not in order of station and date", "they were sorted"))
    if not faults:
        for _, of_station in groupby(days, key=lambda day: day.station):
            odd.extend(remarks(list(of_station), most_filled))
    return WeatherRead(days, faults, tuple(odd))


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
