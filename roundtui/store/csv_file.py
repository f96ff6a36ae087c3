"""Reading a CSV file that a person or a spreadsheet wrote: its rows, or everything that is wrong with it.

Values out of the cells of a row: typed, or as a problem that names file, line and column.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from pathlib import Path

from roundtui.domain.programme.species import SPECIES, species_code
from roundtui.domain.records import Frozen
from roundtui.domain.round.checks import in_case, nearest
from roundtui.domain.text import SHOWN, parse_day, sanitize
from roundtui.domain.toml_table import column_name
from roundtui.errors import Problem
from roundtui.store.files import read_bytes

_AS_CSV = "save it as CSV, UTF-8, with commas; or roundtui bring takes it as it is"


class CsvRow(Frozen):
    """One row, by column."""

    line: int
    """Line on which it begins, the header being on line 1."""
    values: dict[str, str]
    """Text of each column the file has, without spaces at either end."""


def read_csv(
    name: str, content: bytes, required: Sequence[str], optional: Sequence[str]
) -> tuple[list[CsvRow], tuple[Problem, ...]]:
    """Rows of a file.

    Args:
        name: Name of the file, for problems.
        content: What stands in it.
        required: Columns that must be there.
        optional: Columns that may be there.

    Returns:
        The rows, rows that are blank throughout left out, and the problems; with any of those the rows are worthless.
    """
    problems: list[Problem] = []
    found = csv_cells(name, content, required, optional, problems)
    rows = [CsvRow(line, dict(zip(columns, cells, strict=True))) for line, columns, cells in found]
    return rows, tuple(problems)


def csv_rows(
    path: Path, name: str, required: Sequence[str], optional: Sequence[str]
) -> tuple[list[CsvRow], tuple[Problem, ...]]:
    """Rows of a file on the disk, as ``read_csv`` has them; that it cannot be read is a problem too."""
    content, problem = read_bytes(path)
    return ([], (problem,)) if problem is not None else read_csv(name, content, required, optional)


def csv_cells(
    name: str, content: bytes, required: Sequence[str], optional: Sequence[str], problems: list[Problem]
) -> Iterator[tuple[int, list[str], list[str]]]:
    """Rows of a file one by one, each as its line, the columns and the cells; what is wrong is added to ``problems``.

    Args:
        name: As for ``read_csv``, as are the next three.
        content: What stands in it.
        required: Columns that must be there.
        optional: Columns that may be there.
        problems: Takes what is wrong.
    """
    text, problem = decoded(name, content)
    if problem is not None:
        problems.append(problem)
        return
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    columns: list[str] | None = None
    known = {*required, *optional}
    line = 1
    try:
        for fields in reader:
            cells = [field.strip() for field in fields]
            if columns is None:
                columns = [column_name(cell) if column_name(cell) in known else cell for cell in cells]
                problems += _header_problems(f"{name}, line {line}", columns, required, optional)
                if problems:
                    return
            elif len(cells) == len(columns) and any(cells):
                yield line, columns, cells
            elif len(cells) != len(columns) and cells not in ([], [""]):
                problems.append(_length_problem(f"{name}, line {line}", cells, columns))
            line = reader.line_num + 1
    except csv.Error as error:
        problems.append(Problem(f"{name}, line {line}", f"cannot be read as CSV: {error}", "look at the quotes there"))
    if columns is None:
        problems.append(Problem(name, "is empty", f"begin it with a header: {','.join(required)}"))


def decoded(name: str, content: bytes) -> tuple[str, Problem | None]:
    """Text of a file, or why it is none.

    Args:
        name: Name of the file, for problems.
        content: What stands in it.
    """
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "", Problem(name, "is UTF-16, not UTF-8", _AS_CSV)
    if content.startswith(b"PK\x03\x04"):
        return "", Problem(name, "is a spreadsheet, not a CSV file", _AS_CSV)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        return "", Problem(f"{name}, line {line}", "is not UTF-8 text", _AS_CSV)
    if "\x00" in text:
        line = text.count("\n", 0, text.index("\x00")) + 1
        return "", Problem(f"{name}, line {line}", "holds a NUL character, so it is no text", _AS_CSV)
    return text, None


def _header_problems(
    where: str, columns: Sequence[str], required: Sequence[str], optional: Sequence[str]
) -> list[Problem]:
    known = (*required, *optional)
    if len(columns) == 1 and columns[0] not in known:
        for mark, words in ((";", "semicolons"), ("\t", "tabs")):
            if mark in columns[0]:
                return [Problem(where, f"the columns are separated by {words}", _AS_CSV)]
    problems = []
    for at, column in enumerate(columns):
        shown = sanitize(column, SHOWN)
        if column in columns[:at]:
            problems.append(Problem(where, f"the column {shown} is there twice", "keep one of the two"))
        elif not column:
            problems.append(Problem(where, f"column {at + 1} has no name", "name it, or take its comma out"))
        elif column not in known:
            hint = nearest(column, known) or f"the columns are {', '.join(known)}"
            problems.append(Problem(where, f"unknown column {shown}", hint))
    problems += [
        Problem(where, f"the column {column} is missing", "add it to the header and to every row")
        for column in required
        if column not in columns
    ]
    return problems


def _length_problem(where: str, cells: Sequence[str], columns: Sequence[str]) -> Problem:
    hint = "put a text that holds a comma in quotes" if len(cells) > len(columns) else "add the commas that are missing"
    return Problem(where, f"{_fields(len(cells))} where the header has {len(columns)}", hint)


def _fields(amount: int) -> str:
    return "1 field" if amount == 1 else f"{amount} fields"


_NUMBER = re.compile(r"[+-]?[0-9]{1,9}(\.[0-9]{1,9})?")
_WHOLE = re.compile(r"[0-9]{1,9}")
_LONGEST_LABEL = 60
_LONGEST_TEXT = 20_000


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
            self.refuse(column, f"'{sanitize(value, SHOWN)}' holds characters that cannot be seen", "type it again")
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
        return sanitize(self.raw(column), SHOWN)
