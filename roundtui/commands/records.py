"""The commands for what is seen and done beside the counts: records from files, samples, treatments, paper sheets."""

from __future__ import annotations

from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path
from typing import Any

import click

from roundtui import command_line as cl
from roundtui.domain.entries import Assembled
from roundtui.domain.text import sanitize, several
from roundtui.errors import ExitCode, Problem
from roundtui.store.files import write_whole
from roundtui.store.record.rows import SAMPLES, TREATMENTS

_KINDS = ("samples", "treatments", "specimens", "parts", "assemblies", "stock", "checks")


@click.command()
@click.argument("kind", type=click.Choice(_KINDS))
@click.argument("folder", type=cl.FOLDER)
@click.argument("file", type=cl.FOLDER, metavar="FILE.csv")
@click.option("--scout", metavar="NAME", help="Whose entries they are. Default: the name kept in the app.")
def record(kind: str, folder: Path, file: Path, scout: str | None) -> None:
    """Record a file of samples, treatments, specimens, parts, assemblies, stock or a supervisor's checks.

    All of it or nothing: where anything in the file is malformed or impossible, nothing is added. What is on record is
    not added twice. What speaks against a trap as it is assembled is named, and nothing is refused for it. The columns
    are described in docs/open-files.md.
    """
    from roundtui.store.round.tally_file import record_file

    with cl.at(folder) as here:
        author = here.author(scout, "whose entries are they?")
        report = record_file(here.conn, here.file(file), kind, author, now=datetime.now(UTC), today=cl.today())
        named: tuple[Problem, ...] = ()
        if kind == "assemblies":
            from roundtui.store.traps.parts import named_against

            named = named_against(here.conn, [one for one in report.added if isinstance(one, Assembled)])
    cl.say(f"{file.name}: {cl.amount([(len(report.added), 'added'), (report.known, 'on record before')])}")
    cl.say_problems(named)


@cl.on_folder("samples")
@click.option(
    "--on", type=cl.DAY, metavar="DATE", help="Last day of the season to list. Default: the newest on record."
)
@click.option("--block", metavar="BLOCK", help="Only this block.")
@cl.JSON
def samples(folder: Path, on: date | None, block: str | None, *, as_json: bool) -> None:
    """List leaf and fruit samples of the season: what was found, its interval, and what a published plan says of it.

    A verdict says on which side of a published number a sample came out. It is no advice.
    """
    from roundtui.domain.figures.history import season_start
    from roundtui.domain.sampling.findings import sample_row, sample_table
    from roundtui.report.sampling import samples_json, samples_tables
    from roundtui.store.record.observations import present

    with cl.at(folder) as here:
        office, known = here.office, here.programme
        if block is not None:
            block = cl.known_label(block, known.blocks, "block", "blocks are set up in blocks.csv")
        day = here.day(on, SAMPLES)
        table = sample_table(office)
        found = present(here.conn, SAMPLES, season_start(day, office.season_starts_on), day)
    rows = [sample_row(sample, table) for sample in found if block is None or sample.block == block]
    cl.show_either(as_json, lambda: samples_json(rows, known), lambda _: samples_tables(rows, known))


@cl.on_folder()
@click.argument("block", metavar="BLOCK")
@click.argument("species", metavar="SPECIES")
@click.argument("day", metavar="DATE", type=cl.DAY)
@click.option("--words", default="", metavar="WORDS", help="What the grower called it.")
@click.option("--said-by", default="", metavar="NAME", help="Reported by.")
@click.option(
    "--no-entry-before", type=cl.DAY, metavar="DATE", help="Day from which the block may be entered, as said."
)
@cl.SCOUT
@cl.YES
def treatment(
    *, folder: Path, block: str, species: str, day: date, no_entry_before: date | None, scout: str | None, **more: Any
) -> None:
    """Put on record that a grower treated a BLOCK against a SPECIES on a day, as the grower said.

    It is no advice, and nobody asks which product or how much. What it changes in verdicts, in what growers were told
    and in letters already written is said first.
    """
    from roundtui.commands.corrections import accept_treatment
    from roundtui.domain.programme.cautions import BEFORE_ENTRY
    from roundtui.store.figures.treatments import record_treatment, treatment_said

    with cl.at(folder) as here:
        author, typed = here.author(scout), {"block": block, "species": species, **more}
        entry = treatment_said(here.conn, here.programme, typed, day, cl.today())
        now = datetime.now(UTC)
        change = partial(record_treatment, here.conn, entry, author, now, no_entry_before=no_entry_before)
        recorded = accept_treatment(here, change, (entry,), yes=more["yes"])
    click.echo(recorded.id)
    if no_entry_before is None:
        cl.say(BEFORE_ENTRY)


