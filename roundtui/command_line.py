"""How the command line behaves whatever the command: opening without one, days, problems and faults in words."""

from __future__ import annotations

import json
import os
import sqlite3
import sys
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager, suppress
from datetime import UTC, date, datetime
from functools import cached_property
from importlib import import_module
from pathlib import Path
from shutil import get_terminal_size
from threading import Event, RLock, Thread
from time import monotonic
from typing import TYPE_CHECKING, Any, TextIO, TypeVar, cast

import click

from roundtui.domain.text import parse_day, sanitize
from roundtui.errors import STOPPED, DoubtfulError, ExitCode, Problem, ProblemsError, RefusedError, RoundtuiError

if TYPE_CHECKING:
    from roundtui.domain.figures.rules import Office
    from roundtui.domain.programme.farm import Programme
    from roundtui.report.text import Line
    from roundtui.store.folder import Opened
    from roundtui.store.record.journal import Author
    from roundtui.store.record.rows import Table

_T = TypeVar("_T")
MOST_PROBLEMS = 50
"""How many problems are listed at once; the rest are counted."""


def _day(value: str) -> date:
    if (day := parse_day(value.strip())) is None:
        raise click.BadParameter(f"{value!r} is no date; write it as 2026-05-01")
    return day


def _instant(value: str) -> datetime:
    from roundtui.store.record.chains import parse_instant

    try:
        return parse_instant(value)
    except RoundtuiError as error:
        raise click.BadParameter(f"{error.message}; {error.hint}") from error


DAY = click.types.FuncParamType(_day)
"""A day in ISO 8601."""
INSTANT = click.types.FuncParamType(_instant)
"""An instant in ISO 8601."""
FOLDER = click.Path(path_type=Path)
JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON instead of words.")
ON = click.option("--on", type=DAY, metavar="DATE", help="The day to look from. Default: the newest day on record.")
SCOUT = click.option("--scout", metavar="NAME", help="Who does it. Default: the name kept in the app.")
TO = click.option("--to", type=FOLDER, required=True, metavar="DIR", help="Folder to write into; made where missing.")
YES = click.option("--yes", is_flag=True, help="Do not ask, whatever it changes.")


def on_folder(name: str | None = None) -> Callable[[Callable[..., None]], click.Command]:
    """Make a command of a function, with the scouting folder as its first argument.

    Args:
        name: Its name, where it is not the function's.
    """
    return lambda work: click.command(name)(click.argument("folder", type=FOLDER)(work))


class Commands(click.Group):
    """Commands, and opening the app where none is named.

    Args:
        elsewhere: Modules and the names of the commands in their ``COMMANDS``; one is loaded when a command of it is
            asked for, so that the app does not wait for commands that nobody called.
    """

    def __init__(self, *args: Any, elsewhere: Mapping[str, Sequence[str]] | None = None, **more: Any) -> None:
        super().__init__(*args, **more)
        self.elsewhere = {name: module for module, names in (elsewhere or {}).items() for name in names}

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Names of all commands."""
        return sorted({*self.commands, *self.elsewhere})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """A command, its module loaded first where it is elsewhere."""
        if cmd_name in self.elsewhere and cmd_name not in self.commands:
            for command in import_module(self.elsewhere[cmd_name]).COMMANDS:
                self.add_command(command)
        return super().get_command(ctx, cmd_name)

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Take what is no command for what the app is opened with."""
        first = args[0] if args else ""
        completing = ctx.resilient_parsing and not args
        if not completing and first not in self.list_commands(ctx) and first not in ("--help", "--version"):
            if len(args) > 1 and not any(word.startswith("-") for word in args[:2]):
                raise click.UsageError(f"there is no command {sanitize(first, 40)}; roundtui --help lists them", ctx)
            args = ["open", *args]
        ctx.meta["app"] = args[:1] in (["open"], ["demo"])
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
            with at_work(app=ctx.meta["app"]):
                return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit, BrokenPipeError):
            raise
        except (KeyboardInterrupt, click.Abort):
            click.echo(err=True)
            say_error(STOPPED)
        except RoundtuiError as error:
            say_error(error)
        except sqlite3.Error as error:
            from roundtui.store.failures import Store, translated

            say_error(translated(error, Store.path))
        except Exception as error:
            from roundtui.store.failures import is_of_disk, unwritable

            if isinstance(error, OSError) and is_of_disk(error):
                say_error(unwritable(Path(error.filename or "standard output"), error))
            else:
                say_error(_fault(error))
        raise click.exceptions.Exit(ExitCode.PROBLEM)


def so_far(what: str, done: int, total: int) -> None:
    """How far a long piece of work has come; shown while the command is at work on a terminal.

    Args:
        what: What is worked on.
        done: How much of it is done.
        total: How much there is; 0: not known.
    """
    if isinstance(sys.stderr, _Stream):
        sys.stderr.line.come = what, done, total


