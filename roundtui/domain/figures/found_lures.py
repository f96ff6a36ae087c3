"""What a lure found in a trap changes: readings back to the last change of lure, and the blocks they are in."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date

from roundtui.domain.entries import Visit
from roundtui.domain.figures import integrity
from roundtui.domain.figures.blocks import Record, block_row
from roundtui.domain.figures.figures import Series, series
from roundtui.domain.figures.integrity import Integrity
from roundtui.domain.figures.verdicts import BlockRow, Trouble
from roundtui.domain.programme.farm import natural_key
from roundtui.domain.records import Frozen

Key = tuple[str, str]
"""Block and species."""


class FoundChange(Frozen):
    """What is different because a lure was found."""

    trap: str
    """Label of the trap in which it was found."""
    before: Trouble | None
    """What was known to be wrong with the trap."""
    after: Trouble | None
    """What is wrong with it."""
    righted: bool
    """Whether the same visit put it right, so that nothing is wrong any more."""
    suspect: int
    """Readings of this season that counted and are suspect, those of other traps with its body too."""
    trusted: int
    """Readings that were suspect and count again."""
    on: date
    """The day."""
    blocks: tuple[tuple[BlockRow, BlockRow], ...]
    """Blocks whose figure or status of the day is another one, as they were and as they are."""


class FoundLure:
    """A lure found on a visit, held against the same visit without it.

    What the visit did to lure and body is looked at once; its count may change as often as digits are typed.

    Args:
        record: What the summary of the day is made from, with every visit up to now. Its scent is that of all traps
            that may be in trouble, and of this one; so are the traps that are followed.
        visit: The visit, recorded or not; one that is not stands last on its day.
    """

    def __init__(self, record: Record, visit: Visit) -> None:
        self._record = record
        self._gone = {visit.id, visit.replaces}
        bare = replace(visit, lure_found=None)
        self._both = self._examined(bare), self._examined(visit)
        traps = self._touched(visit.trap)
        hangings = record.programme.hangings
        self._keys = {(row.block, row.species) for trap in traps for row in hangings.get(trap, ())}
        at_home = {
            trap for trap, rows in hangings.items() if any((row.block, row.species) in self._keys for row in rows)
        }
        self._traps = sorted(at_home | traps, key=natural_key)

    def _examined(self, visit: Visit) -> Integrity:
        record, past = self._record, self._record.history
        scent = [one for one in past.scent if one.id not in self._gone]
        if visit.lure is not None or visit.lure_found is not None or visit.body is not None:
            scent = sorted([*scent, visit], key=lambda one: one.order)
        return integrity.examine(record.programme, scent, record.on, past.assembled, past.bodies, suspect=past.suspect)

    def _touched(self, trap: str) -> set[str]:
        before, after = (found.spells for found in self._both)
        return {trap} | {one for one in before.keys() | after.keys() if before.get(one) != after.get(one)}

    def change(self, visit: Visit) -> FoundChange:
        """What is different.

        Args:
            visit: The visit as it is now: another count or reason than at first, the same lure and body.
        """
        before, after = (self._series(found, visit) for found in self._both)
        flips = [
            (was.suspect, now.suspect)
            for trap in self._traps
            for one, other in zip(before[trap], after[trap], strict=True)
            for was, now in zip(one.readings, other.readings, strict=True)
            if was.suspect != now.suspect and was.read_on >= self._record.season_start
        ]
        troubles = [next((one for one in found.troubles if one.trap == visit.trap), None) for found in self._both]
        return FoundChange(
            trap=visit.trap,
            before=troubles[0],
            after=troubles[1],
            righted=any(one.start != one.end == visit.read_on for one in self._both[1].spells.get(visit.trap, ())),
            suspect=sum(1 for _, now in flips if now),
            trusted=sum(1 for was, _ in flips if was),
            on=self._record.on,
            blocks=tuple(self._blocks(before, after)),
        )

    def _series(self, found: Integrity, visit: Visit) -> dict[str, list[Series]]:
        history, hangings = self._record.history, self._record.programme.hangings
        made = {}
        for trap in self._traps:
            visits = list(history.visits.get(trap, ()))
            if trap == visit.trap:
                visits = sorted(
                    [*(one for one in visits if one.id not in self._gone), visit], key=lambda one: one.order
                )
            made[trap] = series(hangings.get(trap, ()), visits, found)
        return made

    def _blocks(
        self, before: Mapping[str, Sequence[Series]], after: Mapping[str, Sequence[Series]]
    ) -> list[tuple[BlockRow, BlockRow]]:
        found = []
        for key in sorted(self._keys, key=lambda key: (natural_key(key[0]), key[1])):
            was, now = (block_row(self._record, key, _of(key, side.values())) for side in (before, after))
            if was is None or now is None:
                continue
            if (was.status, was.mean_per_week) != (now.status, now.mean_per_week):
                found.append((was, now))
        return found


def _of(key: Key, every: Collection[Sequence[Series]]) -> list[Series]:
    return [one for rows in every for one in rows if (one.hanging.block, one.hanging.species) == key]
