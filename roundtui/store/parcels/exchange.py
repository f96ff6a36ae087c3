"""A shared folder that laptops meet in: each keeps one parcel of its own there, and merges those of the others.

The parcel of a laptop holds what was recorded on it, and whatever came to it by other ways from laptops that have no
parcel in the folder. It appears whole or not at all, and is written only when there is something new.
"""

from __future__ import annotations

import json
import re
import sqlite3
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

from roundtui.domain.text import plain
from roundtui.errors import Problem, RefusedError, RoundtuiError, StoreError
from roundtui.store.connect import DB_NAME
from roundtui.store.lanes import lane_ends, own_lane_name, pair_of
from roundtui.store.parcels.form import SUFFIX, ParcelError, Why
from roundtui.store.parcels.manifest import Manifest
from roundtui.store.parcels.merge import MergeReport, Progress, merge
from roundtui.store.parcels.parcel import Since, amount, pack
from roundtui.store.parcels.reading import open_parcel
from roundtui.store.read import put_setting, setting

_SEEN = "exchange"
"""Setting that holds which state of which parcel was merged last."""
_UNFIT = re.compile(r"[^A-Za-z0-9]+")


@dataclass(slots=True)
class ExchangeReport:
    """What one pass brought."""

    merged: dict[str, MergeReport] = field(default_factory=dict)
    """What the parcels of others brought, by name."""
    same: int = 0
    """Parcels of others that had not changed."""
    unfinished: list[Problem] = field(default_factory=list)
    """Files that are still on their way; the next pass looks again."""
    refused: list[Problem] = field(default_factory=list)
    """Parcels that were refused, and why."""
    remarks: list[Problem] = field(default_factory=list)
    """Warnings."""
    packed: Manifest | None = None
    """What this laptop's own parcel holds, where it was written anew."""


def exchange(
    conn: sqlite3.Connection,
    folder: Path,
    shared: Path,
    *,
    device: str,
    now: datetime,
    progress: Progress | None = None,
    today: date | None = None,
) -> ExchangeReport:
    """One pass: merge what others have put into the shared folder, then put there what is new here.

    Args:
        conn: The store.
        folder: The scouting folder.
        shared: The shared folder.
        device: Name of this laptop.
        now: Instant.
        progress: Is told how far the reading has come.
        today: The day on the wall, as for ``merge``.

    Returns:
        What was merged and packed. A parcel that is refused keeps none of the others from being merged.

    Raises:
        RefusedError: The shared folder and the scouting folder are the same, or one lies in the other.
        StoreError: The shared folder cannot be used, or the store not be written.
    """
    _refuse_wrong_place(folder, shared)
    report = ExchangeReport()
    own = own_name(conn, device)
    try:
        names = sorted(path.name for path in shared.iterdir())
    except OSError as error:
        raise _unusable(shared, error) from error
    if DB_NAME in names:
        report.remarks.append(
            Problem(
                plain(str(shared / DB_NAME), 200),
                "a store must not lie in a folder that is shared or synced",
                "keep it on the laptop alone; parcels are what is exchanged",
            )
        )
    parcels = [shared / name for name in names if _is_parcel(name)]
    claimed = _merge_others(conn, [path for path in parcels if path.name != own], report, progress, today)
    pair, ends = pair_of(own_lane_name(conn)), lane_ends(conn)
    mine = Since(
        leave_out=sorted(lane for lane, last in claimed.items() if pair_of(lane) != pair and last >= ends.get(lane, 0))
    )
    if _own_changed(conn, shared / own, mine):
        report.packed = pack(conn, shared / own, device, now, mine, over=True)
    return report


def own_name(conn: sqlite3.Connection, device: str) -> str:
    """Name of this laptop's bundle: that of the laptop, and the ids of folder and laptop, which no other pair has.

    Args:
        conn: The store.
        device: Name of the laptop; a label alone.
    """
    return f"{_UNFIT.sub('-', device).strip('-') or 'laptop'}-{pair_of(own_lane_name(conn)).replace('.', '-')}{SUFFIX}"


def _refuse_wrong_place(folder: Path, shared: Path) -> None:
    if not shared.is_dir():
        raise StoreError(f"there is no folder {plain(str(shared), 200)}", "check the name, or make it")
    inside, outside = folder.resolve(), shared.resolve()
    if outside == inside or inside in outside.parents:
        raise RefusedError(
            f"{plain(str(shared), 200)} lies in the scouting folder", "name a folder that the laptops share"
        )
    if outside in inside.parents:
        raise RefusedError(
            f"the scouting folder lies in {plain(str(shared), 200)}",
            f"keep it elsewhere: {DB_NAME} must not be in a folder that is shared or synced",
        )


def _is_parcel(name: str) -> bool:
    """Whether a name is one that a finished parcel has; those of files on their way begin or end otherwise."""
    return name.endswith(SUFFIX) and not name.startswith((".", "~"))


def _merge_others(
    conn: sqlite3.Connection, parcels: list[Path], report: ExchangeReport, progress: Progress | None, today: date | None
) -> dict[str, int]:
    """Merge each bundle that changed; lanes that the bundles of their own laptops hold here, and up to which entry."""
    seen = _seen(conn)
    claimed: dict[str, int] = {}
    for path in parcels:
        try:
            stat = path.stat()
            state = [stat.st_size, stat.st_mtime_ns]
            with open_parcel(path) as parcel:
                manifest = parcel.manifest
            if seen.get(path.name) == state:
                report.same += 1
            else:
                report.merged[path.name] = merge(conn, [path], progress, today)
                seen[path.name] = state
                put_setting(conn, _SEEN, json.dumps(seen))
            claimed |= {
                lane: last
                for lane, last in manifest.lanes.items()
                if pair_of(lane) == manifest.pair and lane not in manifest.without and manifest.since is None
            }
        except ParcelError as error:
            where = report.unfinished if error.why in (Why.TRUNCATED, Why.FOREIGN) else report.refused
            where.append(Problem("", error.message, error.hint))
        except OSError as error:
            report.unfinished.append(Problem(plain(path.name, 80), f"cannot be read yet: {error.strerror or error}"))
        except RoundtuiError as error:
            report.refused.append(Problem(plain(path.name, 80), error.message, error.hint))
    return claimed


def _seen(conn: sqlite3.Connection) -> dict[str, object]:
    try:
        seen = json.loads(setting(conn, _SEEN) or "{}")
    except ValueError:
        return {}
    return seen if isinstance(seen, dict) else {}


def _own_changed(conn: sqlite3.Connection, path: Path, mine: Since) -> bool:
    """Whether this laptop's parcel lacks something.

    Entries are only ever added, so of the same lanes as many as before are the same as before.
    """
    try:
        with open_parcel(path) as parcel:
            manifest = parcel.manifest
    except RoundtuiError:
        return True
    return manifest.without != tuple(mine.leave_out) or manifest.entries != amount(conn, mine)


def _unusable(shared: Path, error: OSError) -> StoreError:
    return StoreError(f"{plain(str(shared), 200)} cannot be read: {error.strerror or error}", "check who may read it")
