"""The command of looks at leaf and fruit."""

from __future__ import annotations

import json
from contextlib import closing
from datetime import date
from pathlib import Path

import click

from roundtui.command_line import DAY, FOLDER, opened
from roundtui.errors import RoundtuiError


@click.command()
@click.argument("folder", type=FOLDER)
@click.option("--on", type=DAY, metavar="DATE", help="Last day of the season to list. Default: the newest on record.")
@click.option("--block", metavar="BLOCK", help="Only this block.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON instead of words.")
def looks(folder: Path, on: date | None, block: str | None, *, as_json: bool) -> None:
    """Looks at leaf and fruit of the season: what was found, with its interval, and what a published plan says of it.

    A verdict says on which side of a published number a look came out. It is no advice.
    """
    from roundtui.domain.figures.history import season_start
    from roundtui.domain.sampling.findings import look_row, look_table
    from roundtui.report.sampling.samples import looks_json, looks_tables
    from roundtui.store.beside import newest_day, present
    from roundtui.store.office import read_office
    from roundtui.store.read import newest_read_on, programme
    from roundtui.store.rows import SAMPLES

    with closing(opened(folder).conn) as conn:
        office, known = read_office(folder), programme(conn)
        if block is not None and block not in known.blocks:
            from roundtui.domain.round.checks import nearest
            from roundtui.domain.text import plain

            hint = nearest(block, known.blocks) or "blocks are set up in blocks.csv"
            raise RoundtuiError(f"there is no block {plain(block, 40)}", hint)
        newest = [day for day in (newest_read_on(conn), newest_day(conn, SAMPLES)) if day is not None]
        day = on or max(newest, default=date.today())  # noqa: DTZ011
        table = look_table(office)
        found = present(conn, SAMPLES, season_start(day, office.season_starts_on), day)
    rows = [look_row(look, table) for look in found if block is None or look.block == block]
    if as_json:
        click.echo(json.dumps(looks_json(rows, known), indent=2))
        return
    from rich.console import Console

    console = Console(highlight=False, markup=False, emoji=False)
    for part in looks_tables(rows, known):
        console.print(part)


COMMANDS = (looks,)
"""The commands of this file."""
