"""A small orchard that a story can be told about: traps are hung, visits made, and a summary asked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from typing import Any

from roundtui.domain.entries import (
    Assembled,
    NoReading,
    Notified,
    PartKind,
    PartNoted,
    PartState,
    Sample,
    StageSeen,
    TreatmentSaid,
    Visit,
)
from roundtui.domain.figures.figures import series
from roundtui.domain.figures.history import History, NewerSaid, Observations, Superseded
from roundtui.domain.figures.integrity import examine
from roundtui.domain.figures.learned import LearnedBy, learn_weeks, rounds_of, week_of
from roundtui.domain.figures.rules import SHIPPED_RULES, Office, Rule, RuleKind
from roundtui.domain.figures.summary import attention, summarise
from roundtui.domain.figures.verdicts import BlockRow, Summary
from roundtui.domain.programme.farm import Block, Farm, Lot, Programme, Stop, Trap, fill


def hung_with(rows: Sequence[Trap], assembled: Sequence[Assembled]) -> tuple[Trap, ...]:
    """Hangings with what they were assembled with: each takes the newest assembly since the hanging before."""
    taken: dict[tuple[str, date], Assembled] = {}
    for one in sorted(assembled, key=lambda one: (one.assembled_on, one.recorded_at, one.id)):
        days = [row.hung_on for row in rows if row.trap == one.trap and row.hung_on and row.hung_on >= one.assembled_on]
        if days:
            taken[one.trap, min(days)] = one
    return tuple(fill(row, taken.get((row.trap, row.hung_on)) if row.hung_on else None) for row in rows)


def day(text: str) -> date:
    """A day of 2025 as month-day, or any day in full."""
    return date.fromisoformat(text if len(text) > 5 else f"2025-{text}")


def rule(kind: str = "mean", low: object = 3, high: object = 5, **more: Any) -> Rule:
    """An office's rule for codling moth."""
    values = {"id": "office", "species": "CM", "source": "the test", "date": None, "office": True, **more}
    return Rule(kind=RuleKind(kind), low=Fraction(str(low)), high=Fraction(str(high)), **values)


