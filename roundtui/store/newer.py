"""Whether set-up files changed since the last time; it loads nothing else, since it is asked at every start."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from roundtui.store.failures import plainly

FILE_NAMES = (
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


def newer_files(conn: sqlite3.Connection, folder: Path) -> bool:
    """Whether a set-up file is new or was touched since the folder was loaded last.

    Args:
        conn: The store.
        folder: The scouting folder.
    """
    with plainly(conn):
        known = {row[0]: row[1:] for row in conn.execute("SELECT name, mtime_ns, size FROM files")}
    for name in FILE_NAMES:
        try:
            stat = (folder / name).stat()
        except OSError:
            continue
        if known.get(name) != (stat.st_mtime_ns, stat.st_size):
            return True
    return False
