"""Commands for sheets that come in on paper."""

from __future__ import annotations

from pathlib import Path

import click

from roundtui.command_line import FOLDER, say
from roundtui.errors import ExitCode


@click.command()
@click.argument("first", type=FOLDER, metavar="FIRST.csv")
@click.argument("second", type=FOLDER, metavar="SECOND.csv")
def compare(first: Path, second: Path) -> None:
    """Hold two keyings of one paper sheet against each other; nothing is recorded.

    Rows are matched by trap and day. It ends with 1 where the two disagree.
    """
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    from roundtui.domain.paper.double_entry import compare as hold_together
    from roundtui.domain.text import plain
    from roundtui.store.round.tally_file import read_keying

    found = hold_together(read_keying(first), read_keying(second))
    console = Console(highlight=False, markup=False, emoji=False)
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, width=console.width, header_style="underline")
    for title in ("Trap", "Day", "What", first.name, second.name):
        table.add_column(Text(plain(title, 30)), overflow="fold")
    for difference in found.differences:
        row = difference.row
        for field in difference.fields or ("",):
            values = difference.values(field) if field else _there(difference.first is not None)
            cells = (row.trap, row.read_on.isoformat(), field.replace("_", " ") or "row", *values)
            table.add_row(*(Text(plain(cell, 200)) for cell in cells))
    if found.differences:
        console.print(table)
    say(f"{found.rows} rows keyed, {len(found.differences)} of them differ")
    if found.differences:
        raise click.exceptions.Exit(ExitCode.PROBLEM)


def _there(in_first: bool) -> tuple[str, str]:
    return ("keyed", "no such row") if in_first else ("no such row", "keyed")


COMMANDS = (compare,)
"""The commands of this file."""
