"""What a programme's rounds taught, kept as derived data: what writes renews it, what only reads works out the rest.

Catches are kept by species and week, and what was learned up to the newest weeks. Entries recorded since are known by
their row numbers, which only grow: the weeks from the first of them on are worked out anew.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Collection, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, replace
from datetime import date, timedelta
from typing import Any

from roundtui.domain.entries import Visit
from roundtui.domain.figures import integrity
from roundtui.domain.figures import learned as learning
from roundtui.domain.figures.certainty import Evidence
from roundtui.domain.figures.figures import series, window_start
from roundtui.domain.figures.history import season_start
from roundtui.domain.figures.learned import Learned, LearnedBy, Read, week_of
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.unlikely import Known, Marks, Past
from roundtui.domain.figures.untreated import Against
from roundtui.domain.programme.farm import Programme, grouped
from roundtui.domain.records import Frozen
from roundtui.errors import StoreError
from roundtui.store.db import transaction
from roundtui.store.failures import plainly
from roundtui.store.figures.history import SUMMED, scent, suspect, uncollected
from roundtui.store.record.observations import present
from roundtui.store.record.read import newest_read_on, programme_for, put_setting, setting
from roundtui.store.record.rows import TREATMENTS, VISITS, standing
from roundtui.store.traps.assembled import kit_of_suspect

Weeks = dict[str, dict[int, list[Read]]]
_KEY = "learned"
"""Setting that says which weeks are kept and from which entries."""
_EXPOSURE_DAYS = 42
"""Days before a week that are read with it, for where its exposures began. [d]"""
_STATES = 4
"""Weeks whose learning is kept: a summary of last week needs it too."""
_EVERY = 8
"""Of the season's older weeks every so many: a summary of an earlier day goes on from there. [week]"""
_SOURCES = ("visits", "withdrawals", "assemblies", "parts")


class _Kept(Frozen):
    """Weeks whose catches are kept and still stand."""

    since: int = 0
    until: int = 0
    """First week that is not kept, or not any more."""

    def __contains__(self, week: int) -> bool:
        return self.since <= week < self.until


def learned_by(conn: sqlite3.Connection, programme: Programme, office: Office, on: date) -> LearnedBy:
    """What the rounds taught up to a week, for the summary of a day; nothing is written.

    Args:
        conn: The store.
        programme: What is set up, as far as it can matter.
        office: For the start of the season.
        on: The day.

    Returns:
        A function of the week, which reads when it is first asked.
    """
    since = _since(office, on)
    known: dict[int, Mapping[str, Learned]] = {}

    def up_to(week: int) -> Mapping[str, Learned]:
        if week not in known:
            # A later week goes on from an earlier one where the counts that marks are drawn from are at hand.
            whole = (at for at, found in known.items() if at < week and all(one.past.kept for one in found.values()))
            before = max(whole, default=None)
            begun = None if before is None else (before, dict(known[before]))
            with plainly(conn):
                known[week] = _up_to(conn, programme, on, range(since, week), begun)
        return known[week]

    return up_to


def needed_in(conn: sqlite3.Connection, office: Office, on: date) -> dict[tuple[str, str], learning.Needed]:
    """How many traps tell the two numbers of its rule apart, by block and species.

    Args:
        conn: The store.
        office: Rules, and when the season starts.
        on: The day.

    Raises:
        StoreError: The store cannot be read.
    """
    known = programme_for(conn, on, office)
    return learning.traps_needed_of(known, learned_by(conn, known, office, on)(week_of(on)), office, on)


def untreated_of(
    conn: sqlite3.Connection, programme: Programme, office: Office, on: date, species: Collection[str]
) -> Against:
    """What treated blocks are held against: scatter and timing of species by their rounds so far, and who was treated.

    Args:
        conn: The store.
        programme: What is set up, as far as it can matter.
        office: For the start of the season.
        on: The day.
        species: Species that anything was treated against.

    Raises:
        StoreError: The store cannot be read.
    """
    since, week = _since(office, on), week_of(on)
    with plainly(conn):
        treated: dict[tuple[str, str], list[date]] = {}
        for one in present(conn, TREATMENTS, _monday(since), on):
            treated.setdefault((one.block, one.species), []).append(one.treated_on)
        learned = _up_to(conn, programme, on, range(since, week))
        weeks = _weeks(conn, programme, on, _kept(conn, since), range(since, week))
    return Against(
        {
            code: learning.experience(weeks.get(code, {}), learned.get(code, learning.NOTHING).k, code, treated)
            for code in species
        },
        treated,
    )


def renew(conn: sqlite3.Connection, office: Office, *, past: bool = False) -> None:
    """Keep what the rounds up to the newest reading taught; nothing happens where the store cannot be written now.

    Args:
        conn: The store; nobody reads the past through it.
        office: For the start of the season.
        past: Whether the same is kept of one earlier season, the newest that lacks it.
    """
    with suppress(StoreError):
        on = newest_read_on(conn)
        if on is None:
            return
        _keep(conn, office, on, week_of(window_start(on)), week_of(on))
        while past and (on := newest_read_on(conn, _season(office, on) - timedelta(days=1))) is not None:
            past = not _keep(conn, office, on)


