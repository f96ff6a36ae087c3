"""The close of a season, and what bodies have held, as rich tables."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from roundtui.domain.cautions import KILL_STRIP, LURES
from roundtui.domain.kit.entries import PartKind
from roundtui.domain.kit.parts import KnownParts, Part
from roundtui.domain.kit.season_close import ToTakeDown, not_put_away, stored, to_discard
from roundtui.domain.plain import plain
from roundtui.report.kit_words import bodies_of, held_words, kept_words, scented_words
from roundtui.report.numbers import NONE, listed, several
from roundtui.report.words import NAME_WIDTH, Names, Section, heading, paragraph, stacked
from roundtui.store.close import Close


def taking_down_tables(close: Close) -> list[RenderableType]:
    """The list to walk, what is put away where, what was lost, what is not to be used again.

    Args:
        close: The season.
    """
    names = Names(close.known.programme)
    hanging = close.hanging
    title = heading(f"To take down as of {close.on.isoformat()}: {several(len(hanging), 'trap')}")
    walk: Section = [title]
    walk.append(_walk(hanging, names) if hanging else paragraph("No trap hangs."))
    return stacked([walk, *_parts(close), [paragraph(LURES), paragraph(KILL_STRIP)]])


def _walk(hanging: Sequence[ToTakeDown], names: Names) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in ("route", "trap", "species", "place", "parts"):
        table.add_column(column, no_wrap=column != "parts", overflow="fold")
    for row in hanging:
        spot = " ".join(part for part in (row.hanging.row and f"row {row.hanging.row}", row.hanging.tree) if part)
        place = f"{names.block(row.hanging.block)}{f', {spot}' if spot else ''}"
        labels = [f"{part.part.value} {part.label}" for part in row.parts]
        cells = [plain(row.route, 20) or NONE, plain(row.hanging.trap, 20), plain(row.hanging.species, 10)]
        cells += [plain(place, 30), plain(", ".join(labels) or "no labels", 60)]
        parts = Text(cells[-1])
        if row.missing_since:
            parts.append(f"  ! missing since {row.missing_since.isoformat()}", style="bold")
        table.add_row(*(Text(cell) for cell in cells[:-1]), parts)
    return table


def _parts(close: Close) -> list[Section]:
    parts, lost = close.known.parts.values(), close.losses
    sections: list[Section] = []
    kept = stored(parts)
    if kept:
        section: Section = [heading("Put away, by species")]
        section += [paragraph(kept_words(row)) for row in kept]
        sections.append(section)
    about = not_put_away(parts)
    if about:
        words = listed(f"{part.part.value} {plain(part.label, NAME_WIDTH)}" for part in about)
        sections.append([heading("Taken down, and nobody said what became of them"), paragraph(f"{words}.")])
    scented = to_discard(parts)
    if scented:
        found: Section = [heading("! Bodies that smell of another species", "bold red")]
        found += [paragraph(f"! {scented_words(part)}") for part in scented]
        sections.append(found)
    sections += _lost(lost.missing, lost.never_down, (*lost.lost, *lost.discarded))
    return sections


def _lost(missing: Sequence[tuple[str, object]], never_down: Sequence[str], gone: Sequence[Part]) -> list[Section]:
    said: Section = []
    if missing:
        traps = listed(f"{plain(trap, NAME_WIDTH)} since {since}" for trap, since in missing)
        said.append(paragraph(f"Found missing: {traps}."))
    if never_down:
        traps = listed(plain(trap, NAME_WIDTH) for trap in never_down)
        said.append(paragraph(f"Never taken down by the register: {traps}."))
    for state in ("lost", "discarded"):
        labels = [f"{part.part.value} {plain(part.label, NAME_WIDTH)}" for part in gone if part.state.value == state]
        if labels:
            said.append(paragraph(f"Noted as {state}: {listed(labels)}."))
    return [[heading("Lost this season"), *said]] if said else []


def bodies_tables(known: KnownParts, label: str = "") -> list[RenderableType]:
    """What each body has held, and where it is.

    Args:
        known: What is known of parts.
        label: Only the body of this label; empty: all.
    """
    sections: list[Section] = []
    for part, held in bodies_of(known, label):
        mark = "! " if part.foreign else ""
        since = f" since {part.since.isoformat()}" if part.since else ""
        place = part.place or (part.trap if part.state.value in ("hung", "made up") else "")
        where = f"{part.state.value}{since}{f', {plain(place, NAME_WIDTH)}' if place else ''}"
        title = f"{mark}{plain(part.label, NAME_WIDTH)}: {plain(part.species, NAME_WIDTH)}, {where}"
        section: Section = [heading(title, "bold red" if part.foreign else "bold")]
        if part.foreign:
            scents = listed(plain(scent, NAME_WIDTH) for scent in part.foreign)
            section.append(paragraph(f"It held {scents}, and plastic keeps the scent: discard it."))
        section += [paragraph(words) for words in held_words(held)]
        sections.append(section)
    what = PartKind.BODY.value
    return stacked(sections) or [paragraph(f"No {what} with a label is on record.")]
