"""Values out of the cells of a row: typed, or as a problem that names file, line and column."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from roundtui.domain.checks import in_case, nearest
from roundtui.domain.plain import plain
from roundtui.domain.species import SPECIES, species_code
from roundtui.errors import Problem
from roundtui.store.csv_file import CsvRow

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_NUMBER = re.compile(r"[+-]?[0-9]{1,9}(\.[0-9]{1,9})?")
_WHOLE = re.compile(r"[0-9]{1,9}")
_LONGEST_LABEL = 60
_LONGEST_TEXT = 20_000
_SHOWN = 40
YEARS = (1900, 2199)
"""Years a date can lie in; anything else is a slip of the keys."""


def parse_day(text: str) -> date | None:
    """A day written in ISO 8601, as 2026-05-01.

    Args:
        text: What was written.

    Returns:
        None for anything else, days that do not exist and years beyond ``YEARS`` included.
    """
    if not _DAY.fullmatch(text):
        return None
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return None
    return day if YEARS[0] <= day.year <= YEARS[1] else None


class Cells:
    """Takes values from one row and collects what is wrong with them.

    Args:
        row: The row.
        file: Name of its file.
    """

    def __init__(self, row: CsvRow, file: str) -> None:
        self._row = row
        self._file = file
        self.problems: list[Problem] = []
        """What was found wrong so far."""

    @property
    def where(self) -> str:
        """File and line."""
        return f"{self._file}, line {self._row.line}"

    def refuse(self, column: str, message: str, hint: str) -> None:
        """Note something wrong in a column."""
        self.problems.append(Problem(f"{self.where}, {column}", message, hint))

    def raw(self, column: str) -> str:
        """What stands in a cell; empty also where the file has no such column."""
        return self._row.values.get(column, "")

    def text(self, column: str, *, needed: bool = False) -> str:
        """Free words."""
        value = self.raw(column)
        if needed and not value:
            self.refuse(column, "is blank", f"write the {column}")
        if len(value) > _LONGEST_TEXT:
            self.refuse(column, f"has {len(value)} characters", f"write at most {_LONGEST_TEXT}")
        return value

    def label(self, column: str, *, needed: bool = False) -> str:
        """A code or label, which people must be able to type and to read."""
        value = self.text(column, needed=needed)
        if len(value) > _LONGEST_LABEL:
            self.refuse(column, f"has {len(value)} characters", f"a label has at most {_LONGEST_LABEL}")
        elif value and not value.isprintable():
            self.refuse(column, f"'{plain(value, _SHOWN)}' holds characters that cannot be seen", "type it anew")
        return value

    def yes_no(self, column: str, *, default: bool = False) -> bool:
        """Yes or no; blank is the default."""
        value = self.raw(column).casefold()
        if value not in ("", "yes", "no"):
            self.refuse(column, f"'{self._shown(column)}' is neither yes nor no", "write yes or no")
        return default if not value else value == "yes"

    def day(self, column: str, *, needed: bool = False) -> str | None:
        """A day, as ISO 8601 text; None where blank."""
        value = self.raw(column)
        if not value:
            if needed:
                self.refuse(column, "is blank", "write a date as 2026-05-01")
            return None
        if parse_day(value) is None:
            self.refuse(column, f"'{self._shown(column)}' is no date", "write it as 2026-05-01")
            return None
        return value

    def month_day(self, column: str) -> str:
        """A day of every year, as MM-DD."""
        value = self.raw(column)
        if len(value) != 5 or parse_day(f"2000-{value}") is None:
            self.refuse(column, f"'{self._shown(column)}' is no day of the year", "write it as 05-01")
        return value

    def exact(self, column: str, low: int, high: int) -> str | None:
        """An exact decimal number as text; None where blank."""
        value = self._number(column, low, high)
        return None if value is None else format(value.normalize(), "f")

    def number(self, column: str, low: float, high: float) -> float | None:
        """A number; None where blank."""
        value = self._number(column, low, high)
        return None if value is None else float(value)

    def _number(self, column: str, low: float, high: float) -> Decimal | None:
        value = self.raw(column)
        if not value:
            return None
        if not _NUMBER.fullmatch(value):
            hint = "write a point, not a comma" if "," in value else "write it in digits, as 2.5"
            self.refuse(column, f"'{self._shown(column)}' is no number", hint)
            return None
        number = Decimal(value)
        if not low <= number <= high:
            self.refuse(column, f"{self._shown(column)} is impossible", f"write {low} to {high}")
            return None
        return number + 0  # No minus before a zero.

    def whole(self, column: str, low: int, high: int, *, needed: bool = False) -> int | None:
        """A whole number; None where blank."""
        value = self.raw(column)
        if not value:
            if needed:
                self.refuse(column, "is blank", "write a whole number")
            return None
        if not _WHOLE.fullmatch(value) or not low <= int(value) <= high:
            self.refuse(
                column, f"'{self._shown(column)}' is no whole number from {low} to {high}", "write it in digits"
            )
            return None
        return int(value)

    def species(self, column: str, *, needed: bool = False) -> str:
        """Abbreviation of a species, from it in any letter case, its EPPO code or its name."""
        value = self.label(column, needed=needed)
        if not value:
            return ""
        known = species_code(value)
        if known is None:
            hint = nearest(value, SPECIES) or f"known are {', '.join(SPECIES)}"
            self.refuse(column, f"'{self._shown(column)}' is no species known here", hint)
        return known or value

    def choice(self, column: str, choices: Iterable[str]) -> str | None:
        """One of a few words, in any letter case; None where blank."""
        value = self.raw(column)
        if not value:
            return None
        words = tuple(choices)
        known = in_case(value, words)
        if known not in words:
            self.refuse(
                column, f"'{self._shown(column)}' is none of the words known here", f"one of {', '.join(words)}"
            )
            return None
        return known

    def _shown(self, column: str) -> str:
        return plain(self.raw(column), _SHOWN)