@dataclass
class Orchard:
    """Blocks come into being when a trap is hung in them; every visit is recorded a second after the one before."""

    rules: tuple[Rule, ...] = SHIPPED_RULES
    starts_on: tuple[int, int] = (1, 1)
    blocks: dict[str, Block] = field(default_factory=dict)
    traps: list[Trap] = field(default_factory=list)
    lots: dict[str, Lot] = field(default_factory=dict)
    stops: list[Stop] = field(default_factory=list)
    visits: list[Visit] = field(default_factory=list)
    stages: list[StageSeen] = field(default_factory=list)
    notified: list[Notified] = field(default_factory=list)
    assembled: list[Assembled] = field(default_factory=list)
    parts: list[PartNoted] = field(default_factory=list)
    superseded: list[Superseded] = field(default_factory=list)

    def hang(self, *traps: str, on: str | None = "04-01", block: str = "N1", species: str = "CM", **more: Any) -> None:
        """Hang traps in a block of the farm named by its first letter."""
        self.blocks.setdefault(block, Block(block, block[0], block, "apple"))
        for trap in traps:
            hung_on = day(on) if on else None
            if "down" in more:
                more["down_on"] = day(more.pop("down"))
            self.traps.append(Trap(trap, block, species, hung_on=hung_on, **more))

    def lot(self, lot: str, species: str, **more: Any) -> None:
        """Buy a lot of lures."""
        self.lots[lot] = Lot(lot, species, **more)

    def route(self, name: str, *traps: str) -> None:
        """Lay a route."""
        self.stops += [Stop(name, at, trap) for at, trap in enumerate(traps, 1)]

    def visit(self, trap: str, on: str, count: int | None = None, **more: Any) -> Visit:
        """Visit a trap; ``no`` names the reason of no reading."""
        if "no" in more:
            more["no_reading"] = NoReading(more.pop("no"))
        at = datetime(2025, 1, 1, tzinfo=UTC) + timedelta(seconds=len(self.visits))
        more.setdefault("scout", "Ada")
        visit = Visit(trap=trap, read_on=day(on), count=count, recorded_at=at, id=f"v{len(self.visits):04}", **more)
        self.visits.append(visit)
        return visit

    def assemble(
        self, trap: str, on: str, lot: str = "", body: str = "", species: str = "CM", **more: Any
    ) -> Assembled:
        """Make a trap up before it is hung."""
        at = datetime(2025, 1, 1, tzinfo=UTC) + timedelta(seconds=len(self.assembled))
        one = Assembled(
            trap=trap,
            species=species,
            assembled_on=day(on),
            body_label=body,
            lot=lot,
            recorded_at=at,
            id=f"a{len(self.assembled):04}",
            **more,
        )
        self.assembled.append(one)
        return one

    def note(self, label: str, on: str, state: str = "stored", species: str = "CM", **more: Any) -> PartNoted:
        """Note what became of a body, or of another part."""
        at = datetime(2025, 1, 1, tzinfo=UTC) + timedelta(seconds=len(self.parts))
        part = PartKind(more.pop("part", "body"))
        noted = PartNoted(
            label=label,
            part=part,
            species=species,
            state=PartState(state),
            noted_on=day(on),
            recorded_at=at,
            id=f"p{len(self.parts):04}",
            **more,
        )
        self.parts.append(noted)
        return noted

    def see(self, block: str, on: str, code: str) -> None:
        """See a fruit stage."""
        self.stages.append(StageSeen(block=block, seen_on=day(on), code=code))

    @property
    def programme(self) -> Programme:
        """All that is set up."""
        farms = {block.farm: Farm(block.farm, block.farm) for block in self.blocks.values()}
        traps = hung_with(self.traps, self.assembled)
        return Programme(farms=farms, blocks=self.blocks, traps=traps, lots=self.lots, stops=tuple(self.stops))

    def history(self, on: date) -> History:
        """The whole record up to a day, with nothing left out."""
        visits: dict[str, list[Visit]] = {}
        service: dict[str, dict[str, Visit]] = {}
        for visit in sorted((v for v in self.visits if v.read_on <= on), key=lambda v: v.order):
            visits.setdefault(visit.trap, []).append(visit)
            hanging = self.programme.hanging(visit.trap, on)
            if hanging is None or not hanging.hangs_on(visit.read_on):
                continue
            items = service.setdefault(visit.trap, {})
            done = {
                "lure": visit.lure is not None,
                "lot": visit.lure in self.lots and self.lots[visit.lure].species == hanging.species,
                "liner": visit.liner,
                "kill-strip": visit.kill_strip,
                "body": visit.body is not None,
            }
            items.update({item: visit for item, was in done.items() if was})
        log: dict[str, list[StageSeen]] = {}
        for seen in sorted((s for s in self.stages if s.seen_on <= on), key=lambda s: s.seen_on):
            log.setdefault(seen.block, []).append(seen)
        return History(
            visits=visits,
            scent=[v for v in self.visits if v.lure or v.body or v.lure_found],
            assembled=[one for one in self.assembled if one.assembled_on <= on],
            bodies=[part for part in self.parts if part.noted_on <= on],
            stages={block: seen[-1] for block, seen in log.items()},
            stage_log=log,
            notified=[notified for notified in self.notified if notified.notified_on <= on],
            superseded=self.superseded,
            last_service=service,
        )

    def summary(self, on: str, **more: Any) -> Summary:
        """The summary of a day."""
        office = Office(rules=self.rules, season_starts_on=self.starts_on)
        return summarise(
            self.programme, self.history(day(on)), office, day(on), learned=self.learned_by(day(on)), **more
        )

    def learned_by(self, on: date) -> LearnedBy:
        """What the rounds up to a day taught."""
        history = self.history(on)
        found = examine(self.programme, history.scent, on, history.assembled, history.bodies)
        every = [
            one
            for trap, hangings in self.programme.hangings.items()
            for one in series(hangings, history.visits.get(trap, ()), found)
        ]
        rounds = rounds_of(every, self.programme.blocks, 0, week_of(on))
        return lambda week: {species: learn_weeks(weeks, week) for species, weeks in rounds.items()}

    def attention(
        self,
        on: str,
        *,
        samples: tuple[Sample, ...] = (),
        said: tuple[TreatmentSaid, ...] = (),
        newer: tuple[NewerSaid, ...] = (),
    ) -> list[str]:
        """What needs attention on a day, each as its kind, its place and its words."""
        office = Office(rules=self.rules, season_starts_on=self.starts_on)
        observations = Observations(samples=samples, treatments=said, newer=newer)
        found = attention(self.summary(on), self.programme, self.history(day(on)), observations, office)
        return [f"{one.kind} {one.farm} {one.block} {one.species}: {one.words}" for one in found]

    def row(self, on: str, block: str = "N1", species: str = "CM", **more: Any) -> BlockRow:
        """One block's row in the summary of a day."""
        return next(row for row in self.summary(on, **more).blocks if (row.block, row.species) == (block, species))
