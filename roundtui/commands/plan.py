"""Commands of the season's plan: plan, packing lists, stock of lures, labels."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from roundtui.command_line import FOLDER, JSON, ON, known_label, known_route, newest_or, opened, say, show, show_json
from roundtui.domain.traps.labels import SHEETS, USUAL_SHEET

if TYPE_CHECKING:
    from roundtui.domain.programme.farm import Programme
    from roundtui.store.inventory import PlanRecord

_SEASON = click.option(
    "--season",
    type=click.IntRange(1900, 2999),
    metavar="YEAR",
    help="Year in which the season starts. Default: the running one, or the next once all traps are down.",
)


@contextmanager
def _plan(folder: Path, on: date | None, season: int | None = None) -> Iterator[PlanRecord]:
    from roundtui.store.inventory import PlanRecord
    from roundtui.store.office import read_office

    with closing(opened(folder).conn) as conn:
        day = newest_or(on, conn)
        yield PlanRecord(conn, folder, day, read_office(folder), season)


@click.command()
@click.argument("folder", type=FOLDER)
@_SEASON
@ON
@JSON
def plan(folder: Path, season: int | None, on: date | None, *, as_json: bool) -> None:
    """Plan a season: how many traps per block and species, and by which day they hang.

    Numbers are last season's. The day is the earliest that applies: by stage, date or degree-days, and two weeks before
    last season's first catch, so that the first check reads zero. FOLDER/plan.toml holds the office's own rules.
    """
    from roundtui.report.inventory import plan_json, plan_tables

    with _plan(folder, on, season) as record:
        found = record.plan
        if as_json:
            show_json(plan_json(found))
        else:
            show(plan_tables(found, record.programme))


@click.command()
@click.argument("folder", type=FOLDER)
@click.option("--route", metavar="ROUTE", help="For the next round of this route. Default: for the season.")
@_SEASON
@ON
@JSON
def packing(folder: Path, route: str | None, season: int | None, on: date | None, *, as_json: bool) -> None:
    """List what to pack: for the season, or for the next round of a route.

    Bodies by species, lures by lot, liners, kill strips, flagging tape; what is in the store and what is to be bought,
    where it was counted.
    """
    from roundtui.report.inventory import (
        round_packing_json,
        round_packing_tables,
        season_packing_json,
        season_packing_tables,
    )

    if route is not None and season is not None:
        raise click.UsageError("--season goes without --route: a round is of the running season")
    with _plan(folder, on, season) as record:
        route = known_route(record.programme, route)
        if route is None:
            lines, of = record.season_packing, record.plan
            if as_json:
                show_json(season_packing_json(lines, of))
            else:
                show(season_packing_tables(lines, of))
            return
        found = record.round_packing(route)
        if as_json:
            show_json(round_packing_json(found, record.on, record.running.year))
        else:
            show(round_packing_tables(found))


@click.command()
@click.argument("folder", type=FOLDER)
@ON
@JSON
def stock(folder: Path, on: date | None, *, as_json: bool) -> None:
    """List lures in stock by lot: what is left, what will be wanted, what runs out and what expires.

    A lot is bought or counted in the app's Plan, or with roundtui record stock. One that never was is not counted,
    which is not zero.
    """
    from roundtui.report.inventory import stock_json, stock_tables

    with _plan(folder, on) as record:
        if as_json:
            show_json(stock_json(record.lots, record.on, record.without_lot))
        else:
            show(stock_tables(record.lots, record.on, record.without_lot))


@click.command()
@click.argument("folder", type=FOLDER)
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
    from roundtui.store.record.read import programme

    if to.suffix.lower() not in (".html", ".htm", ".txt"):
        raise click.UsageError("--to needs a name that ends in .html or .txt")
    with closing(opened(folder).conn) as conn:
        day = newest_or(on, conn)
        chosen = _chosen(conn, programme(conn), traps)
        number = write_labels(conn, day, to, size, chosen)
    sheets = -(-number // SHEETS[size].each)
    pages = "" if to.suffix.lower() == ".txt" else f" on {sheets} {'sheet' if sheets == 1 else 'sheets'} {size}"
    say(f"{to}: {number} {'label' if number == 1 else 'labels'}{pages}")


def _chosen(conn: sqlite3.Connection, known: Programme, traps: str | None) -> tuple[str, ...]:
    """Labels of traps as they are set up; one that nobody knows is named."""
    if traps is None:
        return ()
    from roundtui.report.traps.labels import assembled

    every = {*known.hangings, *(one.trap for one in assembled(conn))}
    wanted = dict.fromkeys(label.strip() for label in traps.split(","))
    return tuple(known_label(one, every, "trap", "the labels are in traps.csv") for one in wanted)


COMMANDS = (plan, packing, stock, labels)
"""The commands of this file."""
