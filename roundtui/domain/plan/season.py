"""The plan of a season: per block and species how many traps, and by which day they hang.

The number is last year's, because a figure of more or fewer traps cannot be laid beside it; what is advised for the
area is told with it. The day is the earliest of what applies, so that the first check reads zero.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from roundtui.domain.farm import Programme, Trap, natural_key
from roundtui.domain.model_records import SpeciesModel
from roundtui.domain.plan.hang_by import (
    HangReason,
    Span,
    Warmth,
    by_date,
    by_degree_days,
    by_first_catch,
    by_stage,
    earliest,
)
from roundtui.domain.plan.past import PastSeason
from roundtui.domain.plan.rules import HangRule, PlanOffice, advised, density_of

SOON_DAYS = 14
"""Hanging this near is said to be due. [d]"""
Key = tuple[str, str]
"""Block and species."""
WarmthOf = Callable[[str, HangRule, SpeciesModel | None], Warmth | None]
"""Temperatures of a block, counted as a rule or a model counts."""


class PlanState(StrEnum):
    """Where hanging stands."""

    HUNG = "hung"
    OVERDUE = "overdue"
    SOON = "soon"
    LATER = "later"
    NO_DATE = "no date"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRow:
    """One block and species of the plan."""

    farm: str
    """Code of the farm; empty for a block nobody set up."""
    block: str
    """Code of the block."""
    species: str
    """Abbreviation of the species."""
    traps: int
    """How many are to hang."""
    why: str
    """Why so many."""
    past: PastSeason | None
    """Last season; None: no trap of it hung here."""
    advised: int | None
    """How many the advice on density asks for; None: there is none."""
    advice_source: str
    """Who gives it."""
    hung: tuple[str, ...]
    """Labels of those that were hung in the season."""
    hung_on: date | None
    """Day the first of them was hung."""
    hang_by: date | None
    """Day by which they hang; None where nothing tells."""
    decided_by: HangReason | None
    """What gives that day."""
    reasons: tuple[HangReason, ...]
    """What every rule says."""
    state: PlanState
    """Where hanging stands."""
    days_left: int | None
    """Days until ``hang_by``, negative once it is past; None without it. [d]"""

    @property
    def late_days(self) -> int | None:
        """How long after ``hang_by`` the first trap was hung; None where it was in time, or nobody knows. [d]"""
        if self.hung_on is None or self.hang_by is None or self.hung_on <= self.hang_by:
            return None
        return (self.hung_on - self.hang_by).days


@dataclass(frozen=True, slots=True)
class SeasonPlan:
    """The plan of a season, seen from a day."""

    season: int
    """Year in which it starts."""
    span: Span
    """Its days, and the day from which one looks."""
    rows: tuple[PlanRow, ...]
    """Blocks and species, by farm and block."""
    ends_on: date | None
    """Day by which traps are expected to be down: as last year; None where no year before tells."""

    def by_urgency(self) -> tuple[PlanRow, ...]:
        """The rows, those that are overdue first, then by day."""
        rank = {state: at for at, state in enumerate(_URGENCY)}
        return tuple(sorted(self.rows, key=lambda row: (rank[row.state], row.hang_by or date.max)))


_URGENCY = (PlanState.OVERDUE, PlanState.SOON, PlanState.LATER, PlanState.NO_DATE, PlanState.HUNG)


@dataclass(frozen=True, slots=True)
class Planner:
    """What a plan is made with."""

    programme: Programme
    """All that is set up."""
    office: PlanOffice
    """Rules of the office."""
    span: Span
    """The season, and the day from which one looks."""
    models: Callable[[str], SpeciesModel | None]
    """Model of a species."""
    warmth: WarmthOf
    """Temperatures of a block."""

    def plan(self, past: Mapping[Key, PastSeason]) -> SeasonPlan:
        """Plan the season.

        Args:
            past: Last season of every block and species that had traps.
        """
        span = self.span
        hung = _hung(self.programme, span)
        keys = {*past, *hung, *((block, species) for block, species, number in self.office.numbers if number)}
        rows = [self._row(key, past.get(key), hung.get(key, [])) for key in keys]
        rows.sort(key=lambda row: (natural_key(row.farm), natural_key(row.block), row.species))
        ends = [span.moved(one.ended_on, one.season) for one in past.values() if one.ended_on is not None]
        return SeasonPlan(span.first.year, span, tuple(rows), max(ends, default=None))

    def _row(self, key: Key, past: PastSeason | None, hung: Sequence[Trap]) -> PlanRow:
        block, species = key
        known = self.programme.blocks.get(block)
        rule = density_of(self.office.density, species)
        advice = advised(rule, known.area_ha if known else None) if rule else None
        labels = tuple(sorted({row.trap for row in hung}, key=natural_key))
        traps, why = _number(self.office.wanted(block, species), past, advice, len(labels))
        reasons = tuple(self._reasons(block, species, past))
        decided = earliest(reasons)
        hang_by = decided.on if decided else None
        return PlanRow(
            farm=self.programme.farm_of(block),
            block=block,
            species=species,
            traps=traps,
            why=why,
            past=past,
            advised=advice,
            advice_source=rule.source if rule else "",
            hung=labels,
            hung_on=min((row.hung_on for row in hung if row.hung_on), default=None),
            hang_by=hang_by,
            decided_by=decided,
            reasons=reasons,
            state=_state(len(labels), traps, hang_by, self.span.on),
            days_left=(hang_by - self.span.on).days if hang_by else None,
        )

    def _reasons(self, block: str, species: str, past: PastSeason | None) -> Iterable[HangReason]:
        yield by_first_catch(past, self.span, self.office.margins)
        for rule in self.office.hanging_of(species):
            if rule.stage:
                yield by_stage(rule, past, self.span)
            elif rule.month_day:
                yield by_date(rule, self.span)
            else:
                model = self.models(species)
                yield by_degree_days(rule, model, self.warmth(block, rule, model), self.span)


def _number(wanted: int | None, past: PastSeason | None, advice: int | None, hung: int) -> tuple[int, str]:
    if wanted is not None:
        return wanted, "the office's number"
    if past is not None and past.traps:
        return len(past.traps), "as last season, so that figures can be compared"
    if hung:
        return hung, "as hung; there is no season before"
    return advice or 0, "as advised; there is no season before"


def _state(hung: int, traps: int, hang_by: date | None, on: date) -> PlanState:
    if hung >= traps and hung:
        return PlanState.HUNG
    if hang_by is None:
        return PlanState.NO_DATE
    days = (hang_by - on).days
    if days < 0:
        return PlanState.OVERDUE
    return PlanState.SOON if days <= SOON_DAYS else PlanState.LATER


def _hung(programme: Programme, span: Span) -> dict[Key, list[Trap]]:
    """Hangings of the season up to the day, by block and species."""
    found: dict[Key, list[Trap]] = {}
    for rows in programme.hangings.values():
        for row in rows:
            begun = row.hung_on is None or row.hung_on <= span.on
            if begun and (row.hung_on is None or row.hung_on <= span.last) and _in_season(row, span):
                found.setdefault((row.block, row.species), []).append(row)
    return found


def _in_season(row: Trap, span: Span) -> bool:
    if row.hung_on is not None and row.hung_on >= span.first:
        return True
    return row.hangs_on(span.first) and span.first <= span.on


def season_to_plan(programme: Programme, first: date, next_first: date, on: date) -> date:
    """First day of the season that a plan is for: the running one, or the next once all its traps are down.

    Args:
        programme: All that is set up.
        first: First day of the season that the day belongs to.
        next_first: First day of the one after.
        on: The day.
    """
    rows = [row for rows in programme.hangings.values() for row in rows]
    hung = any(row.hung_on is not None and first <= row.hung_on <= on for row in rows)
    hangs = any(row.hangs_on(on) and row.down_on != on for row in rows)
    return next_first if hung and not hangs else first


def still_to_hang(programme: Programme, first: date, before: date, on: date) -> bool:
    """Whether any trap that hung last season has not been hung in this one: then a plan is worth reading.

    Args:
        programme: All that is set up.
        first: First day of the running season.
        before: First day of the one before.
        on: The day.
    """
    for rows in programme.hangings.values():
        days = [row.hung_on for row in rows if row.hung_on is not None and row.hung_on <= on]
        hung_then = any(before <= day < first for day in days) or any(
            row.hangs_on(before) for row in rows if row.hung_on
        )
        if hung_then and not any(day >= first for day in days) and not any(row.hangs_on(on) for row in rows):
            return True
    return False
