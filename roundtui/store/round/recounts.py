"""Questions pinned to entries: what stands, and putting a further word on record.

Catches that were counted twice, from the record: who counted first, and who again.
How the scouting itself was done: visits on time, supervisor's visits, training.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from pathlib import Path

from roundtui.domain.entries import Visit
from roundtui.domain.figures.history import season_start
from roundtui.domain.figures.rules import Office
from roundtui.domain.programme.farm import Programme
from roundtui.domain.programme.rounds import OPEN_DAYS, asked_in, current_round, traps_to_walk
from roundtui.domain.round import recounts
from roundtui.domain.round.checks import same_scout
from roundtui.domain.round.specimens import taken_off
from roundtui.errors import RefusedError
from roundtui.store.failures import plainly
from roundtui.store.record.journal import Author, record
from roundtui.store.record.observations import present
from roundtui.store.record.read import JournalRow, same_day, visits_of
from roundtui.store.record.rows import CHECKS, QUESTIONS, SPECIMENS, day_or_none, standing


def open_questions(conn: sqlite3.Connection) -> tuple[recounts.Talk, ...]:
    """What was asked about entries and nobody has closed.

    Args:
        conn: The store.

    Returns:
        The one spoken about last at the end.

    Raises:
        StoreError: The store cannot be read.
    """
    return tuple(recounts.open_talks(_standing(conn)))


def talk_of(conn: sqlite3.Connection, entry_id: str) -> recounts.Talk | None:
    """What stands about an entry; None where nobody said anything.

    Args:
        conn: The store.
        entry_id: Its id.
    """
    return recounts.talks(_standing(conn, entry_id)).get(entry_id)


def say_about(
    conn: sqlite3.Connection,
    row: JournalRow,
    author: Author,
    now: datetime,
    *,
    says: recounts.QuestionWord,
    words: str = "",
    talk: recounts.Talk | None = None,
) -> recounts.Question:
    """Ask about an entry, answer, or close the matter.

    Args:
        conn: The store.
        row: The entry; for a question that of the entry it is about.
        author: Who and on which laptop.
        now: Instant of recording.
        says: Which of the three.
        words: What is asked or answered; may be blank where it only closes.
        talk: The open talk that it goes on with, which may be about another entry of the chain; None: the entry's own.

    Returns:
        The row as recorded.

    Raises:
        RefusedError: There are no words, or nothing is open that could be answered or closed.
        StoreError: The store cannot be written.
    """
    said = " ".join(words.split())
    if not said and says is not recounts.QuestionWord.CLOSED:
        raise RefusedError("a question needs words", "write what should be looked at")
    about = row.entry.entry if isinstance(row.entry, recounts.Question) else row.id
    about = talk.entry if talk is not None else about
    talk = talk_of(conn, about)
    if says is not recounts.QuestionWord.ASKED and (talk is None or not talk.open):
        raise RefusedError("no question about this entry is open", "ask one first")
    question = recounts.Question(
        entry=about, says=says, words=said, about_on=row.read_on, trap=row.trap, block=None if row.trap else row.block
    )
    (recorded,) = record(conn, [question], author, now)
    return recorded


def _standing(conn: sqlite3.Connection, entry_id: str | None = None) -> list[recounts.Question]:
    with plainly(conn):
        return standing(conn, QUESTIONS, "entry = ?" if entry_id else "? = ''", entry_id or "", order="recorded_at, id")


def pairs(conn: sqlite3.Connection, programme: Programme, first: date, on: date) -> tuple[recounts.Pair, ...]:
    """Catches of a span of days that two people counted.

    Whoever corrected an entry later did not count: both counters are those who made the first entry of its chain. What
    was named as another species since is reverted on the first count, so that both are what was seen at the trap.

    Args:
        conn: The store.
        programme: For each trap's own species.
        first: First day.
        on: Last day, included.

    Returns:
        For each catch the first count and the earliest second one; estimates, second samples by the same person, and
        days on which two first counts disagree are left out.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        days = conn.execute(
            "SELECT DISTINCT trap, read_on FROM present_visits"
            " WHERE recount = 1 AND read_on BETWEEN ? AND ? ORDER BY read_on, trap",
            (first.isoformat(), on.isoformat()),
        ).fetchall()
        off: dict[tuple[str, date], int] = {}
        for one in present(conn, SPECIMENS, first, on):
            key = (one.trap, one.read_on)
            off[key] = off.get(key, 0) + taken_off(one, programme)
        found = []
        for trap, kept in days:
            day = date.fromisoformat(kept)
            pair = _pair(conn, same_day(conn, trap, day), off.get((trap, day), 0))
            if pair is not None:
                found.append(pair)
    return tuple(found)


