"""What tells two states of a set-up row apart, in its file and in the store."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Sequence
from typing import Any

from roundtui.store.columns import SetUpFile, Values


def present_rows(conn: sqlite3.Connection, file: SetUpFile) -> dict[str, str]:
    """Digest of each row as it stands in the store, by key."""
    cursor = conn.execute(f"SELECT * FROM {file.table}")  # noqa: S608
    names = [column[0] for column in cursor.description]
    rows = (dict(zip(names, row, strict=True)) for row in cursor)
    return {key_of(file, values): digest_of(values) for values in rows}


def key_text(parts: Sequence[Any]) -> str:
    """A key as one text, the same as ``json_array`` of the database makes."""
    return json.dumps(parts, ensure_ascii=False, separators=(",", ":"))


def key_of(file: SetUpFile, values: Values) -> str:
    """What tells a row from all others of its file, as one text."""
    return key_text(file.key_of(values))


def digest_of(values: Values) -> str:
    """What tells two states of a row apart, whatever the order of its columns."""
    return hashlib.blake2b(repr(sorted(values.items())).encode(), digest_size=12).hexdigest()
