"""What the screen of making traps up says, line by line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.content import Content

from roundtui.domain.text import padded, plain
from roundtui.domain.traps.assembly import Objection
from roundtui.domain.traps.entries import Assembled, PartKind
from roundtui.domain.traps.parts import KnownParts, Part
from roundtui.store.traps.bench import Bench

if TYPE_CHECKING:
    from roundtui.domain.traps.parts import KnownParts


GLOVES = (
    "Fresh disposable gloves for each kind of lure; keep packs sealed until needed; kill strips as their label says."
)
"""What to mind at the bench; the source stands in ``domain/cautions.py``."""


def listed(rows: Sequence[Bench], marked: int, size: tuple[int, int], names: KnownParts) -> Content:
    """Traps to be made up, and those made up and not hung.

    Args:
        rows: The list.
        marked: Which one is marked.
        size: Columns and lines to fill.
        names: For the names of blocks.
    """
    width, height = size
    if not rows:
        return Content("  No trap to assemble. n assembles one that is not listed, by its label.")
    first = max(0, min(marked - height // 2, len(rows) - height))
    lines = []
    for at, row in enumerate(rows[first : first + height], first):
        mark = ">" if at == marked else " "
        block = names.programme.blocks.get(row.block)
        place = f"{row.block} {block.name}" if block and block.name != row.block else row.block
        text = f"{padded(row.trap, 10)} {padded(row.species, 5)} {padded(place, 20)} {_state(row)}"
        lines.append((f"{mark} {plain(text, width - 2)}", "bold reverse" if at == marked else ""))
    parts: list[str | tuple[str, str]] = []
    for at, line in enumerate(lines):
        parts += [line, "\n"] if at < len(lines) - 1 else [line]
    return Content.assemble(*parts)


def _state(row: Bench) -> str:
    planned = f"to hang on {row.hang_on.isoformat()}" if row.hang_on else ""
    if row.made is None:
        return planned or "hung last season"
    spite = " all the same" if row.made.despite else ""
    return f"made up{spite}: {contents(row.made)}, {row.made.assembled_on.isoformat()}"


def contents(one: Assembled) -> str:
    """Parts and lure of a trap, short.

    Args:
        one: The trap.
    """
    labels = [label for label in (one.body_label, one.funnel_label, one.lid_label) if label]
    return f"{' '.join(labels) or 'no labels'}, {f'lot {one.lot}' if one.lot else 'no lure'}"


def about_part(part: Part | None, label: str, kind: PartKind, width: int) -> str:
    """What is known of a part that is typed.

    Args:
        part: The part; None where nobody has seen its label before.
        label: What is typed.
        kind: Which part.
        width: Columns to fill.
    """
    if not label:
        return "no label" if kind is PartKind.BODY else ""
    if part is None:
        return "a new label"
    since = f" since {part.since.isoformat()}" if part.since else ""
    place = f", {part.place}" if part.place else f", {part.trap}" if part.trap else ""
    held = f", held {' '.join(part.scents)};" if part.scents else ""
    return plain(f"{part.species}, {part.state.value}{held}{since}{place}", width)


def about_lot(known: KnownParts, lot: str, width: int) -> str:
    """What is known of a lot that is typed.

    Args:
        known: For its lots.
        lot: What is typed.
        width: Columns to fill.
    """
    if not lot:
        return "no lure yet"
    found = known.programme.lots.get(lot)
    if found is None:
        return "! no such lot"
    load = f" {float(found.load_mg):g} mg" if found.load_mg is not None else ""
    until = f", to be put out by {found.expires_on.isoformat()}" if found.expires_on else ""
    return plain(f"{found.species}{load}{until}", width)


def spoken_against(found: Sequence[Objection], width: int, lines: int) -> Content:
    """What speaks against a trap, each on its line with a mark.

    Args:
        found: The objections.
        width: Columns to fill.
        lines: Lines to fill.
    """
    shown = [plain(f"! {one.words}", width) for one in found[:lines]]
    if len(found) > lines:
        shown[-1] = plain(f"! and {len(found) - lines + 1} more: {found[lines - 1].words}", width)
    return Content.styled("\n".join(shown), "bold")
