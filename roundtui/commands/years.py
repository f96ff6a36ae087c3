"""Commands that sample back: year against year, and the end of a season."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from roundtui.command_line import DAY, FOLDER, JSON, ON, at, known_label, on_folder, say, show_either, terminal, today
from roundtui.errors import RoundtuiError

if TYPE_CHECKING:
    from roundtui.store.season.years import YearsRecord

CHART_COLUMNS, CHART_LINES = 100, 20
"""Largest chart that is printed."""


@contextmanager
def _years(
    folder: Path, on: date | None, block: str | None = None, species: str = "", *, closing_too: bool = False
) -> Iterator[YearsRecord]:
    from roundtui.domain.figures.history import season_start
    from roundtui.store.season.years import YearsRecord
    from roundtui.store.traps.parts import newest_day

    with at(folder) as here:
        office = here.office
        day = here.day(on)
        after = newest_day(here.conn, today()) if closing_too and on is None else None
        # Parts are put away after the last reading; what is assembled for the next season begins none.
        if after and season_start(after, office.season_starts_on) == season_start(day, office.season_starts_on):
            day = max(day, after)
        if block is not None:
            block = known_label(block, here.programme.blocks, "block", "the blocks are in blocks.csv")
        yield YearsRecord(here.conn, folder, day, office, (block or "", species))


@on_folder()
@click.option("--species", required=True, metavar="SP", help="The species, as CM.")
@click.option("--block", metavar="B", help="The block. Default: the area, over all blocks.")
@click.option(
    "--by",
    type=click.Choice(("date", "degree-days")),
    default="date",
    show_default=True,
    help="How seasons are compared; degree-days count from the biofix.",
)
@ON
@JSON
def years(*, folder: Path, species: str, block: str | None, by: str, on: date | None, as_json: bool) -> None:
    """Lay the season of a block, or of the area, beside the seasons before.

    First catch, peak, total and weeks over the band of each; and what each past season showed at the same place. Where
    traps were moved, added or taken away the two are not compared, and the traps are named.
    """
    from roundtui.domain.programme.species import species_code
    from roundtui.domain.season.years import By

    with _years(folder, on, block, species_code(species) or species) as record:
        known = record.now.programme
        found = record.of(*record.only, By(by))
    from roundtui.report.charts import draw
    from roundtui.report.season.years import years_chart, years_json, years_tables
    from roundtui.report.text import Names, listed

    show_either(as_json, lambda: years_json(found), lambda _: years_tables(found, known))
    if as_json:
        return
    console = terminal()
    chart = years_chart(found, Names(known))
    if chart is not None:
        console.print()
        console.print(str(draw(chart, min(console.width, CHART_COLUMNS), CHART_LINES)))
        *past, now = (str(year.season) for year in found.seasons)
        console.print(f"  Full line: {now}." + (f" Dotted: {listed(reversed(past))}." if past else ""))


@on_folder("season-end")
@click.option(
    "--season", type=click.IntRange(1900, 2199), metavar="YEAR", help="Year in which it started. Default: the newest."
)
@click.option("--farm", metavar="F", help="Only this farm. Default: the programme; with --to every farm as well.")
@click.option("--on", type=DAY, metavar="DATE", help="Last day to look at. Default: the season's last on record.")
@click.option("--to", type=FOLDER, metavar="DIR", help="Write text, page and JSON into this folder instead.")
@JSON
def season_end(
    *, folder: Path, season: int | None, farm: str | None, on: date | None, to: Path | None, as_json: bool
) -> None:
    """Sum a season up: rounds walked, readings made, traps lost, lures used, weeks over the band."""
    from roundtui.report.letters.template import Templates
    from roundtui.report.season.season_end import season_end_text, write_season_ends
    from roundtui.report.season.years import season_end_json

    with _years(folder, on, closing_too=True) as newest:
        record = newest if season in (None, newest.now.season) else newest.ending(season or newest.now.season)
        known = record.now.programme
        if farm is not None:
            farm = known_label(farm, known.farms, "farm", "the farms are in farms.csv")
        if not record.now.series:
            raise RoundtuiError(f"no trap hung in the season {record.now.season}", "name another with --season")
        every = [farm or "", *(sorted(known.farms) if farm is None and to is not None else ())]
        ends = record.ends(every)
    templates = Templates(folder)
    if to is None:
        (end,) = ends
        click.echo(json.dumps(season_end_json(end), indent=2) if as_json else season_end_text(end, known, templates))
        return
    say(f"{to}: {write_season_ends(ends, known, templates, to)}")


COMMANDS = (years, season_end)
"""The commands of this file."""
