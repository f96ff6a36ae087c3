"""Exchange by itself while the app is open: where a folder meets others, how often, and one pass in one line."""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime
from pathlib import Path

from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.errors import Problem
from roundtui.store.record.read import put_setting, setting

_REGULAR = "exchange-by-itself"
_PATIENCE = 8.0
_SHOWN = 60


class Regular(Frozen):
    """Where a folder meets others by itself."""

    place: str
    """A shared folder, or ``hub:SERVICE``."""
    minutes: int
    """How often, while the app is open. [min]"""


class Met(Frozen):
    """What one pass did."""

    words: str
    """One line; empty where nothing was new."""
    new: bool
    """Whether the record grew."""


def keep_regular(conn: sqlite3.Connection, place: str, minutes: int) -> None:
    """Meet others by itself from now on, or no longer.

    Args:
        conn: The store.
        place: A shared folder, or ``hub:SERVICE``.
        minutes: How often; 0: no longer. [min]
    """
    from roundtui.store.hub.connection import service_of

    there = place if service_of(place) else str(Path(place).resolve())
    put_setting(conn, _REGULAR, json.dumps([there, minutes]) if minutes else "")


def regular_of(conn: sqlite3.Connection) -> Regular | None:
    """Where a folder meets others by itself; None where nobody asked for it.

    Args:
        conn: The store.
    """
    kept = setting(conn, _REGULAR)
    try:
        return Regular(*json.loads(kept)) if kept else None
    except (ValueError, TypeError):
        return None


def meet(folder: Path, place: str, device: str, now: datetime) -> Met:
    """One pass on a connection of its own.

    Args:
        folder: The scouting folder.
        place: A shared folder, or ``hub:SERVICE``.
        device: Name of this laptop.
        now: Instant.

    Raises:
        RoundtuiError: There was none; nothing was lost.
    """
    from roundtui.store.connect import open_store
    from roundtui.store.hub.connection import service_of

    today = now.astimezone().date()
    service = service_of(place)
    waiting: list[Problem]
    with closing(open_store(folder, now=now)) as conn:
        if service:
            from roundtui.store.hub.exchange import exchange_with_hub

            at_hub = exchange_with_hub(conn, service, today=today, patience=_PATIENCE, in_steps=True)
            sent, came, waiting = sum(at_hub.pushed.values()), sum(at_hub.added.values()), at_hub.waiting
            newer = at_hub.unknown + at_hub.fields
        else:
            from roundtui.store.exchange.exchange import exchange

            in_folder = exchange(conn, folder, Path(place), device=device, now=now, today=today)
            sent = in_folder.packed.entries if in_folder.packed else 0
            came, waiting = sum(one.new for one in in_folder.merged.values()), in_folder.refused
            newer = sum(one.unknown + one.fields for one in in_folder.merged.values())
    did = [f"{sent} {'entry' if sent == 1 else 'entries'} sent"] * bool(sent) + [f"{came} taken in"] * bool(came)
    did += [f"{newer} of them {'needs' if newer == 1 else 'need'} a newer roundtui"] * bool(newer)
    did += [f"{len(waiting)} to look at with roundtui exchange"] * bool(waiting)
    return Met(f"{sanitize(place, _SHOWN)}: {', '.join(did)}" if did else "", bool(came))


def one_pass(folder: str, place: str, device: str, now: str) -> Iterator[Met]:
    """One pass that lets whoever types go first; see ``meet``."""
    if hasattr(os, "nice"):
        os.nice(10)
    yield meet(Path(folder), place, device, datetime.fromisoformat(now))
