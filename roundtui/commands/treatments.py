"""Commands of treatments: what a grower said is put on record, and the catch after it is watched."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from roundtui.command_line import DAY, FOLDER, JSON, ON, SCOUT, author_of, newest_or, opened, say, show, show_json
from roundtui.errors import ProblemsError, RefusedError

if TYPE_CHECKING:
    from roundtui.domain.entries import TreatmentSaid


@click.command()
@click.argument("folder", type=FOLDER)
@click.argument("block", metavar="BLOCK")
@click.argument("species", metavar="SPECIES")
@click.argument("day", metavar="DATE", type=DAY)
@click.option("--words", default="", metavar="WORDS", help="What the grower called it.")
@click.option("--said-by", default="", metavar="NAME", help="Reported by.")
@click.option("--no-entry-before", type=DAY, metavar="DATE", help="Day from which the block may be entered, as said.")
@SCOUT
@click.option("--yes", is_flag=True, help="Do not ask, whatever it changes.")
def treatment(
    *,
    folder: Path,
    block: str,
    species: str,
    day: date,
    words: str,
    said_by: str,
    no_entry_before: date | None,
    scout: str | None,
    yes: bool,
) -> None:
    """Put on record that a grower treated a BLOCK against a SPECIES on a day, as the grower said.

    It is no advice, and nobody asks which product or how much. What it changes in verdicts, in what growers were told
    and in letters already written is said first.
    """
    from roundtui.commands.corrections import accept_treatment
    from roundtui.domain.entries import TreatmentSaid
    from roundtui.domain.figures.treatments import check_treatment
    from roundtui.domain.programme.cautions import BEFORE_ENTRY
    from roundtui.domain.programme.species import species_code
    from roundtui.domain.round.checks import in_case
    from roundtui.store.figures.treatments import record_treatment
    from roundtui.store.record.read import programme

    with closing(opened(folder).conn) as conn:
        author = author_of(conn, scout)
        known = programme(conn)
        entry = TreatmentSaid(
            block=in_case(block, known.blocks),
            species=species_code(species) or species,
            treated_on=day,
            words=" ".join(words.split()),
            said_by=" ".join(said_by.split()),
        )
        problems = check_treatment(entry, known)
        if problems:
            raise ProblemsError("the treatment was not recorded", problems, "correct it, and enter it again")
        if day > date.today():  # noqa: DTZ011
            raise RefusedError(f"{day} is still to come", "enter it once it is done")
        _refuse_twice(conn, entry)
        now = datetime.now(UTC)
        change = partial(record_treatment, conn, entry, author, now, no_entry_before=no_entry_before)
        accept_treatment(conn, folder, change, (entry,), yes=yes)
        recorded = change()
    click.echo(recorded.id)
    if no_entry_before is None:
        say(BEFORE_ENTRY)


def _refuse_twice(conn: sqlite3.Connection, entry: TreatmentSaid) -> None:
    from roundtui.store.figures.treatments import said_before

    same = said_before(conn, entry)
    if same is not None:
        hint = "nothing to do; to change it, withdraw it with roundtui withdraw and enter it again"
        raise RefusedError(f"this treatment is recorded already, as {same.id}", hint)


@click.command()
@click.argument("folder", type=FOLDER)
@ON
@JSON
def treatments(folder: Path, on: date | None, *, as_json: bool) -> None:
    """Treatments of the season as growers told of them, each with the catch before and since.

    The catch is held against untreated blocks of the same rounds: coming down, not coming down, too little or too early
    to say. Without untreated blocks there are the figures alone; docs/methods.md has the rule. It says nothing of what
    was applied, and is no advice. A mode-of-action group in the grower's words ("group 5") that was noted against two
    generations running is pointed out.
    """
    from roundtui.report.figures.treatments import treatments_json, treatments_tables
    from roundtui.store.figures.treatments import read_groups_again, read_treated
    from roundtui.store.office import read_office
    from roundtui.store.record.read import programme
    from roundtui.store.record.rows import TREATMENTS

    with closing(opened(folder).conn) as conn:
        day = newest_or(on, conn, TREATMENTS)
        office = read_office(folder)
        found, _ = read_treated(conn, office, day)
        known, again = programme(conn), read_groups_again(conn, office, day, found)
    if as_json:
        show_json(treatments_json(found, known))
        return
    show(treatments_tables(found, known, again))


COMMANDS = (treatment, treatments)
"""The commands of this file."""
