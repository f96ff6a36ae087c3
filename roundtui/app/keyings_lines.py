"""What is shown of two keyings of a sheet; text from people goes through ``plain`` and is never read as markup."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content

from roundtui.app.sheet_lines import pace
from roundtui.app.two_keyings import TwoKeyings
from roundtui.domain.plain import cells, padded, plain
from roundtui.domain.second_keying import Difference, KeyedRow
from roundtui.domain.tally import format_tally
from roundtui.domain.visits import Draft

if TYPE_CHECKING:
    from roundtui.app.session import Session


def head(session: Session, two: TwoKeyings, width: int) -> Content:
    """Sheet, day, and how many differences are open."""
    left = f" Two keyings of sheet {plain(two.route, 20)}   {session.on:%a} {session.on.isoformat()}"
    right = f"{len(two.open)} open of {two.differed} "
    return Content(left + " " * max(1, width - cells(left) - cells(right)) + right)


def keyers(two: TwoKeyings, width: int) -> Content:
    """Who keyed first and second, how many rows and keys, and how fast: three lines."""
    first, second = two.keyers
    lines = [
        f"  First   {plain(first.who or 'nobody yet', 24)}: {pace(first.found)}, at least",
        f"  Second  {plain(second.who or 'nobody yet', 24)}: {pace(second.found)}",
        f"  {two.found.rows} rows in either, {two.differed} differed. Settled: {two.settled_words}",
    ]
    return Content("\n".join(plain(line, width) for line in lines))


def titles(two: TwoKeyings, width: int) -> Content:
    """The head of the columns, each keying with its name."""
    first, second = two.names
    side = _side(width)
    line = f"  {'trap':<11}{'day':<7}{padded(f'1 {first}', side)} {padded(f'2 {second}', side)} differ"
    return Content.styled(padded(line, width), "bold")


def difference_line(difference: Difference, width: int) -> str:
    """One difference, both sides.

    Args:
        difference: The difference.
        width: Cells there are. [cells]
    """
    row, side = difference.row, _side(width)
    fields = ", ".join(field.replace("_", " ") for field in difference.fields) or "row"
    line = f"{padded(row.trap, 10)} {row.read_on:%m-%d}  "
    line += f"{padded(_side_words(difference.first), side)} {padded(_side_words(difference.second), side)} "
    return line + plain(fields, max(0, width - cells(line) - 3))


def pieces_at(line: str, *, marked: bool, width: int) -> Content:
    """A line of the list, marked or not."""
    words = padded(f"{'>' if marked else ' '} {line}", width)
    return Content.styled(words, "bold reverse") if marked else Content(words)


def _side(width: int) -> int:
    return max(12, (width - 19) * 2 // 5 - 2)


def _side_words(row: KeyedRow | None) -> str:
    if row is None:
        return "(no row)"
    return format_tally(row.draft) if row.draft != Draft() else "(blank)"