def read_quality(conn: sqlite3.Connection, folder: Path, office: Office, on: date) -> recounts.Quality:
    """How the scouting was done in the season up to a day.

    Args:
        conn: The store.
        folder: The scouting folder, for ``plan.toml``.
        office: For the start of the season.
        on: The day.
    """
    from roundtui.store.inventory import VisitDays, read_plan_office
    from roundtui.store.season.season import SeasonRecord

    season = SeasonRecord(conn, folder, on, office)
    days, visits = VisitDays(season, read_plan_office(folder)), season.history.visits
    span, known = (season.first, on), season.programme
    asked: list[recounts.VisitAsked] = []
    caught: dict[str, tuple[int, int, int]] = {}
    for trap, hangings in known.hangings.items():
        for row in hangings:
            asked += recounts.visits_asked(row, visits.get(trap, ()), days.after, *span)
    for (_, species), group in season.series.items():
        used = [one for of in group for one in of.readings if season.first <= one.read_on and one.known]
        for one in used:
            if not one.suspect and not one.conflict:
                moths, nights, sterile = caught.get(species, (0, 0, 0))
                here = one.entries[0].sterile or 0
                caught[species] = moths + (one.net or 0), nights + (one.days or 0), sterile + here
    came = [one for of in visits.values() for one in of if recounts.came_by(one) and season.first <= one.read_on <= on]
    with plainly(conn):
        rows = conn.execute("SELECT person, may_identify, trained_on, valid_until FROM people ORDER BY person")
        people = {row[0]: recounts.Person(row[0], row[1], day_or_none(row[2]), day_or_none(row[3])) for row in rows}
        named = [
            (one, hung[-1].species)
            for one in present(conn, SPECIMENS, *span)
            if one.identified_by and (hung := known.hangings.get(one.trap))
        ]
        checks = [(one, _reader(one, visits.get(one.trap, ()))) for one in present(conn, CHECKS, *span)]
    return recounts.quality(
        span, asked=asked, checks=checks, came=came, people=people, named=named, routes=known.routes, caught=caught
    )


def _reader(check: recounts.TrapChecked, visits: Sequence[Visit]) -> str:
    """Who read the trap before a supervisor came; of planted specimens who read it next."""
    came = sorted((one for one in visits if recounts.came_by(one)), key=lambda one: one.order)
    if check.result is recounts.CheckResult.PLANTED:
        return next((one.scout for one in came if one.read_on >= check.checked_on), "")
    return next((one.scout for one in reversed(came) if one.read_on <= check.checked_on), "")


def asked_on(conn: sqlite3.Connection, programme: Programme, on: date) -> dict[str, tuple[str, ...]]:
    """Traps of each route's round that are asked for a second count.

    Args:
        conn: The store.
        programme: What is set up.
        on: The day.
    """
    first = on - timedelta(days=2 * OPEN_DAYS + 1)
    found = {}
    for route in programme.routes:
        traps = traps_to_walk(programme, route, on)
        state = current_round(traps, {trap: visits_of(conn, trap, first, on) for trap in traps}, on)
        if traps:
            found[route] = asked_in(route, state, on)
    return found


def season_of(office: Office, on: date, season: int | None) -> tuple[date, date]:
    """First day of a season, and the last of it that is looked at.

    Args:
        office: When seasons start.
        on: The day to look from.
        season: Year in which it started; None: that of ``on``.
    """
    now = season_start(on, office.season_starts_on)
    if season in (None, now.year):
        return now, on
    first = date(season or now.year, now.month, now.day)
    return first, min(on, date(first.year + 1, now.month, now.day) - timedelta(days=1))


def _pair(conn: sqlite3.Connection, visits: tuple[Visit, ...], off: int) -> recounts.Pair | None:
    counted = [visit for visit in visits if visit.count is not None and not visit.estimated]
    firsts = [visit for visit in counted if not visit.recount]
    if len(firsts) != 1:
        return None
    one = firsts[0]
    reader = _counted_by(conn, one)
    for again in counted:
        second = _counted_by(conn, again) if again.recount else reader
        if not same_scout(reader, second):
            return recounts.Pair(one.trap, one.read_on, reader, (one.count or 0) + off, second, again.count or 0)
    return None


def _counted_by(conn: sqlite3.Connection, visit: Visit) -> str:
    scout, before = visit.scout, visit.replaces
    while before is not None:
        row = conn.execute("SELECT scout, replaces FROM visits WHERE id = ?", (before,)).fetchone()
        if row is None:
            break
        scout, before = row
    return scout
