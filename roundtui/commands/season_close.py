"""Commands of the close of a season: what to take down, and what trap bodies have held."""

from __future__ import annotations

import json
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import click

from roundtui.command_line import DAY, FOLDER, opened
from roundtui.errors import RoundtuiError

_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON instead of words.")
_ON = click.option("--on", type=DAY, metavar="DATE", help="The day. Default: the newest day on record.")


@click.command("taking-down")
@click.argument("folder", type=FOLDER)
@_ON
@_JSON
def taking_down(*, folder: Path, on: date | None, as_json: bool) -> None:
    """List the traps to take down in the order of the routes, with their parts.

    Then the parts that are put away, by species and place, those nobody said anything about, bodies that smell of
    another species, and what the season cost.
    """
    from roundtui.store.office import read_office
    from roundtui.store.traps.parts import newest_day, read_close

    with closing(opened(folder).conn) as conn:
        day = on or newest_day(conn) or datetime.now(UTC).astimezone().date()
        close = read_close(conn, read_office(folder), day)
    if as_json:
        from roundtui.report.traps.parts import taking_down_json

        click.echo(json.dumps(taking_down_json(close), indent=2))
        return
    from rich.console import Console

    from roundtui.report.traps.parts import taking_down_tables

    console = Console(highlight=False, markup=False, emoji=False)
    for part in taking_down_tables(close):
        console.print(part)


@click.command()
@click.argument("folder", type=FOLDER)
@click.option("--label", metavar="L", help="Only the body of this label. Default: every body with a label.")
@_ON
@_JSON
def bodies(*, folder: Path, label: str | None, on: date | None, as_json: bool) -> None:
    """Say what each trap body has held, with the days, and where it is.

    A body that held a lure of another species keeps its scent, and is marked.
    """
    from roundtui.domain.round.checks import in_case, nearest
    from roundtui.domain.text import plain
    from roundtui.domain.traps.entries import PartKind
    from roundtui.store.traps.parts import known_on, newest_day

    with closing(opened(folder).conn) as conn:
        day = on or newest_day(conn) or datetime.now(UTC).astimezone().date()
        known = known_on(conn, day)
    if label is not None:
        labels = [name for kind, name in known.parts if kind is PartKind.BODY]
        label = in_case(label, labels)
        if label not in labels:
            hint = nearest(label, labels) or "roundtui bodies lists those with a label"
            raise RoundtuiError(f"no body {plain(label, 40)} is on record", hint)
    if as_json:
        from roundtui.report.traps.parts import bodies_json

        click.echo(json.dumps(bodies_json(known, label or ""), indent=2))
        return
    from rich.console import Console

    from roundtui.report.traps.parts import bodies_tables

    console = Console(highlight=False, markup=False, emoji=False)
    for part in bodies_tables(known, label or ""):
        console.print(part)


COMMANDS = (taking_down, bodies)
"""The commands of this file."""
