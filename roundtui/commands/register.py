"""Commands of the register, and of the threshold rules that judge or can be chosen."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import click

from roundtui import command_line as cl
from roundtui.command_line import FOLDER, JSON, show_either, today
from roundtui.domain.text import sanitize
from roundtui.errors import RefusedError, RoundtuiError
from roundtui.store.set_up import register as changes
from roundtui.store.set_up.columns import BY_NAME, rows_in

_WHY = click.option("--why", default="", metavar="WORDS", help="Why; it is kept with the change.")
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


@cl.on_folder()
@cl.ON
@click.option("--changes", "label", metavar="LABEL", help="Who changed the rows of a label, from what to what.")
@cl.JSON
def register(folder: Path, on: date | None, label: str | None, as_json: bool) -> None:
    """Show what hangs where in FOLDER, and what is published on such places.

    It is advice with its source, and no rule: who prints something else is named beside it.
    """
    from roundtui.report.traps.register import changes_json, changes_section, register_json, register_sections
    from roundtui.store.figures.learned import needed_in
    from roundtui.store.set_up.versions import not_in_files

    with cl.at(folder) as here:
        known, day = here.programme, here.day(on)
        behind = [(one.file.name, one.label) for one in not_in_files(here.conn)]
        entries = (
            [one for file in BY_NAME.values() for one in changes.history_of(here.conn, file, label)] if label else []
        )
        needed = {} if label else needed_in(here.conn, here.office, day)
    if label:
        cl.show_either(as_json, lambda: changes_json(entries), lambda _: changes_section(entries))
        return
    about = known, day, behind, needed
    cl.show_either(as_json, lambda: register_json(*about), lambda width: register_sections(*about, width=width))


@cl.on_folder()
@_TRAP
@click.option("--on", type=cl.DAY, required=True, metavar="DATE", help="Day of the move.")
@_placed
@_WHY
@cl.SCOUT
@cl.YES
def move(*, folder: Path, trap: str, on: date, why: str, scout: str | None, yes: bool, **place: str | None) -> None:
    """Move a trap to another block, row or tree: a new series of readings begins on that day.

    What of the place is not named goes blank where the block changes. Lure, liner and kill strip count as new from the
    day of the move.
    """

    def make(conn: sqlite3.Connection) -> changes.RegisterChange:
        here = changes.row_of(conn, changes.TRAPS, trap)
        typed = {name: text for name, text in place.items() if text is not None}
        return changes.moved(here, {"lot": changes.lot_in(conn, here, on)} | typed, on, why)

    _do(folder, make, on, scout, yes=yes)


@cl.on_folder("take-down")
@click.argument("trap", metavar="[TRAP]", required=False)
@click.option("--on", type=cl.DAY, metavar="DATE", help="The day. Of the list: the newest day on record, if not given.")
@_WHY
@cl.SCOUT
@cl.YES
@cl.JSON
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
    _do(folder, lambda conn: changes.taken_down(changes.row_of(conn, changes.TRAPS, trap), on, why), on, scout, yes=yes)


def _list_to_take_down(folder: Path, on: date | None, *, as_json: bool) -> None:
    from roundtui.report.traps.parts import taking_down_json, taking_down_tables
    from roundtui.store.traps.parts import OF_PARTS, read_close

    with cl.at(folder) as here:
        close = read_close(here.conn, here.office, here.day(on, *OF_PARTS))
    cl.show_either(as_json, lambda: taking_down_json(close), lambda width: taking_down_tables(close, width))


@cl.on_folder()
@_TRAP
@click.option("--on", type=cl.DAY, required=True, metavar="DATE", help="Day of hanging.")
@click.option("--species", metavar="SPECIES", help="Of a trap that is new: its species.")
@_placed
@_WHY
@cl.SCOUT
@cl.YES
def hang(*, folder: Path, trap: str, on: date, why: str, scout: str | None, yes: bool, **place: str | None) -> None:
    """Hang a new trap, or one that was taken down: a series of readings begins on that day."""

    def make(conn: sqlite3.Connection) -> changes.RegisterChange:
        typed = {name: text for name, text in place.items() if text is not None}
        if any(values["trap"] == trap for values in rows_in(conn, changes.TRAPS).values()):
            return changes.hung_again(changes.row_of(conn, changes.TRAPS, trap), typed, on, why)
        new = {"trap": trap, "species": "", "hung_on": on.isoformat()}
        return changes.added(changes.TRAPS, new | typed, on, why)

    _do(folder, make, on, scout, yes=yes)


@cl.on_folder()
@click.argument("entry", metavar="ENTRY_ID")
@_WHY
@cl.SCOUT
@cl.YES
def revert(folder: Path, entry: str, why: str, scout: str | None, yes: bool) -> None:
    """Revert a change of the register, with what was recorded with it. It is a further change; nothing is erased.

    Ids are those of roundtui register FOLDER --changes LABEL.
    """
    _do(folder, lambda conn: changes.undone(conn, entry, cl.today(), why), cl.today(), scout, yes=yes)


@cl.on_folder()
@click.option("--label", metavar="L", help="Only the body of this label. Default: every body with a label.")
@cl.ON
@cl.JSON
def bodies(*, folder: Path, label: str | None, on: date | None, as_json: bool) -> None:
    """Say what each trap body has held, with the days, and where it is.

    A body that held a lure of another species keeps its scent, and is marked.
    """
    from roundtui.domain.entries import PartKind
    from roundtui.domain.round.checks import in_case, nearest
    from roundtui.report.traps.parts import bodies_json, bodies_tables
    from roundtui.store.traps.parts import OF_PARTS, known_on

    with cl.at(folder) as here:
        known = known_on(here.conn, here.day(on, *OF_PARTS))
    if label is not None:
        labels = [name for kind, name in known.parts if kind is PartKind.BODY]
        label = in_case(label, labels)
        if label not in labels:
            hint = nearest(label, labels) or "roundtui bodies lists those with a label"
            raise RoundtuiError(f"no body {sanitize(label, 40)} is on record", hint)
    cl.show_either(as_json, lambda: bodies_json(known, label or ""), lambda _: bodies_tables(known, label or ""))


@cl.on_folder("set-up")
@click.option("--to", type=cl.FOLDER, metavar="DIR", help="Folder to write into.")
@click.option("--in-place", is_flag=True, help="Write into FOLDER itself; the files of before are kept in a subfolder.")
def set_up(folder: Path, to: Path | None, in_place: bool) -> None:
    """Write the set-up files of FOLDER as the register stands, changes made in the app included.

    Loaded into an empty folder they give the same set-up; in place they are nothing new. weather.csv, thresholds.toml
    and the office's other files are not touched.
    """
    from roundtui.store.set_up.load import like_formulas, write_in_place, write_set_up

    if (to is None) is not in_place:
        raise click.UsageError("where to? Add --to DIR, or --in-place")
    with cl.at(folder) as here:
        if to is not None:
            if to.resolve() == folder.resolve():
                raise RefusedError(f"{to} is the scouting folder itself", "write there with --in-place")
            written, kept = write_set_up(here.conn, to), None
        else:
            written, kept = write_in_place(here.conn, folder, datetime.now(UTC))
        odd = like_formulas(here.conn)
    for name, rows in written.items():
        click.echo(f"{(to or folder) / name}")
        cl.say(f"{name}: {cl.amount([(rows, 'row' if rows == 1 else 'rows')])}")
    if kept is not None:
        cl.say(f"the files of before are in {kept}")
    if odd:
        cl.say(f"a spreadsheet may take some texts for formulas: {'; '.join(odd)}")


def _do(
    folder: Path,
    make: Callable[[sqlite3.Connection], changes.RegisterChange],
    on: date,
    scout: str | None,
    *,
    yes: bool,
) -> None:
    """Do a change, after saying what it changes where that is more than a figure."""
    if on > cl.today():
        raise RefusedError(f"{on.isoformat()} is after today", "record it once it is done")
    with cl.at(folder) as here:
        author, now, change = here.author(scout), datetime.now(UTC), make(here.conn)
        found = changes.said_before(here.conn, change, author, folder=folder, office=here.office, now=now)
        for words in found:
            cl.say(f"  {words}")
        if found and not yes:
            cl.agreed()
        done = changes.carry_out(here.conn, change, author, now)
        words = _of_stops(here, change)
    if words:
        cl.say(words)
    for entry in done:
        click.echo(entry.id)


def _of_stops(here: cl.Here, change: changes.RegisterChange) -> str:
    """What is left to do about the stops of a trap that was hung or moved, in words."""
    from roundtui.domain.programme.rounds import stop_words

    new = next((one.becomes for one in change.changes if one.was is None and one.becomes is not None), None)
    if new is None or "trap" not in new:
        return ""
    old = next((one.was for one in change.changes if one.was is not None), None)
    moved = old is not None and old["block"] != new["block"]
    words = stop_words(here.programme, new["trap"], moved=moved)
    return f"{new['trap']}: {words}; routes are put in order in the app, or in routes.csv" if words else ""


@click.command()
@click.argument("folder", type=FOLDER, required=False)
@click.option("--species", "species", metavar="SP", help="Only this species, as CM.")
@click.option("--region", "region", metavar="WORD", help="Of those published, only what was printed for such a region.")
@click.option("--copy", "copied", multiple=True, metavar="ID", help="Print this one for thresholds.toml; repeatable.")
@JSON
def rules(
    folder: Path | None, species: str | None, region: str | None, copied: tuple[str, ...], *, as_json: bool
) -> None:
    """Show the threshold rules that judge FOLDER, and those published that an office can choose from.

    None of those published judges anything before it stands in FOLDER/thresholds.toml.
    """
    from roundtui.domain.figures.rules import SHIPPED_RULES
    from roundtui.domain.programme.species import species_code
    from roundtui.store.office import read_office, read_published_rules

    published = read_published_rules()
    if copied:
        known = {one.rule.id: one for one in published}
        for name in copied:
            if name not in known:
                raise RoundtuiError(f"no published rule is called {sanitize(name, 60)}", "roundtui rules lists them")
        click.echo("\n".join(known[name].toml(today()) for name in copied))
        return
    judging = read_office(folder).rules if folder else SHIPPED_RULES
    code = (species_code(species) or species.upper()) if species else None
    judging = tuple(rule for rule in judging if code in (None, rule.species))
    published = tuple(
        one
        for one in published
        if code in (None, one.rule.species) and (region or "").casefold() in one.rule.region.casefold()
    )
    from roundtui.report.figures.rules import rules_json, rules_tables

    about = judging, published
    show_either(as_json, lambda: rules_json(*about), lambda _: rules_tables(*about))


COMMANDS = (register, move, take_down, hang, bodies, revert, set_up, rules)
"""The commands of this file."""
