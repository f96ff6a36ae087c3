"""Beginning a programme: an empty scouting folder with every set-up file, and no rule but those that ship."""

from __future__ import annotations

import os
from collections.abc import Sequence
from contextlib import closing
from datetime import datetime
from pathlib import Path
from string import Template
from zoneinfo import ZoneInfo

from roundtui.domain.records import Frozen
from roundtui.domain.season import weather_files
from roundtui.domain.text import sanitize
from roundtui.domain.toml_table import toml_text
from roundtui.domain.units import TempUnit
from roundtui.errors import StoreError
from roundtui.store.files import csv_text, whole_folder
from roundtui.store.folder import open_folder
from roundtui.store.record.read import put_setting
from roundtui.store.season.weather_load import WEATHER
from roundtui.store.session import THEME
from roundtui.store.set_up.columns import FILES


class Beginning(Frozen):
    """What a programme begins with; all of it can be changed later."""

    office: str = ""
    """Name of the office or programme, for its letters."""
    unit: TempUnit = TempUnit.F
    """Unit of temperatures that state none."""
    timezone: str = "UTC"
    """IANA time zone of stations that state none."""
    farms: Sequence[tuple[str, str]] = ()
    """Code and name of each farm."""
    blocks: Sequence[tuple[str, str, str, str]] = ()
    """Code, farm, name and crop of each block."""
    look: str = ""
    """Theme of its screens; empty: none was chosen."""


def machine_zone() -> str:
    """The time zone of this computer by its IANA name; UTC where it cannot be told."""
    named = os.environ.get("TZ", "").removeprefix(":")
    linked = str(Path("/etc/localtime").resolve()).rpartition("zoneinfo/")[2]
    return next((zone for zone in (named, linked) if zone and known_zone(zone)), "UTC")


def known_zone(name: str) -> bool:
    """Whether a time zone is one of the IANA database.

    Args:
        name: Its name, as America/New_York.
    """
    try:
        ZoneInfo(name)
    except (ValueError, OSError, KeyError):
        return False
    return "/" in name or name == "UTC"


def begin(folder: Path, beginning: Beginning, now: datetime) -> None:
    """Make a scouting folder without a trap, and its store.

    Args:
        folder: Folder to make; one that is there must be empty.
        beginning: What it begins with.
        now: Instant.

    Raises:
        StoreError: The folder holds something, or cannot be written.
        ProblemsError: A code or name is none; nothing was made.
    """
    name = sanitize(str(folder), 200)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise StoreError(f"{name} is not empty", "name a new or an empty folder; nothing was changed")
    with whole_folder(folder) as new:
        _write(new, beginning)
        with closing(open_folder(new, now=now).conn) as conn:
            if beginning.look:
                put_setting(conn, THEME, beginning.look)


def _write(folder: Path, beginning: Beginning) -> None:
    rows = {"farms.csv": beginning.farms, "blocks.csv": beginning.blocks}
    tables = [(file.name, file.columns) for file in FILES]
    for file, columns in (*tables, (WEATHER, (*weather_files.REQUIRED, *weather_files.OPTIONAL))):
        filled = ([*row, *[""] * (len(columns) - len(row))] for row in rows.get(file, ()))
        (folder / file).write_bytes(csv_text([columns, *filled]).encode())
    office = sanitize(beginning.office, 120)
    sender = f"name = {toml_text(office)}\n" if office else '# name = "the name of your office"\n'
    said = {"sender": sender, "unit": beginning.unit.value, "timezone": beginning.timezone}
    for begun in Path(__file__).with_name("begun").glob("*.toml"):
        content = Template(begun.read_text(encoding="utf-8")).substitute(said)
        (folder / begun.name).write_text(content, encoding="utf-8")