@uncollected()
def _keep(conn: sqlite3.Connection, office: Office, on: date, *newest: int) -> bool:
    """Keep what was learned up to some weeks: every eighth of the season up to a day, and those named.

    Returns:
        Whether anything was learned that was not kept yet.
    """
    since, start = _since(office, on), week_of(_season(office, on))
    weeks = sorted({*range(start - start % _EVERY, week_of(on) + 1, _EVERY), *newest})
    last = weeks[-1]
    with plainly(conn):
        # The marks first: what is recorded while this is worked out is newer than they say.
        marks = {table: _rows(conn, table) for table in _SOURCES}
        kept = _kept(conn, since)
        if _newest(conn, since, last, kept) == last:
            return False
        begun = _taught(conn, since, last, kept, counts=True) or (since, {})
        read = _weeks(conn, programme_for(conn, on, office), on, kept, range(begun[0], max(last, kept.since)))
        states = {}
        for week in weeks:
            if begun[0] < week:
                before, begun = begun[1], (week, _learned(read, week, begun))
                if begun[1] != before or week == last:
                    states[week] = begun[1]
        with transaction(conn):
            conn.execute("DELETE FROM rounds_read WHERE week >= ?", (kept.until,))
            conn.executemany(
                "INSERT INTO rounds_read (species, week, read) VALUES (?, ?, ?)",
                (
                    (species, week, json.dumps([[r.trap, r.block, r.moths, r.days, int(r.speaks)] for r in its]))
                    for species, found in read.items()
                    for week, its in found.items()
                    if week not in kept
                ),
            )
            conn.execute(
                "DELETE FROM rounds_taught WHERE week > ? OR (week < ? AND week % ? <> 0)",
                (kept.until, last - _STATES, _EVERY),
            )
            conn.executemany(
                "INSERT OR REPLACE INTO rounds_taught (since, week, species, state, counts) VALUES (?, ?, ?, ?, ?)",
                (
                    (since, week, species, json.dumps(_written(learned)), json.dumps(dict(learned.past.kept)))
                    for week, found in states.items()
                    for species, learned in found.items()
                ),
            )
            said = {"since": min(kept.since or since, since), "until": max(kept.until, last), "entries": marks}
            put_setting(conn, _KEY, json.dumps(said))
    return bool(read)


def _since(office: Office, on: date) -> int:
    """First week that is learned from."""
    start = _season(office, on)
    for _ in range(learning.SEASONS_BACK):
        start = _season(office, start - timedelta(days=1))
    return week_of(start)


def _season(office: Office, on: date) -> date:
    return season_start(on, office.season_starts_on)


def _up_to(
    conn: sqlite3.Connection,
    programme: Programme,
    on: date,
    weeks: range,
    before: tuple[int, dict[str, Learned]] | None = None,
) -> dict[str, Learned]:
    """What some weeks taught, from an earlier one that is at hand or kept; nothing is written."""
    since, week = weeks.start, weeks.stop
    kept = _kept(conn, since)
    begun = _taught(conn, since, week, kept)
    if begun is not None and begun[0] == week:
        return begun[1]
    if before is not None and (begun is None or begun[0] < before[0]):
        begun = before
    begun = begun or (since, {})
    return _learned(_weeks(conn, programme, on, kept, range(begun[0], week)), week, begun)


def _learned(weeks: Weeks, week: int, begun: tuple[int, dict[str, Learned]]) -> dict[str, Learned]:
    """What was learned up to a week, from what was learned before and the weeks since."""
    first, learned = begun
    return {
        species: learning.learn_weeks(
            {at: read for at, read in weeks.get(species, {}).items() if at >= first},
            week,
            learned.get(species, Learned()),
        )
        for species in sorted({*weeks, *learned})
    }


def _kept(conn: sqlite3.Connection, since: int) -> _Kept:
    """Which weeks still stand as they were kept."""
    nothing = _Kept()
    text = setting(conn, _KEY)
    if text is None or conn.execute("SELECT 1 FROM sqlite_temp_master WHERE type = 'view'").fetchone():
        return nothing
    said = json.loads(text)
    new = said["entries"]
    if any(_rows(conn, table) != new[table] for table in _SOURCES[2:]):
        return nothing
    first, found = conn.execute(
        "SELECT min(min(v.read_on), min(coalesce(w.read_on, v.read_on))), max(v.lure_found IS NOT NULL"
        " OR (w.id IS NOT NULL AND (w.lure_found IS NOT NULL OR w.lure IS NOT v.lure OR w.body IS NOT v.body)))"
        " FROM visits AS v LEFT JOIN visits AS w ON w.id = v.replaces WHERE v.rowid > ?",
        (new["visits"],),
    ).fetchone()
    gone, touched = conn.execute(
        "SELECT min(v.read_on), max(v.lure IS NOT NULL OR v.lure_found IS NOT NULL OR v.body IS NOT NULL)"
        " FROM withdrawals AS g JOIN visits AS v ON v.id = g.entry WHERE g.rowid > ?",
        (new["withdrawals"],),
    ).fetchone()
    if found or touched:
        return nothing
    days = [week_of(date.fromisoformat(day)) for day in (first, gone) if day is not None]
    until = min([said["until"], *days])
    return _Kept(said["since"], until) if until > max(since, said["since"]) else nothing


