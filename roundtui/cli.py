"""The command line: parse, call, print. Each command imports what it needs, so that small ones start fast.

Data goes to standard output and words to standard error; see ``ExitCode`` for what a command ends with.
"""

from __future__ import annotations

import gc
from contextlib import closing, suppress
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from roundtui import __version__
from roundtui import command_line as cl
from roundtui.commands import ELSEWHERE
from roundtui.domain.text import sanitize, several, several_of
from roundtui.errors import ExitCode, Problem, ProblemsError, RefusedError, RoundtuiError

if TYPE_CHECKING:
    import sqlite3

    from roundtui.store.round.enter import EnterReport

_ROUTE = click.option("--route", metavar="ROUTE", help="Only this route.")


@click.group(
    cls=cl.Commands, elsewhere=ELSEWHERE, context_settings={"help_option_names": ["--help"], "max_content_width": 100}
)
@click.version_option(__version__, prog_name="roundtui", message="%(prog)s %(version)s")
def main() -> None:
    """The weekly scouting round of an orchard pest-trapping programme, at the keyboard.

    Without a command the app opens on FOLDER, or on the folder you are in.
    """


@main.command("open")
@click.argument("folder", type=cl.FOLDER, default=".")
@click.option(
    "--on", type=cl.DAY, metavar="DATE", help="Open as of this day; readings after it are refused. Default: today."
)
@click.option("--scout", metavar="NAME", help="Who is scouting. Default: the name kept from before.")
def open_app(folder: Path, on: date | None, scout: str | None) -> None:
    """Open the app on a scouting folder (the word open may be left out)."""
    _open(folder, on, scout)


@main.command()
@click.argument("folder", type=cl.FOLDER)
@click.option("--yes", is_flag=True, help="Take in temperatures that look like the other unit as they are.")
def load(folder: Path, *, yes: bool) -> None:
    """Read the set-up files of FOLDER into its store.

    Only rows that changed are applied. Where anything is wrong with a file, nothing is. A row that was changed here as
    well, in the register or by taking over another laptop's, is named, stays as it is here, and waits to be settled;
    see conflicts. roundtui set-up writes the files as the register stands.
    """
    from roundtui.store.folder import open_folder
    from roundtui.store.set_up.load import load_folder

    now = datetime.now(UTC)
    found = cl.asked_once(lambda sure: open_folder(folder, now=now, sure=sure), sure=yes)
    with closing(found.conn) as conn:
        report = found.report or load_folder(conn, folder, now)
        cl.say_loaded(report)
        if not report.changed and not report.contested:
            cl.say(f"{folder}: nothing new")
        usable = _say_office(conn, folder)
    if report.contested or not usable:
        raise click.exceptions.Exit(ExitCode.PROBLEM)


def _say_office(conn: sqlite3.Connection, folder: Path) -> bool:
    """Say what judges, what of it is invented, and which file of the office cannot be used; whether all can."""
    from roundtui.commands.begin import say_rules
    from roundtui.store.invented import invented_in
    from roundtui.store.record.read import programme

    refused: list[ProblemsError] = []
    found = invented_in(conn, folder, programme(conn).farms, refused.append)
    for error in refused:
        cl.say("The set-up files are loaded, but " + error.message)
        cl.say_problems(error.problems)
    with suppress(ProblemsError):
        say_rules(folder)
    for what in found:
        cl.say(f"Not for use: {what} is invented. Put your own in its place before anybody acts on it.")
    return not refused


@main.command()
@click.argument("folder", type=cl.FOLDER)
@click.argument("tally", type=cl.FOLDER, metavar="TALLY.csv")
@click.option("--scout", metavar="NAME", help="Who read the traps. Default: the name kept in the app.")
def enter(folder: Path, tally: Path, scout: str | None) -> None:
    """Record a tally file.

    A row is known by trap, day and scout: what is on record is not added twice. Rows that disagree with the record are
    named and not applied.
    """
    from roundtui.store.figures.learned import renew
    from roundtui.store.round.enter import enter_tally

    gc.disable()
    with cl.at(folder) as here:
        author = here.author(scout, "who read the traps?")
        report = enter_tally(here.conn, here.file(tally), author, datetime.now(UTC), cl.today())
        found = _found(here, report)
        renew(here.conn, here.office, past=True)
    counts = [
        (report.added, "added"),
        (len(report.stages), f"{several_of('stages', len(report.stages))} added"),
        (report.known, "on record before"),
        (len(report.no_entry), "without an entry"),
        (len(report.disagreements), "not applied"),
    ]
    cl.say(f"{tally.name}: {cl.amount(counts)}")
    cl.say_problems([*found, *report.no_entry, *report.remarks, *report.disagreements])
    if report.disagreements:
        raise click.exceptions.Exit(ExitCode.PROBLEM)


def _found(here: cl.Here, report: EnterReport) -> list[Problem]:
    """What the lures found in a tally have changed, one line for each; nothing is read where none was found."""
    if not report.found:
        return []
    from roundtui.report.figures.changes import found_words
    from roundtui.store.figures.found_lures import found_changes

    try:
        changes = found_changes(here.conn, here.office, report.found)
    except RoundtuiError as error:
        return [Problem("", "what the lures found have changed is not known", str(error))]
    return [
        Problem(f"{sanitize(visit.trap, 40)} on {visit.read_on}", f"lure found; {found_words(change)}", "")
        for visit, change in changes
    ]


