"""Specimens on record, and naming them: the count that a name changes is corrected in the same transaction.

Finds of a pest that is watched for, and what was not caught near a block.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from pathlib import Path

from roundtui.domain.entries import Specimen
from roundtui.domain.figures.rules import Office
from roundtui.domain.programme.farm import Programme
from roundtui.domain.round import specimens as trade
from roundtui.domain.text import sanitize
from roundtui.domain.traps.finds import NoCatch, Watched, no_catch, watch
from roundtui.domain.traps.placement import hanging_on
from roundtui.errors import Problem, ProblemsError, RefusedError
from roundtui.store.failures import plainly
from roundtui.store.record.journal import Author, record
from roundtui.store.record.observations import present
from roundtui.store.record.read import same_day
from roundtui.store.record.rows import SPECIMENS, Entry

_REFUSED = "the specimen is not recorded; nothing was changed"


def specimens(conn: sqlite3.Connection, on: date, first: date = date.min) -> tuple[Specimen, ...]:
    """Present specimens of a span of days, in the order of days, then of recording.

    Args:
        conn: The store.
        on: Last day, included.
        first: First day; by default of every season.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        return tuple(present(conn, SPECIMENS, first, on))


def waiting(conn: sqlite3.Connection, on: date) -> tuple[Specimen, ...]:
    """Specimens of all seasons that wait for a name, the oldest first.

    Args:
        conn: The store.
        on: Last day, included.
    """
    return tuple(one for one in specimens(conn, on) if trade.is_open(one))


def vial_proposed(conn: sqlite3.Connection, first: date, on: date) -> str:
    """The next number for a vial of a season.

    Args:
        conn: The store.
        first: First day of the season.
        on: Last day that is looked at.
    """
    return trade.next_vial(one.vial for one in specimens(conn, on, first))


def find_specimen(conn: sqlite3.Connection, wanted: str, on: date) -> Specimen:
    """The specimen that a vial's number, or the id of an entry, stands for.

    Args:
        conn: The store.
        wanted: Number on the vial, in any letter case, or an id.
        on: Last day that is looked at.

    Raises:
        RefusedError: There is none, or the number stands for several.
    """
    every = specimens(conn, on)
    number = wanted.strip().casefold()
    found = [one for one in every if one.id == wanted.strip()]
    found = found or [one for one in every if one.vial and one.vial.casefold() == number]
    if len(found) > 1:
        found = [one for one in found if trade.is_open(one)] or found
    if not found:
        raise RefusedError(f"there is no vial {sanitize(wanted, 40)}", "roundtui vials lists them")
    if len(found) > 1:
        places = ", ".join(f"{trade.place_of(one)} ({one.id})" for one in found[:5])
        raise RefusedError(f"{sanitize(wanted, 40)} stands for several: {places}", "name it by its id")
    return found[0]


def to_record(
    conn: sqlite3.Connection, programme: Programme, specimen: Specimen, *, counted: int | None
) -> trade.Identification:
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
    others = [one for one in specimens(conn, specimen.read_on, specimen.read_on) if one.trap == specimen.trap]
    problems = [
        *trade.impossible(specimen, programme),
        *trade.check_in_count(specimen, others, on_record[-1] if on_record else counted),
        *_vial_taken(conn, specimen),
    ]
    if problems:
        raise ProblemsError(_REFUSED, tuple(problems))
    return trade.Identification(specimen, trade.amended(visits, None, specimen, programme))


def identification(
    conn: sqlite3.Connection,
    programme: Programme,
    specimen: Specimen,
    *,
    what: str,
    by: str,
    on: date,
    number: int | None = None,
) -> trade.Identification:
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
    written, problem = trade.what_it_is(what, programme)
    if problem is not None:
        raise ProblemsError("nothing was named", (problem,))
    if written != trade.UNKNOWN and not by.strip():
        raise RefusedError("a name needs who gave it", "say who named it")
    if number is not None and not 1 <= number <= specimen.number:
        raise RefusedError(f"{number} of {specimen.number} cannot be named", f"write 1 to {specimen.number}")
    after = trade.named(specimen, written, " ".join(by.split()), on, number)
    if (after.what, after.number, after.identified_by, after.identified_on) == (
        specimen.what,
        specimen.number,
        specimen.identified_by,
        specimen.identified_on,
    ):
        raise RefusedError("that is recorded already", "say what else it is")
    problems = trade.impossible(after, programme)
    if problems:
        raise ProblemsError("nothing was named", problems)
    rest = trade.rest_of(specimen, number)
    visits = same_day(conn, specimen.trap, specimen.read_on)
    return trade.Identification(after, trade.amended(visits, specimen, after, programme, rest), rest)


def record_identification(
    conn: sqlite3.Connection, ready: trade.Identification, author: Author, now: datetime
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
    then = trade.taken_off(becomes, programme) if isinstance(becomes, Specimen) else 0
    if trade.taken_off(entry, programme) != then:
        raise RefusedError(
            f"a count depends on {trade.label(entry)} being {sanitize(entry.what, 40)}",
            f"say what else it is, or unknown: roundtui identify FOLDER {sanitize(entry.vial) or entry.id} unknown",
        )


def _vial_taken(conn: sqlite3.Connection, specimen: Specimen) -> list[Problem]:
    if not specimen.vial:
        return []
    same = [
        one
        for one in specimens(conn, specimen.read_on)
        if one.vial.casefold() == specimen.vial.casefold()
        and trade.is_open(one)
        and (one.trap, one.read_on) != (specimen.trap, specimen.read_on)
    ]
    if not same:
        return []
    return [
        Problem(
            trade.place_of(specimen),
            f"{sanitize(specimen.vial, 20)} is in use for {trade.place_of(same[0])}",
            "take another",
        )
    ]


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
        (one.trap, trade.species_of(one, programme))
        for one in present(conn, SPECIMENS, first, last)
        if trade.is_open(one)
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
