"""The command that shows threshold rules: those that judge, and those published that an office can choose."""

from __future__ import annotations

from pathlib import Path

import click

from roundtui.command_line import FOLDER, JSON, show_either, today
from roundtui.errors import RoundtuiError


@click.command()
@click.argument("folder", type=FOLDER, required=False)
@click.option("--species", "species", metavar="SP", help="Only this species, as CM.")
@click.option("--region", "region", metavar="WORD", help="Of those published, only what was printed for such a region.")
@click.option("--copy", "copied", multiple=True, metavar="ID", help="Print this one for thresholds.toml; repeatable.")
@JSON
def rules(
    folder: Path | None, species: str | None, region: str | None, copied: tuple[str, ...], *, as_json: bool
) -> None:
    """Show the threshold rules that judge FOLDER, and those published that an office can choose from.

    None of those published judges anything before it stands in FOLDER/thresholds.toml.
    """
    from roundtui.domain.figures.rules import SHIPPED_RULES
    from roundtui.domain.programme.species import species_code
    from roundtui.domain.text import sanitize
    from roundtui.store.office import read_office, read_published_rules

    published = read_published_rules()
    if copied:
        known = {one.rule.id: one for one in published}
        for name in copied:
            if name not in known:
                raise RoundtuiError(f"no rule published is called {sanitize(name, 60)}", "roundtui rules lists them")
        click.echo("\n".join(known[name].toml(today()) for name in copied))
        return
    judging = read_office(folder).rules if folder else SHIPPED_RULES
    code = (species_code(species) or species.upper()) if species else None
    judging = tuple(rule for rule in judging if code in (None, rule.species))
    published = tuple(
        one
        for one in published
        if code in (None, one.rule.species) and (region or "").casefold() in one.rule.region.casefold()
    )
    from roundtui.report.figures.rules import rule_sections, rules_json

    about = judging, published
    show_either(
        as_json,
        lambda: rules_json(*about),
        lambda _: [part for section in rule_sections(*about) for part in (*section, "")],
    )


COMMANDS = (rules,)