class _Line:
    """The line on a terminal that says how far a command has come, after a second of silence.

    Args:
        terminal: Where it is shown.
    """

    def __init__(self, terminal: TextIO) -> None:
        self.terminal, self.guard, self.over = terminal, RLock(), Event()
        self.began = self.spoke = monotonic()
        self.come, self.shown, self.free = ("", 0, 0), "", True

    def show(self, text: str) -> None:
        """Put another line in place of the one shown, and of ^C, which the terminal itself may have put behind it."""
        if text or self.shown:
            clear = f"\r{'':{len(self.shown) + 2}}\r" if self.shown else ""
            self.terminal.write(clear + text)
            self.terminal.flush()
            self.shown = text

    def run(self) -> None:
        """Show the line from time to time, until the command is over."""
        while not self.over.wait(0.25):
            with self.guard:
                if self.free and monotonic() - self.spoke >= 1:
                    what, done, total = self.come
                    words = f"{sanitize(what, 40)}: {done:,}" + (f" of {total:,}" if total else "")
                    words = "working" if not what or done == total else words
                    self.show(f"{words} ({monotonic() - self.began:.0f} s; Ctrl-C stops)"[:77])


class _Stream:
    """A stream of a command at work, for which the line makes room.

    The line does not come back where a question waits for its answer, nor where another program shows what was printed.

    Args:
        stream: Where words go.
        line: The line.
    """

    def __init__(self, stream: TextIO, line: _Line) -> None:
        self.stream, self.line = stream, line

    def __getattr__(self, name: str) -> Any:
        return getattr(self.stream, name)

    def write(self, text: str) -> int:
        """Write as the stream does, the line taken away."""
        with self.line.guard:
            self.line.show("")
            written = self.stream.write(text)
            if text:
                self.line.free, self.line.spoke = text.endswith("\n") and self.stream.isatty(), monotonic()
        return written


@contextmanager
def at_work(*, app: bool) -> Iterator[None]:
    """While a command works: its line on a terminal.

    Args:
        app: Whether the app has the screen instead.
    """
    if app or not sys.stderr.isatty():
        yield
        return
    before, line = (sys.stdout, sys.stderr), _Line(sys.stderr)
    sys.stdout, sys.stderr = cast("Iterator[TextIO]", (_Stream(stream, line) for stream in before))
    showing = Thread(target=line.run, daemon=True)
    showing.start()
    try:
        yield
    finally:
        line.over.set()
        showing.join()
        line.show("")
        sys.stdout, sys.stderr = before


def say(words: str) -> None:
    """Say something on standard error, in one harmless line.

    Args:
        words: What to say.
    """
    click.echo(sanitize(words), err=True)


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


def asked_once(work: Callable[[bool], _T], *, sure: bool) -> _T:
    """Do something; where it rests on what looks wrong, a person says once whether it is right as it stands.

    Args:
        work: Does it; told whether it was said.
        sure: Whether it was said beforehand.

    Raises:
        RefusedError: It was not said; nothing was changed.
    """
    try:
        return work(sure)
    except DoubtfulError as doubt:
        say_problems(doubt.problems)
        if not sys.stdin.isatty() or not click.confirm("Are they right as they are?", default=False, err=True):
            raise RefusedError(doubt.message, "correct the unit, or add --yes if they are right") from None
        return work(True)


def read_from_hub(folder: Path) -> Path:
    """The folder itself; of ``hub:SERVICE`` one that holds what the hub shows, as it stands now.

    Args:
        folder: What was named.
    """
    from roundtui.store.hub.connection import service_of

    service = service_of(str(folder))
    if service is None:
        return folder
    from roundtui.store.hub.exchange import read_hub

    place, report = read_hub(service, datetime.now(UTC))
    say_problems(report.waiting)
    return place


def refuse_plain_terminal() -> None:
    """Refuse a terminal that can show no screen.

    Raises:
        RoundtuiError: It says that it is one.
    """
    if os.environ.get("TERM", "") in ("dumb", "unknown"):
        raise RoundtuiError(
            f"this terminal can show no screen (TERM is {os.environ['TERM']})",
            "open roundtui in another one; its commands work here, see roundtui --help",
        )


def known_label(label: str, known: Collection[str], what: str, hint: str) -> str:
    """A label as it is set up, whatever the case of its letters.

    Args:
        label: As it was typed.
        known: Labels that are set up.
        what: What it is the label of.
        hint: What to do where none is near.

    Raises:
        RoundtuiError: There is no such label.
    """
    from roundtui.domain.round.checks import in_case, nearest

    found = in_case(label, known)
    if found not in known:
        raise RoundtuiError(f"there is no {what} {sanitize(label, 40)}", nearest(label, known) or hint)
    return found


