"""The chain of an entry, a line each."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC

from roundtui.domain.recorded import Withdrawal
from roundtui.domain.text import plain
from roundtui.report.round.replay import said_by
from roundtui.store.read import JournalRow


def chain_lines(rows: Sequence[JournalRow], width: int) -> list[str]:
    """What an entry said, what corrected it and who took it back, with who, when and why.

    Args:
        rows: The chain in the order recorded.
        width: Columns to keep to.
    """
    numbers = {row.id: number for number, row in enumerate(rows, 1)}
    lines = []
    for row in rows:
        entry = row.entry
        did = ""
        if entry.replaces is not None and entry.replaces in numbers:
            did = f"corrects {numbers[entry.replaces]}, "
        place = "" if isinstance(entry, Withdrawal) else f"{plain(row.trap or row.block or '', 16)} {row.read_on} "
        stands = "*" if row.present and not isinstance(entry, Withdrawal) else " "
        who = f"{plain(entry.scout, 24)}, {plain(entry.device, 20)}, {row.recorded_at.astimezone(UTC):%m-%d %H:%M}"
        why = f", because: {plain(entry.reason, 200)}" if entry.reason else ""
        lines.append(plain(f"{stands}{numbers[row.id]} {place}{said_by(row, numbers)} ({did}{who}{why})", width))
    return lines
