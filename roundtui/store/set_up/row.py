"""One set-up row on its way between laptops: as a line of a parcel, as a line of its CSV file, and what it may say."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from roundtui.domain.text import plain
from roundtui.store.csv_file import Cells, CsvRow
from roundtui.store.parcels.form import Why
from roundtui.store.parcels.lines import WrongLineError, decoded_object
from roundtui.store.set_up.columns import FILES, SetUpFile, Values
from roundtui.store.set_up.row_digests import YES_NO, digest_of, said

BY_NAME = {file.name: file for file in FILES}
"""The set-up files by name."""
MOST_BEFORE = 64
"""Former states of a row that travel with it."""
_KEYS = {"file", "row", "loaded", "before", "sha256"}
_DIGEST = re.compile(r"[0-9a-f]{64}")
_SHOWN = 40


@dataclass(frozen=True, slots=True)
class SetUpRow:
    """A row as it stands on a laptop."""

    file: SetUpFile
    """Its file."""
    values: Values
    """What it says."""
    digest: str
    """What tells this state of it from others."""
    loaded: str | None
    """Digest of the row as the file there has it; None where the file there never had it."""
    before: tuple[str, ...]
    """Digests of what it was before, and of what was passed over for it, as far as known."""


def line_of_row(row: SetUpRow) -> bytes:
    """A row as a line of a parcel, its end included.

    Args:
        row: The row.
    """
    values = {
        "file": row.file.name,
        "row": said(row.values),
        "loaded": row.loaded,
        "before": list(row.before),
        "sha256": row.digest,
    }
    return (json.dumps(values, ensure_ascii=False, separators=(",", ":")) + "\n").encode()


def row_of_line(line: bytes) -> SetUpRow:
    """A row from its line.

    Args:
        line: The line, without its end.

    Raises:
        WrongLineError: It is no such row, or says what no set-up file may say.
    """
    given = decoded_object(line, _KEYS)
    file = BY_NAME.get(given["file"]) if isinstance(given["file"], str) else None
    if file is None:
        raise WrongLineError(Why.SHAPE, f"{plain(json.dumps(given['file']), _SHOWN)} is no set-up file")
    loaded, before = given["loaded"], given["before"]
    if not isinstance(before, list) or not all(map(_is_digest, before)) or not (loaded is None or _is_digest(loaded)):
        raise WrongLineError(Why.SHAPE, "what the row was before is no list of digests")
    if len(before) > MOST_BEFORE:
        raise WrongLineError(Why.LIMITS, f"it was {len(before)} things before, and may have been {MOST_BEFORE}")
    values = values_of(file, given["row"])
    try:
        digest = digest_of(file, values)
    except UnicodeEncodeError as error:
        raise WrongLineError(Why.NOT_TEXT, "it holds half a character") from error
    if digest != given["sha256"] or digest in before:
        raise WrongLineError(Why.TAMPERED, f"the row {named(file, values)} is not what its digest was made of")
    return SetUpRow(file, values, digest, loaded, tuple(before))


def values_of(file: SetUpFile, row: Any) -> Values:
    """The whole of a row from its columns that are not blank, held to what its file may say.

    Args:
        file: Its file.
        row: The columns.

    Raises:
        WrongLineError: It is none that could have been loaded.
    """
    if not isinstance(row, dict) or not all(type(value) in (str, int, float) for value in row.values()):
        raise WrongLineError(Why.SHAPE, "its row is no object of texts and numbers")
    unknown = row.keys() - {*file.required, *file.optional}
    if unknown:
        raise WrongLineError(Why.SHAPE, f"{file.name} has no column {plain(min(unknown), _SHOWN)}")
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


def _is_digest(value: object) -> bool:
    return isinstance(value, str) and _DIGEST.fullmatch(value) is not None
