"""Commands that change what stands on record: correct, withdraw, and the history of an entry."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from roundtui.command_line import DAY, JSON, SCOUT, YES, Here, agreed, at, on_folder, say, show_either, today
from roundtui.errors import ProblemsError
from roundtui.store.record.chains import chain as chain_of
from roundtui.store.record.chains import together
from roundtui.store.record.read import newest_read_on

if TYPE_CHECKING:
    from roundtui.domain.entries import TreatmentSaid, Withdrawal

_T = TypeVar("_T")
_ENTRY = click.argument("entry", metavar="ENTRY_ID")
_REASON = click.option("--reason", required=True, metavar="WORDS", help="Why; it is kept with the entry.")


@on_folder()
@_ENTRY
@click.argument("tally", metavar="TALLY")
@_REASON
@click.option("--trap", metavar="TRAP", help="The trap it should have been. Default: as it is.")
@click.option("--read-on", type=DAY, metavar="DATE", help="The day it should have been. Default: as it is.")
@click.option("--recount", is_flag=True, help="It was a recount of a catch already counted.")
@SCOUT
@YES
def correct(*, folder: Path, entry: str, tally: str, scout: str | None, yes: bool, recount: bool, **said: Any) -> None:
    """Replace an entry by what it should have said, in the tally notation: roundtui correct farm ID "14 l".

    Both stay on record. What the correction changes in the summary is said first.
    """
    from roundtui.domain.round.tally import parse_tally
    from roundtui.store.record.journal import record
    from roundtui.store.round.changes import correction, standing_visit

    draft, problems = parse_tally(tally, where="the correction")
    if draft is None:
        raise ProblemsError("this correction cannot be read; nothing was changed", problems)
    with at(folder) as here:
        author = here.author(scout)
        old = standing_visit(here.conn, entry)
        new = correction(
            here.conn,
            here.programme,
            entry,
            draft,
            scout=author.scout,
            today=today(),
            recount=True if recount else None,
            **said,
        )
        change = partial(record, here.conn, [new], author, datetime.now(UTC))
        days, traps = {old.read_on, new.read_on}, {old.trap, new.trap}
        (recorded,) = accept(here, change, days=days, traps=traps, yes=yes)
    click.echo(recorded.id)


@on_folder()
@_ENTRY
@_REASON
@SCOUT
@YES
def withdraw(folder: Path, entry: str, reason: str, scout: str | None, yes: bool) -> None:
    """Withdraw an entry without putting another in its place; it stays on record.

    With a trap of a farm that was closed, all that were closed with it; with a block of a call, the whole call. What a
    withdrawn correction had replaced does not come back by itself.
    """
    from roundtui.domain.entries import TreatmentSaid
    from roundtui.store.db import transaction
    from roundtui.store.record import journal
    from roundtui.store.round.recounts import refuse_where_it_bears

    with at(folder) as here:
        author, now = here.author(scout), datetime.now(UTC)
        rows = together(here.conn, entry, here.programme)
        for row in rows:
            refuse_where_it_bears(here.programme, row.entry)

        def change() -> list[Withdrawal]:
            with transaction(here.conn):
                return [journal.withdraw(here.conn, row.id, reason, author, now) for row in rows]

        treated = tuple(row.entry for row in rows if isinstance(row.entry, TreatmentSaid))
        if treated:
            withdrawn = accept_treatment(here, change, treated, yes=yes)
        else:
            traps = {row.trap for row in rows if row.trap is not None}
            # A biofix bears on its block's traps as a count does.
            blocks = {row.block for row in rows if row.kind == "biofix"}
            traps |= {trap.trap for trap in here.programme.traps if trap.block in blocks}
            withdrawn = accept(here, change, days={row.read_on for row in rows}, traps=traps, yes=yes)
    click.echo("\n".join(one.id for one in withdrawn))


@on_folder()
@_ENTRY
@JSON
def history(folder: Path, entry: str, as_json: bool) -> None:
    """Show all that belongs to an entry: what it corrected, what corrected it, who, when and why."""
    with at(folder) as here:
        rows = chain_of(here.conn, entry)
    from roundtui.report.round.replay import replay_json, replay_table

    show_either(as_json, lambda: replay_json(rows), lambda width: replay_table(rows, width=width))


def accept(
    here: Here, change: Callable[[], _T], *, days: set[date], traps: set[str], yes: bool, more: Sequence[str] = ()
) -> _T:
    """Make a change of the record, after saying what it changes in what people act on, and asking where that is much.

    Args:
        here: The folder.
        change: Makes it; it is made once more for trial.
        days: Days it is about.
        traps: Traps it is about.
        yes: Do not ask.
        more: What else it changes that people act on, a sentence each.

    Returns:
        What the change gave.

    Raises:
        RefusedError: Nobody agreed to it; nothing was changed.
    """
    from roundtui.report.figures.changes import consequence_words
    from roundtui.store.round.changes import effects

    newest = newest_read_on(here.conn)
    if newest is not None:
        days = days | {newest}
    found = effects(here.conn, here.folder, here.office, change, days=days, traps=traps)
    said = [(str(one) if one.needs_a_word else consequence_words(one), one.needs_a_word) for one in found]
    return _once_said(change, [*said, *((words, True) for words in more)], yes=yes)


def _once_said(change: Callable[[], _T], said: Sequence[tuple[str, bool]], *, yes: bool) -> _T:
    """Make a change after saying what it changes, and asking where any of it needs a word."""
    for words, _ in said:
        say(f"  {words}")
    if not yes and any(needs for _, needs in said):
        agreed()
    return change()


def accept_treatment(here: Here, change: Callable[[], _T], about: tuple[TreatmentSaid, ...], *, yes: bool) -> _T:
    """Make a change of a treatment, after saying what it changes, and asking where that is more than a figure.

    Args:
        here: The folder.
        change: Records it, or withdraws it.
        about: The treatment.
        yes: Do not ask.

    Returns:
        What the change gave.

    Raises:
        RefusedError: Nobody agreed to it; nothing was changed.
    """
    from roundtui.report.figures.treatments import treatment_changes

    latest = max(one.treated_on for one in about)
    on = max(newest_read_on(here.conn) or latest, latest)
    changes = treatment_changes(here.conn, here.folder, here.office, change, about=about, on=on)
    return _once_said(change, changes.lines(), yes=yes)


COMMANDS = (correct, withdraw, history)
"""The commands of this file."""