@cl.on_folder()
@cl.ON
@cl.JSON
def treatments(folder: Path, on: date | None, *, as_json: bool) -> None:
    """Treatments of the season as growers reported them, each with the catch before and since.

    The catch is held against untreated blocks of the same rounds: coming down, not coming down, too little or too early
    to say. Without untreated blocks there are the figures alone; docs/methods.md has the rule. It says nothing of what
    was applied, and is no advice. A mode-of-action group in the grower's words ("group 5") that was noted against two
    generations running is pointed out.
    """
    from roundtui.report.figures.treatments import treatments_json, treatments_tables
    from roundtui.store.figures.treatments import read_groups_again, read_treated

    with cl.at(folder) as here:
        day = here.day(on, TREATMENTS)
        found, _ = read_treated(here.conn, here.office, day)
        known, again = here.programme, read_groups_again(here.conn, here.office, day, found)
    cl.show_either(as_json, lambda: treatments_json(found, known), lambda _: treatments_tables(found, known, again))


@cl.on_folder()
@click.option("--route", metavar="ROUTE", required=True, help="The route whose sheet it is.")
@click.option("--on", type=cl.DAY, metavar="DATE", help="Day at the head of the sheet. Default: today.")
@click.option(
    "--to", type=cl.FOLDER, metavar="FILE", help="Write to FILE; as HTML where it ends in .html. Default: print."
)
def sheet(folder: Path, route: str, on: date | None, to: Path | None) -> None:
    """Print the blank tally sheet of a route for the clipboard, with what is due on each trap.

    Its rows stand in the order of the tally sheet in the app. It prints on A4 and on Letter, in black and white.
    """
    from roundtui.domain.paper.sheet import in_order, paper
    from roundtui.domain.programme.rounds import traps_to_walk
    from roundtui.store.figures.summary import summary_of
    from roundtui.store.paper.sheets import layout

    day = on or cl.today()
    with cl.at(folder) as here:
        found = summary_of(here.conn, here.office, day)
        known = found.programme
        route = here.route(route) or ""
        order = in_order(traps_to_walk(known, route, day), layout(here.conn, route))
    made = paper(known, route, day, order, visits=found.history.visits, upkeep=found.summary.upkeep)
    from roundtui.report.paper import sheet_html, sheet_text

    if to is None:
        click.echo(sheet_text(made), nl=False)
        return
    write_whole(to, sheet_html(made) if to.suffix.lower() in (".html", ".htm") else sheet_text(made))
    cl.say(f"{to}: {several(made.rows, 'row')} of route {sanitize(route, 40)}")


@click.command()
@click.argument("first", type=cl.FOLDER, metavar="FIRST.csv")
@click.argument("second", type=cl.FOLDER, metavar="SECOND.csv")
def compare(first: Path, second: Path) -> None:
    """Hold double entry of one paper sheet against each other; nothing is recorded.

    Rows are matched by trap and day. It ends with 1 where the two disagree.
    """
    from roundtui.domain.paper.double_entry import compare as hold_together
    from roundtui.report.text import tabled
    from roundtui.store.round.tally_file import read_double_entry

    found = hold_together(read_double_entry(first), read_double_entry(second))
    names = [sanitize(name, 30).replace("|", " ") for name in (first.name, second.name)]
    rows = []
    for difference in found.differences:
        row = difference.row
        for field in difference.fields or ("",):
            what = field.replace("_", " ") or "row"
            cells = (row.trap, row.read_on.isoformat(), what, *difference.values(field))
            rows.append(("", [sanitize(cell, 200) for cell in cells]))
    if found.differences:
        cl.show(tabled(f"Trap 10|Day 10|What 12|{names[0]} 22|{names[1]}", cl.columns(), rows))
    cl.say(f"{several(found.rows, 'row')} compared, {len(found.differences)} of them differ")
    if found.differences:
        raise click.exceptions.Exit(ExitCode.PROBLEM)


COMMANDS = (record, samples, treatment, treatments, compare, sheet)
"""The commands of this file."""
