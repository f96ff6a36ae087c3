"""What is looked at once more: questions pinned to entries, catches counted twice, specimens and what they are named.

The count that a name changes is corrected in the same transaction. How the scouting itself was done; finds of a pest
that is watched for, and what was not caught near a block.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from pathlib import Path

from roundtui.domain.entries import Specimen, Visit
from roundtui.domain.figures.history import season_start
from roundtui.domain.figures.rules import Office
from roundtui.domain.programme.farm import Programme
from roundtui.domain.programme.rounds import OPEN_DAYS, asked_in, current_round, traps_to_walk
from roundtui.domain.round import recounts, specimens
from roundtui.domain.round.checks import same_scout
from roundtui.domain.text import sanitize
from roundtui.domain.traps.finds import NoCatch, Watched, no_catch, watch
from roundtui.domain.traps.placement import hanging_on
from roundtui.errors import Problem, ProblemsError, RefusedError
from roundtui.store.failures import plainly
from roundtui.store.record.journal import Author, record
from roundtui.store.record.observations import present
from roundtui.store.record.read import JournalRow, same_day, visits_of
from roundtui.store.record.rows import CHECKS, QUESTIONS, SPECIMENS, Entry, day_or_none, standing


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
    talk = recounts.talks(_standing(conn, about)).get(about)
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
            off[key] = off.get(key, 0) + specimens.taken_off(one, programme)
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


_NAMED = ("what", "number", "identified_by", "identified_on")


def other_catch(conn: sqlite3.Connection, on: date, first: date = date.min) -> tuple[Specimen, ...]:
    """Present specimens of a span of days, in the order of days, then of recording.

    Args:
        conn: The store.
        on: Last day, included.
        first: First day; by default of every season.

    Raises:
        StoreError: The store cannot be read.
    """
    return tuple(present(conn, SPECIMENS, first, on))


def waiting(conn: sqlite3.Connection, on: date) -> tuple[Specimen, ...]:
    """Specimens of all seasons that wait for a name, the oldest first.

    Args:
        conn: The store.
        on: Last day, included.
    """
    return tuple(one for one in other_catch(conn, on) if specimens.is_open(one))


def find_specimen(conn: sqlite3.Connection, wanted: str, on: date) -> Specimen:
    """The specimen that a vial's number, or the id of an entry, stands for.

    Args:
        conn: The store.
        wanted: Number on the vial, in any letter case, or an id.
        on: Last day that is looked at.

    Raises:
        RefusedError: There is none, or the number stands for several.
    """
    every = other_catch(conn, on)
    number = wanted.strip().casefold()
    found = [one for one in every if one.id == wanted.strip()]
    found = found or [one for one in every if one.vial and one.vial.casefold() == number]
    if len(found) > 1:
        found = [one for one in found if specimens.is_open(one)] or found
    if not found:
        raise RefusedError(f"there is no vial {sanitize(wanted, 40)}", "roundtui vials lists them")
    if len(found) > 1:
        places = ", ".join(f"{specimens.place_of(one)} ({one.id})" for one in found[:5])
        raise RefusedError(f"{sanitize(wanted, 40)} stands for several: {places}", "name it by its id")
    return found[0]


def to_record(
    conn: sqlite3.Connection, programme: Programme, specimen: Specimen, *, counted: int | None
) -> specimens.Identification:
    """A new specimen made ready to record, with the count that it changes where it is named already.

    Args:
        conn: The store.
        programme: What is set up.
        specimen: The specimen.
        counted: Moths counted at the trap where the count is not on record yet.

    Raises:
        ProblemsError: It cannot be.
        RefusedError: The count that it changes cannot be corrected.
    """
    visits = same_day(conn, specimen.trap, specimen.read_on)
    on_record = [visit.count for visit in visits if visit.count is not None and not visit.recount]
    others = [one for one in other_catch(conn, specimen.read_on, specimen.read_on) if one.trap == specimen.trap]
    number = specimen.vial.casefold()
    taken: list[Problem] = []
    for one in waiting(conn, specimen.read_on) if number else ():
        if one.vial.casefold() == number and (one.trap, one.read_on) != (specimen.trap, specimen.read_on):
            words = f"{sanitize(specimen.vial, 20)} is in use for {specimens.place_of(one)}"
            taken = taken or [Problem(specimens.place_of(specimen), words, "take another")]
    problems = [
        *specimens.impossible(specimen, programme),
        *specimens.check_in_count(specimen, others, on_record[-1] if on_record else counted),
        *taken,
    ]
    if problems:
        raise ProblemsError("the specimen is not recorded; nothing was changed", tuple(problems))
    return specimens.Identification(specimen, specimens.amended(visits, None, specimen, programme))


def identification(
    conn: sqlite3.Connection,
    programme: Programme,
    specimen: Specimen,
    *,
    what: str,
    by: str,
    on: date,
    number: int | None = None,
) -> specimens.Identification:
    """A specimen's name made ready to record, with the count that it changes.

    Args:
        conn: The store.
        programme: What is set up.
        specimen: The specimen as it stands.
        what: What it is; ``unknown`` takes a name back.
        by: Who says so; not blank.
        on: When that was.
        number: How many of them; None: all. The rest stays as it stands.

    Raises:
        ProblemsError: The name cannot be taken, or the specimen cannot be so.
        RefusedError: It says what stands already, or the count cannot be corrected.
    """
    written, problem = specimens.what_it_is(what, programme)
    if problem is not None:
        raise ProblemsError("nothing was named", (problem,), "correct it, and name it again")
    if written != specimens.UNKNOWN and not by.strip():
        raise RefusedError("a name needs who gave it", "say who named it")
    if number is not None and not 1 <= number <= specimen.number:
        raise RefusedError(f"{number} of {specimen.number} cannot be named", f"write 1 to {specimen.number}")
    after = specimens.named(specimen, written, " ".join(by.split()), on, number)
    if all(getattr(after, one) == getattr(specimen, one) for one in _NAMED):
        raise RefusedError("that is recorded already", "say what else it is")
    problems = specimens.impossible(after, programme)
    if problems:
        raise ProblemsError("nothing was named", problems, "correct it, and name it again")
    rest = specimens.rest_of(specimen, number)
    visits = same_day(conn, specimen.trap, specimen.read_on)
    return specimens.Identification(after, specimens.amended(visits, specimen, after, programme, rest), rest)


def record_identification(
    conn: sqlite3.Connection, ready: specimens.Identification, author: Author, now: datetime
) -> Specimen:
    """Put a specimen, and the count that it changes, on record: both or neither.

    Args:
        conn: The store.
        ready: As ``to_record`` or ``naming`` made it.
        author: Who and where.
        now: Instant of recording, with its time zone.

    Raises:
        RefusedError: What it replaces was replaced before.
        StoreError: The store cannot be written.
    """
    recorded: Sequence[Specimen | Entry] = record(conn, ready.entries, author, now)
    (specimen, *_) = [one for one in recorded if isinstance(one, Specimen)]
    return specimen


def refuse_where_it_bears(programme: Programme, entry: object, becomes: object = None) -> None:
    """Refuse to withdraw a specimen on which a count hangs: the count would stand as if it were still named.

    Args:
        programme: What is set up.
        entry: The entry that is to be withdrawn, of any kind.
        becomes: What stands in its place then.

    Raises:
        RefusedError: A count hangs on it.
    """
    if not isinstance(entry, Specimen):
        return
    then = specimens.taken_off(becomes, programme) if isinstance(becomes, Specimen) else 0
    if specimens.taken_off(entry, programme) != then:
        raise RefusedError(
            f"a count depends on {specimens.label(entry)} being {sanitize(entry.what, 40)}",
            f"say what else it is, or unknown: roundtui identify FOLDER {sanitize(entry.vial) or entry.id} unknown",
        )


def read_finds(conn: sqlite3.Connection, folder: Path, office: Office, on: date) -> tuple[Watched, ...]:
    """Where each species that ``plan.toml`` watches for stands: finds of the season, and earlier ones still waited on.

    Args:
        conn: The store.
        folder: The scouting folder.
        office: The office's rules and season.
        on: The day.
    """
    from roundtui.store.inventory import read_plan_office
    from roundtui.store.season.season import SeasonRecord

    rules, seasons = read_plan_office(folder).finds, [SeasonRecord(conn, folder, on, office)]
    back = [on - timedelta(days=rule.days + (rule.clear_days or 0)) for rule in rules]
    if min(back, default=on) < seasons[0].first:
        seasons.append(SeasonRecord(conn, folder, seasons[0].first - timedelta(days=1), office))
    waiting = _waiting(conn, seasons[0].programme, min((*back, seasons[0].first)), on)
    hung, found = hanging_on(seasons[0].programme, on), []
    for rule, first in zip(rules, back, strict=True):
        readings = [
            (one.hanging, reading)
            for season in seasons
            for (_, species), group in season.series.items()
            for one in group
            for reading in one.readings
            if species == rule.species and reading.read_on >= max(season.first, min(first, seasons[0].first))
        ]
        readings.sort(key=lambda pair: pair[1].read_on)
        found.append(watch(rule, readings, hung, [trap for trap, species in waiting if species == rule.species]))
    return tuple(found)


def _waiting(conn: sqlite3.Connection, programme: Programme, first: date, last: date) -> set[tuple[str, str]]:
    """Traps with a specimen that waits for its name, and their species."""
    return {
        (one.trap, specimens.species_of(one, programme))
        for one in present(conn, SPECIMENS, first, last)
        if specimens.is_open(one)
    }


def read_no_catch(
    conn: sqlite3.Connection,
    folder: Path,
    office: Office,
    span: tuple[date | None, date],
    *,
    near: tuple[str, str, float],
) -> tuple[NoCatch, tuple[date, date]]:
    """What the traps about a block caught in a span of days of one season, and that span.

    Args:
        conn: The store.
        folder: The scouting folder.
        office: The office's rules and season.
        span: First and last day; without the first, or with one before it, the season's.
        near: Species, block and distance. [m]
    """
    from roundtui.store.season.season import SeasonRecord

    season = SeasonRecord(conn, folder, span[1], office)
    days = (max(span[0] or season.first, season.first), span[1])
    every = [one for (_, species), group in season.series.items() if species == near[0] for one in group]
    hung = [row for rows in season.programme.hangings.values() for row in rows if row.hung_a_night_in(*days)]
    waiting = {trap for trap, _ in _waiting(conn, season.programme, *days)}
    return no_catch(near[1:], every, hung, days, waiting), days
