"""One set-up row: what it may say, what people call it, and as a line of its CSV file."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from roundtui.domain.text import plain
from roundtui.store.csv_file import Cells, CsvRow
from roundtui.store.parcels.form import Why
from roundtui.store.parcels.lines import WrongLineError
from roundtui.store.set_up.columns import BY_NAME, SetUpFile, Values, file_of
from roundtui.store.set_up.row_digests import YES_NO, said

__all__ = ["BY_NAME", "cell", "csv_line", "file_of", "named", "values_of"]
_SHOWN = 40


def values_of(file: SetUpFile, row: Any) -> Values:
    """The whole of a row from its columns that are not blank, held to what its file may say.

    Columns that only a newer program knows are left out.

    Args:
        file: Its file.
        row: The columns.

    Raises:
        WrongLineError: It is none that could have been loaded.
    """
    if not isinstance(row, dict) or not all(type(value) in (str, int, float) for value in row.values()):
        raise WrongLineError(Why.SHAPE, "its row is no object of texts and numbers")
    row = {column: value for column, value in row.items() if column in {*file.required, *file.optional}}
    if file.whole:
        if row.get("name") != file.name or not isinstance(row.get("text", ""), str):
            raise WrongLineError(Why.LIMITS, f"{file.name} is not kept under its name")
        return {"name": file.name, "text": row.get("text", "")}
    cells = Cells(CsvRow(0, {column: cell(column, value) for column, value in row.items()}), file.name)
    values = file.read(cells)
    for problem in cells.problems:
        column = problem.where.rpartition(", ")[2]
        raise WrongLineError(Why.LIMITS, f"{column} of a row of {file.name}: {problem.message}")
    if said(values) != row or any(isinstance(value, str) and _is_untidy(value) for value in row.values()):
        raise WrongLineError(Why.LIMITS, f"the row {named(file, values)} is not written as roundtui writes it")
    return values


def named(file: SetUpFile, values: Mapping[str, Any]) -> str:
    """A row as people call it: its labels.

    Args:
        file: Its file.
        values: The row.
    """
    return " ".join(plain(str(values[column]), _SHOWN) for column in file.key if values[column] not in (None, ""))


def csv_line(file: SetUpFile, values: Mapping[str, Any]) -> str:
    """A row as its CSV file can hold it, all columns in the order of the manual, without the end of the line.

    Args:
        file: Its file.
        values: The row.
    """
    text = io.StringIO()
    cells = [cell(column, values.get(column)) for column in (*file.required, *file.optional)]
    csv.writer(text, lineterminator="").writerow(cells)
    return text.getvalue()


def cell(column: str, value: Any) -> str:
    """One value as its CSV file can hold it.

    Args:
        column: Its column.
        value: The value.
    """
    if value is None:
        return ""
    if column in YES_NO and value in (0, 1) and type(value) is int:
        return "yes" if value else "no"
    if isinstance(value, float):
        return format(Decimal(repr(value)), "f")
    return str(value)


def _is_untidy(text: str) -> bool:
    return text != text.strip() or "\x00" in text
