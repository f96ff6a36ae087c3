"""What a scout can choose from at a trap: lures to put in, lures found, fruit stages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from roundtui.domain.programme.farm import Lot, Programme, Trap, natural_key
from roundtui.domain.programme.stages import scale
from roundtui.domain.visits import NONE, YES


@dataclass(frozen=True, slots=True)
class Choice:
    """One line of a list to choose from."""

    value: str
    """What is recorded."""
    words: str
    """What it is."""
    effect: str = ""
    """What choosing it does beyond the plain; empty where there is nothing to say."""


NOT_LOOKED_AT = Choice("", "not checked")
"""First line of the list of stages."""


def own_lots(programme: Programme, trap: Trap, on: date, last_used: str = "") -> tuple[Lot, ...]:
    """Lots of a trap's own species that may be put out on a day.

    Args:
        programme: What is set up.
        trap: The hanging.
        on: The day; a lot may be put out up to the day it expires.
        last_used: Lot that is in the trap, which then comes first.

    Returns:
        The lots, the one in the trap first, then the one that keeps longest.
    """
    lots = [lot for lot in _unexpired(programme, on) if lot.species == trap.species]
    return tuple(sorted(lots, key=lambda lot: (lot.lot != last_used, _keeps(lot), natural_key(lot.lot))))


def lure_choices(
    programme: Programme, trap: Trap, on: date, last_used: str = "", first: str = ""
) -> tuple[Choice, ...]:
    """Lures that can be put into a trap: its own species first, another species last and with what it does.

    Args:
        programme: What is set up.
        trap: The hanging.
        on: The day.
        last_used: Lot that is in the trap.
        first: Lot of the trap's species that was used last in this round, which then comes first.

    Returns:
        The choices; the first is the default and always of the trap's own species.
    """
    own = [
        Choice(
            lot.lot, f"lot {lot.lot}, {lot.species}{_load(lot)}{', in the trap now' if lot.lot == last_used else ''}"
        )
        for lot in sorted(own_lots(programme, trap, on, last_used), key=lambda lot: lot.lot != first)
    ]
    others = [
        Choice(
            lot.lot,
            f"lot {lot.lot}, {lot.species}{_load(lot)}: another species",
            f"{trap.trap} counts as wrong lure from this day, and its body is contaminated",
        )
        for lot in sorted(_unexpired(programme, on), key=lambda lot: (lot.species, natural_key(lot.lot)))
        if lot.species != trap.species
    ]
    return (
        *own,
        Choice(YES, f"a {trap.species} lure, lot not known"),
        Choice(NONE, "none: taken out, none put in", f"{trap.trap} has no lure from this day"),
        *others,
    )


def found_choices(programme: Programme, trap: Trap) -> tuple[Choice, ...]:
    """What can be found in a trap instead of its own lure.

    Args:
        programme: What is set up.
        trap: The hanging.

    Returns:
        No lure at all, then each other species of the programme, then the lots of other species.
    """
    species = {row.species for row in programme.traps} | {lot.species for lot in programme.lots.values()}
    effect = f"{trap.trap} counts as a trap with a wrong lure since its lure was last changed"
    return (
        Choice(NONE, "no lure in the trap", f"{trap.trap} counts as without a lure since its lure was last changed"),
        *(Choice(code, f"a lure of {code}", effect) for code in sorted(species - {trap.species})),
        *(
            Choice(lot.lot, f"a lure of lot {lot.lot}, {lot.species}", effect)
            for lot in sorted(programme.lots.values(), key=lambda lot: (lot.species, natural_key(lot.lot)))
            if lot.species != trap.species
        ),
    )


def stage_choices(crop: str) -> tuple[Choice, ...]:
    """Stages of a crop, earliest first.

    Args:
        crop: The crop of the block.

    Returns:
        One choice per stage; its value is the two-digit BBCH code.
    """
    return tuple(Choice(stage.code, stage.name) for stage in scale(crop))


def place_of(choices: Sequence[Choice], value: str | None) -> int:
    """Where a value stands in a list of choices; 0 where it does not."""
    return next((at for at, choice in enumerate(choices) if choice.value == value), 0)


def _unexpired(programme: Programme, on: date) -> list[Lot]:
    return [lot for lot in programme.lots.values() if lot.expires_on is None or on <= lot.expires_on]


def _keeps(lot: Lot) -> int:
    return -(lot.expires_on or date.max).toordinal()


def _load(lot: Lot) -> str:
    return "" if lot.load_mg is None else f" {float(lot.load_mg):g} mg"
