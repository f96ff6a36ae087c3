"""Commands of the season: temperatures from elsewhere, degree-days, biofix, outlook; year against year, and its end."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from functools import partial
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from roundtui import command_line as cl
from roundtui.domain.programme.species import species_code
from roundtui.domain.season.weather_files import FORMS
from roundtui.domain.units import TempUnit
from roundtui.errors import ExitCode, RefusedError, RoundtuiError

if TYPE_CHECKING:
    from roundtui.domain.season.weather import DegreeDaySum
    from roundtui.store.season.season import SeasonRecord
    from roundtui.store.season.years import YearsRecord

_METHODS = ("average", "modified-average", "single-triangle", "double-triangle", "single-sine", "double-sine")
_CUTOFFS = ("none", "horizontal", "intermediate", "vertical")
_FORMS = "; ".join(f"{name}: {words}" for name, words in FORMS.items())


@cl.on_folder()
@click.argument("file", type=cl.FOLDER)
@click.option("--station", required=True, metavar="STATION", help="The station, as stations.csv has it.")
@click.option("--format", "style", type=click.Choice([*FORMS]), help=f"Default: as the file looks. {_FORMS}.")
@click.option("--unit", type=click.Choice(("F", "C"), case_sensitive=False), help="Unit of rows that state none.")
@click.option("--id", "found_as", metavar="ID", help="Name of the station in the file, where it holds several.")
@cl.SCOUT
@click.option("--yes", is_flag=True, help="Take in days that look like the other unit as they are.")
def weather(*, folder: Path, file: Path, unit: str | None, scout: str | None, yes: bool, **about: Any) -> None:
    """Take in a FILE of temperatures for a station.

    The same file twice adds nothing. A day that says something else now keeps what it said before on record.
    """
    from roundtui.store.record.journal import Author
    from roundtui.store.record.lanes import device_name
    from roundtui.store.season.weather_load import import_weather

    with cl.at(folder) as here:
        path = here.file(file)
        about |= {"author": Author(here.scout(scout), device_name()), "unit": TempUnit(unit) if unit else None}
        about["reading"] = partial(cl.so_far, "reading")
        work = partial(import_weather, here.conn, folder, path, here.programme, now=datetime.now(UTC), **about)
        report = cl.asked_once(lambda sure: work(sure=sure), sure=yes)
    days = "day added" if report.added == 1 else "days added"
    counts = [(report.added, days), (report.changed, "changed"), (report.same, "on record before")]
    counts.append((report.hours, "kept with their hours"))
    cl.say(f"{file.name}: {cl.amount(counts)}")
    cl.say_problems(report.remarks)


@click.command("degree-days")
@click.argument("folder", type=cl.FOLDER, required=False)
@click.option("--station", metavar="STATION", help="The station of the sum.")
@click.option("--species", metavar="SPECIES", help="The species whose model is used.")
@click.option("--from", "first", type=cl.DAY, metavar="DATE", help="First day of the sum, included.")
@click.option("--to", "last", type=cl.DAY, metavar="DATE", help="Last day of the sum, included.")
@click.option("--tmin", type=float, metavar="TEMP", help="The day's minimum.")
@click.option("--tmax", type=float, metavar="TEMP", help="The day's maximum.")
@click.option("--lower", type=float, metavar="TEMP", help="Lower threshold of development.")
@click.option("--upper", type=float, metavar="TEMP", help="Upper threshold, for a cutoff.")
@click.option("--tmin-next", type=float, metavar="TEMP", help="The next day's minimum, for the double methods.")
@click.option("--unit", type=click.Choice(("F", "C"), case_sensitive=False), help="Unit of all temperatures.")
@click.option("--method", type=click.Choice(_METHODS), help="How the temperature runs. Default: single-sine.")
@click.option("--cutoff", type=click.Choice(_CUTOFFS), help="What happens above the upper threshold. Default: none.")
@cl.JSON
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
        cl.say(f"{method}: no --tmin-next, so the day ends on its own minimum")
    if as_json:
        click.echo(json.dumps({"degree_days": found, "unit": unit.value}))
    else:
        click.echo(f"{found:.3f} {unit.sign} degree-days")


def _sum(folder: Path, station: str, species: str, first: date, last: date, *, as_json: bool) -> None:
    from roundtui.domain.season.models import model_for
    from roundtui.domain.season.weather import degree_day_sum
    from roundtui.domain.season.weather_rows import StationDays, remarks
    from roundtui.domain.text import sanitize
    from roundtui.report.season.season import sum_json, sum_tables
    from roundtui.store.season.season import read_season_office
    from roundtui.store.season.weather import station_days

    if first > last:
        raise click.UsageError(f"--from {first} is after --to {last}")
    with cl.at(folder) as here:
        office = read_season_office(folder)
        stations = here.programme.stations
        station = cl.known_label(station, stations, "station", "add it to stations.csv first")
        model = model_for(office.models, species_code(species) or species)
        if model is None:
            known = ", ".join(dict.fromkeys(each.species for each in office.models))
            raise RoundtuiError(f"there is no model for {sanitize(species, 40)}", f"there is one for {known}")
        days = station_days(here.conn, station)
    total = degree_day_sum(days, model.development, first, last, office.most_filled)
    cl.show_either(
        as_json, lambda: sum_json(total), lambda width: sum_tables(total, model, station, first, last, width=width)
    )
    asked = StationDays.of(one for one in days if first <= one.on <= last)
    cl.say_problems(odd for odd in remarks(asked) if "read " in odd.message)
    _say_stop(total, station, after=bool(days) and days[-1].on > last)


def _say_stop(total: DegreeDaySum, station: str, *, after: bool) -> None:
    """Say where a sum stopped. A gap is a problem in the data; days that are still to come are none."""
    if total.stopped_on is None:
        return
    cl.say(f"The sum of {station} stops before {total.stopped_on}: {total.why}")
    if after or not total.rows or not total.why.startswith("temperatures end"):
        raise click.exceptions.Exit(ExitCode.PROBLEM)


@cl.on_folder()
@cl.ON
@click.option("--confirm", "block", metavar="BLOCK", help="Confirm the biofix of a block, or set another day.")
@click.option("--species", metavar="SPECIES", help="With --confirm: the species.")
@click.option("--generation", type=click.IntRange(1, 9), help="With --confirm: the generation. Default: 1.")
@click.option("--day", type=cl.DAY, metavar="DATE", help="With --confirm: another day than the proposed one.")
@click.option("--reason", metavar="WORDS", help="With --confirm: why it is another day; kept with the entry.")
@click.option("--scout", metavar="NAME", help="With --confirm: who. Default: the name kept in the app.")
@click.option("--yes", is_flag=True, help="With --confirm: do not ask, whatever it changes.")
@cl.JSON
def biofix(*, folder: Path, on: date | None, block: str | None, as_json: bool, **more: Any) -> None:
    """Biofix of every block, species and generation: proposed by a rule, confirmed by a person.

    With --confirm it is put on record. A day other than the proposed one needs a --reason.
    """
    if block is None:
        for name, value in more.items():
            if value:
                raise click.UsageError(f"{_dashed(name)} goes with --confirm BLOCK")
    with cl.at(folder) as here:
        season = _season(here, on)
        if block is not None:
            _confirm(here, season, block, more)
            return
        rows = season.biofix_rows()
    from roundtui.report.season.season import biofix_json, biofix_tables

    cl.show_either(as_json, lambda: biofix_json(rows), lambda _: biofix_tables(rows, season.programme, season.on))


def _confirm(here: cl.Here, season: SeasonRecord, block: str, more: dict[str, Any]) -> None:
    from roundtui.store.season.biofix import biofix_changes, settle_biofix, settlement

    if not more["species"]:
        raise click.UsageError("which species? Add --species")
    author = here.author(more["scout"])
    species = species_code(more["species"]) or more["species"]
    entry = settlement(season, block, species, more["generation"] or 1, day=more["day"], reason=more["reason"] or "")
    change = partial(settle_biofix, here.conn, season, entry, author, datetime.now(UTC))
    found = biofix_changes(here.conn, here.folder, season, entry, change)
    for words in found:
        cl.say(f"  {words}")
    if entry.replaces is not None and found and not more["yes"]:
        cl.agreed()
    recorded = change()
    cl.say(f"biofix of {block} {species}, generation {recorded.generation}: {recorded.day}")
    click.echo(recorded.id)


@cl.on_folder()
@cl.ON
@cl.JSON
def outlook(folder: Path, on: date | None, *, as_json: bool) -> None:
    """Life-cycle events of every block: reached, or expected with a range from the station's own past years."""
    with cl.at(folder) as here:
        season = _season(here, on)
        rows, odd = season.outlook_rows(), season.remarks()
    from roundtui.domain.season.season import coming
    from roundtui.report.season.season import outlook_json, outlook_tables

    about = rows, season.programme, season.on, coming(rows, season.on)
    cl.show_either(as_json, lambda: outlook_json(rows), lambda width: outlook_tables(*about, width=width))
    cl.say_problems(odd)


