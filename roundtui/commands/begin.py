"""Beginning a programme of one's own."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click

from roundtui.command_line import FOLDER, say
from roundtui.errors import RefusedError


@click.command()
@click.argument("folder", type=FOLDER)
@click.option("--office", default="", metavar="NAME", help="Name of the office, as it signs its letters.")
@click.option("--unit", type=click.Choice(["F", "C"], case_sensitive=False), help="Unit of temperatures. Default: F.")
@click.option("--timezone", metavar="TZ", help="Time zone, as America/New_York. Default: this computer's.")
@click.option("--farm", "farms", multiple=True, metavar="CODE=NAME", help="A farm; may be given again.")
def new(folder: Path, office: str, unit: str | None, timezone: str | None, farms: tuple[str, ...]) -> None:
    """Begin an empty programme in FOLDER: every set-up file with its header, and no rule but those that ship."""
    from roundtui.domain.units import TempUnit
    from roundtui.store.begin import Beginning, known_zone, machine_zone

    if timezone is not None and not known_zone(timezone):
        raise click.BadParameter(
            f"{timezone!r} is no time zone; write one as America/New_York", param_hint="--timezone"
        )
    pairs = []
    for text in farms:
        code, found, name = (part.strip() for part in text.partition("="))
        if not (code and found and name):
            raise click.BadParameter(f"{text!r} is no farm; write it as HF=Hollow Farm", param_hint="--farm")
        pairs.append((code, name))
    start_programme(
        folder, Beginning(" ".join(office.split()), TempUnit(unit or "F"), timezone or machine_zone(), tuple(pairs))
    )
    if unit is None:
        say("Temperatures without a unit are taken as F; --unit C, or unit in models.toml, for Celsius.")
    if timezone is None:
        say(f"The time zone is this computer's, {machine_zone()}; timezone in models.toml changes it.")


def start_programme(folder: Path, beginning: object) -> None:
    """Make the folder, and say what judges and what comes next.

    Args:
        folder: Folder to make.
        beginning: What it begins with.
    """
    from contextlib import closing

    from roundtui.domain.programme.beginning import next_step, steps
    from roundtui.store.begin import Beginning, begin
    from roundtui.store.folder import open_folder
    from roundtui.store.read import programme

    assert isinstance(beginning, Beginning)  # noqa: S101
    now = datetime.now(UTC)
    begin(folder, beginning, now)
    say(f"{folder} is ready: {beginning.unit}, {beginning.timezone}.")
    say_rules(folder)
    with closing(open_folder(folder, now=now).conn) as conn:
        step = next_step(steps(programme(conn), 0))
    if step is not None:
        say(f"Next: {step.name}, each {step.words}.")
        brought = f", or bring a table of yours: roundtui bring {folder} FILE --as {step.name}" if step.table else ""
        say(f"Fill {step.file} with a spreadsheet{brought}.")


def say_rules(folder: Path) -> None:
    """Say which rules judge where the office has none of its own.

    Args:
        folder: The scouting folder.

    Raises:
        ProblemsError: thresholds.toml cannot be used.
    """
    from roundtui.store.office import read_office

    rules = read_office(folder).rules
    if any(rule.office for rule in rules):
        return
    shipped = ", ".join(f"{rule.id} ({_band(rule.low, rule.high)})" for rule in rules)
    say(f"No rule of the office's own: those that ship judge, {shipped}.")


def _band(low: object, high: object) -> str:
    return f"{low}" if low == high else f"{low} to {high}"


def offer_programme(folder: Path) -> None:
    """Ask whether to begin a programme in a folder that holds none, and with what.

    Args:
        folder: The folder; it may be missing.

    Raises:
        RefusedError: The answer is no.
    """
    from roundtui.domain.units import TempUnit
    from roundtui.store.begin import Beginning, known_zone, machine_zone

    where = "is empty" if folder.exists() else "is not there yet"
    if not click.confirm(f"The folder {folder} {where}. Begin a programme in it?", default=False, err=True):
        raise RefusedError("nothing was changed", "roundtui demo shows a programme; roundtui new begins one")
    units, zone = click.Choice(["F", "C"], case_sensitive=False), machine_zone()

    def ask(words: str, default: str | None = "", **more: Any) -> str:
        return str(click.prompt(words, default=default, show_default=bool(default), err=True, **more)).strip()

    office = ask("Name of the office, as it signs letters (Enter: later)")
    unit = ask("Temperatures in F or C", "F", type=units)
    zone = ask("Time zone", zone)
    while not known_zone(zone):
        zone = ask(f"{zone!r} is no time zone; write one as America/New_York", machine_zone())
    farms: list[tuple[str, str]] = []
    blocks: list[tuple[str, str, str, str]] = []
    if code := ask("Code of the first farm, as HF (Enter: later)"):
        farms.append((code, ask("Its name", None)))
        if block := ask("Code of its first block, as N1 (Enter: later)"):
            blocks.append((block, code, ask("Its name", block), ask("Its crop", "apple")))
    start_programme(folder, Beginning(" ".join(office.split()), TempUnit(unit), zone, farms, blocks))


COMMANDS = (new,)
"""The commands of this file."""
