"""The set-up files of a folder, and whether they changed since the last time; asked at every start: it loads little."""

from __future__ import annotations

import sqlite3
from os import scandir
from pathlib import Path

from roundtui.store.failures import plainly

FILE_NAMES = (
    "species.csv",
    "stations.csv",
    "farms.csv",
    "blocks.csv",
    "lures.csv",
    "traps.csv",
    "routes.csv",
    "normals.csv",
    "weather.csv",
)
"""The set-up files; ``columns.FILES`` says what is in them, ``load_weather`` what is in the last."""


def files_here(folder: Path, names: tuple[str, ...] = FILE_NAMES) -> dict[str, list[Path]]:
    """The files of a folder that go by one of some names, whatever the case of their letters: Farms.csv is farms.csv.

    Args:
        folder: The scouting folder.
        names: The names.

    Returns:
        By name, the files; more than one where a person has to say which it is. Names without a file are left out.
    """
    found: dict[str, list[Path]] = {}
    try:
        with scandir(folder) as entries:
            there = sorted(entry.name for entry in entries)
    except OSError:
        return {}
    for name in there:
        plain_name = "".join(name.casefold().split())
        if plain_name in names:
            found.setdefault(plain_name, []).append(folder / name)
    return found


def newer_files(conn: sqlite3.Connection, folder: Path) -> bool:
    """Whether a set-up file is new or was touched since the folder was loaded last.

    Args:
        conn: The store.
        folder: The scouting folder.
    """
    with plainly(conn):
        known = {row[0]: row[1:] for row in conn.execute("SELECT name, mtime_ns, size FROM files")}
    for name, paths in files_here(folder).items():
        if len(paths) > 1:
            return True
        try:
            stat = paths[0].stat()
        except OSError:
            continue
        if known.get(name) != (stat.st_mtime_ns, stat.st_size):
            return True
    return False
