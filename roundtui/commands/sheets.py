"""Commands for sheets of paper: the blank one for the clipboard, and two that were typed from one sheet."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from roundtui.command_line import DAY, FOLDER, at, on_folder, say, terminal, today
from roundtui.errors import ExitCode
from roundtui.store.files import write_whole


@on_folder()
@click.option("--route", metavar="ROUTE", required=True, help="The route whose sheet it is.")
@click.option("--on", type=DAY, metavar="DATE", help="Day at the head of the sheet. Default: today.")
@click.option(
    "--to", type=FOLDER, metavar="FILE", help="Write to FILE; as HTML where it ends in .html. Default: print."
)
def sheet(folder: Path, route: str, on: date | None, to: Path | None) -> None:
    """Print the blank tally sheet of a route for the clipboard, with what is due on each trap.

    Its rows stand in the order of the tally sheet in the app. It prints on A4 and on Letter, in black and white.
    """
    from roundtui.domain.paper.sheet import in_order, paper
    from roundtui.domain.programme.rounds import traps_to_walk
    from roundtui.domain.text import sanitize
    from roundtui.store.figures.summary import summary_of
    from roundtui.store.paper.sheets import layout

    day = on or today()
    with at(folder) as here:
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
    say(f"{to}: {made.rows} rows of route {sanitize(route, 40)}")


@click.command()
@click.argument("first", type=FOLDER, metavar="FIRST.csv")
@click.argument("second", type=FOLDER, metavar="SECOND.csv")
def compare(first: Path, second: Path) -> None:
    """Hold double entry of one paper sheet against each other; nothing is recorded.

    Rows are matched by trap and day. It ends with 1 where the two disagree.
    """
    from rich.table import Table
    from rich.text import Text

    from roundtui.domain.paper.double_entry import compare as hold_together
    from roundtui.domain.text import sanitize
    from roundtui.store.round.tally_file import read_double_entry

    found = hold_together(read_double_entry(first), read_double_entry(second))
    console = terminal()
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, width=console.width, header_style="underline")
    for title in ("Trap", "Day", "What", first.name, second.name):
        table.add_column(Text(sanitize(title, 30)), overflow="fold")
    for difference in found.differences:
        row = difference.row
        for field in difference.fields or ("",):
            there = ("no such row", "keyed") if difference.first is None else ("keyed", "no such row")
            values = difference.values(field) if field else there
            cells = (row.trap, row.read_on.isoformat(), field.replace("_", " ") or "row", *values)
            table.add_row(*(Text(sanitize(cell, 200)) for cell in cells))
    if found.differences:
        console.print(table)
    say(f"{found.rows} rows keyed, {len(found.differences)} of them differ")
    if found.differences:
        raise click.exceptions.Exit(ExitCode.PROBLEM)


COMMANDS = (compare, sheet)
"""The commands of this file."""
