"""How far back the previous figure reaches, where a block has not been read in the season yet.

Early in a season the newest day on which a block was read lies in the season before. Its traps alone are then read from
that day's window on; every other trap is read from the season's start.

The record that a summary needs, read so that its cost is that of a season and not of all years before it.
"""

from __future__ import annotations

import gc
import json
import sqlite3
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date, timedelta
from typing import Any

from roundtui.domain.entries import StageSeen, Visit
from roundtui.domain.figures.figures import DAYS_A_WEEK, Lazy, Plain, window_start
from roundtui.domain.figures.history import History, Superseded, first_day_needed, newest_service, season_start
from roundtui.domain.figures.rules import Office
from roundtui.domain.programme.farm import Programme, Trap, grouped
from roundtui.domain.programme.species import trap_style
from roundtui.store.checks.trouble import NAMED_LOT, SCENT, SERVICE
from roundtui.store.failures import plainly
from roundtui.store.record.observations import present
from roundtui.store.record.rows import EVERY, NOTIFICATIONS, STAGES, VISITS, Only, standing, traps_of
from roundtui.store.traps.assembled import kit_of_suspect

_NEWEST = (
    "SELECT json_extract(value, '$[0]'), (SELECT read_on FROM present_visits WHERE trap = json_extract(value, '$[1]')"
    " AND read_on BETWEEN json_extract(value, '$[2]') AND json_extract(value, '$[3]')"
    " AND count IS NOT NULL AND recount = 0 ORDER BY read_on DESC LIMIT 1) FROM json_each(?)"
)


def figures_before(
    conn: sqlite3.Connection, programme: Programme, visits: Mapping[str, Sequence[Visit]], first: date, on: date
) -> dict[str, date]:
    """Day from which a trap's visits are needed for its block's previous figure, where that is before ``first``.

    Args:
        conn: The store.
        programme: What is set up.
        visits: Present visits per trap from ``first`` to ``on``.
        first: Day from which everything is at hand.
        on: Day of the summary.

    Returns:
        The days of the traps of those blocks and species that have no count between ``first`` and the window.
    """
    window, every = window_start(on), programme.hangings.values()
    hung = ((row.block, row.species) for rows in every for row in rows if row.hung_a_night_in(window, on))
    groups: dict[tuple[str, str], list[Trap]] = {key: [] for key in hung}
    for rows in every if groups else ():
        for row in rows:
            if (key := (row.block, row.species)) in groups:
                groups[key].append(row)
    sought = [
        (at, row)
        for at, of_key in enumerate(groups.values())
        if not any(_read_before(row, visits.get(row.trap, ()), window) for row in of_key)
        for row in of_key
        if row.hung_on is None or row.hung_on < first
    ]
    newest: dict[int, date] = {}
    for at, day in conn.execute(_NEWEST, (json.dumps([(at, row.trap, *_span(row, first)) for at, row in sought]),)):
        if day is not None:
            newest[at] = max(newest.get(at, date.min), date.fromisoformat(day))
    days: dict[str, date] = {}
    for at, row in sought:
        if at in newest and row.hung_a_night_in(window_start(newest[at]), newest[at]):
            days[row.trap] = min(days.get(row.trap, first), window_start(newest[at]))
    return days


def _read_before(row: Trap, visits: Sequence[Visit], window: date) -> bool:
    if not visits or (row.down_on is not None and row.down_on < visits[0].read_on):
        return False  # Over before, as the hangings of earlier seasons are.
    counted = (v.read_on for v in visits if v.count is not None and not v.recount)
    return any(day < window and row.hangs_on(day) for day in counted)


def _span(row: Trap, first: date) -> tuple[str, str]:
    """In which days the newest count of one hanging before ``first`` is to be found."""
    return _text(row.hung_on), _text(min(row.down_on or date.max, first - timedelta(days=1)))


_SELECT = f"SELECT {VISITS.listed} FROM present_visits"  # noqa: S608
_LATEST = "~"
"""Sorts after every instant."""
_RESTART = (
    "recount = 0 AND (liner = 1 OR body IS NOT NULL OR no_reading IN ('missing', 'down', 'damaged')"
    " OR (count IS NOT NULL AND cleared = 1))"
)
"""Whether nothing before a visit can matter to a reading after it, as SQL."""