@main.command()
@click.argument("folder", type=cl.FOLDER, metavar="FOLDER|hub:SERVICE")
@click.option("--on", type=cl.DAY, metavar="DATE", help="Last of the seven days. Default: the newest day on record.")
@click.option(
    "--as-recorded-at", "at", type=cl.INSTANT, metavar="INSTANT", help="What the record showed at that instant."
)
@_ROUTE
@cl.JSON
def summary(folder: Path, on: date | None, at: datetime | None, route: str | None, as_json: bool) -> None:
    """Summarise the seven days that end on a day.

    Of a hub what its groups show is read first, into a folder that is kept for the next time.
    """
    gc.disable()
    from roundtui.store.figures.summary import summary_of
    from roundtui.store.record.chains import as_recorded_or_now
    from roundtui.store.record.read import programme_for
    from roundtui.store.round.conflicts import open_conflicts

    folder = cl.read_from_hub(folder)
    with cl.at(folder) as here, as_recorded_or_now(here.conn, at):
        day = here.day(on)
        here.programme = known = programme_for(here.conn, day, here.office)
        made = summary_of(here.conn, here.office, day, route=here.route(route), programme=known, whole=False)
        asked = not as_json and at is None
        found = open_conflicts(here.conn, known, day - timedelta(days=6)) if asked else ()
    gc.freeze()  # Hundreds of thousands of records and no garbage among them: nobody need look, at the end neither.
    if as_json:
        from roundtui.report.figures.summary import summary_json

        cl.show_json(summary_json(made.summary))
    else:
        from roundtui.report.figures.sections import summary_page

        cl.show(summary_page(made, width=cl.columns()))
        listed = {entry for row in made.summary.conflicts for entry in row.entries}
        others = sum(not listed & set(one.ids) and min(row.read_on for row in one.entries) <= day for one in found)
        if others:
            cl.say(f"{several(others, 'more conflict')} of these days open; see roundtui conflicts")


@main.command()
@click.argument("folder", type=cl.FOLDER)
@click.option("--on", type=cl.DAY, metavar="DATE", required=True, help="Last of the seven days.")
@_ROUTE
@cl.JSON
def replay(folder: Path, on: date, route: str | None, as_json: bool) -> None:
    """Show the entries of seven days in the order recorded, corrections included."""
    from roundtui.report.round.replay import replay_json, replay_table
    from roundtui.store.record.read import journal_rows

    with cl.at(folder) as here:
        known, route = here.programme, here.route(route)
        traps = None if route is None else frozenset(known.routes[route])
        blocks = None if traps is None else frozenset(row.block for row in known.traps if row.trap in traps)
        rows = journal_rows(here.conn, on - timedelta(days=6), on, traps, blocks)
    cl.show_either(as_json, lambda: replay_json(rows), lambda width: replay_table(rows, width=width))


@main.command()
@click.argument("folder", type=cl.FOLDER)
@click.argument("backup", type=cl.FOLDER)
def restore(folder: Path, backup: Path) -> None:
    """Put a backup in place of the store, keeping the present file beside it.

    What is on record and not in the backup is said first, by day and person; merge brings it back from the kept file.
    """
    import shlex

    from roundtui.store.backup import restore as put_in_place
    from roundtui.store.checks.verify import lacking

    if missing := lacking(folder, backup):
        cl.say(f"on record here and not in {backup.name}:")
        for words in missing:
            cl.say(f"  {words}")
    kept = put_in_place(folder, backup, datetime.now(UTC))
    cl.say(f"{backup} is in place now")
    if kept is not None:
        cl.say(f"the file that was there before is kept as {kept}")
        if missing:
            cl.say(f"to bring its entries back: {shlex.join(['roundtui', 'merge', str(folder), str(kept)])}")


@main.command()
@click.option("--to", type=cl.FOLDER, help="Folder to make. Default: a scratch folder.")
@click.option("--no-open", is_flag=True, help="Only make it ready; print where it is.")
def demo(to: Path | None, no_open: bool) -> None:
    """Try the tool on an invented programme, ready loaded, on its own running day."""
    from tempfile import mkdtemp

    from roundtui.store.demo import prepare_demo

    ready = prepare_demo(to if to is not None else Path(mkdtemp(prefix="roundtui-demo-")))
    cl.say(f"The sample farm is in {ready.folder}: invented people, places and catches, on {ready.on}.")
    if no_open:
        click.echo(ready.folder)
        return
    _open(ready.folder, ready.on, ready.scout)


def _open(folder: Path, on: date | None, scout: str | None) -> None:
    import sys

    from roundtui.domain.round.checks import nearest
    from roundtui.store.db import check_folder

    commands = () if folder.exists() else main.list_commands(click.Context(main))
    if meant := nearest(str(folder), commands, "did you mean the command roundtui", 0.7):
        raise RefusedError(f"there is no folder {folder}", f"{meant} To begin a programme: roundtui new {folder}")
    empty = not folder.exists() or (folder.is_dir() and not any(folder.iterdir()))
    if not empty or not sys.stdin.isatty():
        check_folder(folder)
    if not sys.stdin.isatty():
        raise RefusedError("the app needs a terminal and a keyboard", "see roundtui --help for what runs without")
    cl.refuse_plain_terminal()
    if empty:
        from roundtui.commands.begin import offer_programme

        offer_programme(folder)
    from roundtui.app import run_app

    code = run_app(folder, on=on, scout=" ".join(scout.split()) if scout else None)
    raise click.exceptions.Exit(code)
