"""The blank sheet for the clipboard: which rows it has, and what a scout should know of each before writing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from roundtui.domain.figures.verdicts import UpkeepDue
from roundtui.domain.programme.farm import Programme, Trap
from roundtui.domain.round.walk import catch
from roundtui.domain.visits import Visit

COLUMNS = ("count", "others", "liner", "lure", "strip", "not read", "note")
"""What is written on a row, in the order in which a hand writes it."""
LEGEND = (
    "count: 0 is a count, a blank is none. Add c where moths were not cleared, e for an estimate.",
    "not read: s skipped, c closed, m missing, d down, g damaged, o other (say why in the note).",
    "liner, lure, strip: tick what was replaced; write the lot of a lure where it is not the trap's usual one.",
    "note: b and the label for a new body; w and what was found for a wrong lure, or none.",
    "As typed: 4 l r   0   xm   12c o3   4 r:LOT   b:LABEL   w:SPECIES   n:half under leaves",
)
"""The notation, for the foot of the sheet."""
CAUTIONS = (
    "Check the entry interval with the grower and read the posted signs; stay out until it is over.",
    "Gloves for lures, another pair for each kind, and as their label says for kill strips. Take spent ones away.",
    "Clean boots, hands and tools between farms.",
)
"""Short cautions; the longer ones stand on the summary."""


@dataclass(frozen=True, slots=True)
class PaperRow:
    """One row of the blank sheet."""

    trap: str
    """Label of the trap."""
    species: str
    """Its species."""
    where: str
    """Row, tree, edge, as far as they are set up."""
    last: str
    """What it showed last; empty where it showed nothing yet."""
    due: tuple[str, ...]
    """Upkeep due now, and within a week with the days left."""


@dataclass(frozen=True, slots=True)
class PaperBlock:
    """Rows of one block that follow each other on the sheet."""

    farm: str
    """Name of the farm; empty where the block before is of the same."""
    block: str
    """Code, name and crop of the block."""
    note: str
    """Warnings of the block."""
    rows: tuple[PaperRow, ...]
    """Its rows."""


@dataclass(frozen=True, slots=True)
class Paper:
    """The blank sheet of a route."""

    route: str
    """Name of the route."""
    on: date
    """Day at its head."""
    blocks: tuple[PaperBlock, ...]
    """Blocks in the order of the sheet."""

    @property
    def rows(self) -> int:
        """How many rows there are."""
        return sum(len(block.rows) for block in self.blocks)


def paper(
    programme: Programme,
    route: str,
    on: date,
    order: Sequence[str],
    *,
    visits: Mapping[str, Sequence[Visit]],
    upkeep: Sequence[UpkeepDue],
) -> Paper:
    """The blank sheet of a route for a day.

    Args:
        programme: What is set up.
        route: Name of the route.
        on: The day.
        order: Traps in the order of the paper.
        visits: Present visits per trap, in order.
        upkeep: What is due.
    """
    blocks: list[PaperBlock] = []
    rows: list[PaperRow] = []
    here: str | None = None
    farm: str | None = None
    for trap in order:
        hanging = programme.hanging(trap, on)
        if hanging is None:
            continue
        if hanging.block != here:
            rows = []
            of = programme.farm_of(hanging.block)
            blocks.append(_block(programme, hanging, on, rows, named=of != farm))
            here, farm = hanging.block, of
        rows.append(_row(hanging, visits.get(trap, ()), [one for one in upkeep if one.trap == trap], on))
        blocks[-1] = PaperBlock(blocks[-1].farm, blocks[-1].block, blocks[-1].note, tuple(rows))
    return Paper(route, on, tuple(blocks))


def _block(programme: Programme, hanging: Trap, on: date, rows: Sequence[PaperRow], *, named: bool) -> PaperBlock:
    block = programme.blocks.get(hanging.block)
    farm = programme.farms.get(block.farm) if block else None
    words = [hanging.block]
    note = ""
    if block is not None:
        words += [block.name if block.name != block.block else "", f"{block.crop} {block.variety}".strip()]
        words.append("mating disruption" if block.disrupted else "")
        if block.no_entry_before is not None and block.no_entry_before > on:
            note = f"NO ENTRY before {block.no_entry_before.isoformat()}: ask the grower"
    name = (farm.name if farm else "no farm") if named else ""
    return PaperBlock(name, ", ".join(word for word in words if word), note, tuple(rows))


def _row(hanging: Trap, visits: Sequence[Visit], upkeep: Sequence[UpkeepDue], on: date) -> PaperRow:
    before = [visit for visit in visits if visit.read_on < on and not visit.recount and catch(visit)]
    where = [f"row {hanging.row}" if hanging.row else "", f"tree {hanging.tree}" if hanging.tree else ""]
    where.append("edge" if hanging.edge else "")
    due = tuple(
        one.item if one.days_overdue is None or one.days_overdue >= 0 else f"{one.item} in {-one.days_overdue} d"
        for one in upkeep
    )
    return PaperRow(
        hanging.trap,
        hanging.species,
        ", ".join(word for word in where if word),
        catch(before[-1]) if before else "",
        tuple(words.replace("kill-strip", "strip") for words in due),
    )