@contextmanager
def uncollected() -> Iterator[None]:
    """Many records are made at once and none of them is garbage.

    Going through all of them again and again would take a third of the time. The newest are gone through all the same:
    left for afterwards, they would hold up a key.
    """
    before = gc.get_threshold()
    gc.set_threshold(*before[:2], 1_000_000)
    try:
        yield
    finally:
        gc.set_threshold(*before)


def history(
    conn: sqlite3.Connection, programme: Programme, on: date, office: Office, only: Only = EVERY, *, whole: bool = True
) -> History:
    """The present entries up to a day that its summary can depend on.

    Args:
        conn: The store.
        programme: What is set up.
        on: The day.
        office: For the start of the season.
        only: Blocks and species whose traps are set up there.
        whole: Whether visits of before the last two weeks are wanted with notes and names, which no figure depends on.

    Raises:
        StoreError: The store cannot be read.
    """
    first = first_day_needed(on, office.season_starts_on)
    with plainly(conn):
        superseded = _superseded(conn, on)
        since = first if whole else max(first, window_start(on) - timedelta(days=DAYS_A_WEEK))
        visits = _visits(conn, programme, (first, since, on), {one.visit.trap for one in superseded}, only)
        kit = kit_of_suspect(conn, on)
        columns = () if whole else ("block", "seen_on", "code")
        seen = present(conn, STAGES, season_start(on, office.season_starts_on), on, columns)
        stage_log: dict[str, list[StageSeen]] = grouped((one.block, one) for one in seen)
        return History(
            visits=visits,
            scent=scent(conn),
            assembled=kit.assembled,
            bodies=kit.bodies,
            stages={block: seen[-1] for block, seen in stage_log.items()},
            stage_log=stage_log,
            notified=tuple(present(conn, NOTIFICATIONS, first, on)),
            superseded=superseded,
            suspect=suspect(conn),
            last_service=_last_service(conn, programme, visits, first, on),
        )


def _superseded(conn: sqlite3.Connection, on: date) -> tuple[Superseded, ...]:
    """Visits of the seven days that do not stand, each with what stands instead; those corrected on the day are left.

    Who types on and puts it right at once changes no headline that anybody has read.
    """
    past = conn.execute("SELECT 1 FROM sqlite_temp_master WHERE type = 'view'").fetchone()
    upto = conn.execute("SELECT at FROM temp.past_mark").fetchone()[0] if past else _LATEST
    rows = conn.execute(
        f"SELECT {VISITS.listed} FROM visits AS v WHERE read_on BETWEEN ? AND ? AND recorded_at <= ?"  # noqa: S608
        " AND (EXISTS (SELECT 1 FROM visits AS later WHERE later.replaces = v.id)"
        " OR EXISTS (SELECT 1 FROM withdrawals AS undone WHERE undone.entry = v.id))"
        " AND NOT EXISTS (SELECT 1 FROM present_visits AS p WHERE p.id = v.id)",
        (window_start(on).isoformat(), on.isoformat(), upto),
    )
    gone = [VISITS.entry(row) for row in rows]
    if not gone:
        return ()
    ids, found = json.dumps([visit.id for visit in gone]), []
    corrections = standing(conn, VISITS, "replaces IN (SELECT value FROM json_each(?))", ids)
    for visit in gone:
        if visit.replaces is not None or visit.recorded_at is None:
            continue
        stands: Visit | None = None
        chain = [visit.id]
        for one in gone + corrections:
            if one.replaces == chain[-1]:
                chain.append(one.id)
                stands = one
        withdrawn = conn.execute(
            "SELECT reason, recorded_at FROM withdrawals WHERE entry = ? AND recorded_at <= ?", (chain[-1], upto)
        ).fetchone()
        if withdrawn is not None:
            later, reason, stands = withdrawn[1][:10], withdrawn[0], None
        elif stands is not None and stands.recorded_at is not None:
            later, reason = stands.recorded_at.date().isoformat(), stands.reason
        else:
            continue
        if later > visit.recorded_at.date().isoformat():
            found.append(Superseded(visit, stands, reason))
    return tuple(found)


SUMMED = "trap count no_reading estimated cleared liner lure kill_strip body lure_found recount".split()  # noqa: SIM905
"""Columns of a visit that figures of later weeks depend on, beside its day."""


