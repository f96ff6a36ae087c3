"""Commands of the register: what hangs where, traps moved, taken down, hung, what bodies held, changes reverted."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from roundtui.command_line import (
    DAY,
    FOLDER,
    JSON,
    ON,
    SCOUT,
    agreed,
    amount,
    author_of,
    newest_or,
    opened,
    say,
    show,
    show_json,
    terminal,
)
from roundtui.errors import RefusedError, RoundtuiError

if TYPE_CHECKING:
    from roundtui.store.set_up.register import RegisterChange

_WHY = click.option("--why", default="", metavar="WORDS", help="Why; it is kept with the change.")
_YES = click.option("--yes", is_flag=True, help="Do it whatever it changes.")
_TRAP = click.argument("trap", metavar="TRAP")
_PLACE = (
    click.option("--block", metavar="BLOCK", help="Its block. Default: as it is."),
    click.option("--row", metavar="ROW", help="Its row."),
    click.option("--tree", metavar="TREE", help="Its tree in the row."),
    click.option("--edge", type=click.Choice(["yes", "no"]), help="Whether it hangs at the edge. Default: as it is."),
    click.option("--lat", metavar="DEGREES", help="Its latitude."),
    click.option("--lon", metavar="DEGREES", help="Its longitude."),
    click.option("--height-m", metavar="METRES", help="Its height above ground."),
    click.option("--lot", metavar="LOT", help="Lot of the lure in it. Default: the one on record."),
)


def _placed(command: Callable[..., None]) -> Callable[..., None]:
    for option in reversed(_PLACE):
        command = option(command)
    return command


@click.command()
@click.argument("folder", type=FOLDER)
@ON
@click.option("--changes", "label", metavar="LABEL", help="Who changed the rows of a label, from what to what.")
@JSON
def register(folder: Path, on: date | None, label: str | None, as_json: bool) -> None:
    """Show what hangs where in FOLDER, and what is published on such places.

    It is advice with its source, and no rule: who prints something else is named beside it.
    """
    from roundtui.report.traps.register import changes_json, changes_section, register_json, register_sections
    from roundtui.store.figures.learned import needed_in
    from roundtui.store.office import read_office
    from roundtui.store.record.read import programme
    from roundtui.store.set_up.columns import BY_NAME
    from roundtui.store.set_up.register import history_of
    from roundtui.store.set_up.versions import not_in_files

    with closing(opened(folder).conn) as conn:
        known = programme(conn)
        day = newest_or(on, conn)
        behind = [(one.file.name, one.label) for one in not_in_files(conn)]
        entries = [one for file in BY_NAME.values() for one in history_of(conn, file, label)] if label else []
        needed = {} if label else needed_in(conn, read_office(folder), day)
    if as_json:
        show_json(changes_json(entries) if label else register_json(known, day, behind, needed))
        return
    console = terminal()
    section = changes_section(entries) if label else register_sections(known, day, behind, needed, width=console.width)
    for part in section:
        console.print(part)


@click.command()
@click.argument("folder", type=FOLDER)
@_TRAP
@click.option("--on", type=DAY, required=True, metavar="DATE", help="Day of the move.")
@_placed
@_WHY
@SCOUT
@_YES
def move(*, folder: Path, trap: str, on: date, why: str, scout: str | None, yes: bool, **place: str | None) -> None:
    """Move a trap to another block, row or tree: a new series of readings begins on that day.

    What of the place is not named goes blank where the block changes. Lure, liner and kill strip count as new from the
    day of the move.
    """
    from roundtui.store.set_up.register import TRAPS, lot_in, moved
    from roundtui.store.set_up.register import row_of_register_changes as row_of

    def make(conn: sqlite3.Connection) -> RegisterChange:
        here = row_of(conn, TRAPS, trap)
        typed = {name: text for name, text in place.items() if text is not None}
        return moved(here, {"lot": lot_in(conn, here, on)} | typed, on, why)

    _do(folder, make, on, scout, yes=yes)


@click.command("take-down")
@click.argument("folder", type=FOLDER)
@click.argument("trap", metavar="[TRAP]", required=False)
@click.option("--on", type=DAY, metavar="DATE", help="The day. Of the list: the newest day on record, if not given.")
@_WHY
@SCOUT
@_YES
@JSON
def take_down(
    *, folder: Path, trap: str | None, on: date | None, why: str, scout: str | None, yes: bool, as_json: bool
) -> None:
    """Take a trap down. Without TRAP: list what is to come down, in the order of the routes, with its parts.

    The list names the parts that are put away, by species and place, those nobody said anything about, bodies that
    smell of another species, and what the season cost.
    """
    if trap is None:
        _list_to_take_down(folder, on, as_json=as_json)
        return
    if on is None:
        raise click.UsageError("on which day was it taken down? Add --on DATE")
    from roundtui.store.set_up.register import TRAPS, taken_down
    from roundtui.store.set_up.register import row_of_register_changes as row_of

    _do(folder, lambda conn: taken_down(row_of(conn, TRAPS, trap), on, why), on, scout, yes=yes)


def _list_to_take_down(folder: Path, on: date | None, *, as_json: bool) -> None:
    from roundtui.store.office import read_office
    from roundtui.store.traps.parts import newest_day, read_close

    with closing(opened(folder).conn) as conn:
        today = datetime.now(UTC).astimezone().date()
        day = on or newest_day(conn, today) or today
        close = read_close(conn, read_office(folder), day)
    if as_json:
        from roundtui.report.traps.parts import taking_down_json

        show_json(taking_down_json(close))
        return
    from roundtui.report.traps.parts import taking_down_tables

    show(taking_down_tables(close))


@click.command()
@click.argument("folder", type=FOLDER)
@_TRAP
@click.option("--on", type=DAY, required=True, metavar="DATE", help="Day of hanging.")
@click.option("--species", metavar="SPECIES", help="Of a trap that is new: its species.")
@_placed
@_WHY
@SCOUT
@_YES
def hang(
    *,
    folder: Path,
    trap: str,
    on: date,
    species: str | None,
    why: str,
    scout: str | None,
    yes: bool,
    **place: str | None,
) -> None:
    """Hang a new trap, or one that was taken down: a series of readings begins on that day."""
    from roundtui.store.set_up.columns import rows_in
    from roundtui.store.set_up.register import TRAPS, added, hung_again
    from roundtui.store.set_up.register import row_of_register_changes as row_of

    def make(conn: sqlite3.Connection) -> RegisterChange:
        typed = {name: text for name, text in place.items() if text is not None}
        if any(values["trap"] == trap for values in rows_in(conn, TRAPS).values()):
            same = {"species": species} if species else {}
            return hung_again(row_of(conn, TRAPS, trap), same | typed, on, why)
        new = {"trap": trap, "species": species or "", "hung_on": on.isoformat()}
        return added(TRAPS, new | typed, on, why)

    _do(folder, make, on, scout, yes=yes)


@click.command()
@click.argument("folder", type=FOLDER)
@click.argument("entry", metavar="ENTRY_ID")
@_WHY
@SCOUT
@_YES
def revert(folder: Path, entry: str, why: str, scout: str | None, yes: bool) -> None:
    """Revert a change of the register, with what was recorded with it. It is a further change; nothing is erased.

    Ids are those of roundtui register FOLDER --changes LABEL.
    """
    from roundtui.store.set_up.register import undone

    today = date.today()  # noqa: DTZ011
    _do(folder, lambda conn: undone(conn, entry, today, why), today, scout, yes=yes)


@click.command()
@click.argument("folder", type=FOLDER)
@click.option("--label", metavar="L", help="Only the body of this label. Default: every body with a label.")
@ON
@JSON
def bodies(*, folder: Path, label: str | None, on: date | None, as_json: bool) -> None:
    """Say what each trap body has held, with the days, and where it is.

    A body that held a lure of another species keeps its scent, and is marked.
    """
    from roundtui.domain.entries import PartKind
    from roundtui.domain.round.checks import in_case, nearest
    from roundtui.domain.text import sanitize
    from roundtui.store.traps.parts import known_on, newest_day

    with closing(opened(folder).conn) as conn:
        today = datetime.now(UTC).astimezone().date()
        day = on or newest_day(conn, today) or today
        known = known_on(conn, day)
    if label is not None:
        labels = [name for kind, name in known.parts if kind is PartKind.BODY]
        label = in_case(label, labels)
        if label not in labels:
            hint = nearest(label, labels) or "roundtui bodies lists those with a label"
            raise RoundtuiError(f"no body {sanitize(label, 40)} is on record", hint)
    if as_json:
        from roundtui.report.traps.parts import bodies_json

        show_json(bodies_json(known, label or ""))
        return
    from roundtui.report.traps.parts import bodies_tables

    show(bodies_tables(known, label or ""))


@click.command("set-up")
@click.argument("folder", type=FOLDER)
@click.option("--to", type=FOLDER, metavar="DIR", help="Folder to write into.")
@click.option("--in-place", is_flag=True, help="Write into FOLDER itself; the files of before are kept in a subfolder.")
def set_up(folder: Path, to: Path | None, in_place: bool) -> None:
    """Write the set-up files of FOLDER as the register stands, changes made in the app included.

    Loaded into an empty folder they give the same set-up; in place they are nothing new. weather.csv, thresholds.toml
    and the office's other files are not touched.
    """
    from roundtui.store.set_up.files import like_formulas, write_in_place, write_set_up

    if (to is None) is not in_place:
        raise click.UsageError("where to? Add --to DIR, or --in-place")
    with closing(opened(folder).conn) as conn:
        if to is not None:
            if to.resolve() == folder.resolve():
                raise RefusedError(f"{to} is the scouting folder itself", "write there with --in-place")
            written, kept = write_set_up(conn, to), None
        else:
            written, kept = write_in_place(conn, folder, datetime.now(UTC))
        odd = like_formulas(conn)
    for name, rows in written.items():
        click.echo(f"{(to or folder) / name}")
        say(f"{name}: {amount([(rows, 'row' if rows == 1 else 'rows')])}")
    if kept is not None:
        say(f"the files of before are in {kept}")
    if odd:
        say(f"a spreadsheet may take some texts for formulas: {'; '.join(odd)}")


def _do(
    folder: Path, make: Callable[[sqlite3.Connection], RegisterChange], on: date, scout: str | None, *, yes: bool
) -> None:
    """Do a change, after saying what it changes where that is more than a figure."""
    from roundtui.store.office import read_office
    from roundtui.store.set_up.register import carry_out, said_before

    if on > date.today():  # noqa: DTZ011
        raise RefusedError(f"{on.isoformat()} is after today", "record it once it is done")
    with closing(opened(folder).conn) as conn:
        author = author_of(conn, scout)
        now = datetime.now(UTC)
        change = make(conn)
        found = said_before(conn, change, author, folder=folder, office=read_office(folder), now=now)
        for words in found:
            say(f"  {words}")
        if found and not yes:
            agreed()
        done = carry_out(conn, change, author, now)
        words = _of_stops(conn, change)
    if words:
        say(words)
    for entry in done:
        click.echo(entry.id)


def _of_stops(conn: sqlite3.Connection, change: RegisterChange) -> str:
    """What is left to do about the stops of a trap that was hung or moved, in words."""
    from roundtui.domain.programme.rounds import stop_words
    from roundtui.store.record.read import programme

    new = next((one.becomes for one in change.changes if one.was is None and one.becomes is not None), None)
    if new is None or "trap" not in new:
        return ""
    old = next((one.was for one in change.changes if one.was is not None), None)
    moved = old is not None and old["block"] != new["block"]
    words = stop_words(programme(conn), new["trap"], moved=moved)
    return f"{new['trap']}: {words}; routes are put in order in the app, or in routes.csv" if words else ""


COMMANDS = (register, move, take_down, hang, bodies, revert, set_up)
"""The commands of this file."""
