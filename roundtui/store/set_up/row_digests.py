"""What tells two states of a set-up row apart, in its file, in the store and on another laptop."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Mapping, Sequence
from typing import Any

from roundtui.store.set_up.columns import SetUpFile, Values

YES_NO = frozenset({"visit_last", "disrupted", "edge"})
"""Columns that say yes or no; a no is as good as a blank."""


def rows_in(conn: sqlite3.Connection, file: SetUpFile) -> dict[str, Values]:
    """The rows of a file as they stand in the store, by key.

    Args:
        conn: The store.
        file: The file.
    """
    only, values = (" WHERE name = ?", (file.name,)) if file.whole else ("", ())
    cursor = conn.execute(f"SELECT * FROM {file.table}{only}", values)  # noqa: S608
    names = [column[0] for column in cursor.description]
    rows = (dict(zip(names, row, strict=True)) for row in cursor)
    return {key_of(file, row): row for row in rows}


def present_rows(conn: sqlite3.Connection, file: SetUpFile) -> dict[str, str]:
    """Digest of each row as it stands in the store, by key."""
    return {key: digest_of(file, values) for key, values in rows_in(conn, file).items()}


def key_text(parts: Sequence[Any]) -> str:
    """A key as one text, the same as ``json_array`` of the database makes."""
    return json.dumps(parts, ensure_ascii=False, separators=(",", ":"))


def key_of(file: SetUpFile, values: Values) -> str:
    """What tells a row from all others of its file, as one text."""
    return key_text(file.key_of(values))


def said(values: Mapping[str, Any]) -> Values:
    """The columns of a row that are not blank, in the order of their names.

    Args:
        values: The row.
    """
    return {column: values[column] for column in sorted(values) if not _is_blank(column, values[column])}


def _is_blank(column: str, value: Any) -> bool:
    return value is None or value == "" or (column in YES_NO and value == 0)


def digest_of(file: SetUpFile, values: Mapping[str, Any]) -> str:
    """What tells two states of a row apart; a column that is blank counts no more than one that is not there.

    Args:
        file: Its file.
        values: The row.

    Returns:
        SHA-256 of a JSON array of the name of the file and its columns that are not blank, in hexadecimal.
    """
    text = json.dumps([file.name, *map(list, said(values).items())], ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()
