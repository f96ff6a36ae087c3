"""One entry as a line of a parcel: a JSON object of its columns, and the digest of what they say."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from roundtui.domain.round.checks import contradictions
from roundtui.domain.text import plain
from roundtui.domain.visits import Visit
from roundtui.store.journal import MOST_TEXT
from roundtui.store.parcels.form import Why
from roundtui.store.rows import Row, Table

DIGEST = "sha256"
"""Key of the digest."""
_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
_WHOLE = 2**63
_TYPES: dict[str, type] = {"TEXT": str, "INTEGER": int, "REAL": float}


class WrongLineError(Exception):
    """A line that cannot be taken.

    Args:
        why: Why.
        message: What exactly is wrong with it.
    """

    def __init__(self, why: Why, message: str) -> None:
        super().__init__(message)
        self.why = why
        self.message = message


def line_of(table: Table, row: Row) -> bytes:
    """An entry as a line, its end included.

    Args:
        table: Its table.
        row: Its columns, then its digest.
    """
    values = dict(zip((*table.columns, DIGEST), (*row[:-1], row[-1].hex()), strict=True))
    return (json.dumps(values, ensure_ascii=False, separators=(",", ":")) + "\n").encode()


@dataclass(frozen=True, slots=True)
class LineReader:
    """Reads the lines of one member."""

    table: Table
    """Table of its entries."""
    types: tuple[tuple[type, bool], ...]
    """Of each column, the type of its values and whether it may be null."""

    @classmethod
    def of(cls, conn: sqlite3.Connection, table: Table) -> LineReader:
        """A reader for a table as the store has it.

        Args:
            conn: The store.
            table: The table.
        """
        found = {
            name: (_TYPES[kind], not_null == 0)
            for _, name, kind, not_null, *_ in conn.execute(f"PRAGMA table_info({table.name})")
            if name in table.columns
        }
        return cls(table, tuple(found[column] for column in table.columns))

    def read(self, line: bytes) -> Row:
        """An entry from its line: its columns, then its digest.

        Args:
            line: The line, with or without its end.

        Raises:
            WrongLineError: It is no such entry, or says something else than when it was recorded.
        """
        row, claimed = self._row(line)
        for column, value, (kind, may_be_null) in zip(self.table.columns, row, self.types, strict=True):
            if type(value) is not kind and not (value is None and may_be_null):
                raise WrongLineError(Why.SHAPE, f"{column} is {_shown(value)}")
            if isinstance(value, str) and len(value) > MOST_TEXT:
                raise WrongLineError(Why.LIMITS, f"{column} has {len(value)} characters, and may have {MOST_TEXT}")
            if isinstance(value, int) and abs(value) >= _WHOLE:
                raise WrongLineError(Why.LIMITS, f"{column} is {_shown(value)}")
        self._refuse_impossible(row)
        try:
            digest = self.table.digest(row)
        except UnicodeEncodeError as error:
            raise WrongLineError(Why.NOT_TEXT, "it holds half a character") from error
        if digest.hex() != claimed:
            raise WrongLineError(Why.TAMPERED, f"entry {row[0]} is not what its digest was made of")
        return (*row, digest)

    def _row(self, line: bytes) -> tuple[Row, Any]:
        values = decoded_object(line, {*self.table.columns, DIGEST})
        return tuple(values[column] for column in self.table.columns), values[DIGEST]

    def _refuse_impossible(self, row: Row) -> None:
        if not _ID.fullmatch(row[0]):
            raise WrongLineError(Why.LIMITS, f"{_shown(row[0])} is no id")
        try:
            entry = self.table.entry(row)
            same = self.table.values(entry) == row
        except (ValueError, KeyError, TypeError, OverflowError) as error:
            raise WrongLineError(
                Why.LIMITS, f"entry {row[0]} holds a day, an instant or a word that is none"
            ) from error
        if not same:
            raise WrongLineError(Why.LIMITS, f"entry {row[0]} is not written as roundtui writes it")
        if isinstance(entry, Visit):
            for problem in contradictions(entry):
                raise WrongLineError(Why.LIMITS, f"entry {row[0]}: {problem.message}")


def decoded_object(line: bytes, keys: Collection[str]) -> dict[str, Any]:
    """The JSON object of a line.

    Args:
        line: The line.
        keys: Its keys; each must be there once, and no other.

    Raises:
        WrongLineError: It is none such.
    """
    try:
        values = _DECODER.decode(line.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise WrongLineError(Why.NOT_TEXT, "it is not UTF-8 text") from error
    except (ValueError, RecursionError) as error:
        raise WrongLineError(Why.SHAPE, "it is no JSON object with each key once") from error
    if not isinstance(values, dict):
        raise WrongLineError(Why.SHAPE, "it is no JSON object")
    expected = set(keys)
    if values.keys() != expected:
        key = min(values.keys() ^ expected)
        fault = "lacks" if key in expected else "has an unknown key"
        raise WrongLineError(Why.SHAPE, f"it {fault} {plain(key, 40)}")
    return values


def _shown(value: object) -> str:
    if isinstance(value, int) and abs(value) >= _WHOLE:
        return "a number beyond all counts"
    return plain(json.dumps(value), 40)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    values = dict(pairs)
    if len(values) != len(pairs):
        raise ValueError("a key is there twice")
    return values


def _no_constant(name: str) -> None:
    raise ValueError(f"{name} is no JSON")


_DECODER = json.JSONDecoder(object_pairs_hook=_once, parse_constant=_no_constant)
