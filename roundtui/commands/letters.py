"""Commands that give something out: letters, the update for the public, the record as open files. Nothing is sent."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import click

from roundtui.command_line import DAY, FOLDER, ON, SCOUT, TO, Here, amount, at, on_folder, say, so_far, today
from roundtui.domain.text import sanitize, several, several_of
from roundtui.errors import RefusedError, RoundtuiError
from roundtui.store.files import write_whole

_NOTE = click.option("--note", default="", metavar="TEXT", help="A covering note, in plain words.")


@on_folder()
@ON
@TO
@click.option("--farm", "farms", multiple=True, metavar="FARM", help="Only this farm; may be given again.")
@_NOTE
def letters(folder: Path, on: date | None, to: Path, farms: tuple[str, ...], note: str) -> None:
    """Write a letter to each farm: a page, a text, and a mail with both, ready to be looked at and sent.

    Templates in FOLDER/templates come before those that ship; FOLDER/letters.toml says who writes.
    """
    from roundtui.domain.round.checks import nearest
    from roundtui.report.letters.files import write_letters
    from roundtui.report.letters.mail import is_address
    from roundtui.report.letters.material import read_material
    from roundtui.report.letters.season_lines import old_temperatures
    from roundtui.report.letters.template import Templates

    with at(folder) as here:
        day = here.day(on)
        material = read_material(here.conn, folder, day, here.office, farms=farms or None)
        for farm in farms:
            if farm not in material.farms:
                known = farm in material.programme.farms
                what = "no trap hung in these seven days" if known else "there is no such farm"
                hint = "name another day" if known else nearest(farm, material.farms) or "the codes are in farms.csv"
                raise RoundtuiError(f"farm {sanitize(farm, 40)}: {what}", hint)
        if old := old_temperatures(material):
            say(f"! {old}")
        chosen = tuple(farm for farm in material.farms if not farms or farm in farms)
        notes, by = dict.fromkeys(chosen, note), here.scout(None)
        writing = write_letters(
            here.conn, material, Templates(folder), to, notes=notes, by=by, now=lambda: datetime.now(UTC)
        )
        without = []
        for done, (path, letter) in enumerate(writing, 1):
            so_far("letters", done, len(chosen))
            click.echo(f"{path}.html")
            if not is_address(letter.email):
                without.append(letter.farm)
    none = "" if chosen else ", since no trap hung in its seven days"
    say(f"{several(len(chosen), 'letter')} of {day.isoformat()}{none}; nothing was sent")
    if without:
        say(f"without a mail address: {', '.join(without)}; it is in farms.csv, email")


@on_folder()
@ON
@click.option("--to", type=FOLDER, metavar="DIR", help="Folder to write into; made where missing.")
@_NOTE
@click.option("--preview", is_flag=True, help="Only print the text; nothing is written or kept.")
def update(folder: Path, on: date | None, to: Path | None, note: str, preview: bool) -> None:
    """Write the area update for the public, of the newest whole week.

    Figures of fewer than four growers are withheld, and a week once published stays as it was. Farms that take no part
    are named in FOLDER/letters.toml.
    """
    from roundtui.report.letters.template import Templates
    from roundtui.report.letters.update import compose_update, read_area, update_page, write_update

    if to is None and not preview:
        raise click.UsageError("Missing option '--to'.")
    with at(folder) as here:
        area = read_area(here.conn, folder, here.day(on), here.office)
        found = compose_update(area, note=note)
        templates = Templates(folder)
        if to is None or preview:
            click.echo(update_page(found, templates, "txt"), nl=False)
        else:
            for path in write_update(here.conn, area, found, templates, to):
                click.echo(path)
    if area.questions:
        say(f"look at these before it goes out: {'; '.join(area.questions)}")
    if area.missing:
        farms = ", ".join(sanitize(farm, 40) for farm in area.missing)
        after = "wait for them" if preview else "once published, the week stays without them"
        say(f"not read in the week to {area.cells.newest.isoformat()}: {farms}; {after}")


_FORMATS = ("datapackage", "geojson", "gpx", "ics")
GPX = "routes.gpx"
"""File of the routes."""
GEOJSON = "traps.geojson"
"""File of the traps with the catch of the week."""
ICS = "calendar.ics"
"""File of the agenda."""


@on_folder()
@TO
@click.option(
    "--format",
    "formats",
    type=click.Choice(_FORMATS),
    multiple=True,
    help="Only this form; may be given several times. Default: all.",
)
@click.option("--on", type=DAY, metavar="DATE", help="Day of routes, map and calendar. Default: today.")
@click.option("--route", metavar="ROUTE", help="Only this route, in routes, map and calendar.")
@click.option("--farm", metavar="FARM", help="Everything about this farm and nothing of another, for an inspector.")
@click.option("--sent-to", default="", metavar="AGENCY", help="Keep that it was sent there; with --farm.")
@SCOUT
def export(
    *,
    folder: Path,
    to: Path,
    formats: tuple[str, ...],
    on: date | None,
    route: str | None,
    farm: str | None,
    **sent: Any,
) -> None:
    """Write the record of FOLDER as files that other programs read.

    datapackage: set-up and every entry as CSV with a description, for roundtui import and for any statistics program.
    gpx: the routes, of traps that have coordinates. geojson: these traps with the catch of the week and the status of
    their block, for a map. ics: a calendar of rounds, of lures, liners and kill strips that fall due, and of expected
    events; a later one moves what an earlier one brought.
    """
    if to.exists() and folder.exists() and to.samefile(folder):
        raise RefusedError("the files would lie among the set-up files", "name another folder with --to")
    now = datetime.now(UTC)
    with at(folder) as here:
        if farm is not None:
            from roundtui.store.exchange.package import PAGE, write_inspection

            rows = write_inspection(here.conn, farm, to, now, sent=(sent["sent_to"], here.scout(sent["scout"])))
            tables = several(sum(map(bool, rows.values())), "table")
            say(f"{PAGE} and {several(sum(rows.values()), 'row')} in {tables}, of {farm} alone")
            _write_places(here, to / GEOJSON, on or today(), None, farm=farm)
            return
        for form in formats or _FORMATS:
            if form == "datapackage":
                from roundtui.store.exchange.package import write_package

                rows = write_package(here.conn, folder, to, now, so_far)
                say(f"datapackage.json: {several(sum(rows.values()), 'row')} in {several(len(rows), 'table')}")
            elif form == "ics":
                _write_calendar(here, to, on or today(), route, now)
            else:
                _write_places(here, to / (GPX if form == "gpx" else GEOJSON), on or today(), route)


def _write_places(here: Here, path: Path, on: date, route: str | None, farm: str | None = None) -> None:
    from roundtui.report.open_files import geojson, route_file
    from roundtui.store.figures.summary import summary_of

    if path.name == GPX:
        made = route_file(here.programme, on, datetime.now(UTC), here.route(route))
    else:
        made = geojson(summary_of(here.conn, here.office, on, how_sure=False), here.route(route), farm)
    write_whole(path, made.content)
    placed = f"{made.placed} {'trap' if made.placed == 1 else 'traps'}"
    say(f"{path.name}: {placed if made.placed else 'no trap that hangs has coordinates'}")
    if made.placed and made.unplaced:
        say(f"  without coordinates: {', '.join(made.unplaced)}")


def _write_calendar(here: Here, to: Path, on: date, route: str | None, now: datetime) -> None:
    from roundtui.domain.round.agenda import agenda
    from roundtui.report.open_files import calendar
    from roundtui.store.inventory import visits_due
    from roundtui.store.season.season import SeasonRecord

    season = SeasonRecord(here.conn, here.folder, on, here.office)
    route, due = here.route(route), visits_due(here.conn, here.folder, on, season.office)
    rows = season.outlook_rows()
    items = agenda(season.programme, season.history, on, rows, season=season.season, route=route, due=due)
    write_whole(to / ICS, calendar(items, now))
    say(f"{ICS}: {several(len(items), 'item')}")


@on_folder("import")
@click.argument("package", type=FOLDER)
def import_(folder: Path, package: Path) -> None:
    """Make the scouting folder FOLDER, new or empty, of a data PACKAGE that export wrote.

    The new folder says what the old one said: every entry keeps its id, its author and its instant.
    """
    from roundtui.commands.exchange import say_newer
    from roundtui.store.exchange.importing import import_package
    from roundtui.store.exchange.package import WANTED

    done, rows, newer = import_package(folder, package, datetime.now(UTC))
    say(f"{folder}: {amount([(count, several_of(name, count)) for name, count in rows.items()])}")
    say_newer(newer)
    if done.strangers:
        say(f"not read: {', '.join(done.strangers)}")
    if done.missing:
        say("before a letter or an area update is written, bring these from where the package was made:")
        for name in sorted(done.missing):
            say(f"  {name}: {WANTED[name]}")


COMMANDS = (letters, update, export, import_)
"""The commands of this file."""
