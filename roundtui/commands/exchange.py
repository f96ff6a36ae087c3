"""Commands by which laptops meet: bundles, a shared folder, a hub; conflicts, and whether a record is sound.

And for whoever runs a hub: its SQL, and whether it is as it should be.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import closing
from datetime import UTC, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from roundtui.command_line import FOLDER, Here, amount, at, columns, on_folder, say, say_problems, show, so_far, today
from roundtui.domain.text import parse_day, sanitize, several, several_of
from roundtui.errors import ExitCode
from roundtui.store.record.lanes import device_name

if TYPE_CHECKING:
    import sqlite3

    from roundtui.store.checks.verify import Check
    from roundtui.store.exchange.bundle import Since
    from roundtui.store.exchange.merge import MergeReport


@on_folder()
@click.option("--since", metavar="ID|DATE", help="Only what was recorded after an entry, or from a day on.")
@click.option("--to", type=FOLDER, required=True, metavar="FILE", help="The bundle to write.")
def pack(folder: Path, since: str | None, to: Path) -> None:
    """Write the entries of FOLDER into one bundle, for another laptop to merge.

    What an entry corrects or withdraws is packed with it, so bundles can be merged in any order.
    """
    from roundtui.store.exchange.bundle import pack as write

    mark = _mark(since)
    with at(folder) as here:
        packed = write(here.conn, to, device_name(), datetime.now(UTC), mark)
    say(f"{to.name}: {_kinds(packed.kinds)}")
    if packed.last:
        say(f"the next bundle can begin with --since {packed.last}")


@on_folder()
@click.argument("bundles", type=FOLDER, metavar="BUNDLE...", nargs=-1, required=True)
def merge(folder: Path, bundles: tuple[Path, ...]) -> None:
    """Add what BUNDLEs hold to the record of FOLDER; all of them, or none.

    Any number, in any order, any number of times: the record ends up the same. A backup, or the file that restore kept,
    counts as a bundle of all its entries.
    """
    from roundtui.store.exchange.merge import merge as add
    from roundtui.store.figures.learned import renew

    with at(folder) as here:
        report = add(here.conn, bundles, so_far, today())
        renew(here.conn, here.office, past=True)
        say(f"merged: {_brought(report)}")
        say_newer(report.unknown + report.fields)
        _say_conflicts(here)


@on_folder()
@click.argument("shared", metavar="SHARED|hub:SERVICE")
@click.option(
    *("--every", "minutes"),
    type=click.IntRange(0, 1440),
    metavar="MINUTES",
    help="From now on the app does it by itself: on opening, after a round, every so many minutes. 0: no longer.",
)
def exchange(folder: Path, shared: str, minutes: int | None) -> None:
    """Meet other laptops in a SHARED folder or at a hub: take in what they put there, and put there what is new here.

    Keep the scouting folder itself out of a shared one: its roundtui.db must never lie in a folder that is shared or
    synced. A hub is named by its service alone; its address and certificate are in ~/.pg_service.conf.
    """
    from roundtui.store.hub.connection import service_of

    service = service_of(shared)
    with at(folder) as here:
        if minutes is not None:
            from roundtui.store.hub.regular import keep_regular

            keep_regular(here.conn, shared, minutes)
        refused = _with_hub(here.conn, service) if service else _with_folder(here.conn, folder, Path(shared))
        _say_conflicts(here)
    if refused:
        raise click.exceptions.Exit(ExitCode.PROBLEM)


def _with_folder(conn: sqlite3.Connection, folder: Path, shared: Path) -> bool:
    """Exchange in a shared folder, say what it brought, and whether something was refused."""
    from roundtui.store.exchange.exchange import exchange as one_pass

    now = datetime.now(UTC)
    report = one_pass(conn, folder, shared, device=device_name(), now=now, progress=so_far, today=today())
    for name, merged in report.merged.items():
        say(f"{name}: {_brought(merged)}")
        say_newer(merged.unknown + merged.fields)
    if report.packed is not None:
        say(f"put there: {_kinds(report.packed.kinds)}")
    if report.packed is None and not report.merged:
        say("nothing new here or there")
    if report.unfinished:
        say("not complete yet; the next pass tries again:")
        say_problems(report.unfinished)
    say_problems(report.remarks + report.refused)
    return bool(report.refused)


def _with_hub(conn: sqlite3.Connection, service: str) -> bool:
    """Exchange with a hub, say what it brought, and whether something has to wait."""
    from roundtui.store.hub.exchange import exchange_with_hub

    report = exchange_with_hub(conn, service, today=today(), progress=so_far)
    if report.again:
        say("the hub was restored from a backup: everything was sent again")
    say(f"sent: {_kinds(report.pushed)}; taken in: {_kinds(report.added)}")
    say_newer(report.unknown + report.fields)
    if report.waiting:
        say("not taken in yet; the next exchange tries again:")
        say_problems(report.waiting)
    return bool(report.waiting)


def _kinds(kinds: Mapping[str, int]) -> str:
    return amount([(count, _words(kind, count)) for kind, count in kinds.items()])


@on_folder()
def conflicts(folder: Path) -> None:
    """List entries that cannot both hold, and set-up rows that differ, side by side, until someone settles them.

    Rows taken over from others that the CSV files of FOLDER do not have so yet are listed below, as the files can hold
    them.
    """
    from roundtui.report.round.replay import replay_table
    from roundtui.report.text import paragraph
    from roundtui.report.traps.register import row_table
    from roundtui.store.round.conflicts import open_conflicts
    from roundtui.store.set_up.versions import not_in_files, open_rows

    with at(folder) as here:
        found, rows, behind = open_conflicts(here.conn, here.programme), open_rows(here.conn), not_in_files(here.conn)
    if not found and not rows:
        say("no conflict is open")
    for conflict in found:
        show([paragraph(conflict.words, 0)])
        show(replay_table(conflict.entries, width=columns()))
        show(paragraph(row.id, 5) for row in conflict.entries)
    for set_up in rows:
        show(row_table(set_up, width=columns()))
    if rows:
        say("settle set-up rows in the app: m o at the desk, then Tab")
    for one in behind:
        click.echo(f"not in {one.file.name} yet: {sanitize(one.line, 2000)}")


@on_folder()
@click.option("--against", type=FOLDER, metavar="COPY", help="Also a backup, a bundle, or a folder of bundles.")
def verify(folder: Path, against: Path | None) -> None:
    """Check the record of FOLDER: the file, every entry and its place, the present state, clocks, loose ends.

    With --against, also whether it still has every entry that a copy of it knows, unchanged.
    """
    from roundtui.store.checks.verify import check_against
    from roundtui.store.checks.verify import verify as checks
    from roundtui.store.connect import open_store

    with closing(open_store(folder, now=datetime.now(UTC))) as conn:
        faults = show_checks(checks(conn, device_name(), so_far))
        beside = show_checks(check_against(conn, against)) if against else 0
    if faults or beside:
        own = "keep the file as it is, and see the backups; roundtui restore puts one in place"
        say(f"What to do: {own if faults else 'roundtui merge adds what is there and not here'}.")
        raise click.exceptions.Exit(ExitCode.PROBLEM)


def show_checks(checks: Iterable[Check]) -> int:
    """Print what each check looked at and found.

    Args:
        checks: The checks.

    Returns:
        How many faults there are.
    """
    from roundtui.store.checks.verify import MOST_NAMED

    faults = 0
    for check in checks:
        faults += len(check.faults)
        outcome = several(len(check.faults), "fault") if check.faults else "sound"
        click.echo(f"{check.what}: {check.looked_at} looked at, {outcome}")
        for words in (*check.faults[:MOST_NAMED], *check.remarks):
            click.echo(f"  {words}")
        if len(check.faults) > MOST_NAMED:
            click.echo(f"  and {len(check.faults) - MOST_NAMED} more")
    return faults


def _mark(since: str | None) -> Since | None:
    from roundtui.store.exchange.bundle import Since

    if since is None:
        return None
    day = parse_day(since)
    return Since(at=datetime.combine(day, time()).astimezone()) if day else Since(entry=since)


def _words(kind: str, count: int) -> str:
    from roundtui.domain.entries import KIND_OF

    if kind in KIND_OF:
        return several_of(KIND_OF[kind].name, count)
    return f"{'entry' if count == 1 else 'entries'} that only a newer roundtui knows"


def _brought(report: MergeReport) -> str:
    new = [(count, f"{_words(kind, count)} added") for kind, count in report.added.items()]
    return amount([*new, (report.known, "on record before")])


def say_newer(number: int) -> None:
    """One line on what only a newer program understands, where there is such.

    Args:
        number: How many of the entries that came say something of it.
    """
    if number:
        says = "says" if number == 1 else "say"
        say(
            f"{number} of them {says} something that only a newer roundtui understands:"
            " it is kept and handed on; install the newer version to see it"
        )


def _say_conflicts(here: Here) -> None:
    from roundtui.store.round.conflicts import open_conflicts
    from roundtui.store.set_up.versions import open_rows

    found = len(open_conflicts(here.conn, here.programme))
    if found:
        say(f"{found} {'conflict is' if found == 1 else 'conflicts are'} open; see roundtui conflicts")
    rows = len(open_rows(here.conn))
    if rows:
        say(f"{rows} set-up {'row differs' if rows == 1 else 'rows differ'}; see roundtui conflicts")


@click.group()
def hub() -> None:
    """Run a hub: a PostgreSQL database in which many laptops meet; see docs/hub.md."""


@hub.command()
def sql() -> None:
    """Print the SQL that makes a hub of an empty database; run again, it brings the hub up to date.

    For example: roundtui hub sql | psql --single-transaction -d orchard
    """
    from roundtui.store.hub.check import schema_sql

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
    from roundtui.store.hub.check import person_sql

    click.echo(person_sql(name, groups, **granted), nl=False)


@hub.command()
@click.argument("service")
@click.option("--days", default=7, show_default=True, help="Name laptops that sent nothing for so many days.")
def check(service: str, days: int) -> None:
    """Try each right on the hub of SERVICE and withdraw it; name silent laptops and other versions."""
    from roundtui.store.hub.check import check_hub

    _show(check_hub(_service(service), datetime.now(UTC), days))


@hub.command("verify")
@click.argument("service")
@click.argument("folder", type=FOLDER)
def verify_at_hub(service: str, folder: Path) -> None:
    """Hold the hub of SERVICE against the record of FOLDER: digests, what is there, and what was sent."""
    from roundtui.store.connect import open_store
    from roundtui.store.hub.check import verify_hub

    with closing(open_store(folder, now=datetime.now(UTC))) as conn:
        _show(verify_hub(conn, _service(service)))


def _service(name: str) -> str:
    from roundtui.store.hub.connection import PREFIX, service_of

    return service_of(PREFIX + name.removeprefix(PREFIX)) or ""


def _show(checks: Iterable[Check]) -> None:
    if show_checks(checks):
        say("What to do: see docs/hub.md; run what roundtui hub sql prints again, and ask for a backup of the hub.")
        raise click.exceptions.Exit(ExitCode.PROBLEM)


COMMANDS = (pack, merge, exchange, conflicts, verify, hub)
"""The commands of this file."""
