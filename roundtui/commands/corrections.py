"""Commands that change what stands on record: correct, withdraw, and the history of an entry."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Sequence
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from roundtui.command_line import DAY, FOLDER, JSON, SCOUT, agreed, author_of, opened, say, show_json, terminal
from roundtui.errors import ProblemsError

if TYPE_CHECKING:
    from roundtui.domain.entries import TreatmentSaid, Withdrawal
    from roundtui.store.record.read import JournalRow

_ENTRY = click.argument("entry", metavar="ENTRY_ID")
_REASON = click.option("--reason", required=True, metavar="WORDS", help="Why; it is kept with the entry.")
_YES = click.option("--yes", is_flag=True, help="Do not ask, whatever it changes.")


@click.command()
@click.argument("folder", type=FOLDER)
@_ENTRY
@click.argument("tally", metavar="TALLY")
@_REASON
@click.option("--trap", metavar="TRAP", help="The trap it should have been. Default: as it is.")
@click.option("--read-on", type=DAY, metavar="DATE", help="The day it should have been. Default: as it is.")
@click.option("--recount", is_flag=True, help="It was a recount of a catch already counted.")
@SCOUT
@_YES
def correct(
    *,
    folder: Path,
    entry: str,
    tally: str,
    reason: str,
    trap: str | None,
    read_on: date | None,
    recount: bool,
    scout: str | None,
    yes: bool,
) -> None:
    """Replace an entry by what it should have said, in the tally notation: roundtui correct farm ID "14 l".

    Both stay on record. What the correction changes in the summary is said first.
    """
    from roundtui.domain.round.tally import parse_tally
    from roundtui.store.record.journal import record
    from roundtui.store.record.read import programme
    from roundtui.store.round.changes import correction, standing_visit

    draft, problems = parse_tally(tally, where="the correction")
    if draft is None:
        raise ProblemsError("this correction cannot be read; nothing was changed", problems)
    with closing(opened(folder).conn) as conn:
        author = author_of(conn, scout)
        old = standing_visit(conn, entry)
        new = correction(
            conn,
            programme(conn),
            entry,
            draft,
            reason=reason,
            scout=author.scout,
            today=date.today(),  # noqa: DTZ011
            trap=trap,
            read_on=read_on,
            recount=True if recount else None,
        )
        now = datetime.now(UTC)
        accept(
            conn,
            folder,
            lambda: record(conn, [new], author, now),
            days={old.read_on, new.read_on},
            traps={old.trap, new.trap},
            yes=yes,
        )
        (recorded,) = record(conn, [new], author, now)
    click.echo(recorded.id)


@click.command()
@click.argument("folder", type=FOLDER)
@_ENTRY
@_REASON
@SCOUT
@_YES
def withdraw(folder: Path, entry: str, reason: str, scout: str | None, yes: bool) -> None:
    """Withdraw an entry without putting another in its place; it stays on record.

    With a trap of a farm that was closed, all that were closed with it; with a block of a call, the whole call. What a
    withdrawn correction had replaced does not come back by itself.
    """
    from roundtui.domain.entries import TreatmentSaid
    from roundtui.store.db import transaction
    from roundtui.store.record import journal
    from roundtui.store.record.chains import together
    from roundtui.store.record.read import programme
    from roundtui.store.round.specimens import refuse_where_it_bears

    with closing(opened(folder).conn) as conn:
        author, now = author_of(conn, scout), datetime.now(UTC)
        rows = together(conn, entry, known := programme(conn))
        for row in rows:
            refuse_where_it_bears(known, row.entry)

        def change() -> list[Withdrawal]:
            with transaction(conn):
                return [journal.withdraw(conn, row.id, reason, author, now) for row in rows]

        treated = tuple(row.entry for row in rows if isinstance(row.entry, TreatmentSaid))
        if treated:
            accept_treatment(conn, folder, change, treated, yes=yes)
        else:
            traps = {row.trap for row in rows if row.trap is not None} | _around(conn, rows)
            accept(conn, folder, change, days={row.read_on for row in rows}, traps=traps, yes=yes)
        withdrawn = change()
    click.echo("\n".join(one.id for one in withdrawn))


@click.command()
@click.argument("folder", type=FOLDER)
@_ENTRY
@JSON
def history(folder: Path, entry: str, as_json: bool) -> None:
    """Show all that belongs to an entry: what it corrected, what corrected it, who, when and why."""
    from roundtui.store.record.chains import chain as chain_of

    with closing(opened(folder).conn) as conn:
        rows = chain_of(conn, entry)
    from roundtui.report.round.replay import replay_json, replay_table

    if as_json:
        show_json(replay_json(rows))
    else:
        console = terminal()
        console.print(replay_table(rows, width=console.width))


def _around(conn: sqlite3.Connection, rows: Iterable[JournalRow]) -> set[str]:
    """Traps of the blocks whose biofix an entry settles, since it bears on them as a count does."""
    from roundtui.store.record.read import programme

    blocks = {row.block for row in rows if row.kind == "biofix"}
    return {trap.trap for trap in programme(conn).traps if trap.block in blocks} if blocks else set()


def accept(
    conn: sqlite3.Connection,
    folder: Path,
    change: Callable[[], object],
    *,
    days: set[date],
    traps: set[str],
    yes: bool,
    more: Sequence[str] = (),
) -> None:
    """Say what a change of the record changes in what people act on, and ask where that is more than a figure.

    Args:
        conn: The store.
        folder: The scouting folder.
        change: Writes through ``conn``.
        days: Days it is about.
        traps: Traps it is about.
        yes: Do not ask.
        more: What else it changes that people act on, a sentence each.

    Raises:
        RefusedError: Nobody agreed to it; nothing was changed.
    """
    from roundtui.report.figures.changes import consequence_words
    from roundtui.store.office import read_office
    from roundtui.store.record.read import newest_read_on
    from roundtui.store.round.changes import effects

    newest = newest_read_on(conn)
    if newest is not None:
        days = days | {newest}
    found = effects(conn, folder, read_office(folder), change, days=days, traps=traps)
    for one in found:
        say(f"  {one if one.needs_a_word else consequence_words(one)}")
    for words in more:
        say(f"  {words}")
    if not yes and (more or any(one.needs_a_word for one in found)):
        agreed()


def accept_treatment(
    conn: sqlite3.Connection,
    folder: Path,
    change: Callable[[], object],
    about: tuple[TreatmentSaid, ...],
    *,
    yes: bool,
) -> None:
    """Say what a change of a treatment changes, and ask where that is more than a figure.

    Args:
        conn: The store.
        folder: The scouting folder.
        change: Records it, or withdraws it.
        about: The treatment.
        yes: Do not ask.

    Raises:
        RefusedError: Nobody agreed to it; nothing was changed.
    """
    from roundtui.report.figures.treatments import treatment_changes
    from roundtui.store.office import read_office
    from roundtui.store.record.read import newest_read_on

    latest = max(one.treated_on for one in about)
    on = max(newest_read_on(conn) or latest, latest)
    changes = treatment_changes(conn, folder, read_office(folder), change, about=about, on=on)
    for words, _ in changes.lines():
        say(f"  {words}")
    if changes.needs_a_word and not yes:
        agreed()


COMMANDS = (correct, withdraw, history)
"""The commands of this file."""
