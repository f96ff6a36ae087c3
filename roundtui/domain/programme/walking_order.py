"""The order in which farms are walked: those to be visited last, and blocks that nobody may enter yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from roundtui.domain.programme.farm import Programme


@dataclass(frozen=True, slots=True)
class OutOfOrder:
    """A farm to be visited last that a route has before another."""

    farm: str
    """Code of the farm to be visited last."""
    trap: str
    """Its first trap that comes too early."""
    before: str
    """Code of the farm that comes after it."""


def out_of_order(programme: Programme, traps: Sequence[str], on: date) -> OutOfOrder | None:
    """The first farm to be visited last that is walked before another.

    Args:
        programme: What is set up.
        traps: Traps in walking order.
        on: The day, for where each hangs.

    Returns:
        None where the order keeps such farms for the end.
    """
    early = ""
    farm = ""
    for trap in traps:
        here = _farm(programme, trap, on)
        known = programme.farms.get(here)
        if known is None:
            continue
        if known.visit_last:
            early, farm = (early, farm) if early else (trap, here)
        elif early:
            return OutOfOrder(farm, early, here)
    return None


def last_at_the_end(programme: Programme, traps: Sequence[str], on: date) -> tuple[str, ...]:
    """The same traps with those of farms to be visited last after all others; else the order is kept.

    Args:
        programme: What is set up.
        traps: Traps in walking order.
        on: The day, for where each hangs.
    """

    def is_last(trap: str) -> bool:
        known = programme.farms.get(_farm(programme, trap, on))
        return known is not None and known.visit_last

    return tuple(sorted(traps, key=is_last))


def closed_blocks(programme: Programme, traps: Sequence[str], on: date) -> tuple[tuple[str, date], ...]:
    """Blocks on the way that must not be entered yet, with the first day on which they may, as they are come to.

    Args:
        programme: What is set up.
        traps: Traps in walking order.
        on: The day.
    """
    found: dict[str, date] = {}
    for trap in traps:
        hanging = programme.hanging(trap, on)
        block = programme.blocks.get(hanging.block) if hanging else None
        if block is not None and block.no_entry_before is not None and block.no_entry_before > on:
            found.setdefault(block.block, block.no_entry_before)
    return tuple(found.items())


def stop_words(programme: Programme, trap: str, *, moved: bool) -> str:
    """What is left to do about the stops of a trap that was hung or moved.

    Args:
        programme: What is set up, after it.
        trap: The trap.
        moved: Whether it hung in another block before.

    Returns:
        Empty where nothing is: a trap in no route is never walked to, one that was moved may be on the wrong way.
    """
    routes = [route for route, traps in programme.routes.items() if trap in traps]
    if not routes:
        return "it is in no route yet, so no round comes by it"
    return f"its place in route {', '.join(routes)} is as before" if moved else ""


def _farm(programme: Programme, trap: str, on: date) -> str:
    hanging = programme.hanging(trap, on)
    if hanging is None:
        rows = programme.hangings.get(trap, ())
        hanging = rows[-1] if rows else None
    return programme.farm_of(hanging.block) if hanging else ""
