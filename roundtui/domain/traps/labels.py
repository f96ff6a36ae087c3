"""Labels of traps: what stands on one, and how many fit on a sheet.

A label bears the trap's label, its species, where it hangs and a line for the date it was set, to be written in
waterproof marker (FAO, trap handling, cd3wdproject.org/INPHO/VLIBRARY/NEW_FAO/X5417E/X5417E0H.HTM).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from types import MappingProxyType

from roundtui.domain.entries import Assembled
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.programme.species import SPECIES
from roundtui.domain.records import Frozen

BACK_DAYS = 400
"""A trap taken down longer ago is not hung again without being set up anew: a season and the winter after. [d]"""


class LabelSheet(Frozen, kw_only=True):
    """A sheet of labels, by its plain dimensions."""

    size: str
    """Word for it: paper, columns and rows."""
    paper: str
    """A4 or Letter."""
    paper_mm: tuple[float, float]
    """Width and height of the paper. [mm]"""
    columns: int
    """Labels beside each other."""
    rows: int
    """Labels below each other."""
    label_mm: tuple[float, float]
    """Width and height of one label. [mm]"""
    pitch_mm: tuple[float, float]
    """From the left edge of one to that of the next, and from top to top. [mm]"""

    @property
    def each(self) -> int:
        """Labels on a sheet."""
        return self.columns * self.rows

    def place(self, at: int) -> tuple[float, float]:
        """Left and top edge of a label; the labels stand in the middle of the paper.

        Args:
            at: Its place on the sheet, counted from 0 along the rows.

        Returns:
            Both. [mm]
        """
        row, column = divmod(at, self.columns)
        (paper_w, paper_h), (width, height), (across, down) = self.paper_mm, self.label_mm, self.pitch_mm
        left = (paper_w - (self.columns - 1) * across - width) / 2
        top = (paper_h - (self.rows - 1) * down - height) / 2
        return round(left + column * across, 2), round(top + row * down, 2)


_A4 = (210.0, 297.0)
_LETTER = (215.9, 279.4)


def _sheet(size: str, label: tuple[float, float], pitch: tuple[float, float]) -> LabelSheet:
    paper, _, grid = size.partition("-")
    columns, _, rows = grid.partition("x")
    a4 = paper == "a4"
    return LabelSheet(
        size=size,
        paper="A4" if a4 else "Letter",
        paper_mm=_A4 if a4 else _LETTER,
        columns=int(columns),
        rows=int(rows),
        label_mm=label,
        pitch_mm=pitch,
    )


SHEETS: Mapping[str, LabelSheet] = MappingProxyType(
    {
        sheet.size: sheet
        for sheet in (
            _sheet("a4-3x7", (63.5, 38.1), (66.0, 38.1)),
            _sheet("a4-3x8", (70.0, 36.0), (70.0, 36.0)),
            _sheet("a4-2x4", (99.1, 67.7), (101.6, 67.7)),
            _sheet("letter-3x10", (66.7, 25.4), (69.9, 25.4)),
            _sheet("letter-2x5", (101.6, 50.8), (106.4, 50.8)),
            _sheet("letter-2x3", (101.6, 84.7), (106.4, 84.7)),
        )
    }
)
"""Common sheets. Dimensions are from memory: the papers are those of ISO 216 and ANSI Y14.1. Print one on plain paper
first and hold it against yours."""
USUAL_SHEET = "a4-3x7"
"""Sheet where none is named."""


class TrapLabel(Frozen, kw_only=True):
    """What stands on one label. Texts are as people wrote them."""

    trap: str
    """Label of the trap; the scannable code holds it and nothing else."""
    species: str
    """Abbreviation of the species."""
    species_name: str
    """Its common name; empty where nobody knows it."""
    block: str
    """Code and name of the block; empty for a trap that hangs nowhere yet."""
    farm: str
    """Name of the farm."""
    place: str
    """Row and tree."""
    parts: tuple[tuple[str, str], ...]
    """Part and its label, of those that bear one."""
    set_on: date | None
    """Day it was hung; None: left free to be written in."""


def trap_labels(
    programme: Programme, on: date, assemblies: Iterable[Assembled] = (), chosen: Sequence[str] = ()
) -> tuple[TrapLabel, ...]:
    """Labels of the traps that hang, hung last season, or were assembled since.

    Args:
        programme: What is set up.
        on: The day.
        assemblies: Traps put together.
        chosen: Only these traps, in this order; empty: all.
    """
    newest: dict[str, Assembled] = {}
    for one in assemblies:
        before = newest.get(one.trap)
        if before is None or (one.assembled_on, one.id) >= (before.assembled_on, before.id):
            newest[one.trap] = one
    since = on - timedelta(days=BACK_DAYS)
    hung = [
        label for label, rows in programme.hangings.items() if rows[-1].down_on is None or rows[-1].down_on >= since
    ]
    put = [label for label, one in newest.items() if one.assembled_on >= since]
    labels = chosen or sorted({*hung, *put}, key=natural_key)
    return tuple(_label(programme, on, label, newest.get(label)) for label in labels)


def _label(programme: Programme, on: date, label: str, put: Assembled | None) -> TrapLabel:
    rows = programme.hangings.get(label, ())
    row = rows[-1] if rows else None
    hangs = row is not None and row.hangs_on(on) and row.down_on != on
    fresh = put if put is not None and (row is None or row.hung_on is None or put.assembled_on > row.hung_on) else None
    source = fresh or row or put
    species = row.species if row is not None else put.species if put is not None else ""
    known = SPECIES.get(species)
    block = programme.blocks.get(row.block) if row is not None else None
    farm = programme.farms.get(block.farm) if block is not None else None
    where = [f"{word} {said}" for word, said in (("row", row.row), ("tree", row.tree)) if said] if row else []
    parts = [("body", source.body_label), ("funnel", source.funnel_label), ("lid", source.lid_label)] if source else []
    unit = f", unit {block.unit_no}" if block is not None and block.unit_no else ""
    name = block.name if block is not None and block.name != block.block else ""
    return TrapLabel(
        trap=label,
        species=species,
        species_name=known.name if known else "",
        block=f"{block.block} {name}".strip() + unit if block else (row.block if row else ""),
        farm=farm.name if farm else "",
        place=", ".join(where),
        parts=tuple((part, said) for part, said in parts if said),
        set_on=row.hung_on if row is not None and hangs and fresh is None else None,
    )
