"""What the desk shows beside the rounds, read over a connection of its own, so that a thread can."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from roundtui.domain.figures.history import season_start
from roundtui.domain.inventory.plan import still_to_hang
from roundtui.domain.records import Frozen
from roundtui.domain.round.recounts import Talk
from roundtui.domain.season.season import BiofixRow, Coming, coming
from roundtui.errors import RoundtuiError
from roundtui.store.figures.learned import renew
from roundtui.store.figures.summary import DaySummary, summary_of
from roundtui.store.invented import invented_in
from roundtui.store.round.conflicts import OpenConflict, open_conflicts
from roundtui.store.round.recounts import open_questions, waiting
from roundtui.store.season.season import SeasonRecord
from roundtui.store.set_up.versions import open_rows

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Mapping, Sequence
    from datetime import date

    from roundtui.domain.inventory.plan import PlanRow
    from roundtui.store.session import Session


class Found(Frozen):
    """What stands on the day."""

    made: DaySummary
    """Its summary, of all blocks, with what it was made from."""
    asked: tuple[Talk, ...]
    """Questions about entries that nobody has closed."""
    conflicts: tuple[OpenConflict, ...]
    """Entries that cannot both hold."""
    differing: int
    """Set-up rows that another laptop, or the file, has otherwise."""
    vials: int
    """Vials that are not identified."""
    due: Mapping[str, date]
    """Day by which a trap is to be visited, where the office asks for an interval."""
    invented: tuple[str, ...]
    """What of the office's files is invented, and not for use."""


def read_due(session: Session) -> Found:
    """What is due.

    Raises:
        RoundtuiError: The store, or a file of the office, cannot be used.
    """
    conn = session.conn
    renew(conn, session.office)
    return Found(
        summary_of(conn, session.office, session.on, programme=session.programme),
        tuple(open_questions(conn)),
        tuple(open_conflicts(conn, session.programme)),
        len(open_rows(conn)),
        len(waiting(conn, session.on)),
        _visits_due(conn, session),
        invented_in(conn, session.folder, session.programme.farms),
    )


def _visits_due(conn: sqlite3.Connection, session: Session) -> Mapping[str, date]:
    """None where the plan cannot be read: the desk stands without it, and its own screen says what is wrong."""
    from roundtui.store.inventory import visits_due

    try:
        return visits_due(conn, session.folder, session.on, session.office)
    except RoundtuiError:
        return {}


class Ahead(Frozen):
    """What the next ten days bring."""

    coming: Sequence[Coming]
    """Events, the nearest first."""
    biofixes: tuple[BiofixRow, ...]
    """Biofixes of all blocks."""
    hanging: tuple[PlanRow, ...]
    """Rows of the plan, where traps of last season are not hung yet."""


def read_ahead(session: Session) -> Ahead:
    """What is ahead.

    Args:
        session: Who, where and when.

    Raises:
        RoundtuiError: The store, or a file of the office, cannot be used.
    """
    record = SeasonRecord(session.conn, session.folder, session.on, session.office)
    events = coming(record.outlook_rows(), record.on)
    return Ahead(events, record.biofix_rows(), _to_hang(session.conn, session, record))


def _to_hang(conn: sqlite3.Connection, session: Session, record: SeasonRecord) -> tuple[PlanRow, ...]:
    """Traps that are to hang; the plan is read only where some of last season's are not hung yet."""
    before = season_start(record.first - timedelta(days=1), session.office.season_starts_on)
    if not still_to_hang(session.programme, record.first, before, session.on):
        return ()
    from roundtui.store.inventory import PlanRecord

    plan = PlanRecord(conn, session.folder, session.on, session.office, record.season).plan
    return tuple(plan.by_urgency())
