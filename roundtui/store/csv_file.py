"""Reading a CSV file that a person or a spreadsheet wrote: its rows, or everything that is wrong with it."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from roundtui.domain.checks import nearest
from roundtui.domain.plain import plain
from roundtui.domain.table import column_name
from roundtui.errors import Problem

_AS_CSV = "save it as CSV, UTF-8, with commas"
_SHOWN = 40


@dataclass(frozen=True, slots=True)
class CsvRow:
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
    text, problem = decoded(name, content)
    if problem is not None:
        return [], (problem,)
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    rows: list[CsvRow] = []
    problems: list[Problem] = []
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
                    return [], tuple(problems)
            elif len(cells) == len(columns) and any(cells):
                rows.append(CsvRow(line, dict(zip(columns, cells, strict=True))))
            elif len(cells) != len(columns) and cells not in ([], [""]):
                problems.append(_length_problem(f"{name}, line {line}", cells, columns))
            line = reader.line_num + 1
    except csv.Error as error:
        problems.append(Problem(f"{name}, line {line}", f"cannot be read as CSV: {error}", "look at the quotes there"))
    if columns is None:
        problems.append(Problem(name, "is empty", f"begin it with a header: {','.join(required)}"))
    return rows, tuple(problems)


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
                return [Problem(where, f"the columns are set apart by {words}", _AS_CSV)]
    problems = []
    for at, column in enumerate(columns):
        shown = plain(column, _SHOWN)
        if column in columns[:at]:
            problems.append(Problem(where, f"the column {shown} stands twice", "keep one of the two"))
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


def read_bytes(path: Path) -> tuple[bytes, Problem | None]:
    """What stands in a file, or why it cannot be read.

    Args:
        path: The file.
    """
    try:
        return path.read_bytes(), None
    except FileNotFoundError:
        return b"", Problem(plain(str(path), 200), "there is no such file", "check the name")
    except IsADirectoryError:
        return b"", Problem(plain(str(path), 200), "is a folder, not a file", "move it away")
    except OSError as error:
        why = error.strerror or type(error).__name__
        return b"", Problem(plain(str(path), 200), f"cannot be read: {why}", "check who may read it")
