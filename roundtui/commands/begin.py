"""Beginning a programme of one's own, and bringing tables into it."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from roundtui.command_line import FOLDER, at, on_folder, say, say_problems, so_far
from roundtui.domain.text import several
from roundtui.errors import ExitCode, Problem, ProblemsError, RefusedError

if TYPE_CHECKING:
    from roundtui.store.begin import Beginning
    from roundtui.store.bring.answers import Question


@on_folder()
@click.option("--office", default="", metavar="NAME", help="Name of the office, as it signs its letters.")
@click.option("--unit", type=click.Choice(["F", "C"], case_sensitive=False), help="Unit of temperatures. Default: F.")
@click.option("--timezone", metavar="TZ", help="Time zone, as America/New_York. Default: this computer's.")
@click.option("--farm", "farms", multiple=True, metavar="CODE=NAME", help="A farm; may be given again.")
def new(folder: Path, office: str, unit: str | None, timezone: str | None, farms: tuple[str, ...]) -> None:
    """Begin an empty programme in FOLDER: every set-up file with its header, and no rule but those that ship."""
    from roundtui.domain.units import TempUnit
    from roundtui.store.begin import Beginning, begin, known_zone, machine_zone

    if timezone is not None and not known_zone(timezone):
        raise click.BadParameter(
            f"{timezone!r} is no time zone; write one as America/New_York", param_hint="--timezone"
        )
    pairs = []
    for text in farms:
        code, found, name = (part.strip() for part in text.partition("="))
        if not (code and found and name):
            raise click.BadParameter(f"{text!r} is no farm; write it as HF=Hollow Farm", param_hint="--farm")
        pairs.append((code, name))
    beginning = Beginning(" ".join(office.split()), TempUnit(unit or "F"), timezone or machine_zone(), tuple(pairs))
    begin(folder, beginning, datetime.now(UTC))
    say_begun(folder, beginning)
    if unit is None:
        say("Temperatures without a unit are taken as F; --unit C, or unit in models.toml, for Celsius.")
    if timezone is None:
        say(f"The time zone is this computer's, {machine_zone()}; timezone in models.toml changes it.")


def say_begun(folder: Path, beginning: Beginning) -> None:
    """Say what a new programme begins with, what judges and what comes next.

    Args:
        folder: Its folder.
        beginning: What it begins with.
    """
    from contextlib import closing

    from roundtui.domain.programme.rounds import next_step, steps
    from roundtui.store.folder import open_folder
    from roundtui.store.record.read import programme

    say(f"{folder} is ready: {beginning.unit}, {beginning.timezone}.")
    say_rules(folder)
    with closing(open_folder(folder, now=datetime.now(UTC)).conn) as conn:
        step = next_step(steps(programme(conn), 0))
    if step is not None:
        say(f"Next: {step.name}, each {step.words}.")
        brought = f"or bring a table of yours: roundtui bring {folder} FILE --as {step.name}"
        say(f"Fill {step.file} with a spreadsheet, {brought}.")


def say_rules(folder: Path) -> None:
    """Say which rules judge where the office has none of its own.

    Args:
        folder: The scouting folder.

    Raises:
        ProblemsError: thresholds.toml cannot be used.
    """
    from roundtui.store.office import read_office

    rules = read_office(folder).rules
    if any(rule.office for rule in rules):
        return
    shipped = ", ".join(f"{rule.name} ({_band(rule.low, rule.high)})" for rule in rules)
    say(f"No rule of the office's own: those that ship judge, {shipped}.")


def _band(low: object, high: object) -> str:
    return f"{low}" if low == high else f"{low} to {high}"


def offer_programme(folder: Path) -> None:
    """Offer to begin a programme in a folder that holds none, in a form.

    Args:
        folder: The folder; it may be missing.

    Raises:
        RefusedError: Nothing was begun.
    """
    from roundtui.app.dialogs.begin import BeginApp
    from roundtui.app.themes import fit

    app = BeginApp(folder, lambda: datetime.now(UTC))
    fit(app, os.environ)
    beginning = app.run()
    if app.fault is not None:
        raise app.fault
    if beginning is None:
        raise RefusedError("nothing was changed", "roundtui demo shows a programme; roundtui new begins one")
    say_begun(folder, beginning)


@on_folder()
@click.argument("file", type=FOLDER)
@click.option(
    "--as",
    "kind",
    required=True,
    type=click.Choice(["farms", "blocks", "traps", "lots", "routes", "counts", "weather"]),
    help="What the table holds.",
)
@click.option("--map", "given", type=FOLDER, metavar="FILE", help="What its columns and marks mean; kept in mappings.")
@click.option("--dates", type=click.Choice(["dmy", "mdy", "ymd"]), help="Order of day, month and year.")
@click.option("--scout", metavar="NAME", help="Who read, where no column says it. Default: the name kept in the app.")
@click.option("--dry-run", is_flag=True, help="Only show what it was read as.")
@click.option("--yes", is_flag=True, help="Do not ask before it is written.")
def bring(
    *, folder: Path, file: Path, kind: str, given: Path | None, dates: str | None, scout: str | None, **how: bool
) -> None:
    """Bring in a table of your own: CSV of any kind or a spreadsheet, counts one a row or one column a trap or a day.

    It is shown what it was read as, what is unclear is asked, and nothing is written before you say so. The same table
    again adds nothing; a longer one adds what is new. Rows that cannot be taken are named and left out. Counts of past
    seasons bring the hangings of those seasons with them.
    """
    from roundtui.store.bring.answers import read_answers
    from roundtui.store.bring.bring import preview, write
    from roundtui.store.bring.table import Kind
    from roundtui.store.record.journal import Author
    from roundtui.store.record.lanes import device_name

    with at(folder) as here:
        path, name = here.file(file), here.scout(scout)
        if not name and kind == Kind.COUNTS:
            raise click.UsageError("whose counts are they? Add --scout NAME")
        now = datetime.now(UTC)
        answers = read_answers(folder, Kind(kind), path, given, dates)
        found = preview(here.conn, answers, scout=name, now=now)
        while found.questions and sys.stdin.isatty() and not how["dry_run"]:
            for question in found.questions:
                answers.take(question, _asked(question))
            found = preview(here.conn, answers, scout=name, now=now)
        for line in found.words:
            say(f"  {line}")
        for line in found.table():
            say(f"    {line}")
        faults = found.problems
        if faults:
            say("Left out:")
            say_problems(faults)
        _refuse_open(found.questions)
        if how["dry_run"]:
            say("Nothing was written: --dry-run.")
        elif found.brings or given is not None:
            ask = f"Write {several(found.brings, 'row')}?"
            if not how["yes"] and not (sys.stdin.isatty() and click.confirm(ask, default=False, err=True)):
                raise RefusedError("nothing was written", "add --yes to write it")
            author = Author(name or "bring", device_name())
            tell = partial(so_far, path.name, total=found.brings)
            brought = write(here.conn, found, author=author, now=now, progress=tell)
            say(f"{path.name}: {brought.words}")
            say_problems([*brought.remarks, *brought.problems])
            faults = (*faults, *brought.problems)
        else:
            say(f"{path.name}: nothing new")
    if faults:
        raise click.exceptions.Exit(ExitCode.PROBLEM)


def _asked(question: Question) -> str:
    """The answer to a question, one of its choices by number where it has any."""
    say(question.words)
    for number, (_, words) in enumerate(question.choices, 1):
        say(f"  {number}  {words}")
    if not question.choices:
        return str(click.prompt("Answer", err=True)).strip()
    number = click.prompt("Number", type=click.IntRange(1, len(question.choices)), err=True)
    return question.choices[number - 1][0]


def _refuse_open(questions: Sequence[Question]) -> None:
    """Refuse to go on where something has to be asked, and nobody is there to ask.

    Raises:
        ProblemsError: Something is open.
    """
    if not questions:
        return
    hints = {
        "dates": "say it with --dates dmy, mdy or ymd",
        "column": 'say it in a file for --map: [columns], "heading" = "column"',
        "mark": 'say it in a file for --map: [marks], "mark" = "blank", "0" or a reason',
    }
    problems = tuple(
        Problem("", one.words, hints.get(one.about, f'say it in a file for --map: {one.about} = "…"'))
        for one in questions
    )
    raise ProblemsError("nothing was written, since something has to be known first", problems)


COMMANDS = (new, bring)
"""The commands of this file."""
