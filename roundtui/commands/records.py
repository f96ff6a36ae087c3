"""The command that records files of entries made beside the weekly count."""

from __future__ import annotations

from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from roundtui.command_line import FOLDER, amount, opened, say, say_problems

if TYPE_CHECKING:
    from roundtui.errors import Problem

_KINDS = ("looks", "treatments", "specimens", "parts", "assemblies", "stock")


@click.command()
@click.argument("kind", type=click.Choice(_KINDS))
@click.argument("folder", type=FOLDER)
@click.argument("file", type=FOLDER, metavar="FILE.csv")
@click.option("--scout", metavar="NAME", help="Whose entries they are. Default: the name kept in the app.")
def record(kind: str, folder: Path, file: Path, scout: str | None) -> None:
    """Record a file of looks, treatments, specimens, parts, assemblies or stock.

    All of it or nothing: where anything in the file is malformed or impossible, nothing is added. What is on record is
    not added twice. What speaks against a trap as it is made up is named, and nothing is refused for it. The columns
    are described in docs/open-files.md.
    """
    from roundtui.store.device import device_name
    from roundtui.store.journal import Author
    from roundtui.store.read import setting
    from roundtui.store.round.entry_files import record_file

    with closing(opened(folder).conn) as conn:
        name = " ".join((scout or setting(conn, "scout") or "").split())
        if not name:
            raise click.UsageError("whose entries are they? Add --scout NAME")
        path = file if file.exists() or not (folder / file).exists() else folder / file
        today = date.today()  # noqa: DTZ011
        report = record_file(conn, path, kind, Author(name, device_name()), now=datetime.now(UTC), today=today)
        named: tuple[Problem, ...] = ()
        if kind == "assemblies":
            from roundtui.domain.traps.entries import Assembled
            from roundtui.store.traps.parts import named_against

            named = named_against(conn, [one for one in report.added if isinstance(one, Assembled)])
    say(f"{file.name}: {amount([(len(report.added), 'added'), (report.known, 'on record before')])}")
    say_problems(named)


COMMANDS = (record,)
"""The commands of this file."""
