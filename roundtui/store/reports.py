"""What is kept of letters: when each was written, and what the area was told.

Both are facts about files that went out from this computer and not about the orchard, so they stand in ``settings``
beside the record, are never merged with another laptop's, and need no kind of entry of their own. Each writing has a
key of its own, and none is ever overwritten.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, field
from datetime import date, datetime
from fractions import Fraction
from pathlib import Path
from typing import Any

from roundtui.domain.publication import Cell, LettersOffice, parse_letters, unknown_farms
from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.errors import Problem, StoreError
from roundtui.store.db import transaction
from roundtui.store.failures import plainly
from roundtui.store.files import regular, write_whole
from roundtui.store.office import read_table
from roundtui.store.record.read import put_setting, setting
from roundtui.store.record.rows import instant

LETTERS = "letters.toml"
"""Name of the office's file inside the scouting folder."""
TEMPLATES = "templates"
"""Folder inside the scouting folder with the office's own templates."""
RELEASED = "published-weeks.jsonl"
"""File of the scouting folder with every figure the area was told, a line each."""
_AFTER = "\U0010ffff"
"""Sorts after every other text."""


class Written(Frozen):
    """That a letter was written to disk."""

    farm: str
    """Code of the farm."""
    round_on: date
    """Day of the summary in it."""
    at: datetime
    """Instant of writing, UTC."""
    by: str
    """Who."""
    digest: str
    """Digest of its figures, to see whether they still hold."""
    to: str
    """Where, without the ending of the file's name."""
    said: Mapping[str, str] = field(default_factory=dict, compare=False, hash=False)
    """What it said, each under a name; empty of a letter that was written before this was kept."""
    sure: Mapping[str, Sequence[float]] = field(default_factory=dict, compare=False, hash=False)
    """Scatter, middle and spread of what was usual, by block and species: so it can be composed again to the digit."""


def read_letters_office(folder: Path, farms: Iterable[str]) -> LettersOffice:
    """What the office says of its letters.

    Args:
        folder: The scouting folder.
        farms: Codes of the farms that are set up.

    Raises:
        ProblemsError: The file cannot be read or says something wrong; every fault is in it.
    """

    def parse(table: dict[str, object], where: str) -> tuple[LettersOffice | None, tuple[Problem, ...]]:
        office, problems = parse_letters(table, where)
        return office, problems if office is None else (*problems, *unknown_farms(office, frozenset(farms), where))

    hint = "look at the line it names; texts stand in quotes"
    return read_table(folder / LETTERS, hint, parse, "nothing is written") or LettersOffice()


def note_written(conn: sqlite3.Connection, written: Written) -> None:
    """Keep that a letter was written.

    Args:
        conn: The store.
        written: The letter.
    """
    value = {"by": written.by, "digest": written.digest, "to": written.to, "said": dict(written.said)}
    if written.sure:
        value["sure"] = {name: list(numbers) for name, numbers in written.sure.items()}
    key = f"letter/{written.round_on.isoformat()}/{instant(written.at)}/{written.farm}"
    put_setting(conn, key, json.dumps(value, ensure_ascii=False))


def letters_written(
    conn: sqlite3.Connection, round_on: date, since: date | None = None
) -> Mapping[str, tuple[Written, ...]]:
    """Letters written about a day, by farm, the newest last.

    Args:
        conn: The store.
        round_on: The day.
        since: Those about the days from this one on as well, the newest day last.
    """
    found: dict[str, tuple[Written, ...]] = {}
    first, last = f"letter/{(since or round_on).isoformat()}/", f"letter/{round_on.isoformat()}/"
    for key, value in settings_like(conn, first, last):
        _, day, at, farm = key.split("/", 3)
        written = Written(farm, date.fromisoformat(day), datetime.fromisoformat(at), **json.loads(value))
        found[farm] = (*found.get(farm, ()), written)
    return found