_PLAIN = "count IS NOT NULL AND " + " AND ".join(
    f"{one.name} IS {'NULL' if one.default is None else one.default}" for one in VISITS.own if one.name in SUMMED[2:]
)
"""Whether a visit counted, cleared and did nothing else, as SQL: a plain one."""


def _visits(
    conn: sqlite3.Connection, programme: Programme, days: tuple[date, date, date], twice: set[str], only: Only
) -> dict[str, Sequence[Visit]]:
    (first, since, on), (wanted, values) = days, traps_of(only)
    found: dict[str, list[Any]] = {}
    past = f"CASE WHEN {_PLAIN} THEN count ELSE json_array({', '.join(SUMMED)}) END"
    whole = f"json_array({VISITS.listed})"
    spans = ((first, since, past, SUMMED), (since, on + timedelta(days=1), whole, VISITS.columns))
    for begin, end, said, columns in spans:
        # One row a day, and of plain visits the count alone: each row and value that the database hands over costs.
        rows = conn.execute(
            f"SELECT read_on, json_group_array(trap), json_group_array({said}) FROM present_visits"  # noqa: S608
            f" WHERE read_on >= ? AND read_on < ? AND {wanted} GROUP BY read_on ORDER BY read_on",
            (begin.isoformat(), end.isoformat(), *values),
        )
        made = VISITS.entry_of(("read_on", *columns))
        for text, *lists in rows:
            traps, day = json.loads(lists[0]), date.fromisoformat(text)
            for trap, one in zip(traps, json.loads(lists[1]), strict=True):
                row = Plain(trap, day, one) if type(one) is int else made((text, *one))
                found.setdefault(trap, []).append(row)
            if len(set(traps)) < len(traps):
                twice |= {trap for trap, number in Counter(traps).items() if number > 1}
    # The few traps with two entries of a day are read again in the order recorded, and those corrected.
    span = "trap = ? AND read_on >= ? AND read_on < ?"
    for trap in twice & found.keys():
        found[trap] = standing(conn, VISITS, span, trap, first, on + timedelta(days=1))
    visits: dict[str, Sequence[Visit]] = {trap: Lazy(rows) for trap, rows in found.items()}
    needed = dict.fromkeys(programme.hangings, first) | figures_before(conn, programme, visits, first, on)
    for trap, back_to in _restarts(conn, programme, needed):
        if back_to < first.isoformat() and (before := standing(conn, VISITS, span, trap, back_to, first)):
            visits[trap] = Lazy([*before, *found.get(trap, ())])
    return visits


def _restarts(conn: sqlite3.Connection, programme: Programme, needed: Mapping[str, date]) -> list[tuple[str, str]]:
    """Day from which the visits before the day needed matter, of each trap.

    That is the last clean restart, or the last change of liner or body where that is older, since moths are summed on a
    liner; it is a clean restart as well, and one never changed is in since the trap was hung. Without any it is the day
    the trap was hung, and where it did not hang then, the day needed itself.
    """
    hung = {trap: programme.hanging(trap, day - timedelta(days=1)) for trap, day in needed.items()}
    before = "v.trap = json_extract(value, '$[0]') AND v.read_on < json_extract(value, '$[1]')"
    indexed = (("visits_trap", _RESTART), _INDEXED["liner"], _INDEXED["body"])
    seeks = (_newest_of("read_on", index, condition, before) for index, condition in indexed)
    rows = conn.execute(
        f"SELECT json_extract(value, '$[0]'), {', '.join(seeks)} FROM json_each(?)",  # noqa: S608
        (json.dumps([(trap, needed[trap].isoformat()) for trap, row in hung.items() if row is not None]),),
    )
    since = [(trap, needed[trap].isoformat()) for trap, row in hung.items() if row is None]
    for trap, restart, liner, body in rows.fetchall():
        hanging = hung[trap]
        hung_on = _text(hanging.hung_on if hanging else None)
        changed = max((on for on in (liner, body) if on is not None and on >= hung_on), default=None)
        if changed is None and hung_on and hanging is not None and trap_style(hanging.style).has_liner:
            changed = hung_on
        since.append((trap, min(changed, restart) if changed and restart else restart or hung_on))
    return since


