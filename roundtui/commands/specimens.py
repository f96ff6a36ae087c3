"""Commands for what is counted once more: vials and their naming, and how far second counts agree."""

from __future__ import annotations

from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from roundtui.command_line import DAY, FOLDER, JSON, ON, SCOUT, author_of, newest_or, opened, say, show_json, terminal
from roundtui.commands.corrections import accept

if TYPE_CHECKING:
    import sqlite3

    from roundtui.domain.programme.farm import Programme
    from roundtui.domain.round.specimens import Identification


@click.command()
@click.argument("folder", type=FOLDER)
@click.argument("vial", metavar="VIAL")
@click.argument("what", metavar="WHAT")
@click.option("--by", required=True, metavar="NAME", help="Who named it.")
@click.option("--on", type=DAY, metavar="DATE", help="When that was. Default: today.")
@click.option("--number", type=click.IntRange(1), metavar="N", help="How many of those in the vial. Default: all.")
@SCOUT
@click.option("--yes", is_flag=True, help="Do not ask, whatever it changes.")
def identify(
    *,
    folder: Path,
    vial: str,
    what: str,
    by: str,
    on: date | None,
    number: int | None,
    scout: str | None,
    yes: bool,
) -> None:
    """Name what is in a vial: roundtui identify farm V-12 "lesser appleworm" --by NAME.

    A count that held it, or should have held it, is corrected in the same step, with the name as its reason. What that
    changes in figures, statuses and letters is said first. VIAL may be the id of an entry as well; WHAT is a species, a
    kind, any other name, or unknown, which takes a name back.
    """
    from roundtui.store.record.read import programme
    from roundtui.store.round.specimens import find_specimen, identification, record_identification

    today = datetime.now(UTC).astimezone().date()
    with closing(opened(folder).conn) as conn:
        author, now, known = author_of(conn, scout), datetime.now(UTC), programme(conn)
        found = find_specimen(conn, vial, today)
        ready = identification(conn, known, found, what=what, by=by, on=on or today, number=number)
        visit, letters = ready.visit, _letters(conn, folder, known, ready, today)
        if visit is None:
            recorded = record_identification(conn, ready, author, now)
            for words in (f"{found.trap} on {found.read_on}: no count changes", *letters):
                say(words)
        else:
            say(f"{visit.trap} on {visit.read_on}: {visit.reason}; the count is {visit.count}")
            accept(
                conn,
                folder,
                lambda: record_identification(conn, ready, author, now),
                days={visit.read_on},
                traps={visit.trap},
                yes=yes,
                more=letters,
            )
            recorded = record_identification(conn, ready, author, now)
    click.echo(recorded.id)


def _letters(
    conn: sqlite3.Connection, folder: Path, known: Programme, ready: Identification, today: date
) -> tuple[str, ...]:
    """Letters on disk that a name makes out of date."""
    from roundtui.domain.round.specimens import block_of
    from roundtui.report.letters.files import letters_outdated, outdated_words
    from roundtui.store.office import read_office
    from roundtui.store.record.journal import Author
    from roundtui.store.round.specimens import record_identification

    trial = Author("?", "?")
    found = letters_outdated(
        conn,
        folder,
        read_office(folder),
        lambda: record_identification(conn, ready, trial, datetime.now(UTC)),
        farms=(known.farm_of(block_of(ready.specimen, known)),),
        since=ready.specimen.read_on,
        on=today,
    )
    return outdated_words(conn, found)


@click.command()
@click.argument("folder", type=FOLDER)
@ON
@click.option("--open", "only_open", is_flag=True, help="Only vials to identify, of every season.")
@JSON
def vials(folder: Path, on: date | None, only_open: bool, as_json: bool) -> None:
    """List what else was in the traps this season, and what of it waits for a name."""
    from roundtui.domain.figures.history import season_start
    from roundtui.domain.round.specimens import is_open
    from roundtui.report.round.specimens import vials_json, vials_table
    from roundtui.store.office import read_office
    from roundtui.store.record.read import programme
    from roundtui.store.record.rows import SPECIMENS
    from roundtui.store.round.specimens import specimens

    with closing(opened(folder).conn) as conn:
        known = programme(conn)
        day = newest_or(on, conn, SPECIMENS)
        first = season_start(day, read_office(folder).season_starts_on)
        found = [
            one for one in specimens(conn, day) if (is_open(one) if only_open else is_open(one) or one.read_on >= first)
        ]
    if as_json:
        show_json(vials_json(found, known))
    elif not found:
        say("no vial to identify" if only_open else "no other catch this season")
    else:
        console = terminal()
        console.print(vials_table(found, known, console.width))


@click.command()
@click.argument("folder", type=FOLDER)
@ON
@click.option(
    "--season", type=click.IntRange(1900, 2199), metavar="YEAR", help="Year in which it started. Default: that of --on."
)
@JSON
def agreement(folder: Path, on: date | None, season: int | None, as_json: bool) -> None:
    """Say how far those who count the same catch agree: second counts of the season, held against the first.

    Traps of each round that are asked for a second count are named, one in twenty: those of --on, else of today.
    """
    from roundtui.domain.round.recounts import agreement as agreement_of
    from roundtui.report.round.recounts import agreement_json, agreement_words
    from roundtui.store.office import read_office
    from roundtui.store.record.read import programme
    from roundtui.store.round.recounts import asked_on, pairs, season_of

    with closing(opened(folder).conn) as conn:
        day = newest_or(on, conn)
        first, last = season_of(read_office(folder), day, season)
        known = programme(conn)
        found = agreement_of(pairs(conn, known, first, last))
        asked = asked_on(conn, known, on or datetime.now(UTC).astimezone().date()) if last == day else {}
    if as_json:
        show_json(agreement_json(found, (first, last), asked))
        return
    for line in agreement_words(found, (first, last), asked):
        click.echo(line)


@click.command("quality")
@click.argument("folder", type=FOLDER)
@ON
@JSON
def quality(folder: Path, on: date | None, as_json: bool) -> None:
    """Say how the scouting itself was done: visits on time, training, supervisor's visits, planted specimens.

    Of the season up to --on, by person, route and week. Visits are on time by the intervals of plan.toml, people are
    trained by people.csv; supervisor's visits come with roundtui record checks. The catch of each species stands below,
    a trap a day beside a week.
    """
    from roundtui.report.round.recounts import quality_json, quality_words
    from roundtui.store.office import read_office
    from roundtui.store.round.recounts import read_quality

    with closing(opened(folder).conn) as conn:
        found = read_quality(conn, folder, read_office(folder), newest_or(on, conn))
    if as_json:
        show_json(quality_json(found))
    else:
        click.echo("\n".join(quality_words(found)))


COMMANDS = (identify, vials, agreement, quality)
"""The commands of this file."""
