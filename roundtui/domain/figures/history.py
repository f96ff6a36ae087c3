"""What a summary needs of the record: the present entries, and no more of the past than can matter.

What stands on record beside the weekly counts of a season, and what is reported of it beside the figures.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence, Set
from dataclasses import dataclass, field
from datetime import date, timedelta
from importlib import import_module
from typing import TYPE_CHECKING

from roundtui.domain.entries import NONE, YES, Notified, Sample, Specimen, StageSeen, TreatmentSaid, Visit
from roundtui.domain.figures.figures import handled
from roundtui.domain.programme.farm import Programme, Trap
from roundtui.domain.records import Frozen

if TYPE_CHECKING:
    from roundtui.domain.entries import Assembled, PartNoted
    from roundtui.domain.figures.threshold import Treatment
    from roundtui.domain.figures.untreated import Against
    from roundtui.domain.inventory.stock import LotStock

REACH_DAYS = 70
"""Days before the summary that are always looked at, so that a season's first weeks are judged like all others."""


class Superseded(Frozen):
    """A visit that does not stand any more, and what stands in its place."""

    visit: Visit
    """As it was recorded."""
    instead: Visit | None
    """The correction that stands; None where it was withdrawn."""
    reason: str
    """Why."""


@dataclass(frozen=True)
class History:
    """Present entries up to a day. Entries that a correction replaced, or that were withdrawn, are not in it."""

    visits: Mapping[str, Sequence[Visit]] = field(default_factory=dict)
    """Per trap, in order, the visits since ``first_day_needed`` and those before it back to the last clean restart: a
    visit that counted and cleared, replaced liner or body, or found the trap missing, down or damaged."""
    scent: Sequence[Visit] = ()
    """Over all years, those after the day too, the visits that touch lure or body, or found a lure, of every trap that
    may be in trouble: what is found later was so before."""
    assembled: Sequence[Assembled] = ()
    """Over all years, how the traps that may be in trouble were assembled."""
    bodies: Sequence[PartNoted] = ()
    """Over all years, what was noted of the used bodies of those traps."""
    stages: Mapping[str, StageSeen] = field(default_factory=dict)
    """Per block, the stage seen last in the season."""
    stage_log: Mapping[str, Sequence[StageSeen]] = field(default_factory=dict)
    """Per block, the stages seen in the season, oldest first."""
    notified: Sequence[Notified] = ()
    """Growers told in the season."""
    superseded: Sequence[Superseded] = ()
    """Visits of the seven days that were corrected or withdrawn on a later day than they were recorded."""
    suspect: Set[str] | None = None
    """Traps that may ever have been in trouble; None: any may."""
    last_service: Mapping[str, Mapping[str, Visit]] = field(default_factory=dict)
    """Per trap and item (lure, liner, kill-strip, body), the newest visit of its present hanging that replaced it; as
    ``lot``, the newest one that named a lot of the trap's own species."""


def newest_service(programme: Programme, hanging: Trap, visits: Sequence[Visit]) -> dict[str, Visit]:
    """Newest visits of a hanging by the item that they renewed, as ``upkeep.present_lot`` takes them.

    Args:
        programme: For lots.
        hanging: The hanging.
        visits: Visits of its trap, in order.
    """
    found: dict[str, Visit] = {}
    for visit in reversed(handled(visits)):
        if visit.lure is None and not visit.liner and not visit.kill_strip and visit.body is None:
            continue
        if not hanging.hangs_on(visit.read_on):
            continue
        if visit.lure is not None:
            found.setdefault("lure", visit)
            if visit.lure not in (YES, NONE) and "lot" not in found and _own(programme, hanging, visit.lure):
                found["lot"] = visit
        if visit.liner:
            found.setdefault("liner", visit)
        if visit.kill_strip:
            found.setdefault("kill-strip", visit)
        if visit.body is not None:
            found.setdefault("body", visit)
    return found


def _own(programme: Programme, hanging: Trap, lure: str | None) -> bool:
    lot = programme.lots.get(lure or "")
    return lot is not None and lot.species == hanging.species


def season_start(on: date, starts_on: tuple[int, int]) -> date:
    """First day of the season that a day belongs to.

    Args:
        on: The day.
        starts_on: Month and day on which seasons start.

    Returns:
        The newest start that is not after ``on``.
    """
    month, day = starts_on
    start = date(on.year, month, day)
    return start if start <= on else date(on.year - 1, month, day)


def season_last(on: date, starts_on: tuple[int, int]) -> date:
    """Last day of the season that a day belongs to.

    Args:
        on: The day.
        starts_on: Month and day on which seasons start.
    """
    return season_start(season_start(on, starts_on) + timedelta(days=366), starts_on) - timedelta(days=1)


def first_day_needed(on: date, starts_on: tuple[int, int]) -> date:
    """Day from which every visit is needed for the summary of a day.

    Early in a season the window, the previous figure and the running weeks reach into the season before.
    """
    return min(season_start(on, starts_on), on - timedelta(days=REACH_DAYS))


class NewerSaid(Frozen):
    """Entries of a kind, or with words, that only a newer program understands."""

    kind: str
    """Word for the kind."""
    trap: str
    """Trap they are about; empty where they are not about one."""
    block: str
    """Block they are about; empty where they are not about one."""
    number: int
    """How many."""


class Observations(Frozen):
    """Present entries of a season up to a day, each kind in the order of their days."""

    samples: tuple[Sample, ...] = ()
    """Leaf and fruit samples."""
    treatments: tuple[TreatmentSaid, ...] = ()
    """Treatments that growers spoke of."""
    specimens: tuple[Specimen, ...] = ()
    """What else was in the traps."""
    lots: tuple[LotStock, ...] = ()
    """Lots of lures that run out or expire; none where stock is not on record."""
    override: tuple[Assembled, ...] = ()
    """Traps that hang, assembled with a known problem."""
    newer: tuple[NewerSaid, ...] = ()
    """What only a newer program understands; every figure stands without it."""
    untreated: Against = field(default_factory=lambda: import_module("roundtui.domain.figures.untreated").Against())
    """What treated blocks are held against, of the whole programme."""

    def against(self) -> tuple[Treatment, ...]:
        """The treatments as rules take them: each block, species and day once."""
        from roundtui.domain.figures.threshold import Treatment

        once = dict.fromkeys((said.block, said.species, said.treated_on) for said in self.treatments)
        return tuple(Treatment(block, species, on) for block, species, on in once)

    def within(self, blocks: Collection[str], traps: Collection[str]) -> Observations:
        """What is about some blocks and traps only.

        Args:
            blocks: Codes of the blocks.
            traps: Labels of the traps.
        """
        return Observations(
            tuple(sample for sample in self.samples if sample.block in blocks),
            tuple(said for said in self.treatments if said.block in blocks),
            tuple(one for one in self.specimens if one.trap in traps),
            tuple(lot for lot in self.lots if not lot.traps or not set(traps).isdisjoint(lot.traps)),
            tuple(one for one in self.override if one.trap in traps),
            tuple(one for one in self.newer if one.trap in traps or one.block in blocks),
            self.untreated,
        )
