"""Commands that write letters to growers and the update for the public. Nothing is sent."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import click

from roundtui.command_line import FOLDER, ON, TO, at, counted, on_folder, say
from roundtui.errors import RoundtuiError

_NOTE = click.option("--note", default="", metavar="TEXT", help="A covering note, in plain words.")
_BAR_FROM = 20
"""Letters from which a progress bar is worth showing."""


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
    from roundtui.domain.text import sanitize
    from roundtui.report.letters.files import write_letters
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
        without = []
        with counted(len(chosen), _BAR_FROM) as shown:
            for written in write_letters(
                here.conn,
                material,
                Templates(folder),
                to,
                notes=dict.fromkeys(chosen, note),
                by=here.scout(None),
                now=lambda: datetime.now(UTC),
                progress=(lambda *_: shown(1)) if shown else None,
            ):
                click.echo(f"{written.path}.html")
                if not written.addressed:
                    without.append(written.farm)
    say(f"{len(chosen)} {'letter' if len(chosen) == 1 else 'letters'} of {day.isoformat()}; nothing was sent")
    if without:
        say(f"without a mail address: {', '.join(sanitize(farm, 40) for farm in without)}; it is in farms.csv, email")


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
    from roundtui.domain.text import sanitize
    from roundtui.report.letters.template import Templates
    from roundtui.report.letters.update import compose_update, read_area, update_text, write_update

    if to is None and not preview:
        raise click.UsageError("Missing option '--to'.")
    with at(folder) as here:
        area = read_area(here.conn, folder, here.day(on), here.office)
        found = compose_update(area, note=note)
        templates = Templates(folder)
        if to is None or preview:
            click.echo(update_text(found, templates), nl=False)
        else:
            for path in write_update(here.conn, area, found, templates, to):
                click.echo(path)
    if area.questions:
        say(f"look at these before it goes out: {'; '.join(area.questions)}")
    if area.missing:
        farms = ", ".join(sanitize(farm, 40) for farm in area.missing)
        after = "wait for them" if preview else "once published, the week stays without them"
        say(f"not read in the week to {area.cells.newest.isoformat()}: {farms}; {after}")


COMMANDS = (letters, update)
"""The commands of this file."""
