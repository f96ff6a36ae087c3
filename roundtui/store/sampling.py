"""Leaf and fruit samples of a session: what is offered, what was begun, and how one gets on record."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from roundtui.domain.entries import SampleKind
from roundtui.domain.programme.farm import natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.sampling import findings
from roundtui.domain.sampling.counting import Counting, counting_of, marks_of, read, written
from roundtui.domain.sampling.records import MonthDay, Sought
from roundtui.errors import RefusedError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from roundtui.domain.entries import Sample
    from roundtui.store.session import Session

BEGUN = "samples-begun"
"""Setting that keeps the samples that were begun and are not on record yet."""
CHOSEN = "samples-chosen"
"""Setting that keeps what was looked for, the last first."""
_MOST_CHOSEN = 30


class Offer(Frozen):
    """A line to choose."""

    sought: Sought
    """What is looked for."""
    in_season: bool
    """Whether this is its time of the year."""
    draft: Counting | None = None
    """The sample to go on with; None: a new one."""


class SampleKeeper:
    """What the screen of samples asks and tells.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.table = findings.sample_table(session.office)
        self.drafts = [self._counting(*one) for one in read(session.kept(BEGUN))]
        """Samples that were begun, oldest first."""

    def blocks(self, route: str = "") -> tuple[str, ...]:
        """Blocks in the order of walking, those of a route first.

        Args:
            route: Name of the route; empty for none.
        """
        programme = self.session.programme
        routes = [route, *(name for name in programme.routes if name != route)]
        stops = [trap for name in routes for trap in programme.routes.get(name, ())]
        walked = [row.block for trap in stops for row in programme.hangings.get(trap, ())]
        return tuple(
            block
            for block in dict.fromkeys([*walked, *sorted(programme.blocks, key=natural_key)])
            if block in programme.blocks
        )

    def begun(self, block: str) -> int:
        """How many samples of a block were begun."""
        return sum(draft.block == block for draft in self.drafts)

    def offers(self, block: str) -> tuple[Offer, ...]:
        """What can be looked for in a block: what was begun, then what was chosen last, then what is in season."""
        on = self.session.on
        begun = [draft for draft in reversed(self.drafts) if draft.block == block and draft.sampled_on <= on]
        known = self.session.programme.blocks.get(block)
        chosen = self.session.kept(CHOSEN).split("\n")
        rows = findings.to_look_for(self.table, known.crop if known else "", self._day(block, on), chosen)
        going = [Offer(draft.sought, True, draft) for draft in begun]
        # Begun today, it is gone on with or given up first: a second one of its kind would take its place.
        today = {draft.sought.key for draft in begun if draft.sampled_on == on}
        return (*going, *(Offer(sought, in_season) for sought, in_season in rows if sought.key not in today))

    def begin(self, block: str, sought: Sought) -> Counting:
        """A new look."""
        plans = findings.plans_on(sought, self._day(block, self.session.on))
        self._choose(sought)
        first = plans[0] if plans else None
        return Counting(block=block, sampled_on=self.session.on, sought=sought, plan=first, plans=plans)

    def free(self, block: str, words: str) -> Counting:
        """A sample for something that no table has; one of the same words that was begun today is gone on with."""
        sought = Sought(code=words, name=words, kind=SampleKind.LEAF, looked_at="leaf")
        same = (draft for draft in self.drafts if draft.key == (block, self.session.on, sought.key))
        return next(same, None) or self.begin(block, sought)

    def looked_today(self, block: str, sought: Sought) -> Sample | None:
        """The sample of a kind that is on record in a block on the day, the newest; None: there is none."""
        same = [one for one in self._today(block) if (one.kind, one.pest) == (sought.kind, sought.code)]
        return same[-1] if same else None

    def corrected(self, block: str) -> Counting | None:
        """The sample that whoever is at the keys recorded last in a block on the day; None: none is."""
        from roundtui.domain.round.checks import same_scout

        mine = [sample for sample in self._today(block) if same_scout(sample.scout, self.session.scout)]
        if not mine:
            return None
        return self._counting(replace(mine[-1], replaces=mine[-1].id), marks_of(mine[-1]))

    def keep(self, now: Counting) -> None:
        """Have a sample on the disk as far as it has come."""
        self.drafts = [one for one in self.drafts if one.key != now.key]
        if now.marks or now.note or now.place or now.trees or now.grade is not None or now.beneficials is not None:
            self.drafts.append(self._counting(now.sample, now.marks))
        self.session.keep(BEGUN, written(self.drafts))

    def drop(self, now: Counting) -> None:
        """Give up a sample that was begun."""
        self.drafts = [one for one in self.drafts if one.key != now.key]
        self.session.keep(BEGUN, written(self.drafts))

    def record(self, now: Counting) -> Sample:
        """Put a sample on record. When this returns it is on the disk.

        Args:
            now: The sample, with how many units were looked at.

        Raises:
            RoundtuiError: Nothing was recorded.
        """
        from roundtui.store.record import journal

        session = self.session
        problems = findings.check_sample(now.sample, session.programme)
        if problems:
            raise RefusedError(f"{problems[0].where}: {problems[0].message}", problems[0].hint)
        (recorded,) = journal.record(session.conn, [now.sample], session.author, session.clock())
        session.changes += 1
        self.drop(now)
        return recorded

    def start(self, now: Counting) -> findings.HighestCatch | None:
        """Where a fruit sample starts: at a trap with the right lure and a count that is believed."""
        from roundtui.domain.figures.integrity import examine

        session, known = self.session, self.session.history
        found = examine(session.programme, known.scent, session.on, known.assembled, known.bodies)
        suspect = {one.trap for one in found.troubles}
        return findings.highest_catch(
            session.programme,
            session.visits,
            now.block,
            session.on,
            now.sought.code,
            trusted=lambda visit: visit.trap not in suspect and not session.slip(visit),
        )

    def _today(self, block: str) -> list[Sample]:
        from roundtui.store.record.observations import present
        from roundtui.store.record.rows import SAMPLES

        today: list[Sample] = present(self.session.conn, SAMPLES, self.session.on, self.session.on)
        return [sample for sample in today if sample.block == block]

    def _counting(self, sample: Sample, marks: Sequence[str]) -> Counting:
        """A sample as far as it has come, its field empty."""
        return counting_of(sample, marks, self.table, self._day(sample.block, sample.sampled_on))

    def _choose(self, sought: Sought) -> None:
        name = findings.name_of(sought)
        before = [one for one in self.session.kept(CHOSEN).split("\n") if one not in {name, ""}]
        self.session.keep(CHOSEN, "\n".join([name, *before][:_MOST_CHOSEN]))

    def _day(self, block: str, on: date) -> MonthDay:
        return findings.day_of_year(on, south=findings.in_the_south(self.session.programme, block))
