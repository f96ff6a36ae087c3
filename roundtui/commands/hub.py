"""Commands for whoever runs a hub: they print SQL, and look whether the hub is as it should be."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from roundtui.command_line import FOLDER, say
from roundtui.errors import ExitCode

if TYPE_CHECKING:
    from roundtui.store.checks.verify import Check


@click.group()
def hub() -> None:
    """Run a hub: a PostgreSQL database in which many laptops meet; see docs/hub.md."""


@hub.command()
def sql() -> None:
    """Print the SQL that makes a hub of an empty database; run again, it brings the hub up to date.

    For example: roundtui hub sql | psql --single-transaction -d orchard
    """
    from roundtui.store.hub.sql import schema_sql

    click.echo(schema_sql(), nl=False)


@hub.command()
@click.argument("name")
@click.option("--group", "groups", multiple=True, help="Group of farms, as in farms.csv; may be given several times.")
@click.option("--office", default="office", show_default=True, help="Its office; another office's farms are unseen.")
@click.option("--laptop", default="", metavar="ID", help="Id of the laptop; without it, the first one that sends.")
@click.option("--carries", is_flag=True, help="Also hands on what laptops recorded that never come to the hub.")
@click.option("--reader", is_flag=True, help="Reads statistics alone: no names, no addresses, no notes.")
def laptop(name: str, groups: tuple[str, ...], **granted: Any) -> None:
    r"""Print the SQL that lets a laptop in under the role NAME, or grants it other groups.

    Without --group it sees the farms that are in none. Give the role a password in psql: \password NAME
    """
    from roundtui.store.hub.sql import person_sql

    click.echo(person_sql(name, groups, **granted), nl=False)


@hub.command()
@click.argument("service")
@click.option("--days", default=7, show_default=True, help="Name laptops that sent nothing for so many days.")
def check(service: str, days: int) -> None:
    """Try each right on the hub of SERVICE and withdraw it; name silent laptops and other versions."""
    from roundtui.store.hub.check import check_hub

    _show(check_hub(_service(service), datetime.now(UTC), days))


@hub.command()
@click.argument("service")
@click.argument("folder", type=FOLDER)
def verify(service: str, folder: Path) -> None:
    """Hold the hub of SERVICE against the record of FOLDER: digests, what is there, and what was sent."""
    from roundtui.store.connect import open_store
    from roundtui.store.hub.check import verify_hub

    with closing(open_store(folder, now=datetime.now(UTC))) as conn:
        _show(verify_hub(conn, _service(service)))


def _service(name: str) -> str:
    from roundtui.store.hub.connection import PREFIX, service_of

    return service_of(PREFIX + name.removeprefix(PREFIX)) or ""


def _show(checks: Iterable[Check]) -> None:
    from roundtui.commands.exchange import show_checks

    if show_checks(checks):
        say("What to do: see docs/hub.md; run what roundtui hub sql prints again, and ask for a backup of the hub.")
        raise click.exceptions.Exit(ExitCode.PROBLEM)


COMMANDS = (hub,)
"""The commands of this file."""
