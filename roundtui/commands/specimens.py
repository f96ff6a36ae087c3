"""Commands for what is counted once more: vials and their naming, and how far recounts agree."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path
from typing import Any

import click

from roundtui.command_line import DAY, JSON, ON, SCOUT, YES, at, on_folder, say, show_either, show_json, today
from roundtui.commands.corrections import accept
from roundtui.report.round import specimens
from roundtui.store.round import recounts


@on_folder()
@click.argument("vial", metavar="VIAL")
@click.argument("what", metavar="WHAT")
@click.option("--by", required=True, metavar="NAME", help="Who named it.")
@click.option("--on", type=DAY, metavar="DATE", help="When that was. Default: today.")
@click.option("--number", type=click.IntRange(1), metavar="N", help="How many of those in the vial. Default: all.")
@SCOUT
@YES
def identify(*, folder: Path, vial: str, on: date | None, scout: str | None, yes: bool, **named: Any) -> None:
    """Name what is in a vial: roundtui identify farm V-12 "lesser appleworm" --by NAME.

    A count that held it, or should have held it, is corrected in the same step, with the name as its reason. What that
    changes in figures, statuses and letters is said first. VIAL may be the id of an entry as well; WHAT is a species, a
    kind, any other name, or unknown, which takes a name back.
    """
    with at(folder) as here:
        author = here.author(scout)
        found = recounts.find_specimen(here.conn, vial, today())
        ready = recounts.identification(here.conn, here.programme, found, on=on or today(), **named)
        change = partial(recounts.record_identification, here.conn, ready, author, datetime.now(UTC))
        visit, about = ready.visit, (here.folder, here.office, change)
        letters = specimens.letters_changed(here.conn, about, ready, here.programme, today())
        if visit is None:
            recorded = change()
            for words in (f"{found.trap} on {found.read_on}: no count changes", *letters):
                say(words)
        else:
            say(f"{visit.trap} on {visit.read_on}: {visit.reason}; the count is {visit.count}")
            recorded = accept(here, change, days={visit.read_on}, traps={visit.trap}, yes=yes, more=letters)
    click.echo(recorded.id)


@on_folder()
@ON
@click.option("--open", "only_open", is_flag=True, help="Only vials to identify, of every season.")
@JSON
def vials(folder: Path, on: date | None, only_open: bool, as_json: bool) -> None:
    """List what else was in the traps this season, and what of it waits for a name."""
    from roundtui.domain.figures.history import season_start
    from roundtui.domain.round.specimens import is_open
    from roundtui.store.record.rows import SPECIMENS

    with at(folder) as here:
        known, day = here.programme, here.day(on, SPECIMENS)
        first = season_start(day, here.office.season_starts_on)
        found = [
            one
            for one in recounts.other_catch(here.conn, day)
            if (is_open(one) or (one.read_on >= first and not only_open))
        ]
    if not found and not as_json:
        say("no vial to identify" if only_open else "no other catch this season")
        return
    show_either(
        as_json, lambda: specimens.vials_json(found, known), lambda width: specimens.vials_table(found, known, width)
    )


@on_folder("finds")
@ON
@click.option(
    "--near",
    nargs=3,
    type=(str, str, click.FloatRange(0)),
    metavar="SPECIES BLOCK METRES",
    help="What was caught there.",
)
@click.option("--since", type=DAY, metavar="DATE", help="From this day. Default: the season's first; with --near.")
@JSON
def finds_command(
    *, folder: Path, on: date | None, near: tuple[str, str, float] | None, since: date | None, as_json: bool
) -> None:
    """Say where the pests stand that plan.toml watches for: finds near each other, zones about them, the wait.

    With --near AM HILL 805 it says what the traps for a species within so far of a block caught, and of how many nights
    nobody knows. It certifies nothing: what a find leads to is for the authority that wrote the rule.
    """
    from dataclasses import asdict

    from roundtui.command_line import known_label
    from roundtui.domain.programme.species import SPECIES, species_code

    with at(folder) as here:
        day = here.day(on)
        if near is None:
            found = recounts.read_finds(here.conn, folder, here.office, day)
            _show(as_json, specimens.finds_json(found), specimens.finds_words(found, day))
            return
        species, block, away = near
        species = known_label(species_code(species) or species, SPECIES, "species", f"one of {', '.join(SPECIES)}")
        block = known_label(block, here.programme.blocks, "block", "blocks are set up in blocks.csv")
        seen, span = recounts.read_no_catch(here.conn, folder, here.office, (since, day), near=(species, block, away))
    about = {"species": species, "block": block, "within_m": away, "from": f"{span[0]}", "to": f"{span[1]}"}
    _show(
        as_json, about | asdict(seen), specimens.no_catch_words(seen, f"{species} within {away:g} m of {block}", span)
    )


def _show(as_json: bool, said: Any, words: Iterable[str]) -> None:
    if as_json:
        show_json(said)
    else:
        click.echo("\n".join(words))


@on_folder()
@ON
@click.option(
    "--season", type=click.IntRange(1900, 2199), metavar="YEAR", help="Year in which it started. Default: that of --on."
)
@JSON
def agreement(folder: Path, on: date | None, season: int | None, as_json: bool) -> None:
    """Say how far those who count the same catch agree: recounts of the season, held against the first counts.

    Traps of each round that are asked for a recount are named, one in twenty: those of --on, else of today.
    """
    from roundtui.domain.round.recounts import agreement as agreement_of
    from roundtui.report.round.recounts import agreement_json, agreement_words

    with at(folder) as here:
        day = here.day(on)
        first, last = recounts.season_of(here.office, day, season)
        known = here.programme
        found = agreement_of(recounts.pairs(here.conn, known, first, last))
        asked = recounts.asked_on(here.conn, known, on or today()) if last == day else {}
    about = found, (first, last), asked
    _show(as_json, agreement_json(*about), agreement_words(*about))


@on_folder("quality")
@ON
@JSON
def quality(folder: Path, on: date | None, as_json: bool) -> None:
    """Say how the scouting itself was done: visits on time, training, supervisor's visits, planted specimens.

    Of the season up to --on, by person, route and week. Visits are on time by the intervals of plan.toml, people are
    trained by people.csv; supervisor's visits come with roundtui record checks. The catch of each species stands below,
    a trap a day beside a week.
    """
    from roundtui.report.round.recounts import quality_json, quality_words

    with at(folder) as here:
        found = recounts.read_quality(here.conn, folder, here.office, here.day(on))
    _show(as_json, quality_json(found), quality_words(found))


COMMANDS = (identify, vials, finds_command, agreement, quality)
"""The commands of this file."""
