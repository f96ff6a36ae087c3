"""What the screen of set-up rows shows: which differ, and what each laptop says."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from roundtui.domain.plain import padded, plain
from roundtui.report.set_up_rows import says, standing, states, title, whose
from roundtui.store.set_up.conflicts import OpenRow

_LABELS = 16


def listed(rows: Sequence[OpenRow], marked: int, width: int, height: int) -> Content:
    """A line for each row that differs."""
    if not rows:
        return Content("  No set-up row differs.")
    first = max(0, min(marked - height // 2, len(rows) - height))
    lines = []
    for at, row in enumerate(rows[first : first + height], first):
        who = "; ".join(f"{whose(row, offer)}: {standing(row, offer)}" for offer in row.offers)
        words = padded(f"{'>' if at == marked else ' '} {title(row)}  {who}", width)
        lines.append(Content.styled(words, "bold reverse" if at == marked else ""))
    return Content("\n").join(lines)


def side_by_side(row: OpenRow, width: int, height: int, *, whole_file: bool) -> str:
    """The states of a row beside each other, each under the key that keeps it."""
    found = list(states(row))
    column = max(12, (width - _LABELS - 2) // len(found) - 2)

    def line(label: str, cells: Sequence[str]) -> str:
        return plain(f"  {padded(label, _LABELS)}" + "  ".join(padded(one, column) for one in cells), width).rstrip()

    lines = [
        line("", [f"[{key}] {'as here' if key == 1 else 'takes over'}" for key in range(1, len(found) + 1)]),
        line("", [plain(who, column) for who, *_ in found]),
        *(line(name, [says(values, name) for *_, values in found]) for name in row.columns),
    ]
    if len(lines) > height - 1:
        lines = [*lines[: height - 2], f"  and {len(lines) - height + 2} more columns"]
    rest = f"all rows of {row.file.name}" if whole_file else "this row alone"
    return "\n".join([*lines, f"  A number settles {rest}: f changes that. No figure changes before."])
