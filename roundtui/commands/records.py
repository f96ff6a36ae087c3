"""Commands of entries beside the weekly count: a file of them is recorded, leaf and fruit samples are listed."""

from __future__ import annotations

from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import click

from roundtui.command_line import (
    DAY,
    FOLDER,
    JSON,
    amount,
    known_label,
    newest_or,
    opened,
    say,
    say_problems,
    show,
    show_json,
)
from roundtui.errors import Problem

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


COMMANDS = (record, samples)
"""The commands of this file."""