def _rows(conn: sqlite3.Connection, table: str) -> int:
    """Number of the newest row of a table that nothing is ever deleted from."""
    (number,) = conn.execute(f"SELECT coalesce(max(rowid), 0) FROM {table}").fetchone()  # noqa: S608
    return int(number)


def _newest(conn: sqlite3.Connection, since: int, week: int, kept: _Kept) -> int | None:
    """Newest week up to which what was learned is kept and still stands."""
    sought = "SELECT max(week) FROM rounds_taught WHERE since = ? AND week <= ?"
    (found,) = conn.execute(sought, (since, min(week, kept.until))).fetchone()
    return None if found is None else int(found)


def _taught(
    conn: sqlite3.Connection, since: int, week: int, kept: _Kept, *, counts: bool = False
) -> tuple[int, dict[str, Learned]] | None:
    """The newest learning that still stands, and the week it reaches up to; that of the week itself without counts."""
    newest = _newest(conn, since, week, kept)
    if newest is None:
        return None
    # The counts that marks are drawn from are the most of it, and only wanted where more weeks follow.
    column = "counts" if counts or newest < week else "'{}'"
    rows = conn.execute(
        f"SELECT species, state, {column} FROM rounds_taught WHERE week = ? AND since = ?",  # noqa: S608
        (newest, since),
    )
    return newest, {species: _from_written(json.loads(state), json.loads(kept)) for species, state, kept in rows}


def _weeks(conn: sqlite3.Connection, programme: Programme, on: date, kept: _Kept, wanted: range) -> Weeks:
    """Catches of some weeks: those that are kept, and from the entries those that are not."""
    weeks: Weeks = {}
    for species, week, text in conn.execute(
        "SELECT species, week, read FROM rounds_read WHERE week >= ? AND week < ?",
        (max(wanted.start, kept.since), min(wanted.stop, kept.until)),
    ):
        found = [Read(trap, block, moths, days, bool(speaks)) for trap, block, moths, days, speaks in json.loads(text)]
        weeks.setdefault(species, {})[week] = found
    for first, until in ((wanted.start, min(wanted.stop, kept.since)), (max(wanted.start, kept.until), wanted.stop)):
        for species, read in _read(conn, programme, on, first, until - 1).items():
            weeks.setdefault(species, {}).update(read)
    return weeks


def _read(conn: sqlite3.Connection, programme: Programme, on: date, first: int, last: int) -> Weeks:
    """Catches of some weeks, from the entries."""
    if first > last:
        return {}
    span = (_monday(first) - timedelta(days=_EXPOSURE_DAYS), min(on, _monday(last + 1) - timedelta(days=1)))
    columns = ("read_on", *SUMMED, "recorded_at", "id")
    read = standing(conn, VISITS, "read_on BETWEEN ? AND ?", *span, columns=columns)
    visits: dict[str, list[Visit]] = grouped((visit.trap, visit) for visit in read)
    if not visits:
        return {}
    found = troubles_of(conn, programme, on)
    every = (
        one
        for trap, hangings in programme.hangings.items()
        if trap in visits
        for one in series(hangings, visits[trap], found)
    )
    return learning.rounds_of(every, programme.blocks, first, last)


def troubles_of(conn: sqlite3.Connection, programme: Programme, on: date) -> integrity.Integrity:
    """On which days traps were in trouble, as the record stands.

    Args:
        conn: The store.
        programme: What is set up.
        on: The day.
    """
    kit = kit_of_suspect(conn, on)
    return integrity.examine(programme, scent(conn), on, kit.assembled, kit.bodies, suspect=suspect(conn))


def _monday(week: int) -> date:
    return date.fromordinal(week * 7 + 1)


def _written(learned: Learned) -> dict[str, Any]:
    """All of it but the counts that marks are drawn from."""
    return asdict(replace(learned, past=replace(learned.past, kept={})))


def _from_written(said: Mapping[str, Any], counts: Mapping[str, Any]) -> Learned:
    past = said["past"]
    return Learned(
        _evidence(said["whole"]),
        tuple((week, _evidence(found)) for week, found in said["newest"]),
        {block: tuple(values) for block, values in said["own"].items()},
        Past(
            {trap: (moths, due) for trap, (moths, due) in past["heights"].items()},
            past["level"],
            past["week"],
            past["traps"],
            {trap: tuple(rates) for trap, rates in past["recent"].items()},
            {Known(kind): Marks(**marks) for kind, marks in past["marks"].items()},
            {Known(kind): _pairs(rows) for kind, rows in counts.items()},
        ),
    )


def _pairs(rows: Sequence[Sequence[Any]]) -> tuple[tuple[int, float], ...]:
    return tuple((count, mean) for count, mean in rows)


def _evidence(said: Mapping[str, Any]) -> Evidence:
    return Evidence(**{**said, "scatter": tuple(said["scatter"])})
