"""What stands on record beside the weekly counts of a season, and what is reported of it beside the figures."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING

from roundtui.domain.orchard_entries import Look, Specimen, TreatmentSaid
from roundtui.domain.threshold import Treatment

if TYPE_CHECKING:
    from roundtui.domain.kit.entries import Assembled
    from roundtui.domain.plan.lure_needs import LotStock


@dataclass(frozen=True, slots=True)
class Beside:
    """Present entries of a season up to a day, each kind in the order of their days."""

    looks: tuple[Look, ...] = ()
    """Looks at leaf and fruit."""
    treatments: tuple[TreatmentSaid, ...] = ()
    """Treatments that growers spoke of."""
    specimens: tuple[Specimen, ...] = ()
    """What else was in the traps."""
    lots: tuple[LotStock, ...] = ()
    """Lots of lures that run out or expire; none where stock is not on record."""
    in_spite: tuple[Assembled, ...] = ()
    """Traps that hang, made up in spite of something that was named."""

    def against(self) -> tuple[Treatment, ...]:
        """The treatments as rules take them: each block, species and day once."""
        once = dict.fromkeys((said.block, said.species, said.treated_on) for said in self.treatments)
        return tuple(Treatment(block, species, on) for block, species, on in once)

    def within(self, blocks: Collection[str], traps: Collection[str]) -> Beside:
        """What is about some blocks and traps only.

        Args:
            blocks: Codes of the blocks.
            traps: Labels of the traps.
        """
        return Beside(
            tuple(look for look in self.looks if look.block in blocks),
            tuple(said for said in self.treatments if said.block in blocks),
            tuple(one for one in self.specimens if one.trap in traps),
            tuple(lot for lot in self.lots if not lot.traps or not set(traps).isdisjoint(lot.traps)),
            tuple(one for one in self.in_spite if one.trap in traps),
        )
