"""One farm's complete record for an inspector: the tables of the package, each cut down to that farm.

Published demands: complete records of monitoring and control kept for inspection (Taiwan, quarantine requirements for
apples from France, 2012), given on request (Australia to China, cherries; Washington to Taiwan, apples).
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Collection, Iterator, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any

from roundtui.domain.programme.farm import Programme
from roundtui.domain.text import sanitize
from roundtui.errors import StoreError
from roundtui.store.checks.verify import verify
from roundtui.store.db import one_view
from roundtui.store.exchange.package import DESCRIPTOR, Member, members, write_tables
from roundtui.store.files import write_whole
from roundtui.store.record.device import device_name
from roundtui.store.record.read import programme, put_setting
from roundtui.store.record.rows import instant
from roundtui.store.reports import letters_written, settings_like

PAGE = "inspection.txt"
"""File that says what the others hold."""
Row = Mapping[str, Any]


class _Farm:
    """What of a record is one farm's.

    Args:
        known: What is set up.
        farm: Code of the farm.
    """

    def __init__(self, known: Programme, farm: str) -> None:
        self.known, self.farm = known, farm
        self.blocks = {code for code, block in known.blocks.items() if block.farm == farm}
        self.hangings = {
            trap: [row for row in rows if row.block in self.blocks] for trap, rows in known.hangings.items()
        }
        self.stations = {known.blocks[code].station for code in self.blocks} - {"", None}
        self.lots = {row.lot for rows in self.hangings.values() for row in rows}
        self.entries: set[str] = set()
        self.imports: set[int] = set()
        self.people: set[str] = set()
        self.recorded: list[str] = []

    def has_trap(self, trap: str, day: str) -> bool:
        """Whether a trap hung in a block of the farm, on a day where one is given."""
        rows = self.hangings.get(trap, [])
        return any(row.hangs_on(date.fromisoformat(day)) for row in rows) if day else bool(rows)

    def keeps(self, member: Member, row: Row) -> bool:
        """Whether a row is about this farm; an entry that is kept takes along the lot it names, and its withdrawal."""
        if member.name == "set_up_changes":
            return False  # Such a row may tell of the farm a trap went to; the register says what holds here.
        if member.journal is not None:
            kept = self._entry(row, member.journal.day)
            if kept:
                self.entries.add(row["id"])
                self.recorded.append(row["recorded_at"])
                self.people.add(row["scout"])
                self.lots |= {row.get("lure") or "", row.get("lure_found") or ""}
            return kept
        about: dict[str, tuple[str, Collection[Any]]] = {
            "species": ("species", {row.get("species")}),
            "farms": ("farm", {self.farm}),
            "blocks": ("block", self.blocks),
            "traps": ("block", self.blocks),
            "routes": ("trap", {trap for trap, rows in self.hangings.items() if rows}),
            "lures": ("lot", self.lots),
            "people": ("person", self.people),
            "weather_imports": ("import", self.imports),
        }
        column, mine = about.get(member.name, ("station", self.stations))
        return row.get(column) in mine

    def _entry(self, row: Row, day: str) -> bool:
        if "entry" in row:
            return row["entry"] in self.entries
        if row.get("trap"):
            return self.has_trap(row["trap"], str(row.get(day) or ""))
        return row.get("block") in self.blocks or (bool(row.get("station")) and row["station"] in self.stations)


def write_inspection(
    conn: sqlite3.Connection, farm: str, to: Path, now: datetime, *, sent: tuple[str, str] = ("", "")
) -> Mapping[str, int]:
    """Write everything on record about one farm, and nothing about another.

    Args:
        conn: The store.
        farm: Code of the farm.
        to: Folder to write into.
        now: Instant of writing.
        sent: Agency it is sent to, and by whom: kept, so that the next one says what came since; empty: to nobody.

    Returns:
        Rows by table.

    Raises:
        StoreError: There is no such farm, the store cannot be read, or a file not be written.
    """
    with one_view(conn):
        known = programme(conn)
        if farm not in known.farms:
            raise StoreError(f"there is no farm {sanitize(farm, 40)}", "use a code of farms.csv")
        mine = _Farm(known, farm)
        if mine.stations:
            marks = ", ".join("?" * len(mine.stations))
            days = f"SELECT DISTINCT import FROM weather_days WHERE station IN ({marks})"  # noqa: S608
            mine.imports = {row[0] for row in conn.execute(days, sorted(mine.stations))}
        # Entries first: they name the lots and what was withdrawn.
        every = sorted(members(conn), key=lambda one: (one.journal is None, "entry" in one.columns))
        rows = write_tables(conn, to, every, now, mine.keeps)
    digest = hashlib.sha256((to / DESCRIPTOR).read_bytes()).hexdigest()
    write_whole(to / PAGE, _page(conn, mine, rows, digest))
    if sent[0].strip():
        put_setting(conn, f"sent/{farm}/{instant(now)}", json.dumps([*sent, digest]))
    return rows


def _sent(conn: sqlite3.Connection, mine: _Farm) -> Iterator[str]:
    """What was sent to agencies before, and how many entries have come since."""
    for key, value in settings_like(conn, f"sent/{mine.farm}/"):
        at, (agency, by, digest) = key.rsplit("/", 1)[1], json.loads(value)
        later = sum(one > at for one in mine.recorded)
        who = f"to {sanitize(agency, 60)} by {sanitize(by, 60) or 'nobody named'}"
        yield f"  {at[:16]} UTC {who}, {later} entries or corrections of these since; digest {digest}"


def _page(conn: sqlite3.Connection, mine: _Farm, rows: Mapping[str, int], digest: str) -> str:
    known, farm = mine.known, mine.known.farms[mine.farm]
    lines = [f"Record of {sanitize(farm.name, 80)} ({sanitize(farm.farm, 40)}) for inspection"]
    lines += [f"Property number: {sanitize(farm.property_no, 60) or 'not on record'}", "", "Blocks"]
    for code in sorted(mine.blocks):
        block = known.blocks[code]
        markets = ", ".join(sanitize(one, 40) for one in block.markets) or "none on record"
        area = f"{float(block.area_ha):g} ha" if block.area_ha is not None else "area not on record"
        unit = sanitize(block.unit_no, 60) or "not on record"
        lines.append(f"  {sanitize(code, 40)} {sanitize(block.name, 60)}: unit {unit}, {area}, markets: {markets}")
    lines += ["", "Traps"]
    for trap, hangings in mine.hangings.items():
        for row in hangings:
            place = f"{row.lat:.5f}, {row.lon:.5f}" if row.lat is not None and row.lon is not None else "no coordinates"
            span = f"{row.hung_on or 'day unknown'} to {row.down_on or 'now'}"
            lines.append(f"  {sanitize(trap, 40)} {row.species}, block {sanitize(row.block, 40)}, {span}, {place}")
    lines += ["", "Rows in the tables beside this page, corrections and withdrawals included"]
    lines += [f"  {name.replace('_', ' ')}: {count}" for name, count in rows.items() if count]
    written = letters_written(conn, date.max, date.min).get(mine.farm, ())
    lines += ["", f"Letters written to the grower: {len(written)}"]
    for one in written:
        lines.append(f"  of {one.round_on}, written {one.at:%Y-%m-%d} by {sanitize(one.by, 60) or 'nobody named'}")
    checks = list(verify(conn, device_name()))
    faults = sum(len(one.faults) for one in checks)
    state = "sound" if not faults else f"{faults} faults"
    lines += ["", "Sent to agencies before", *(list(_sent(conn, mine)) or ["  nothing on record"])]
    lines += ["", f"Check of the whole record: {state}. Digest of {DESCRIPTOR} (SHA-256): {digest}"]
    lines.append("Free words of the people who entered them stand as they are. Nothing here says that fruit is clean.")
    return "\n".join(lines) + "\n"
