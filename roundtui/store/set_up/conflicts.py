"""Set-up rows that another laptop, or the file itself, has otherwise: side by side, until someone says which holds.

A parcel brings the rows of a laptop as they stand there. None of them is taken over by itself, however new it is: a row
of traps decides what a figure is made of. What is offered, and which state took the place of which, is only ever added
to, so that it does not matter in what order parcels come, or how often. A state is asked about while it differs from
the row here, nothing known took its place, and nobody has answered.
"""

from __future__ import annotations

import json
import sqlite3
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from roundtui.domain.programme.farm import natural_key
from roundtui.store.failures import plainly
from roundtui.store.set_up.columns import FILES, SetUpFile, Values
from roundtui.store.set_up.row import BY_NAME, named, values_of
from roundtui.store.set_up.row_digests import digest_of, rows_in, said

THIS_FILE = ""
"""Stands for the laptop where the set-up file of this folder is what offers a row."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A state that a row has elsewhere."""

    digest: str
    """What tells it from others."""
    values: Values
    """What it says."""
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
    here: Values | None
    """As it stands here; None where there is no such row."""
    offers: tuple[Offer, ...]
    """As others have it."""

    @property
    def label(self) -> str:
        """The row as people call it."""
        return named(self.file, self.here or self.offers[0].values)

    @property
    def digest(self) -> str:
        """What tells the state here from others; empty where there is no such row."""
        return digest_of(self.file, self.here) if self.here is not None else ""

    @property
    def columns(self) -> tuple[str, ...]:
        """Columns in which they differ, in the order of the manual."""
        states = [said(values) for values in (self.here or {}, *(offer.values for offer in self.offers))]
        return tuple(
            column
            for column in (*self.file.required, *self.file.optional)
            if any(state.get(column) != states[0].get(column) for state in states)
        )


def offer_row(conn: sqlite3.Connection, file: SetUpFile, values: Values, digest: str) -> None:
    """Offer a row of a file of this folder beside the one that stands.

    Args:
        conn: The store, inside a transaction.
        file: The file.
        values: The row.
        digest: What tells it from others.
    """
    conn.execute(
        "INSERT OR IGNORE INTO rows_offered (digest, device, file, row, in_file, made_at) VALUES (?, ?, ?, ?, 1, '')",
        (digest, THIS_FILE, file.name, json.dumps(said(values), ensure_ascii=False)),
    )


def open_rows(conn: sqlite3.Connection) -> tuple[OpenRow, ...]:
    """Set-up rows that are otherwise elsewhere, and that nobody has settled.

    Args:
        conn: The store.

    Returns:
        In the order in which files are loaded, within a file by label.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        offered = _offered(conn)
        if not offered:
            return ()
        order = Before(conn.execute("SELECT newer, older FROM rows_before"))
        settled = {
            (kept, passed): against == 1
            for kept, passed, against in conn.execute("SELECT kept, passed, against FROM rows_settled")
        }
        found: list[OpenRow] = []
        for file in FILES:
            offers = {digest: one for digest, one in offered.items() if one[0] is file}
            if offers:
                found += _open_of(file, list(rows_in(conn, file).values()), offers, order, settled)
    return tuple(found)


class Before:
    """Which states of rows took the place of which.

    Args:
        pairs: The newer and the older of each.
    """

    def __init__(self, pairs: Iterable[tuple[str, str]]) -> None:
        self._older: dict[str, list[str]] = defaultdict(list)
        self._newer: dict[str, list[str]] = defaultdict(list)
        for newer, older in pairs:
            self._older[newer].append(older)
            self._newer[older].append(newer)

    def below(self, digest: str) -> list[str]:
        """Every state that one took the place of, the nearest first; itself where it came back."""
        return _reached(self._older, digest)

    def over(self, digest: str) -> Collection[str]:
        """Every state that took the place of one for good, and was not replaced by it in turn."""
        below = set(self.below(digest))
        return [one for one in _reached(self._newer, digest) if one not in below and one != digest]


def _reached(steps: Mapping[str, list[str]], start: str) -> list[str]:
    found: dict[str, None] = {}
    waiting = list(steps.get(start, ()))
    for one in waiting:
        if one not in found:
            found[one] = None
            waiting += steps.get(one, ())
    return list(found)


def _offered(conn: sqlite3.Connection) -> dict[str, tuple[SetUpFile, Offer]]:
    found: dict[str, tuple[SetUpFile, Offer]] = {}
    rows = conn.execute("SELECT digest, device, file, row, in_file, made_at FROM rows_offered ORDER BY digest, device")
    for digest, device, name, row, in_file, made_at in rows.fetchall():
        at = datetime.fromisoformat(made_at) if made_at else None
        if digest in found:
            file, one = found[digest]
            newest = max((when for when in (one.made_at, at) if when is not None), default=None)
            devices = (*one.devices, device)
            found[digest] = (file, Offer(digest, one.values, devices, one.in_file or in_file == 1, newest, later=False))
        else:
            file = BY_NAME[name]
            offer = Offer(digest, values_of(file, json.loads(row)), (device,), in_file == 1, at, later=False)
            found[digest] = (file, offer)
    return found


def _open_of(
    file: SetUpFile,
    rows: list[Values],
    offered: Mapping[str, tuple[SetUpFile, Offer]],
    order: Before,
    settled: Mapping[tuple[str, str], bool],
) -> list[OpenRow]:
    present = {digest_of(file, values): values for values in rows}
    by_key = {file.key_of(values): digest for digest, values in present.items()}
    groups: dict[str | tuple[object, ...], list[Offer]] = defaultdict(list)
    for digest, (_, offer) in offered.items():
        if digest in present or order.over(digest):
            continue
        # A date of hanging that was corrected is part of the key: such a row is known by what it was before.
        here = by_key.get(file.key_of(offer.values)) or next((one for one in order.below(digest) if one in present), "")
        # What was settled here is asked again where it turns out that another laptop settled it the other way round.
        against = here in order.below(digest)
        if (here, digest) not in settled or (against and not settled[here, digest]):
            later = against and digest not in order.below(here)
            group = here or file.key_of(offer.values)
            groups[group].append(Offer(digest, offer.values, offer.devices, offer.in_file, offer.made_at, later=later))
    found = [
        OpenRow(file, present[group] if isinstance(group, str) else None, tuple(offers))
        for group, offers in groups.items()
    ]
    return sorted(found, key=lambda one: (natural_key(one.label), one.digest))
