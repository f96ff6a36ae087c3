"""Files of the office's own: its TOML files and templates, kept on record as they are and the same on every laptop.

A file that changed in the folder goes on record when the folder is loaded. What counts is the record: a laptop that has
no such file goes by what another brought. A file that was not loaded yet counts as it stands in the folder.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from os import scandir
from pathlib import Path

from roundtui.store.files import regular
from roundtui.store.set_up.columns import MOST_OFFICE, SetUpFile, file_of

_STORE = "roundtui.db"
_TEMPLATES = "templates"
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


def office_here(folder: Path) -> dict[str, Path]:
    """The office's own files of a folder, by the name they go by.

    Args:
        folder: The scouting folder.
    """
    found: dict[str, Path] = {}
    for where, prefix in ((folder, ""), (folder / _TEMPLATES, f"{_TEMPLATES}/")):
        try:
            with scandir(where) as entries:
                there = sorted(entry.name for entry in entries if entry.is_file())
        except OSError:
            continue
        for name in there:
            known = f"{prefix}{name}" if prefix else "".join(name.casefold().split())
            if (prefix or known.endswith(".toml")) and file_of(known) is not None:
                found.setdefault(known, where / name)
    return found


def text_in(path: Path) -> str | None:
    """The text of a file as it goes on record; None where it is no text, or too long for that."""
    try:
        text = regular(path).read_bytes().decode("utf-8")
    except (OSError, ValueError):
        return None
    return text if len(text) <= MOST_OFFICE and "\x00" not in text else None


def office_files(conn: sqlite3.Connection) -> tuple[SetUpFile, ...]:
    """The office's own files that are on record.

    Args:
        conn: The store.
    """
    names = [name for (name,) in conn.execute("SELECT name FROM office_files ORDER BY name")]
    return tuple(file for name in names if (file := file_of(name)) is not None)


def office_names(folder: Path) -> set[str]:
    """Names of the office's own files, in the folder or on record.

    Args:
        folder: The scouting folder.
    """
    return {*office_here(folder), *_asked(folder, "SELECT name FROM office_files")}


def office_content(folder: Path, name: str, path: Path | None) -> bytes | None:
    """What a file of the office's own says: as the record has it, unless the folder has it newer.

    Args:
        folder: The scouting folder.
        name: Its name.
        path: The file in the folder; None where there is none.

    Raises:
        OSError: The file cannot be read.
    """
    if path is not None:
        stat = path.stat()
        loaded = _asked(
            folder,
            "SELECT name FROM files WHERE name = ? AND mtime_ns = ? AND size = ?",
            name,
            stat.st_mtime_ns,
            stat.st_size,
        )
        known = _asked(folder, "SELECT file FROM set_up_rows WHERE file = ?", name)
        if not (loaded and known):
            return regular(path).read_bytes()
    kept = _asked(folder, "SELECT text FROM office_files WHERE name = ?", name)
    return kept[0].encode() if kept else None


def _asked(folder: Path, question: str, *values: object) -> list[str]:
    path = folder / _STORE
    if not path.is_file():
        return []
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, timeout=1)) as conn:
            return [str(row[0]) for row in conn.execute(question, values)]
    except sqlite3.Error:
        return []
