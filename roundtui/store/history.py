"""The record that a summary needs, read so that its cost is that of a season and not of all years before it.

The season is one range of an index on the day. Everything older is sought trap by trap through an index that holds
only what is sought: the last clean restart, the last lure, liner, kill strip and body. The whole past is read for the
traps alone whose lure or body was ever in question.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from roundtui.domain.farm import Programme, Trap
from roundtui.domain.figures import window_start
from roundtui.domain.history import History, first_day_needed, season_start
from roundtui.domain.rules import Office
from roundtui.domain.unlikely import PAST_READINGS
from roundtui.domain.visits import NONE, YES, StageSeen, Visit
from roundtui.store.failures import plainly
from roundtui.store.rows import STAGES, TELLINGS, VISITS, visit_of
from roundtui.store.schema import NAMED_LOT, SCENT, SERVICE

_SELECT = f"SELECT {VISITS.listed} FROM present_visits"  # noqa: S608
_ORDER = " ORDER BY read_on, recorded_at, id"
_RESTART = (
    "recount = 0 AND (liner = 1 OR body IS NOT NULL OR no_reading IN ('missing', 'down', 'damaged')"
    " OR (count IS NOT NULL AND cleared = 1))"
)
"""``exposure.is_clean_restart``, as SQL."""


def history(conn: sqlite3.Connection, programme: Programme, on: date, office: Office) -> History:
    """The present entries up to a day that its summary can depend on.

    Args:
        conn: The store.
        programme: What is set up.
        on: The day.
        office: For the start of the season.

    Raises:
        StoreError: The store cannot be read.
    """
    first = first_day_needed(on, office.season_starts_on)
    with plainly(conn):
        visits = _visits(conn, programme, first, on)
        stage_log = _stages(conn, season_start(on, office.season_starts_on), on)
        return History(
            visits=visits,
            scent=_scent(conn, on),
            past=_past(conn, programme, visits, on),
            stages={block: seen[-1] for block, seen in stage_log.items()},
            stage_log=stage_log,
            told=tuple(
                TELLINGS.entry(row)
                for row in conn.execute(
                    f"SELECT {TELLINGS.listed} FROM present_tellings"  # noqa: S608
                    " WHERE round_on BETWEEN ? AND ? ORDER BY round_on, recorded_at, id",
                    (first.isoformat(), on.isoformat()),
                )
            ),
            last_service=_last_service(conn, programme, visits, first, on),
        )


def _visits(conn: sqlite3.Connection, programme: Programme, first: date, on: date) -> dict[str, list[Visit]]:
    visits: dict[str, list[Visit]] = {}
    span = (first.isoformat(), on.isoformat())
    for row in conn.execute(f"{_SELECT} WHERE read_on BETWEEN ? AND ?{_ORDER}", span):
        visits.setdefault(row[6], []).append(visit_of(row))
    for trap, since in _restarts(conn, programme, first):
        before = conn.execute(
            f"{_SELECT} WHERE trap = ? AND read_on >= ? AND read_on < ?{_ORDER}", (trap, since, first.isoformat())
        ).fetchall()
        if before:
            visits[trap] = [*map(visit_of, before), *visits.get(trap, ())]
    return visits


def _restarts(conn: sqlite3.Connection, programme: Programme, first: date) -> list[tuple[str, str]]:
    """Day of the last clean restart before a day, of each trap that hung then; else the day it was hung."""
    day = first - timedelta(days=1)
    hung = {trap: row for trap in programme.hangings if (row := programme.hanging(trap, day)) is not None}
    rows = conn.execute(
        "SELECT value, (SELECT read_on FROM present_visits WHERE trap = value AND read_on < ?1"  # noqa: S608
        f" AND {_RESTART} ORDER BY read_on DESC LIMIT 1) FROM json_each(?2)",
        (first.isoformat(), json.dumps(list(hung))),
    )
    return [(trap, since or _text(hung[trap].hung_on)) for trap, since in rows.fetchall()]


def _text(day: date | None) -> str:
    return day.isoformat() if day else ""


def _past(
    conn: sqlite3.Connection, programme: Programme, visits: Mapping[str, Sequence[Visit]], on: date
) -> dict[str, list[Visit]]:
    """Counts older than the visits at hand, of the traps that have too few of those to speak of a past."""
    window = window_start(on)
    past: dict[str, list[Visit]] = {}
    for trap, hangings in programme.hangings.items():
        at_hand = visits.get(trap, ())
        counts = sum(1 for v in at_hand if v.read_on < window and v.count is not None and not v.recount)
        if counts >= PAST_READINGS or not any(row.hung_a_night_in(window, on) for row in hangings):
            continue
        until = at_hand[0].read_on if at_hand else on + timedelta(days=1)
        rows = conn.execute(
            f"{_SELECT} WHERE trap = ? AND read_on < ? AND count IS NOT NULL AND recount = 0"
            " ORDER BY read_on DESC, recorded_at DESC, id DESC LIMIT ?",
            (trap, until.isoformat(), PAST_READINGS - counts),
        ).fetchall()
        if rows:
            past[trap] = [visit_of(row) for row in reversed(rows)]
    return past


def _scent(conn: sqlite3.Connection, on: date) -> list[Visit]:
    # CROSS JOIN keeps the order of the loops: the few traps first, then each one's own entries.
    columns = ", ".join(f"v.{column}" for column in VISITS.columns)
    rows = conn.execute(
        f"SELECT {columns} FROM troubled AS t CROSS JOIN present_visits AS v"  # noqa: S608
        f" WHERE v.trap = t.trap AND v.read_on <= ? AND {SCENT} ORDER BY v.read_on, v.recorded_at, v.id",
        (on.isoformat(),),
    )
    return [visit_of(row) for row in rows]


def _stages(conn: sqlite3.Connection, first: date, on: date) -> dict[str, list[StageSeen]]:
    log: dict[str, list[StageSeen]] = {}
    rows = conn.execute(
        f"SELECT {STAGES.listed} FROM present_stages WHERE seen_on BETWEEN ? AND ?"  # noqa: S608
        " ORDER BY seen_on, recorded_at, id",
        (first.isoformat(), on.isoformat()),
    )
    for row in rows:
        log.setdefault(row[6], []).append(STAGES.entry(row))
    return log


_SEEKS = {**SERVICE, "lot": NAMED_LOT}


def _last_service(
    conn: sqlite3.Connection, programme: Programme, visits: Mapping[str, Sequence[Visit]], first: date, on: date
) -> dict[str, dict[str, Visit]]:
    """Newest replacement of each item in the present hanging: from the visits at hand, else sought in the past."""
    service: dict[str, dict[str, Visit]] = {}
    missing: list[tuple[str, str, Trap]] = []
    for trap in programme.hangings:
        hanging = programme.hanging(trap, on)
        if hanging is None:
            continue
        found = service[trap] = _newest(programme, hanging, visits.get(trap, ()))
        if hanging.hung_on is None or hanging.hung_on < first:
            missing += [(trap, item, hanging) for item in _SEEKS if item not in found]
    for item, put_in in _SEEKS.items():
        sought = [(trap, hanging) for trap, wanted, hanging in missing if wanted == item]
        own = "AND (SELECT species FROM lots WHERE lots.lot = lure) = json_extract(value, '$[2]')"
        ids = conn.execute(
            "SELECT json_extract(value, '$[0]'), (SELECT id FROM present_visits"  # noqa: S608
            f" WHERE trap = json_extract(value, '$[0]') AND read_on BETWEEN json_extract(value, '$[1]') AND ?1"
            f" AND {put_in} {own if item == 'lot' else ''}"
            " ORDER BY read_on DESC, recorded_at DESC, id DESC LIMIT 1) FROM json_each(?2)",
            (on.isoformat(), json.dumps([(trap, _text(row.hung_on), row.species) for trap, row in sought])),
        ).fetchall()
        for trap, entry_id in ids:
            if entry_id is not None:
                row = conn.execute(f"{_SELECT} WHERE id = ?", (entry_id,)).fetchone()
                service[trap][item] = visit_of(row)
    return {trap: found for trap, found in service.items() if found}


def _newest(programme: Programme, hanging: Trap, visits: Sequence[Visit]) -> dict[str, Visit]:
    found: dict[str, Visit] = {}
    for visit in reversed(visits):
        if not hanging.hangs_on(visit.read_on):
            continue
        for item, there in (
            ("lure", visit.lure is not None),
            ("liner", visit.liner),
            ("kill-strip", visit.kill_strip),
            ("body", visit.body is not None),
            ("lot", visit.lure not in (None, YES, NONE) and _own(programme, hanging, visit.lure)),
        ):
            if there:
                found.setdefault(item, visit)
    return found


def _own(programme: Programme, hanging: Trap, lure: str | None) -> bool:
    lot = programme.lots.get(lure or "")
    return lot is not None and lot.species == hanging.species