def area_weekday(conn: sqlite3.Connection, season: int) -> int | None:
    """Weekday on which the area's weeks end in a season; None before its first update.

    Args:
        conn: The store.
        season: Year in which the season started.
    """
    kept = setting(conn, f"area/{season}/week-ends")
    if kept:
        return int(kept)
    return next((cell.week_ends.weekday() for cell in _kept_outside(conn, season) if cell.kind == "catch"), None)


def released(conn: sqlite3.Connection, season: int) -> Mapping[tuple[str, str, date], Cell]:
    """What the area was told in a season: by the store, and by the file beside it that outlives an older backup.

    Args:
        conn: The store.
        season: Year in which the season started.
    """
    cells = [_cell(json.loads(value)) for _, value in settings_like(conn, f"area/{season}/cell/")]
    return {cell.key: cell for cell in (*cells, *_kept_outside(conn, season))}


def keep_released(conn: sqlite3.Connection, season: int, weekday: int, cells: Iterable[Cell]) -> None:
    """Keep what is about to be published, before it is: what was said once is never said otherwise.

    Args:
        conn: The store.
        season: Year in which the season started.
        weekday: Weekday on which the area's weeks end.
        cells: Figures; those withheld are not kept, since they may be published later.

    Raises:
        StoreError: The store, or the file beside it, cannot be written; nothing is published then.
    """
    known = released(conn, season)
    new = [cell for cell in cells if cell.released and cell.key not in known]
    lines = [json.dumps({"season": season, **_row(cell)}, ensure_ascii=False) for cell in new]
    if lines and (path := _released_file(conn)) is not None:
        before = regular(path).read_text(encoding="utf-8") if path.exists() else ""
        write_whole(path, before + "\n".join(lines) + "\n")
    with transaction(conn):
        put_setting(conn, f"area/{season}/week-ends", str(weekday))
        for cell in new:
            key = f"area/{season}/cell/{cell.kind}/{cell.week_ends.isoformat()}/{cell.what}"
            put_setting(conn, key, json.dumps(_row(cell), ensure_ascii=False))


def _released_file(conn: sqlite3.Connection) -> Path | None:
    (file,) = (row[2] for row in conn.execute("PRAGMA database_list") if row[1] == "main")
    return Path(file).parent / RELEASED if file else None


def _kept_outside(conn: sqlite3.Connection, season: int) -> list[Cell]:
    path = _released_file(conn)
    if path is None or not path.exists():
        return []
    try:
        rows = [json.loads(text) for text in regular(path).read_text(encoding="utf-8").splitlines() if text.strip()]
        return [_cell(row) for row in rows if row["season"] == season]
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise StoreError(
            f"{RELEASED} cannot be read: {sanitize(str(error), 80)}",
            "put it back as it was: it says what the area was told, which must not be said otherwise",
        ) from error


def settings_like(conn: sqlite3.Connection, prefix: str, last: str = "") -> list[tuple[str, str]]:
    """Settings whose keys begin with a prefix, or lie between it and those that begin with a last one."""
    with plainly(conn):
        return conn.execute(
            "SELECT key, value FROM settings WHERE key >= ? AND key < ? ORDER BY key",
            (prefix, (last or prefix) + _AFTER),
        ).fetchall()


def _row(cell: Cell) -> dict[str, object]:
    value = None if cell.value is None else str(cell.value)
    return asdict(cell) | {"week_ends": cell.week_ends.isoformat(), "farms": list(cell.farms), "value": value}


def _cell(row: Mapping[str, Any]) -> Cell:
    return Cell(
        kind=str(row["kind"]),
        what=str(row["what"]),
        week_ends=date.fromisoformat(str(row["week_ends"])),
        farms=tuple(row["farms"]) if isinstance(row["farms"], list) else (),
        value=None if row["value"] is None else Fraction(str(row["value"])),
        traps=int(row["traps"]),
        # Weeks published before estimates were told of do not say how many there were.
        estimated=int(row.get("estimated", 0)),
    )
