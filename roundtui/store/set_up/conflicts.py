"""Set-up rows that were changed in two places, and that nobody has settled yet.

A row is taken over from another laptop where only that side changed it. Where both did, it stays as it is here, however
new the other is: a row of traps decides what a figure is made of.
"""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from datetime import datetime

from roundtui.domain.programme.farm import natural_key
from roundtui.store.failures import plainly
from roundtui.store.lanes import own_lane_name, pair_of
from roundtui.store.set_up.columns import FILES, SetUpFile, Values
from roundtui.store.set_up.row import file_of, named, values_of
from roundtui.store.set_up.row_digests import digest_of, said
from roundtui.store.set_up.versions import LOADED, Version, ancestors, becomes_of, heads

THIS_FILE = ""
"""Stands for the laptop where the set-up file of this folder is what offers a row."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A state that a row has elsewhere."""

    digest: str
    """What tells it from others."""
    values: Values | None
    """What it says; None where the row is gone there."""
    devices: tuple[str, ...]
    """Laptops that have it; ``THIS_FILE`` for the file of this folder."""
    in_file: bool
    """Whether the file of one of them has it so."""
    made_at: datetime | None
    """When the newest parcel with it was packed; None for the file of this folder."""
    later: bool
    """Whether it took the place of what stands here; if not, both were changed, or it is new."""


@dataclass(frozen=True, slots=True)
class OpenRow:
    """A row that is otherwise elsewhere, and nobody has said which holds."""

    file: SetUpFile
    """Its file."""
    row: str
    """What tells it from other rows of the file for good."""
    here: Values | None
    """As it stands here; None where there is no such row."""
    offers: tuple[Offer, ...]
    """As others have it."""

    @property
    def label(self) -> str:
        """The row as people call it."""
        return named(self.file, self.here or next((one.values for one in self.offers if one.values), {}))

    @property
    def digest(self) -> str:
        """What tells the state here from others; empty where there is no such row."""
        return digest_of(self.file, self.here) if self.here is not None else ""

    @property
    def columns(self) -> tuple[str, ...]:
        """Columns in which they differ, in the order of the manual."""
        states = [said(values or {}) for values in (self.here, *(offer.values for offer in self.offers))]
        return tuple(
            column
            for column in (*self.file.required, *self.file.optional)
            if any(state.get(column) != states[0].get(column) for state in states)
        )


def open_rows(conn: sqlite3.Connection) -> tuple[OpenRow, ...]:
    """Set-up rows that were changed in two places, and that nobody has settled.

    Args:
        conn: The store.

    Returns:
        In the order in which files are loaded, within a file by label.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        waiting = conn.execute(
            "SELECT DISTINCT v.file, v.row FROM set_up_versions AS v"
            " WHERE NOT EXISTS (SELECT 1 FROM set_up_order WHERE before = v.version)"
            " AND NOT EXISTS (SELECT 1 FROM set_up_rows AS r WHERE r.version = v.version)"
        ).fetchall()
        found = [one for file, row in waiting if (one := _open(conn, file, row)) is not None]
    order = {file.name: at for at, file in enumerate(FILES)}
    return tuple(sorted(found, key=lambda one: (order.get(one.file.name, len(order)), natural_key(one.label))))


def _open(conn: sqlite3.Connection, name: str, row: str) -> OpenRow | None:
    file = file_of(name)
    if file is None:
        return None
    stands = conn.execute("SELECT version FROM set_up_rows WHERE file = ? AND row = ?", (name, row)).fetchone()
    here = becomes_of(conn, stands[0]) if stands else ""
    offers: dict[str, Offer] = {}
    for one in heads(conn, name, row):
        if one.becomes != here and one.becomes not in offers:
            offers[one.becomes] = _offer(
                conn, file, one, later=bool(stands) and stands[0] in ancestors(conn, one.version)
            )
    if not offers:
        return None
    return OpenRow(file, row, values_or_none(file, here), tuple(offers.values()))


def values_or_none(file: SetUpFile, text: str) -> Values | None:
    """A row from what an entry says; None where it is gone."""
    return values_of(file, json.loads(text)) if text else None


def _offer(conn: sqlite3.Connection, file: SetUpFile, one: Version, *, later: bool) -> Offer:
    own = pair_of(own_lane_name(conn))
    said = conn.execute(
        "SELECT DISTINCT c.device, c.recorded_at, c.change, l.name FROM set_up_changes AS c"
        " JOIN lanes AS l USING (lane)"
        " WHERE c.file = ?1 AND c.row = (SELECT row FROM set_up_versions WHERE version = ?2) AND c.becomes = ?3"
        " ORDER BY c.recorded_at",
        (file.name, one.version, one.becomes),
    ).fetchall()
    mine = [change == LOADED and pair_of(lane) == own for _, _, change, lane in said]
    devices = dict.fromkeys(THIS_FILE if of_file else device for (device, *_), of_file in zip(said, mine, strict=True))
    made_at = max((datetime.fromisoformat(at) for _, at, *_ in said), default=None)
    in_file = any(change == LOADED for _, _, change, _ in said)
    return Offer(one.version, values_or_none(file, one.becomes), tuple(devices), in_file, made_at, later=later)
