"""How the command line behaves whatever the command: opening without one, days, problems and faults in words."""

from __future__ import annotations

import sqlite3
import sys
from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from roundtui.errors import ExitCode, Problem, ProblemsError, RoundtuiError

if TYPE_CHECKING:
    from roundtui.store.folder import Opened

MOST_PROBLEMS = 50
"""How many problems are listed at once; the rest are counted."""


class Day(click.ParamType):  # type: ignore[type-arg]
    """A day in ISO 8601."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """The day, or wrong usage."""
        if isinstance(value, date):
            return value
        from roundtui.store.cells import parse_day

        day = parse_day(str(value).strip())
        if day is None:
            self.fail(f"{value!r} is no date; write it as 2026-05-01", param, ctx)
        return day


class Instant(click.ParamType):  # type: ignore[type-arg]
    """An instant in ISO 8601."""

    name = "instant"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> datetime:
        """The instant, or wrong usage."""
        if isinstance(value, datetime):
            return value
        from roundtui.store.past import parse_instant

        try:
            return parse_instant(str(value))
        except RoundtuiError as error:
            self.fail(f"{error.message}; {error.hint}", param, ctx)


DAY = Day()
INSTANT = Instant()
FOLDER = click.Path(path_type=Path)


class Commands(click.Group):
    """Commands, and opening the app where none is named."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Take what is no command for what the app is opened with."""
        first = args[0] if args else ""
        if first not in self.commands and first not in ("--help", "--version"):
            args = ["open", *args]
        return super().parse_args(ctx, args)

    def format_usage(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Say both ways."""
        formatter.write_usage(ctx.command_path, "[FOLDER] [--on DATE] [--scout NAME]")
        formatter.write_usage(ctx.command_path, "COMMAND [ARGS]...", prefix="   or: ")

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; whatever goes wrong is said in words, and no traceback is shown."""
        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):
                stream.reconfigure(errors="replace")
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except RoundtuiError as error:
            say_error(error)
        except sqlite3.Error as error:
            from roundtui.store.failures import Store, translated

            say_error(translated(error, Store.path))
        except Exception as error:
            say_error(_fault(error))
        raise click.exceptions.Exit(ExitCode.PROBLEM)


def say(words: str) -> None:
    """Say something on standard error, in one harmless line.

    Args:
        words: What to say.
    """
    from roundtui.domain.plain import plain

    click.echo(plain(words), err=True)


def say_error(error: RoundtuiError) -> None:
    """Say what went wrong, where, and what to do next.

    Args:
        error: The error.
    """
    say(error.message)
    if isinstance(error, ProblemsError):
        say_problems(error.problems)
    if error.hint:
        say(f"What to do: {error.hint}{'' if error.hint.endswith(('?', '.')) else '.'}")


def say_problems(problems: Iterable[Problem]) -> None:
    """List problems, one a line.

    Args:
        problems: The problems.
    """
    listed = tuple(problems)
    for problem in listed[:MOST_PROBLEMS]:
        say(f"  {problem}")
    if len(listed) > MOST_PROBLEMS:
        say(f"  and {len(listed) - MOST_PROBLEMS} more")


def amount(counts: Sequence[tuple[int, str]]) -> str:
    """Amounts in words, those of zero left out.

    Args:
        counts: How many, and of what.
    """
    return ", ".join(f"{count} {words}" for count, words in counts if count) or "nothing new"


def opened(folder: Path) -> Opened:
    """Open a folder for a command, and say what newer files brought.

    Args:
        folder: The scouting folder.
    """
    from roundtui.store.folder import open_folder

    found = open_folder(folder, now=datetime.now(UTC))
    if found.report is not None:
        say_loaded(found.report)
    return found


def say_loaded(report: Any) -> None:
    """Say what a load brought.

    Args:
        report: The load's report.
    """
    for name, file in report.files.items():
        if file.added or file.changed:
            added = "row added" if file.added == 1 else "rows added"
            say(f"{name}: {amount([(file.added, added), (file.changed, 'changed')])}")
    say_problems(report.remarks)


def _fault(error: Exception) -> RoundtuiError:
    from roundtui.app.crash import write_report
    from roundtui.store.device import state_folder

    folder = state_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        folder = Path()
    report = write_report(folder, error, datetime.now(UTC))
    hint = f"what happened is in {report}; send it along" if report else "no report could be written"
    return RoundtuiError("roundtui stopped by a fault of its own; everything entered is on the disk", hint)
