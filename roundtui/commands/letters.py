"""Commands that write letters to growers and the update for the public. Nothing is sent."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import click

from roundtui.command_line import DAY, FOLDER, ON, newest_or, opened, say
from roundtui.errors import RoundtuiError

_ON = click.option("--on", type=DAY, metavar="DATE", help="Last of the seven days. Default: the newest day on record.")
_TO = click.option("--to", type=FOLDER, required=True, metavar="DIR", help="Folder to write to; made where missing.")
_NOTE = click.option("--note", default="", metavar="TEXT", help="A covering note, in plain words.")
_BAR_FROM = 20
"""Letters from which a progress bar is worth showing."""


@click.command()
@click.argument("folder", type=FOLDER)
@ON
@_TO
@click.option("--farm", "farms", multiple=True, metavar="FARM", help="Only this farm; may be given again.")
@_NOTE
def letters(folder: Path, on: date | None, to: Path, farms: tuple[str, ...], note: str) -> None:
    """Write a letter to each farm: a page, a text, and a mail with both, ready to be looked at and sent.

    Templates in FOLDER/templates come before those that ship; FOLDER/letters.toml says who writes.
    """
    from roundtui.domain.round.checks import nearest
    from roundtui.domain.text import sanitize
    from roundtui.report.letters.files import write_letters
    from roundtui.report.letters.material import read_material
    from roundtui.report.letters.season_lines import old_temperatures
    from roundtui.report.letters.template import Templates
    from roundtui.store.office import read_office
    from roundtui.store.record.read import setting

    with closing(opened(folder).conn) as conn:
        day = newest_or(on, conn)
        material = read_material(conn, folder, day, read_office(folder), farms=farms or None)
        for farm in farms:
            if farm not in material.farms:
                known = farm in material.programme.farms
                what = "no trap hung in these seven days" if known else "there is no such farm"
                hint = "name another day" if known else nearest(farm, material.farms) or "the codes are in farms.csv"
                raise RoundtuiError(f"farm {sanitize(farm, 40)}: {what}", hint)
        if old := old_temperatures(material):
            say(f"! {old}")
        chosen = tuple(farm for farm in material.farms if not farms or farm in farms)
        without = []
        with _bar(len(chosen)) as shown:
            for written in write_letters(
                conn,
                material,
                Templates(folder),
                to,
                notes=dict.fromkeys(chosen, note),
                by=setting(conn, "scout") or "",
                now=lambda: datetime.now(UTC),
                progress=shown,
            ):
                click.echo(f"{written.path}.html")
                if not written.addressed:
                    without.append(written.farm)
    say(f"{len(chosen)} {'letter' if len(chosen) == 1 else 'letters'} of {day.isoformat()}; nothing was sent")
    if without:
        say(f"without a mail address: {', '.join(sanitize(farm, 40) for farm in without)}; it is in farms.csv, email")


@click.command()
@click.argument("folder", type=FOLDER)
@ON
@click.option("--to", type=FOLDER, metavar="DIR", help="Folder to write to; made where missing.")
@_NOTE
@click.option("--preview", is_flag=True, help="Only print the text; nothing is written or kept.")
def update(folder: Path, on: date | None, to: Path | None, note: str, preview: bool) -> None:
    """Write the area update for the public, of the newest whole week.

    Figures of fewer than four growers are withheld, and a week once published stays as it was. Farms that take no part
    are named in FOLDER/letters.toml.
    """
    from roundtui.domain.text import sanitize
    from roundtui.report.letters.template import Templates
    from roundtui.report.letters.update import compose_update, read_area, update_text, write_update
    from roundtui.store.office import read_office

    if to is None and not preview:
        raise click.UsageError("Missing option '--to'.")
    with closing(opened(folder).conn) as conn:
        day = newest_or(on, conn)
        area = read_area(conn, folder, day, read_office(folder))
        found = compose_update(area, note=note)
        templates = Templates(folder)
        if to is None or preview:
            click.echo(update_text(found, templates), nl=False)
        else:
            for path in write_update(conn, area, found, templates, to):
                click.echo(path)
    if area.questions:
        say(f"look at these before it goes out: {'; '.join(area.questions)}")
    if area.missing:
        farms = ", ".join(sanitize(farm, 40) for farm in area.missing)
        after = "wait for them" if preview else "once published, the week stays without them"
        say(f"not read in the week to {area.cells.newest.isoformat()}: {farms}; {after}")


@contextmanager
def _bar(letters: int) -> Iterator[Any]:
    """A progress bar where there are many letters, on a terminal only."""
    if letters < _BAR_FROM or not sys.stderr.isatty():
        yield None
        return
    with click.progressbar(length=letters, label="writing", file=sys.stderr) as bar:
        yield lambda _farm, _done, _of: bar.update(1)


COMMANDS = (letters, update)
"""The commands of this file."""