def _text(day: date | None) -> str:
    return day.isoformat() if day else ""


def suspect(conn: sqlite3.Connection) -> set[str]:
    """The traps that may ever have been in trouble.

    Args:
        conn: The store.
    """
    return {trap for (trap,) in conn.execute("SELECT trap FROM suspect_traps")}


def scent(conn: sqlite3.Connection) -> list[Visit]:
    """The visits that touched lure or body, of the traps that may be in trouble.

    Args:
        conn: The store.
    """
    # CROSS JOIN keeps the order of the loops: the few traps first, then each one's own entries.
    columns = ", ".join(f"v.{column}" for column in VISITS.columns)
    rows = conn.execute(
        f"SELECT {columns} FROM suspect_traps AS t CROSS JOIN present_visits AS v"  # noqa: S608
        f" WHERE v.trap = t.trap AND {SCENT} ORDER BY v.read_on, v.recorded_at, v.id"
    )
    return [VISITS.entry(row) for row in rows]


def scent_of(conn: sqlite3.Connection, trap: str) -> list[Visit]:
    """The visits that touched lure or body, of the traps that may be in trouble and of one more.

    Args:
        conn: The store.
        trap: Label of the trap that may come into trouble.
    """
    others = [visit for visit in scent(conn) if visit.trap != trap]
    own = standing(conn, VISITS, f"trap = ? AND {SCENT}", trap)
    return sorted([*others, *own], key=lambda visit: visit.order)


def _newest_of(column: str, index: str, condition: str, where: str) -> str:
    """SQL of the newest present visit in an index that holds only what is sought.

    The index is named, because the database would else walk back through all visits of a trap as soon as it deems that
    as good; it then refuses the question should the index ever not fit.
    """
    return (
        f"(SELECT v.{column} FROM visits AS v INDEXED BY {index} WHERE {where} AND {condition}"  # noqa: S608
        " AND EXISTS (SELECT 1 FROM present_visits AS p WHERE p.id = v.id)"
        " ORDER BY v.read_on DESC, v.recorded_at DESC, v.id DESC LIMIT 1)"
    )


_OWN_LOT = f"{NAMED_LOT} AND (SELECT species FROM lots WHERE lots.lot = v.lure) = json_extract(value, '$[2]')"  # noqa: S608
_INDEXED = {
    **{item: (f"visits_{item.replace('-', '_')}", put_in) for item, put_in in SERVICE.items()},
    "lot": ("visits_lot", _OWN_LOT),
}


def _last_service(
    conn: sqlite3.Connection, programme: Programme, visits: Mapping[str, Sequence[Visit]], first: date, on: date
) -> dict[str, dict[str, Visit]]:
    """Newest replacement of each item in the present hanging: from the visits at hand, else sought in the past.

    A trap taken down in these seven days has its last hanging: the load of its lure bears on the rule of its block.
    """
    service: dict[str, dict[str, Visit]] = {}
    missing: dict[str, list[tuple[str, str, str]]] = {item: [] for item in _INDEXED}
    for trap, hangings in programme.hangings.items():
        last_week = (row for row in reversed(hangings) if row.hung_a_night_in(window_start(on), on))
        hanging = programme.hanging(trap, on) or next(last_week, None)
        if hanging is None:
            continue
        found = service[trap] = newest_service(programme, hanging, visits.get(trap, ()))
        if hanging.hung_on is None or hanging.hung_on < first:
            for item, sought in missing.items():
                if item not in found:
                    sought.append((trap, _text(hanging.hung_on), hanging.species))
    for item, (index, condition) in _INDEXED.items():
        of_hanging = "v.trap = json_extract(value, '$[0]') AND v.read_on BETWEEN json_extract(value, '$[1]') AND ?1"
        ids = conn.execute(
            f"SELECT json_extract(value, '$[0]'), {_newest_of('id', index, condition, of_hanging)}"  # noqa: S608
            " FROM json_each(?2)",
            (on.isoformat(), json.dumps(missing[item])),
        ).fetchall()
        for trap, entry_id in ids:
            if entry_id is not None:
                row = conn.execute(f"{_SELECT} WHERE id = ?", (entry_id,)).fetchone()
                service[trap][item] = VISITS.entry(row)
    return {trap: found for trap, found in service.items() if found}
