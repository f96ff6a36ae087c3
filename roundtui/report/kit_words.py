"""What a trap body has held, and what became of parts, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from roundtui.domain.integrity import Held
from roundtui.domain.plain import plain
from roundtui.report.words import NAME_WIDTH


def held_words(held: Iterable[Held]) -> Sequence[str]:
    """What a body has held, a line for each unbroken run of one species in one trap.

    Args:
        held: What it has held, in order.

    Returns:
        As "2026-04-20 to 2026-06-01 CM in A1"; the last run has no end, and a lure put in at the bench is one day.
    """
    runs: list[list[Held]] = []
    for one in held:
        last = runs[-1][-1] if runs else None
        if last is not None and (last.species, last.trap, last.hung) == (one.species, one.trap, one.hung):
            runs[-1].append(one)
        else:
            runs.append([one])
    lines = []
    for at, run in enumerate(runs):
        first = run[0]
        start = first.on.isoformat() if first.on else "day unknown"
        species, trap = plain(first.species, NAME_WIDTH), plain(first.trap, NAME_WIDTH)
        if not first.hung:
            lines.append(f"{start} {species} {f'put in while {trap} was made up' if trap else 'put away with'}")
            continue
        after = runs[at + 1][0].on if at + 1 < len(runs) else None
        lines.append(f"{start}{f' to {after.isoformat()}' if after else ' on'} {species} in {trap}")
    return lines