def today() -> date:
    """The day on the wall."""
    return date.today()  # noqa: DTZ011


class Here:
    """An open folder, and what commands ask of it.

    Args:
        folder: The folder.
        conn: Its store.
    """

    def __init__(self, folder: Path, conn: sqlite3.Connection) -> None:
        self.folder, self.conn = folder, conn

    @cached_property
    def office(self) -> Office:
        """What the office's own files say."""
        from roundtui.store.office import read_office

        return read_office(self.folder)

    @cached_property
    def programme(self) -> Programme:
        """What is set up."""
        from roundtui.store.record.read import programme

        return programme(self.conn)

    def day(self, on: date | None, *tables: Table) -> date:
        """The day that a command looks from: the one given, else the newest of a visit or in a table, else today."""
        from roundtui.store.record.observations import newest_day
        from roundtui.store.record.rows import VISITS

        return on or newest_day(self.conn, (VISITS, *tables), today()) or today()

    def scout(self, scout: str | None) -> str:
        """The name given, else the one kept in the app; nothing without either."""
        from roundtui.store.record.read import setting

        return " ".join((scout or setting(self.conn, "scout") or "").split())

    def author(self, scout: str | None, asked: str = "who does it?") -> Author:
        """Who a command records for: the name given, else the one kept in the app; wrong usage without either."""
        from roundtui.store.record.journal import Author
        from roundtui.store.record.lanes import device_name

        name = self.scout(scout)
        if not name:
            raise click.UsageError(f"{asked} Add --scout NAME")
        return Author(name, device_name())

    def route(self, route: str | None) -> str | None:
        """The name of a route as it is set up; None where none was given.

        Args:
            route: The name; None: none was given.

        Raises:
            RoundtuiError: There is no such route.
        """
        if route is None:
            return None
        names = ", ".join(sanitize(name, 40) for name in self.programme.routes)
        hint = f"the routes are {names}" if names else "set one up in routes.csv: there is none yet"
        return known_label(route, self.programme.routes, "route", hint)

    def file(self, file: Path) -> Path:
        """A file that was named, from where the command was given or from the folder."""
        return file if file.exists() or not (self.folder / file).exists() else self.folder / file


@contextmanager
def at(folder: Path) -> Iterator[Here]:
    """A folder while a command works in it; what newer files brought is said.

    Args:
        folder: The folder.
    """
    with closing(opened(folder).conn) as conn:
        yield Here(folder, conn)


def agreed() -> None:
    """Ask whether to make a change, no being the usual answer; refused where nobody is there to ask."""
    if not sys.stdin.isatty():
        raise RefusedError("the change was not made, since it changes what people act on", "add --yes to make it")
    if not click.confirm("Make the change?", default=False, err=True):
        raise RefusedError("nothing was changed")


def show_json(value: Any) -> None:
    """Print JSON."""
    click.echo(json.dumps(value, indent=2))


def columns() -> int:
    """Columns to print in: of a file those of the terminal that the command was given in, or 80."""
    with suppress(OSError):
        return get_terminal_size(os.get_terminal_size(2)).columns
    return get_terminal_size().columns


def show(lines: Iterable[Line]) -> None:
    """Print tables and words, all at once; into a file or another program without colours, nor what draws them."""
    if sys.stdout.isatty() or "FORCE_COLOR" in os.environ or "TTY_COMPATIBLE" in os.environ:
        from rich.console import Console, Group

        Console(highlight=False, markup=False, emoji=False).print(Group(*lines))
    else:
        width = columns()
        click.echo("".join([line.plain(width) for line in lines]), nl=False)


def show_either(as_json: bool, value: Callable[[], Any], lines: Callable[[int], Iterable[Line]]) -> None:
    """Print JSON where it was asked for, else tables and words.

    Args:
        as_json: Whether it was.
        value: Makes what is printed as JSON.
        lines: Makes tables and words; told how many columns the terminal has.
    """
    if as_json:
        show_json(value())
    else:
        show(lines(columns()))


def say_loaded(report: Any) -> None:
    """Say what a load brought.

    Args:
        report: The load's report.
    """
    for name, file in report.files.items():
        if file.added or file.changed:
            added = "row added" if file.added == 1 else "rows added"
            say(f"{name}: {amount([(file.added, added), (file.changed, 'changed')])}")
    say_problems([*report.remarks, *report.contested])


def _fault(error: Exception) -> RoundtuiError:
    from roundtui.app.crash import write_report
    from roundtui.store.record.lanes import state_folder

    folder = state_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        folder = Path()
    report = write_report(folder, error, datetime.now(UTC))
    hint = f"what happened is in {report}; send it along" if report else "no report could be written"
    return RoundtuiError("roundtui stopped by a fault of its own; everything entered is on the disk", hint)