def _season(here: cl.Here, on: date | None) -> SeasonRecord:
    from roundtui.store.season.season import SeasonRecord

    return SeasonRecord(here.conn, here.folder, here.day(on), here.office)


CHART_COLUMNS, CHART_LINES = 100, 20
"""Largest chart that is printed."""


@contextmanager
def _years(
    folder: Path, on: date | None, block: str | None = None, species: str = "", *, closing_too: bool = False
) -> Iterator[YearsRecord]:
    from roundtui.domain.figures.history import season_start
    from roundtui.store.season.years import YearsRecord
    from roundtui.store.traps.parts import OF_PARTS

    with cl.at(folder) as here:
        office = here.office
        # Parts are put away after the last reading; what is assembled for the next season begins none.
        day, after = here.day(on), here.day(on, *OF_PARTS)
        if closing_too and season_start(after, office.season_starts_on) == season_start(day, office.season_starts_on):
            day = after
        if block is not None:
            block = cl.known_label(block, here.programme.blocks, "block", "the blocks are in blocks.csv")
        yield YearsRecord(here.conn, folder, day, office, (block or "", species))


@cl.on_folder()
@click.option("--species", required=True, metavar="SP", help="The species, as CM.")
@click.option("--block", metavar="B", help="The block. Default: the area, over all blocks.")
@click.option(
    "--by",
    type=click.Choice(("date", "degree-days")),
    default="date",
    show_default=True,
    help="How seasons are compared; degree-days count from the biofix.",
)
@cl.ON
@cl.JSON
def years(*, folder: Path, species: str, block: str | None, by: str, on: date | None, as_json: bool) -> None:
    """Lay the season of a block, or of the area, beside the seasons before.

    First catch, peak, total and weeks over the band of each; and what each past season showed at the same place. Where
    traps were moved, added or taken away the two are not compared, and the traps are named.
    """
    from roundtui.domain.season.years import By

    with _years(folder, on, block, species_code(species) or species) as record:
        known = record.now.programme
        found = record.of(*record.only, By(by))
    from roundtui.report.charts import draw
    from roundtui.report.season.years import lines_in, years_chart, years_json, years_tables
    from roundtui.report.text import Names

    cl.show_either(as_json, lambda: years_json(found), lambda width: years_tables(found, known, width))
    chart = None if as_json else years_chart(found, Names(known))
    if chart is not None:
        click.echo(f"\n{draw(chart, min(cl.columns(), CHART_COLUMNS), CHART_LINES)}\n  {lines_in(chart)}")


