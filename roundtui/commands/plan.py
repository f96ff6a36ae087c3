"""Commands of the season's plan: plan, packing lists, stock of lures, labels."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from roundtui.command_line import FOLDER, JSON, ON, Here, at, known_label, on_folder, say, show_either
from roundtui.domain.traps.labels import SHEETS, USUAL_SHEET

if TYPE_CHECKING:
    from roundtui.store.inventory import PlanRecord

_SEASON = click.option(
    "--season",
    type=click.IntRange(1900, 2999),
    metavar="YEAR",
    help="Year in which the season starts. Default: the running one, or the next once all traps are down.",
)


def _plan(here: Here, on: date | None, season: int | None = None) -> PlanRecord:
    from roundtui.store.inventory import PlanRecord

    return PlanRecord(here.conn, here.folder, here.day(on), here.office, season)


@on_folder()
@_SEASON
@ON
@JSON
def plan(folder: Path, season: int | None, on: date | None, *, as_json: bool) -> None:
    """Plan a season: how many traps per block and species, and by which day they hang.

    Numbers are last season's. The day is the earliest that applies: by stage, date or degree-days, and two weeks before
    last season's first catch, so that the first check reads zero. FOLDER/plan.toml holds the office's own rules.
    """
    from roundtui.report.inventory import plan_json, plan_tables

    with at(folder) as here:
        record = _plan(here, on, season)
        show_either(as_json, lambda: plan_json(record.plan), lambda _: plan_tables(record.plan, record.programme))


@on_folder()
@click.option("--route", metavar="ROUTE", help="For the next round of this route. Default: for the season.")
@_SEASON
@ON
@JSON
def packing(folder: Path, route: str | None, season: int | None, on: date | None, *, as_json: bool) -> None:
    """List what to pack: for the season, or for the next round of a route.

    Bodies by species, lures by lot, liners, kill strips, flagging tape; what is in the store and what is to be bought,
    where it was counted.
    """
    from roundtui.report.inventory import packing_json, packing_tables

    if route is not None and season is not None:
        raise click.UsageError("--season goes without --route: a round is of the running season")
    with at(folder) as here:
        record = _plan(here, on, season)
        found = record.packing(here.route(route) or "")
        show_either(as_json, lambda: packing_json(found, record.on), lambda _: packing_tables(found, record.on))


@on_folder()
@ON
@JSON
def stock(folder: Path, on: date | None, *, as_json: bool) -> None:
    """List lures in stock by lot: what is left, what will be required, what runs out and what expires.

    A lot is bought or counted in the app's Plan, or with roundtui record stock. One that never was is not counted,
    which is not zero.
    """
    from roundtui.report.inventory import stock_json, stock_tables

    with at(folder) as here:
        record = _plan(here, on)
        about = record.lots, record.on, record.without_lot
        show_either(as_json, lambda: stock_json(*about), lambda _: stock_tables(*about))


@on_folder()
@click.option("--to", type=FOLDER, required=True, metavar="FILE", help="Page to write, .html; or a text, .txt.")
@click.option(
    "--size", type=click.Choice(tuple(SHEETS)), default=USUAL_SHEET, show_default=True, help="Paper, columns and rows."
)
@click.option("--traps", metavar="A1,A2,…", help="Only these traps. Default: all that hang, hung or were assembled.")
@ON
def labels(folder: Path, to: Path, size: str, traps: str | None, on: date | None) -> None:
    """Write a sheet of trap labels, each with a scannable code of the trap's label.

    Print it unscaled, at 100 %, on plain paper first, and hold it against the sheet.
    """
    from roundtui.report.traps.labels import write_labels

    if to.suffix.lower() not in (".html", ".htm", ".txt"):
        raise click.UsageError("--to needs a name that ends in .html or .txt")
    with at(folder) as here:
        number = write_labels(here.conn, here.day(on), to, size, _chosen(here, traps))
    sheets = -(-number // SHEETS[size].each)
    pages = "" if to.suffix.lower() == ".txt" else f" on {sheets} {'sheet' if sheets == 1 else 'sheets'} {size}"
    say(f"{to}: {number} {'label' if number == 1 else 'labels'}{pages}")


def _chosen(here: Here, traps: str | None) -> tuple[str, ...]:
    """Labels of traps as they are set up; one that nobody knows is named."""
    if traps is None:
        return ()
    from roundtui.report.traps.labels import assembled

    every = {*here.programme.hangings, *(one.trap for one in assembled(here.conn))}
    wanted = dict.fromkeys(label.strip() for label in traps.split(","))
    return tuple(known_label(one, every, "trap", "the labels are in traps.csv") for one in wanted)


COMMANDS = (plan, packing, stock, labels)
"""The commands of this file."""
