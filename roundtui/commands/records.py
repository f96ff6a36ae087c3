"""The commands for what is seen and done beside the counts: records from files, samples, treatments."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from roundtui.command_line import (
    DAY,
    FOLDER,
    JSON,
    ON,
    SCOUT,
    amount,
    author_of,
    known_label,
    newest_or,
    opened,
    say,
    say_problems,
    show,
    show_json,
)
from roundtui.errors import Problem, ProblemsError, RefusedError

if TYPE_CHECKING:
    from roundtui.domain.entries import TreatmentSaid

_KINDS = ("samples", "treatments", "specimens", "parts", "assemblies", "stock", "checks")


@click.command()
@click.argument("kind", type=click.Choice(_KINDS))
@click.argument("folder", type=FOLDER)
@click.argument("file", type=FOLDER, metavar="FILE.csv")
@click.option("--scout", metavar="NAME", help="Whose entries they are. Default: the name kept in the app.")
def record(kind: str, folder: Path, file: Path, scout: str | None) -> None:
    """Record a file of samples, treatments, specimens, parts, assemblies, stock or a supervisor's checks.

    All of it or nothing: where anything in the file is malformed or impossible, nothing is added. What is on record is
    not added twice. What speaks against a trap as it is assembled is named, and nothing is refused for it. The columns
    are described in docs/open-files.md.
    """
    from roundtui.store.record.device import device_name
    from roundtui.store.record.journal import Author
    from roundtui.store.record.read import setting
    from roundtui.store.round.tally_file import record_file

    with closing(opened(folder).conn) as conn:
        name = " ".join((scout or setting(conn, "scout") or "").split())
        if not name:
            raise click.UsageError("whose entries are they? Add --scout NAME")
        path = file if file.exists() or not (folder / file).exists() else folder / file
        today = date.today()  # noqa: DTZ011
        report = record_file(conn, path, kind, Author(name, device_name()), now=datetime.now(UTC), today=today)
        named: tuple[Problem, ...] = ()
        if kind == "assemblies":
            from roundtui.domain.entries import Assembled
            from roundtui.store.traps.parts import named_against

            named = named_against(conn, [one for one in report.added if isinstance(one, Assembled)])
    say(f"{file.name}: {amount([(len(report.added), 'added'), (report.known, 'on record before')])}")
    say_problems(named)


@click.command("samples")
@click.argument("folder", type=FOLDER)
@click.option("--on", type=DAY, metavar="DATE", help="Last day of the season to list. Default: the newest on record.")
@click.option("--block", metavar="BLOCK", help="Only this block.")
@JSON
def samples(folder: Path, on: date | None, block: str | None, *, as_json: bool) -> None:
    """List leaf and fruit samples of the season: what was found, its interval, and what a published plan says of it.

    A verdict says on which side of a published number a sample came out. It is no advice.
    """
    from roundtui.domain.figures.history import season_start
    from roundtui.domain.sampling.findings import sample_row, sample_table
    from roundtui.report.sampling import samples_json, samples_tables
    from roundtui.store.office import read_office
    from roundtui.store.record.observations import present
    from roundtui.store.record.read import programme
    from roundtui.store.record.rows import SAMPLES

    with closing(opened(folder).conn) as conn:
        office, known = read_office(folder), programme(conn)
        if block is not None:
            block = known_label(block, known.blocks, "block", "blocks are set up in blocks.csv")
        day = newest_or(on, conn, SAMPLES)
        table = sample_table(office)
        found = present(conn, SAMPLES, season_start(day, office.season_starts_on), day)
    rows = [sample_row(sample, table) for sample in found if block is None or sample.block == block]
    if as_json:
        show_json(samples_json(rows, known))
        return
    show(samples_tables(rows, known))


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


COMMANDS = (record, samples, treatment, treatments)
"""The commands of this file."""
