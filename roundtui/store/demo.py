"""The sample farm, ready to be tried: copied into a folder of its own, loaded, its tallies entered."""

from __future__ import annotations

import csv
import shutil
import sqlite3
from collections import Counter
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, time
from pathlib import Path

from roundtui.domain.records import Frozen
from roundtui.domain.text import parse_day, sanitize
from roundtui.errors import StoreError
from roundtui.store.db import DB_NAME
from roundtui.store.files import whole_folder
from roundtui.store.folder import open_folder
from roundtui.store.invented import DEMO
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author
from roundtui.store.record.lanes import FOLDER_FILE, device_name
from roundtui.store.record.read import programme, put_setting
from roundtui.store.round.enter import enter_tally
from roundtui.store.round.tally_file import record_file
from roundtui.store.season.biofix import settle_biofix, settlement
from roundtui.store.season.season import SeasonRecord

RUNNING_DAY = "running_day.txt"
"""File of the sample that holds the day it is tried on."""
EVENING = time(17, 30, tzinfo=UTC)
"""When the tallies of a day are taken to have been recorded."""
OFFICE_HOUR = time(18, 30, tzinfo=UTC)
"""When biofixes are taken to have been settled, once the round of the day is in."""


class Demo(Frozen):
    """A sample farm that is ready."""

    folder: Path
    """Where it is."""
    on: date
    """The day to try it on."""
    scout: str
    """Who walks the round that is due on that day."""
    entries: int
    """How many entries it holds."""


def sample_farm() -> Path:
    """Where the sample farm is: inside the installed package, or beside it in a checkout.

    Raises:
        StoreError: It is in neither place.
    """
    package = Path(__file__).resolve().parent.parent
    for place in (package / "sample_farm", package.parent / "sample_farm"):
        if (place / RUNNING_DAY).is_file():
            return place
    raise StoreError("the sample farm is not installed", "install roundtui again; your own folders are untouched")


def prepare_demo(to: Path) -> Demo:
    """Copy the sample farm, load it and enter its tallies.

    Args:
        to: Folder to make; one that is there must be empty.

    Raises:
        StoreError: The folder holds something, or cannot be written.
    """
    sample = sample_farm()
    if to.exists() and (not to.is_dir() or any(to.iterdir())):
        raise StoreError(f"{sanitize(str(to), 200)} is there already", "name a new or an empty folder")
    with whole_folder(to) as new:
        left_out = shutil.ignore_patterns(f"{DB_NAME}*", FOLDER_FILE, "backups")
        shutil.copytree(sample, new, dirs_exist_ok=True, ignore=left_out)
        return replace(_ready(new), folder=to)


def _ready(to: Path) -> Demo:
    on = running_day(to)
    scouts = {row["file"]: row["scout"] for row in _listed(to / "tallies" / "scouts.csv")}
    entries = 0
    with closing(open_folder(to, now=datetime.combine(on, EVENING)).conn) as conn:
        known = programme(conn)
        # In the order in which the coordinator settled them.
        open_biofixes = sorted(_listed(to / "tallies" / "biofixes.csv"), key=lambda row: row["settled_on"])
        for path in sorted((to / "tallies").glob("*.csv")):
            if path.name in scouts:
                walked_on = parse_day(path.name[:10]) or on
                while open_biofixes and open_biofixes[0]["settled_on"] < walked_on.isoformat():
                    _settle(conn, to, open_biofixes.pop(0))
                author = Author(scouts[path.name], device_name())
                report = enter_tally(conn, path, author, datetime.combine(walked_on, EVENING), on, programme=known)
                entries += report.added
        for row in open_biofixes:
            _settle(conn, to, row)
        entries += _record_observations(conn, to / "observations", on)
        scout = _scout_of(to, on, scouts)
        put_setting(conn, "scout", scout)
        put_setting(conn, DEMO, "yes")
    return Demo(to, on, scout, entries)


def running_day(folder: Path) -> date:
    """The day the sample is tried on.

    Args:
        folder: A copy of the sample farm.

    Raises:
        StoreError: The copy does not say.
    """
    try:
        day = parse_day((folder / RUNNING_DAY).read_text(encoding="utf-8").strip())
    except (OSError, ValueError):
        day = None
    if day is None:
        raise StoreError(f"{sanitize(str(folder / RUNNING_DAY), 200)} holds no date", "write one as 2026-05-01")
    return day


def _record_observations(conn: sqlite3.Connection, folder: Path, on: date) -> int:
    """Record what was done beside the weekly counts, each file on the day that its list says; how many entries."""
    rows = sorted(_listed(folder / "files.csv"), key=lambda row: row["recorded_on"])
    known, entries = programme(conn), 0
    for row in rows:
        recorded_on = parse_day(row["recorded_on"]) or on
        author, now = Author(row["scout"], device_name()), datetime.combine(recorded_on, OFFICE_HOUR)
        path = folder / row["file"]
        entries += len(record_file(conn, path, row["kind"], author, now=now, today=on, programme=known).added)
    return entries


def _listed(path: Path) -> list[dict[str, str]]:
    """Rows of a list of the sample; none where it has no such list."""
    if not path.is_file():
        return []
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _settle(conn: sqlite3.Connection, folder: Path, row: dict[str, str]) -> None:
    settled_on = date.fromisoformat(row["settled_on"])
    season = SeasonRecord(conn, folder, settled_on, read_office(folder))
    entry = settlement(
        season, row["block"], row["species"], int(row["generation"]), day=parse_day(row["day"]), reason=row["reason"]
    )
    author = Author(row["scout"], device_name())
    settle_biofix(conn, season, entry, author, datetime.combine(settled_on, OFFICE_HOUR))


def _scout_of(folder: Path, on: date, scouts: dict[str, str]) -> str:
    """Who walks on the weekday of the running day most often, and so is due."""
    days = {name: day for name in scouts if (day := parse_day(name[:10])) is not None}
    walked = Counter(scouts[name] for name, day in days.items() if day.weekday() == on.weekday())
    return walked.most_common(1)[0][0] if walked else next(iter(scouts.values()), sanitize(folder.name, 40))
