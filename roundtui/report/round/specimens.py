"""Specimens in words, as a table and as JSON: what waits for a name, and what a name did to a count."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from rich.table import Table
from rich.text import Text

from roundtui.domain.figures.figures import window_start
from roundtui.domain.orchard_entries import Specimen
from roundtui.domain.programme.farm import Programme
from roundtui.domain.round.specimens import block_of, how_many, is_named, is_open, is_own, label, species_of, taken_off
from roundtui.domain.text import plain
from roundtui.report.text import NAME_WIDTH, NOTE_WIDTH, Section, day, heading, listed, paragraph

if TYPE_CHECKING:
    from roundtui.report.text import Asked


def vials_json(found: Iterable[Specimen], programme: Programme) -> list[dict[str, Any]]:
    """Specimens as JSON.

    Args:
        found: The specimens.
        programme: For block and species of each trap.
    """
    return [
        {
            "id": one.id,
            "vial": one.vial,
            "block": block_of(one, programme),
            "trap": one.trap,
            "species": species_of(one, programme),
            "read_on": one.read_on.isoformat(),
            "what": one.what,
            "number": one.number,
            "in_count": one.in_count,
            "open": is_open(one),
            "own": is_own(one, programme) if is_named(one) else None,
            "taken_off": taken_off(one, programme),
            "identified_on": one.identified_on.isoformat() if one.identified_on else None,
            "identified_by": one.identified_by,
            "scout": one.scout,
            "note": one.note,
        }
        for one in found
    ]


def vials_table(found: Sequence[Specimen], programme: Programme, width: int) -> Table:
    """Specimens as a table.

    Args:
        found: The specimens.
        programme: For block and species of each trap.
        width: Columns to fill.
    """
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, width=width, header_style="underline")
    for title, columns in (("Vial", 8), ("Trap", 8), ("Of", 5), ("Found", 10), ("Many", 4), ("Counted", 8)):
        table.add_column(title, width=columns, overflow="fold")
    table.add_column("What", overflow="fold", ratio=1)
    for one in found:
        cells = (
            plain(one.vial, 20) or "-",
            plain(one.trap, 20),
            plain(species_of(one, programme), 12),
            one.read_on.isoformat(),
            str(one.number),
            "counted" if one.in_count else "left out",
            f"{plain(one.what, NAME_WIDTH)}, {_standing(one)}",
        )
        table.add_row(*(Text(cell) for cell in cells))
    return table


def _standing(one: Specimen) -> str:
    if is_named(one):
        return f"named {one.identified_on} by {plain(one.identified_by, NAME_WIDTH)}"
    return "not identified yet" if is_open(one) else "noted at the trap"


def specimen_section(asked: Asked) -> Section:
    """What else was in the traps in the window: what waits for a name, counts put right by one, and the rest by kind.

    Args:
        asked: What it is made from.

    Returns:
        A title and a sentence for each; empty where nothing was noted.
    """
    programme, first, on = asked.programme, window_start(asked.summary.on), asked.summary.on
    found = [one for one in asked.beside.specimens if first <= one.read_on <= on]
    section: Section = []
    for one in found:
        if is_open(one) or taken_off(one, programme):
            section.append(paragraph(f"{_sentence(one, asked)}."))
    rest = _by_kind([one for one in found if not is_open(one) and not taken_off(one, programme)])
    if rest:
        section.append(paragraph(f"Other catch: {rest}."))
    return [heading("Other catch in the traps"), *section] if section else []


def _sentence(one: Specimen, asked: Asked) -> str:
    place = f"{plain(one.trap, NAME_WIDTH)}, {day(one.read_on)} [{asked.names.place(block_of(one, asked.programme))}]"
    off = taken_off(one, asked.programme)
    if off:
        did = f"{off} taken off its count" if off > 0 else f"{-off} put on its count"
        named = f"named {day(one.identified_on)} by {plain(one.identified_by, NAME_WIDTH)}" if one.identified_on else ""
        return f"{place}: {label(one)} is {plain(one.what, NAME_WIDTH)}, {named}; {did}"
    vial = f" in vial {plain(one.vial, 20)}" if one.vial else ""
    many = how_many(one.number, one.what)
    counted = ", counted: the figure may change" if one.in_count else ", not counted"
    note = f" ({plain(one.note, NOTE_WIDTH)})" if one.note else ""
    return f"? {place}: {many}{vial} not identified yet{counted}{note}"


def _by_kind(found: Iterable[Specimen]) -> str:
    kinds: dict[str, int] = {}
    for one in found:
        kinds[one.what] = kinds.get(one.what, 0) + one.number
    return listed(how_many(number, what) for what, number in kinds.items())