@cl.on_folder("season-end")
@click.option(
    "--season", type=click.IntRange(1900, 2199), metavar="YEAR", help="Year in which it started. Default: the newest."
)
@click.option("--farm", metavar="F", help="Only this farm. Default: the programme; with --to every farm as well.")
@click.option("--on", type=cl.DAY, metavar="DATE", help="Last day to look at. Default: the season's last on record.")
@click.option("--to", type=cl.FOLDER, metavar="DIR", help="Write text, page and JSON into this folder instead.")
@cl.JSON
def season_end(
    *, folder: Path, season: int | None, farm: str | None, on: date | None, to: Path | None, as_json: bool
) -> None:
    """Sum a season up: rounds walked, readings made, traps lost, lures used, weeks over the band."""
    from roundtui.report.letters.template import Templates
    from roundtui.report.season.season_end import season_end_page, write_season_ends
    from roundtui.report.season.years import season_end_json

    with _years(folder, on, closing_too=True) as newest:
        record = newest if season in (None, newest.now.season) else newest.ending(season or newest.now.season)
        known = record.now.programme
        if farm is not None:
            farm = cl.known_label(farm, known.farms, "farm", "the farms are in farms.csv")
        if not record.now.series:
            raise RoundtuiError(f"no trap hung in the season {record.now.season}", "name another with --season")
        every = [farm or "", *(sorted(known.farms) if farm is None and to is not None else ())]
        ends = record.ends(every, partial(cl.so_far, "blocks"))
    templates = Templates(folder)
    if to is None:
        (end,) = ends
        click.echo(
            json.dumps(season_end_json(end), indent=2) if as_json else season_end_page(end, known, templates, "txt")
        )
        return
    cl.say(f"{to}: {write_season_ends(ends, known, templates, to)}")


COMMANDS = (weather, degree_days, biofix, outlook, years, season_end)
"""The commands of this file."""
