"""What the close of a season says, line by line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.content import Content

from roundtui.domain.text import padded, plain
from roundtui.domain.traps.entries import PartState
from roundtui.domain.traps.parts import Part
from roundtui.report.traps.parts import held_words

if TYPE_CHECKING:
    from roundtui.report.season.season_close import CloseDesk, CloseRow

CAUTION = "Gloves for spent lures and kill strips; take them out of the orchard, and back as their labels say."
"""What to mind in taking down."""


def listed(rows: Sequence[CloseRow], marked: int, size: tuple[int, int]) -> Content:
    """Traps and parts, one a line.

    Args:
        rows: The list.
        marked: Which one is marked.
        size: Columns and lines to fill.
    """
    width, height = size
    if not rows:
        return Content("  No trap hangs, and every part is stored. At the desk n plans the next season.")
    first = max(0, min(marked - height // 2, len(rows) - height))
    parts: list[str | tuple[str, str]] = []
    for at, row in enumerate(rows[first : first + height], first):
        line = f"{'>' if at == marked else ' '} {plain(_line(row), width - 2)}"
        parts += [(line, "bold reverse" if at == marked else ""), "\n"]
    return Content.assemble(*parts[:-1])


def _line(row: CloseRow) -> str:
    labels = " ".join(part.label for part in row.parts)
    scent = "".join(f"  ! {part.label} smells of {part.foreign[-1]}" for part in row.scented)
    if not row.trap:
        (part,) = row.parts
        return f"{padded(part.label, 10)} {padded(row.species, 5)} {part.part.value}, {part.state.value}{scent}"
    missing = f"  ! missing since {row.missing_since.isoformat()}" if row.missing_since else ""
    place = f"{row.block}, {row.route}" if row.route else f"{row.block}, no route"
    hangs = f"{padded(row.trap, 10)} {padded(row.species, 5)} {padded(place, 18)} "
    return f"{hangs}{labels or 'no labels'}{missing}{scent}"


def doubts(row: CloseRow, what: PartState, hang: int) -> list[str]:
    """What is to be known before something is noted; none where it is plain.

    Args:
        row: What it is about.
        what: What became of it.
        hang: Traps that hang and of which none was taken down here yet; 0: one was.
    """
    said = (
        [f"{hang} traps hang: a trap that is down is read no more, and its series ends."] if row.trap and hang else []
    )
    if what is PartState.STORED and row.scented:
        body = row.scented[0]
        words = f"{plain(body.label, 24)} smells of {plain(body.foreign[-1], 24)}"
        said.append(f"{words}: 3 discards the body; putting it away is an override.")
    if what is not PartState.STORED:
        taken = ", and the trap is taken down" if row.trap else ""
        what_of = "It is recorded as lost" if what is PartState.LOST else "Its body is discarded"
        said.append(f"{what_of}{taken}.")
    return said


def about(desk: CloseDesk, row: CloseRow, width: int, lines: int) -> Content:
    """The parts of the marked trap and what its body has held.

    Args:
        desk: For what is known.
        row: The trap, or the part.
        width: Columns to fill.
        lines: Lines to fill.
    """
    said: list[str] = []
    for part in row.parts:
        said.append(f"{part.part.value} {part.label}: {part.species}, {_state(part)}")
        said += [f"held {words}" for words in held_words(desk.held(part))[-3:]] if part.scents else []
    if row.trap and not row.parts:
        said = ["None of its parts has a label: only the trap is recorded as down."]
    return Content("\n".join(f" {plain(line, width - 2)}" for line in said[:lines]))


def _state(part: Part) -> str:
    since = f" since {part.since.isoformat()}" if part.since else ""
    return f"{part.state.value}{since}{f', {part.place}' if part.place else ''}"
