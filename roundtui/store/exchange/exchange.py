"""A shared folder that laptops meet in: each keeps one bundle of its own there, and merges all that lie there.

The bundle of a laptop holds what was recorded on it, and whatever no other laptop's own bundle there really holds. It
appears whole or not at all, is written only when there is something new, and is read before it is written over: after
an older backup was put in place it holds what the store lacks.
"""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import count
from pathlib import Path

from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.errors import Problem, RefusedError, RoundtuiError, StoreError
from roundtui.store.db import DB_NAME
from roundtui.store.exchange.bundle import Packed, Since, ids_to_pack, pack
from roundtui.store.exchange.lines import SUFFIX, BundleError, Why
from roundtui.store.exchange.merge import MergeReport, Progress, merge
from roundtui.store.exchange.reading import EVERYTHING, ids_held, open_bundle
from roundtui.store.record.lanes import own_lane_name, pair_of
from roundtui.store.record.read import put_setting, setting

_SEEN = "exchange"
"""Setting that holds, of each bundle that was merged, its state and which entries it holds."""
_UNFIT = re.compile(r"[^A-Za-z0-9]+")


@dataclass(slots=True)
class ExchangeReport:
    """What one pass brought."""

    merged: dict[str, MergeReport] = field(default_factory=dict)
    """What the bundles of others brought, by name."""
    same: int = 0
    """Bundles of others that had not changed."""
    unfinished: list[Problem] = field(default_factory=list)
    """Files that are still on their way; the next pass looks again."""
    refused: list[Problem] = field(default_factory=list)
    """Bundles that were refused, and why."""
    remarks: list[Problem] = field(default_factory=list)
    """Warnings."""
    packed: Packed | None = None
    """What this laptop's own bundle holds, where it was written anew."""


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
        What was merged and packed. A bundle that is refused keeps none of the others from being merged.

    Raises:
        RefusedError: The shared folder and the scouting folder are the same, or one lies in the other.
        StoreError: The shared folder cannot be used, or the store not be written.
    """
    _refuse_wrong_place(folder, shared)
    report = ExchangeReport()
    # That of the laptop, and the ids of folder and laptop, which no other pair has.
    pair = pair_of(own_lane_name(conn)).replace(".", "-")
    own = f"{_UNFIT.sub('-', device).strip('-') or 'laptop'}-{pair}{SUFFIX}"
    try:
        names = sorted(path.name for path in shared.iterdir())
    except OSError as error:
        why = f"{sanitize(str(shared), 200)} cannot be read: {error.strerror or error}"
        raise StoreError(why, "check who may read it") from error
    if DB_NAME in names:
        words = "a store must not lie in a folder that is shared or synced"
        hint = "keep it on the laptop alone; bundles are what is exchanged"
        report.remarks.append(Problem(sanitize(str(shared / DB_NAME), 200), words, hint))
    # Files on their way begin or end otherwise.
    bundles = [shared / name for name in names if name.endswith(SUFFIX) and not name.startswith((".", "~"))]
    there = _merge_all(conn, bundles, own, report, progress=progress, today=today)
    mine = Since(leave_out=sorted(_held_elsewhere(conn, there.values())))
    # One that could not be read may hold what nobody else has: it stays, and ours goes beside it.
    to = next(path for path in _places(shared, own) if path.name in there or not path.exists())
    holds = ids_to_pack(conn, mine)
    if to.name not in there or there[to.name].holds[EVERYTHING] != holds:
        report.packed = pack(conn, to, device, now, mine, over=True)
        seen = _seen(conn)
        seen[to.name] = {"state": _state(to, report.packed.sha256), "holds": {EVERYTHING: holds}}
        put_setting(conn, _SEEN, json.dumps(seen))
    return report


def _places(shared: Path, own: str) -> Iterator[Path]:
    """Where this laptop's bundle may stand: under its name, else under the next one."""
    yield shared / own
    for number in count(2):
        yield shared / f"{own.removesuffix(SUFFIX)}-{number}{SUFFIX}"


def _refuse_wrong_place(folder: Path, shared: Path) -> None:
    if not shared.is_dir():
        raise StoreError(f"there is no folder {sanitize(str(shared), 200)}", "check the name, or make it")
    inside, outside = folder.resolve(), shared.resolve()
    if outside == inside or inside in outside.parents:
        raise RefusedError(
            f"{sanitize(str(shared), 200)} lies in the scouting folder", "name a folder that the laptops share"
        )
    if outside in inside.parents:
        raise RefusedError(
            f"the scouting folder lies in {sanitize(str(shared), 200)}",
            f"keep it elsewhere: {DB_NAME} must not be in a folder that is shared or synced",
        )


class _There(Frozen):
    """A bundle in the shared folder all of whose entries are on record here."""

    pair: str
    """Folder and laptop that packed it."""
    holds: dict[str, str]
    """Digest of the ids it holds of each lane, and of all of them."""


def _merge_all(
    conn: sqlite3.Connection,
    bundles: list[Path],
    own: str,
    report: ExchangeReport,
    *,
    progress: Progress | None,
    today: date | None,
) -> dict[str, _There]:
    """Merge each bundle that changed, this laptop's own too; those that are on record now, by name."""
    seen = _seen(conn)
    there: dict[str, _There] = {}
    for path in bundles:
        try:
            with open_bundle(path) as bundle:
                manifest = bundle.manifest
            state = _state(path, manifest.sha256)
            known = seen.get(path.name)
            if isinstance(known, dict) and known.get("state") == state:
                report.same += path.name != own
                holds = known["holds"]
            else:
                merged = merge(conn, [path], progress, today)
                holds = merged.holds
                seen[path.name] = {"state": state, "holds": holds}
                put_setting(conn, _SEEN, json.dumps(seen))
                if merged.new or path.name != own:
                    report.merged[path.name] = merged
            there[path.name] = _There(manifest.pair, holds)
        except BundleError as error:
            where = report.unfinished if error.why in (Why.TRUNCATED, Why.FOREIGN) else report.refused
            where.append(Problem("", error.message, error.hint))
        except OSError as error:
            report.unfinished.append(Problem(sanitize(path.name, 80), f"cannot be read yet: {error.strerror or error}"))
        except RoundtuiError as error:
            report.refused.append(Problem(sanitize(path.name, 80), error.message, error.hint))
    return there


def _state(path: Path, sha256: str) -> list[object]:
    stat = path.stat()
    return [stat.st_size, stat.st_mtime_ns, sha256]


def _held_elsewhere(conn: sqlite3.Connection, there: Iterable[_There]) -> Iterator[str]:
    """Lanes of other laptops whose own bundles hold every entry of them that is on record here."""
    pair, here = pair_of(own_lane_name(conn)), ids_held(conn)
    for bundle in there:
        for lane, ids in bundle.holds.items():
            if lane and bundle.pair == pair_of(lane) != pair and here.get(lane) == ids:
                yield lane


def _seen(conn: sqlite3.Connection) -> dict[str, object]:
    try:
        seen = json.loads(setting(conn, _SEEN) or "{}")
    except ValueError:
        return {}
    return seen if isinstance(seen, dict) else {}
