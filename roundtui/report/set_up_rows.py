"""Set-up rows that differ between laptops, in words and as a table."""

from __future__ import annotations

from collections.abc import Iterable

from rich import box
from rich.table import Table
from rich.text import Text

from roundtui.domain.plain import plain
from roundtui.store.set_up.columns import Values
from roundtui.store.set_up.conflicts import THIS_FILE, Offer, OpenRow
from roundtui.store.set_up.row import cell

_SHOWN = 60


def title(row: OpenRow) -> str:
    """Which row it is: its file and its labels."""
    return f"{row.file.name} {row.label}"


def whose(row: OpenRow, offer: Offer) -> str:
    """Who has a row otherwise."""
    names = [plain(device, 24) for device in offer.devices if device != THIS_FILE]
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
    return plain(cell(column, values.get(column)), _SHOWN) or "-" if values is not None else "-"


def row_table(row: OpenRow, *, width: int) -> Table:
    """A row and what others have in its place, side by side.

    Args:
        row: The row.
        width: Columns of the terminal.
    """
    table = Table(box=box.SIMPLE, title=Text(title(row)), title_justify="left", width=width, expand=False)
    table.add_column("column")
    found = list(states(row))
    for who, how, _ in found:
        table.add_column(Text(f"{who}\n{how}"), overflow="fold")
    for column in row.columns:
        table.add_row(column, *(Text(says(values, column)) for *_, values in found))
    return table
