"""Commands of the season: temperatures from elsewhere, degree-days, biofix, outlook."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from roundtui.command_line import (
    DAY,
    FOLDER,
    JSON,
    ON,
    SCOUT,
    agreed,
    amount,
    asked_once,
    author_of,
    bar,
    known_label,
    newest_or,
    opened,
    say,
    say_problems,
    show,
    show_json,
)
from roundtui.domain.season.weather_files import FORMS
from roundtui.errors import ExitCode, RefusedError, RoundtuiError

if TYPE_CHECKING:
    from roundtui.domain.entries import BiofixSettled
    from roundtui.domain.season.weather import DegreeDaySum
    from roundtui.store.season.season import SeasonRecord

_METHODS = ("average", "modified-average", "single-triangle", "double-triangle", "single-sine", "double-sine")
_CUTOFFS = ("none", "horizontal", "intermediate", "vertical")


@click.command()
@click.argument("folder", type=FOLDER)
@click.argument("file", type=FOLDER)
@click.option("--station", required=True, metavar="STATION", help="The station, as stations.csv has it.")
@click.option("--format", "style", type=click.Choice(FORMS), help="Default: as the file looks.")
@click.option("--unit", type=click.Choice(("F", "C"), case_sensitive=False), help="Unit of rows that state none.")
@click.option("--id", "found_as", metavar="ID", help="Name of the station in the file, where it holds several.")
@SCOUT
@click.option("--yes", is_flag=True, help="Take in days that look like the other unit as they are.")
def weather(
    *,
    folder: Path,
    file: Path,
    station: str,
    style: str | None,
    unit: str | None,
    found_as: str | None,
    scout: str | None,
    yes: bool,
) -> None:
    """Take in a FILE of temperatures for a station.

    Forms: the columns of weather.csv; GHCN-Daily, the open format; or hourly, with the columns station, time, temp. The
    same file twice adds nothing. A day that says something else now keeps what it said before on record.
    """
    from roundtui.domain.units import TempUnit
    from roundtui.store.record.device import device_name
    from roundtui.store.record.journal import Author
    from roundtui.store.record.read import programme, setting
    from roundtui.store.season.weather_load import import_weather

    with closing(opened(folder).conn) as conn:
        path = file if file.exists() or not (folder / file).exists() else folder / file
        author = Author(" ".join((scout or setting(conn, "scout") or "").split()), device_name())
        with bar(path, "reading") as reading, bar(path, "storing") as storing:
            about: dict[str, Any] = {"station": station, "style": style, "found_as": found_as, "author": author}
            about |= {"unit": TempUnit(unit) if unit else None, "reading": reading, "storing": storing}
            known, now = programme(conn), datetime.now(UTC)
            report = asked_once(
                lambda sure: import_weather(conn, folder, path, known, now=now, sure=sure, **about), sure=yes
            )
    days = "day added" if report.added == 1 else "days added"
    counts = [(report.added, days), (report.changed, "changed"), (report.same, "on record before")]
    counts.append((report.hours, "kept with their hours"))
    say(f"{file.name}: {amount(counts)}")
    say_problems(report.remarks)


@click.command("degree-days")
@click.argument("folder", type=FOLDER, required=False)
@click.option("--station", metavar="STATION", help="The station of the sum.")
@click.option("--species", metavar="SPECIES", help="The species whose model is used.")
@click.option("--from", "first", type=DAY, metavar="DATE", help="First day of the sum, included.")
@click.option("--to", "last", type=DAY, metavar="DATE", help="Last day of the sum, included.")
@click.option("--tmin", type=float, metavar="TEMP", help="The day's minimum.")
@click.option("--tmax", type=float, metavar="TEMP", help="The day's maximum.")
@click.option("--lower", type=float, metavar="TEMP", help="Lower threshold of development.")
@click.option("--upper", type=float, metavar="TEMP", help="Upper threshold, for a cutoff.")
@click.option("--tmin-next", type=float, metavar="TEMP", help="The next day's minimum, for the double methods.")
@click.option("--unit", type=click.Choice(("F", "C"), case_sensitive=False), help="Unit of all temperatures.")
@click.option("--method", type=click.Choice(_METHODS), help="How the temperature runs. Default: single-sine.")
@click.option("--cutoff", type=click.Choice(_CUTOFFS), help="What happens above the upper threshold. Default: none.")
@JSON
def degree_days(folder: Path | None, *, as_json: bool, **options: Any) -> None:
    """Degree-days of one day (--tmin, --tmax, --lower, --unit), or a running sum of a station of FOLDER."""
    of_sum = ("station", "species", "first", "last")
    of_day = ("tmin", "tmax", "lower", "upper", "tmin_next", "unit", "method", "cutoff")
    needed, foreign = (of_sum, of_day) if folder is not None else (("tmin", "tmax", "lower", "unit"), of_sum)
    named = {"first": "--from", "last": "--to"}
    for name in foreign:
        if options[name] is not None:
            what = "a sum of a folder" if folder is not None else "one day"
            raise click.UsageError(f"{named.get(name, _dashed(name))} does not go with {what}")
    for name in needed:
        if options[name] is None:
            raise click.UsageError(f"Missing option '{named.get(name, _dashed(name))}'.")
    if folder is not None:
        _sum(folder, options["station"], options["species"], options["first"], options["last"], as_json=as_json)
    else:
        _one_day({name: options[name] for name in of_day}, as_json=as_json)


def _dashed(name: str) -> str:
    return "--" + name.replace("_", "-")


def _one_day(options: dict[str, Any], *, as_json: bool) -> None:
    from roundtui.domain.season.degree_days import Cutoff, Method, check, day
    from roundtui.domain.units import TempUnit

    unit = TempUnit(options["unit"])
    method = Method(options["method"] or "single-sine")
    cutoff = Cutoff(options["cutoff"] or "none")
    low, high, following = options["tmin"], options["tmax"], options["tmin_next"]
    if not all(isfinite(one) for one in (low, high, following or 0.0)):
        raise click.UsageError("a temperature is not a number")
    try:
        check(options["lower"], options["upper"], method, cutoff)
    except ValueError as error:
        raise click.UsageError(str(error)) from error
    if low > high:
        raise RefusedError(f"the minimum {low:g} is above the maximum {high:g}", "swap or correct them")
    found = day(low, high, options["lower"], options["upper"], method=method, cutoff=cutoff, tmin_next=following)
    if method.double and following is None:
        say(f"{method}: no --tmin-next, so the day ends on its own minimum")
    if as_json:
        click.echo(json.dumps({"degree_days": found, "unit": unit.value}))
    else:
        from roundtui.report.season.season import day_words

        click.echo(day_words(found, unit))


def _sum(folder: Path, station: str, species: str, first: date, last: date, *, as_json: bool) -> None:
    from roundtui.domain.programme.species import species_code
    from roundtui.domain.season.models import model_for
    from roundtui.domain.season.weather import degree_day_sum
    from roundtui.domain.season.weather_rows import StationDays, remarks
    from roundtui.domain.text import sanitize
    from roundtui.store.record.read import programme
    from roundtui.store.season.season import read_season_office
    from roundtui.store.season.weather import station_days

    if first > last:
        raise click.UsageError(f"--from {first} is after --to {last}")
    with closing(opened(folder).conn) as conn:
        office = read_season_office(folder)
        stations = programme(conn).stations
        station = known_label(station, stations, "station", "add it to stations.csv first")
        model = model_for(office.models, species_code(species) or species)
        if model is None:
            known = ", ".join(dict.fromkeys(each.species for each in office.models))
            raise RoundtuiError(f"there is no model for {sanitize(species, 40)}", f"there is one for {known}")
        days = station_days(conn, station)
    total = degree_day_sum(days, model.development, first, last, office.most_filled)
    if as_json:
        from roundtui.report.season.season import sum_json

        show_json(sum_json(total))
    else:
        from roundtui.report.season.season import sum_tables

        show(sum_tables(total, model, station, first, last))
    asked = StationDays.of(one for one in days if first <= one.on <= last)
    say_problems(odd for odd in remarks(asked) if "read " in odd.message)
    _say_stop(total, station, after=bool(days) and days[-1].on > last)


def _say_stop(total: DegreeDaySum, station: str, *, after: bool) -> None:
    """Say where a sum stopped. A gap is a problem in the data; days that are still to come are none."""
    if total.stopped_on is None:
        return
    say(f"The sum of {station} stops before {total.stopped_on}: {total.why}")
    if after or not total.rows or not total.why.startswith("temperatures end"):
        raise click.exceptions.Exit(ExitCode.PROBLEM)


@click.command()
@click.argument("folder", type=FOLDER)
@ON
@click.option("--confirm", "block", metavar="BLOCK", help="Confirm the biofix of a block, or set another day.")
@click.option("--species", metavar="SPECIES", help="With --confirm: the species.")
@click.option("--generation", type=click.IntRange(1, 9), help="With --confirm: the generation. Default: 1.")
@click.option("--day", type=DAY, metavar="DATE", help="With --confirm: another day than the proposed one.")
@click.option("--reason", metavar="WORDS", help="With --confirm: why it is another day; kept with the entry.")
@click.option("--scout", metavar="NAME", help="With --confirm: who. Default: the name kept in the app.")
@click.option("--yes", is_flag=True, help="With --confirm: do not ask, whatever it changes.")
@JSON
def biofix(*, folder: Path, on: date | None, block: str | None, as_json: bool, **more: Any) -> None:
    """Biofix of every block, species and generation: proposed by a rule, confirmed by a person.

    With --confirm it is put on record. A day other than the proposed one needs a --reason.
    """
    if block is None:
        for name, value in more.items():
            if value:
                raise click.UsageError(f"{_dashed(name)} goes with --confirm BLOCK")
    with closing(opened(folder).conn) as conn:
        season = _season(conn, folder, on)
        if block is not None:
            _confirm(conn, folder, season, block, more)
            return
        rows = season.biofix_rows()
    if as_json:
        from roundtui.report.season.season import biofix_json

        show_json(biofix_json(rows))
    else:
        from roundtui.report.season.season import biofix_tables

        show(biofix_tables(rows, season.programme, season.on))


def _confirm(conn: sqlite3.Connection, folder: Path, season: SeasonRecord, block: str, more: dict[str, Any]) -> None:
    from roundtui.domain.programme.species import species_code
    from roundtui.store.season.biofix import settle_biofix, settlement

    if not more["species"]:
        raise click.UsageError("which species? Add --species")
    author, now = author_of(conn, more["scout"]), datetime.now(UTC)
    species = species_code(more["species"]) or more["species"]
    entry = settlement(season, block, species, more["generation"] or 1, day=more["day"], reason=more["reason"] or "")
    _accept(conn, folder, season, entry, lambda: settle_biofix(conn, season, entry, author, now), yes=more["yes"])
    recorded = settle_biofix(conn, season, entry, author, now)
    say(f"biofix of {block} {species}, generation {recorded.generation}: {recorded.day}")
    click.echo(recorded.id)


def _accept(
    conn: sqlite3.Connection,
    folder: Path,
    season: SeasonRecord,
    entry: BiofixSettled,
    change: Callable[[], object],
    *,
    yes: bool,
) -> None:
    """Say what a biofix changes; where one that stood is changed and people act on it, ask."""
    from roundtui.store.season.biofix import biofix_changes

    found = biofix_changes(conn, folder, season, entry, change)
    for words in (*found.statuses, *found.events):
        say(f"  {words}")
    if entry.replaces is not None and (found.statuses or found.events) and not yes:
        agreed()


@click.command()
@click.argument("folder", type=FOLDER)
@ON
@JSON
def outlook(folder: Path, on: date | None, *, as_json: bool) -> None:
    """Life-cycle events of every block: reached, or expected with a range from the station's own past years."""
    with closing(opened(folder).conn) as conn:
        season = _season(conn, folder, on)
        rows = season.outlook_rows()
        odd = season.remarks()
    if as_json:
        from roundtui.report.season.season import outlook_json

        show_json(outlook_json(rows))
    else:
        from roundtui.domain.season.season import coming
        from roundtui.report.season.season import outlook_tables

        show(outlook_tables(rows, season.programme, season.on, coming(rows, season.on)))
    say_problems(odd)


def _season(conn: sqlite3.Connection, folder: Path, on: date | None) -> SeasonRecord:
    from roundtui.store.office import read_office
    from roundtui.store.season.season import SeasonRecord

    day = newest_or(on, conn)
    return SeasonRecord(conn, folder, day, read_office(folder))


COMMANDS = (weather, degree_days, biofix, outlook)
"""The commands of this file."""
