"""The list of vials, line by line."""

from __future__ import annotations

from collections.abc import Sequence

from roundtui.domain.farm import Programme
from roundtui.domain.orchard_entries import Specimen
from roundtui.domain.plain import padded, plain
from roundtui.domain.specimens import block_of, how_many, is_named, species_of

HEAD = f"  {'Vial':<9}{'Trap':<11}{'Of':<6}{'Found':<12}{'Many':>4}  {'Counted':<9}What"
"""Titles of the columns."""


def in_full(one: Specimen, programme: Programme, width: int) -> str:
    """A specimen in a sentence or two, cut to its place.

    Args:
        one: The specimen.
        programme: For its block.
        width: Columns and lines together.
    """
    block = block_of(one, programme)
    words = [
        f"{plain(one.vial, 20) or 'No vial'}: {how_many(one.number, one.what)} of {plain(one.trap, 16)}",
        f"block {plain(block, 12)}" if block else "",
        f"found {one.read_on} by {plain(one.scout, 20)}",
        "among the counted" if one.in_count else "left out of the count",
        f"named {one.identified_on} by {plain(one.identified_by, 24)}" if is_named(one) else "not named yet",
        plain(one.note, 60),
    ]
    return plain(", ".join(word for word in words if word), width) + "."


def vial_lines(
    listed: Sequence[Specimen], marked: int, programme: Programme, width: int, height: int
) -> list[tuple[str, bool]]:
    """As many lines as there is room, the marked one among them.

    Args:
        listed: The specimens.
        marked: Which one is marked.
        programme: For the species of each trap.
        width: Columns.
        height: Lines.

    Returns:
        Lines, and whether each is the marked one.
    """
    first = max(0, min(marked - height // 2, len(listed) - height))
    found = []
    for at, one in enumerate(listed[first : first + height], first):
        what = one.what if is_named(one) else f"{one.what}, not named"
        line = (
            f"{'>' if at == marked else ' '} {padded(one.vial or '-', 8)} {padded(one.trap, 10)} "
            f"{padded(species_of(one, programme), 5)} {one.read_on.isoformat()}  {one.number:>4}  "
            f"{'counted' if one.in_count else 'left out':<8} {what}"
        )
        found.append((padded(plain(line), width), at == marked))
    return found
