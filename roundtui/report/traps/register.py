"""The register as JSON and as text: what hangs where, what is published on it, who changed it.

Set-up rows that differ between laptops, in words and as a table.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from roundtui.domain.entries import SetUpChanged, changed_columns
from roundtui.domain.figures.learned import Needed
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.programme.rounds import closed_blocks, out_of_order, way_lines
from roundtui.domain.text import WARNS, sanitize
from roundtui.domain.traps.placement import Advice, advice_on
from roundtui.report.inventory import needed_json, needed_section
from roundtui.report.text import Names, Section, as_name, heading, json_of, paragraph, plain, stacked, tabled, titled
from roundtui.store.set_up.columns import Values, cell
from roundtui.store.set_up.versions import THIS_FILE, Offer, OpenRow

_SHOWN = 240


def register_json(
    programme: Programme, on: date, behind: Iterable[tuple[str, str]], needed: Mapping[tuple[str, str], Needed]
) -> dict[str, Any]:
    """The register of a day.

    Args:
        programme: What is set up.
        on: The day.
        behind: File and label of the rows that the set-up files do not have so.
        needed: Traps needed, by block and species.
    """
    advice = advice_on(programme, on)
    return {
        "on": on.isoformat(),
        "farms": [json_of(programme.farms[code], "farm name visit_last") for code in _in_order(programme.farms)],
        "blocks": [
            {
                **json_of(block, "block farm name no_entry_before"),
                "advice": [_advice(one) for one in advice if one.block == block.block and not one.trap],
                "needed": {species: needed_json(one) for (code, species), one in needed.items() if code == block.block},
            }
            for block in map(programme.blocks.__getitem__, _in_order(programme.blocks))
        ],
        "traps": [_trap(programme, label, on, advice) for label in _in_order(programme.hangings)],
        "lots": [json_of(programme.lots[code], "lot species expires_on") for code in _in_order(programme.lots)],
        "routes": [_route(programme, route, traps, on) for route, traps in programme.routes.items()],
        "not_in_files": [{"file": file, "row": label} for file, label in behind],
    }


def _in_order(labels: Iterable[str]) -> list[str]:
    return sorted(labels, key=natural_key)


def _trap(programme: Programme, label: str, on: date, advice: Sequence[Advice]) -> dict[str, Any]:
    rows = programme.hangings[label]
    now = programme.hanging(label, on)
    shown = now or rows[-1]
    return {
        "trap": label,
        "species": shown.species,
        "hangs": now is not None and now.down_on != on,
        **json_of(shown, "block row tree edge lot height_m"),
        "series": [json_of(row, "block hung_on down_on") for row in rows],
        "advice": [_advice(one) for one in advice if one.trap == label],
    }


def _route(programme: Programme, route: str, traps: Sequence[str], on: date) -> dict[str, Any]:
    early = out_of_order(programme, traps, on)
    return {
        "route": route,
        "traps": list(traps),
        "visit_last": json_of(early, "farm trap before") if early else None,
        "no_entry": [{"block": code, "before": f"{first}"} for code, first in closed_blocks(programme, traps, on)],
    }


def _advice(one: Advice) -> dict[str, Any]:
    rule = "asks=rule.asks advised=rule.words source=rule.source otherwise=rule.otherwise?"
    return json_of(one, f"species found partner? {rule}")


def register_sections(
    programme: Programme,
    on: date,
    behind: Sequence[tuple[str, str]],
    needed: Mapping[tuple[str, str], Needed],
    *,
    width: int,
) -> Section:
    """The register of a day as tables: traps, what is published on their places, routes.

    Args:
        programme: What is set up.
        on: The day.
        behind: File and label of the rows that the set-up files do not have so.
        needed: Traps needed, by block and species.
        width: Columns of the terminal.
    """
    return stacked(
        [
            [heading(f"Register on {on.isoformat()}"), *_traps(programme, on, width)],
            _advised(advice_on(programme, on)),
            needed_section(needed, Names(programme)),
            _routes(programme, on),
            _behind(behind),
        ]
    )


def _traps(programme: Programme, on: date, width: int) -> Section:
    rows = []
    for label in _in_order(programme.hangings):
        series = programme.hangings[label]
        row = programme.hanging(label, on) or series[-1]
        hung = (plain(row.hung_on), plain(row.down_on), len(series), row.lot)
        rows.append(
            ("", [as_name(str(one or "")) for one in (label, row.species, row.block, row.row, row.tree, *hung)])
        )
    return tabled("Trap 9|Pest 5|Block 8|Row 5|Tree 5|Hung on 10|Down on 10|Series >6|Lot", width, rows)


def _advised(advice: Sequence[Advice]) -> Section:
    """What is published, each piece once with the traps it is about, its source and who says otherwise."""
    said = []
    for rule in dict.fromkeys(one.rule for one in advice):
        said.append(paragraph(f"Published: {rule.words}. Source: {rule.source}."))
        said += [paragraph(f"Others: {rule.otherwise}.", 4)] if rule.otherwise else []
        for one in (one for one in advice if one.rule is rule):
            who = f"{as_name(one.trap)} in {as_name(one.block)}" if one.trap else one.block
            said.append(paragraph(sanitize(f"{WARNS}{who}: {one.found}", _SHOWN), 4))
    return titled("Places other than published advice", said)


def _routes(programme: Programme, on: date) -> Section:
    ways = {route: (traps, traps) for route, traps in programme.routes.items()}
    return titled("On the way", way_lines(programme, ways, on))


def _behind(behind: Sequence[tuple[str, str]]) -> Section:
    lines = (f"{file} {as_name(label)}" for file, label in behind)
    return titled("Changed here and not in the files: roundtui set-up writes them", lines)


def changes_json(entries: Iterable[SetUpChanged]) -> list[dict[str, Any]]:
    """Changes of rows, the newest first.

    Args:
        entries: The changes.
    """
    return [
        {
            **json_of(one, "id recorded_at scout device file change done_on"),
            "was": json.loads(one.was) if one.was else None,
            "becomes": json.loads(one.becomes) if one.becomes else None,
            "words": one.words,
        }
        for one in entries
    ]


def changes_section(entries: Sequence[SetUpChanged]) -> Section:
    """Changes of rows as text, the newest first.

    Args:
        entries: The changes.
    """
    if not entries:
        return [paragraph("Not changed in the app or by command.")]
    section: Section = []
    for one in entries:
        why = f" ({one.words})" if one.words else ""
        head = f"{plain(one.recorded_at)}  {one.scout}: {one.change}, holds from {one.done_on}{why}"
        words = sanitize(changed_columns(one), 1000)
        section += [heading(sanitize(head, _SHOWN)), paragraph(words), paragraph(one.id)]
    return section


_SHOWN_SET_UP_ROWS = 60


def title(row: OpenRow) -> str:
    """Which row it is: its file and its labels."""
    return f"{row.file.name} {row.label}"


def whose(row: OpenRow, offer: Offer) -> str:
    """Who has a row otherwise."""
    names = [sanitize(device, 24) for device in offer.devices if device != THIS_FILE]
    if THIS_FILE in offer.devices:
        names.insert(0, f"{row.file.name} of this folder")
    return " and ".join(names)


def standing(row: OpenRow, offer: Offer) -> str:
    """How it stands to the row here."""
    if row.here is None:
        return "not known here"
    return "changed there since" if offer.later else "changed in both places"


def states(row: OpenRow) -> Iterable[tuple[str, str, Values | None]]:
    """Each state of a row: who has it, how it stands to the one here, and what it says."""
    yield "here", "stands", row.here
    for offer in row.offers:
        yield whose(row, offer), standing(row, offer), offer.values


def says(values: Values | None, column: str) -> str:
    """What a row says in a column; a dash where it is blank, or there is no row."""
    return sanitize(cell(column, values.get(column)), _SHOWN_SET_UP_ROWS) or "-" if values is not None else "-"


def row_table(row: OpenRow, *, width: int) -> Section:
    """A row and what others have in its place, side by side.

    Args:
        row: The row.
        width: Columns of the terminal.
    """
    *first, last = [(f"{who}, {how}".replace("|", " "), values) for who, how, values in states(row)]
    each = max(10, (width - 15) // (len(first) + 1) - 1)
    titles = ["column 14", *(f"{title} {each}" for title, _ in first), last[0]]
    said = [("", (one, *(says(values, one) for _, values in (*first, last)))) for one in row.columns]
    return [heading(title(row)), *tabled("|".join(titles), width, said)]
