"""What last season says to this season's plan: how many traps hung, which were lost, and when the first moth came.

By which day traps are hung: every rule that speaks of a block, the day it gives or why it gives none.
The plan of a season: per block and species how many traps, and by which day they hang.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, timedelta
from enum import StrEnum

from roundtui.domain.entries import NoReading, StageSeen, Visit
from roundtui.domain.figures.figures import Reading, Series
from roundtui.domain.figures.learned import Needed
from roundtui.domain.inventory import plan_rules
from roundtui.domain.inventory.plan_rules import HangKind, HangRule
from roundtui.domain.programme.farm import Programme, Trap, grouped, natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.season.models import LifeEvent, SpeciesModel
from roundtui.domain.season.outlook import outlook
from roundtui.domain.season.weather import StationYears, same_day

_STILL_READ_DAYS = 28
"""A trap not read for longer is at the end of its season, whatever the register says (common practice, no source)."""


class PastSeason(Frozen, kw_only=True):
    """One block and species in the season before the one that is planned."""

    season: int
    """Year in which it started."""
    traps: tuple[str, ...] = ()
    """Labels of the traps that hung."""
    lost: tuple[str, ...] = ()
    """Those found missing, and not found again."""
    hung_on: date | None = None
    """Day the first of them was hung."""
    first_read: date | None = None
    """Day of the first count."""
    first_moths: int | None = None
    """Moths counted on that day, of all its traps together."""
    first_catch: date | None = None
    """Day of the first count above zero."""
    flown_since: date | None = None
    """First day of the exposure that brought it: moths flew some time from then on."""
    stages: tuple[StageSeen, ...] = ()
    """Fruit stages seen in the block, oldest first."""
    ended_on: date | None = None
    """Day the last of them was taken down, else of the last count; None while one still hangs and is read."""

    @property
    def hung_too_late(self) -> bool:
        """Whether the first check was not zero, so that nobody knows when the flight began."""
        return bool(self.first_moths)


def past_season(
    season: int,
    group: Sequence[Series],
    visits: Mapping[str, Sequence[Visit]],
    stages: Sequence[StageSeen],
    days: tuple[date, date],
) -> PastSeason:
    """Put it together from the record.

    Args:
        season: Year in which it started.
        group: Traps of one block and species that hung in it, with their readings.
        visits: Present visits by trap.
        stages: Stages seen in the block, oldest first.
        days: First and last day of the season.

    Returns:
        What it says. Readings that cannot be relied on are passed over: a wrong lure tells nothing of a flight.
    """
    first, last = days
    read = [
        reading
        for one in group
        for reading in one.readings
        if first <= reading.read_on <= last and not reading.suspect and not reading.conflict and reading.net is not None
    ]
    first_read = min((reading.read_on for reading in read), default=None)
    caught = [reading for reading in read if (reading.net or 0) > 0]
    first_catch = min((reading.read_on for reading in caught), default=None)
    flown = [reading.start for reading in caught if reading.read_on == first_catch and reading.start is not None]
    labels = sorted({one.hanging.trap for one in group}, key=natural_key)
    return PastSeason(
        season=season,
        traps=tuple(labels),
        lost=tuple(label for label in labels if _lost(visits.get(label, ()), first, last)),
        hung_on=min((one.hanging.hung_on for one in group if one.hanging.hung_on), default=None),
        first_read=first_read,
        first_moths=sum(reading.net or 0 for reading in read if reading.read_on == first_read) if read else None,
        first_catch=first_catch,
        flown_since=min(flown, default=None),
        stages=tuple(stages),
        ended_on=_ended(group, read, last),
    )


def _ended(group: Sequence[Series], read: Sequence[Reading], last: date) -> date | None:
    """When the traps came down; a trap that nobody took down in the register ended with its last count."""
    down = [one.hanging.down_on for one in group if one.hanging.down_on is not None and one.hanging.down_on <= last]
    counts = [reading.read_on for reading in read]
    if not down and any(one.hanging.hangs_on(last) for one in group) and counts:
        newest = max(counts)
        return newest if (last - newest).days > _STILL_READ_DAYS else None
    return max(down or counts, default=None)


def last_look(visits: Sequence[Visit]) -> Visit | None:
    """The newest visit that says how a trap was found: a count, or why there is none.

    Args:
        visits: Visits to a trap, in order.
    """
    return next((one for one in reversed(visits) if one.count is not None or one.no_reading is not None), None)


def _lost(visits: Iterable[Visit], first: date, last: date) -> bool:
    look = last_look([one for one in visits if first <= one.read_on <= last])
    return look is not None and look.no_reading is NoReading.MISSING


FIRST_CATCH = "first-catch"
"""Id of the rule that goes by last season's first catch."""
_NORTH = "printed for the north, where seasons start in winter"


class HangReason(Frozen):
    """What one rule says of one block and species."""

    rule: str
    """Id of the rule."""
    kind: HangKind
    """What it goes by."""
    on: date | None
    """Day by which it wants the traps to hang; None where it cannot tell."""
    words: str
    """What the day rests on, or why there is none."""
    source: str
    """Who published the rule."""
    elsewhere: bool = False
    """A date of the calendar that was printed for another place: used only where no other reason has a day."""


class Warmth(Frozen):
    """Temperatures of a block's station, for one way of counting degree-days."""

    years: StationYears
    """Its days on record."""
    normal: StationYears | None = None
    """Its normals of the planned season."""


class Span(Frozen):
    """The season that is planned, and the day from which one looks."""

    first: date
    """First day of the season."""
    last: date
    """Last day of the season."""
    on: date
    """The day."""

    @property
    def of_the_south(self) -> bool:
        """Whether the season is one of the south: it starts from April to September."""
        return 4 <= self.first.month <= 9

    def day(self, month_day: str) -> date:
        """A day of the year inside the season."""
        found = date.fromisoformat(f"{self.first.year}-{month_day}")
        return found if found >= self.first else found.replace(year=found.year + 1)

    def moved(self, day: date, season: int) -> date:
        """A day of an earlier season as the same day of this one."""
        return same_day(day, day.year + self.first.year - season)


def earliest(reasons: Iterable[HangReason]) -> HangReason | None:
    """The reason that decides: the earliest day; dates of other places count only where there is no other.

    Args:
        reasons: What the rules say.
    """
    dated = [reason for reason in reasons if reason.on is not None]
    own = [reason for reason in dated if not reason.elsewhere]
    return min(own or dated, key=lambda reason: reason.on or date.max, default=None)


def by_first_catch(past: PastSeason | None, span: Span, margins: plan_rules.Margins) -> HangReason:
    """So long before the first catch of last season.

    Where last season's first check was not zero, the flight began at an unknown day since hanging: the count is back
    from that day.

    Args:
        past: Last season; None: not on record.
        span: The season that is planned.
        margins: How long before.
    """
    days, on = margins.before_catch_days, None
    if past is None or past.first_read is None:
        why = "nothing was read here last season"
    elif past.first_catch is None:
        why = "nothing was caught here last season"
    else:
        since = past.flown_since if past.hung_too_late and past.flown_since else past.first_catch
        on = span.moved(since, past.season) - timedelta(days=days)
        why = f"{days} days before the first catch, {since.isoformat()}"
        if past.hung_too_late:
            why = (
                f"the first check of {past.first_read.isoformat()} was not zero but {past.first_moths}: {days} days "
                f"before {since.isoformat()}, from which day moths may have flown"
            )
    source = f"{plan_rules.BEFORE_CATCH_SOURCE}; the first check has to read zero: {plan_rules.ZERO_SOURCE}"
    return HangReason(FIRST_CATCH, HangKind.FIRST_CATCH, on, why, source)


def by_rule(rule: HangRule, past: PastSeason | None, span: Span, warmth: Warmth | None = None) -> HangReason:
    """What one rule gives: the day of a stage last season, of the calendar, or by which so many degree-days accumulate.

    Args:
        rule: The rule.
        past: Last season; None: not on record.
        span: The season that is planned.
        warmth: Temperatures of the block's station, counted as the rule does; None: it has none, or nothing counts.
    """
    elsewhere = rule.kind is HangKind.DATE and not rule.office
    on: date | None = None
    if rule.kind is not HangKind.STAGE and span.of_the_south and not rule.office:
        why = _NORTH
    elif rule.kind is HangKind.STAGE:
        on, why = _reached(rule, past, span)
    elif rule.kind is HangKind.DATE:
        on, why = span.day(rule.month_day), rule.month_day
    else:
        on, why = _accumulated(rule, warmth, span)
        why = f"{rule.degree_days:g} degree-days from {rule.starts}: {why}"
    if on is not None and rule.days_after:
        on += timedelta(days=rule.days_after)
        why += f", {abs(rule.days_after)} days {'after' if rule.days_after > 0 else 'before'} that"
    note = f" ({rule.note})" if rule.note and why is not _NORTH else ""
    return HangReason(rule.id, rule.kind, on, why + note, rule.source, elsewhere)


def _reached(rule: HangRule, past: PastSeason | None, span: Span) -> tuple[date | None, str]:
    """The day on which the block was first seen at a stage last season."""
    seen = past.stages if past is not None else ()
    at = next((n for n, one in enumerate(seen) if one.code >= rule.stage), None)
    if past is None or at is None:
        return None, f"stage {rule.stage} was not seen last season" if seen else "no stage was seen here last season"
    late = " or later when first looked at" if at == 0 and seen[at].code != rule.stage else ""
    return span.moved(seen[at].seen_on, past.season), f"stage {rule.stage}{late} on {seen[at].seen_on.isoformat()}"


def _accumulated(rule: HangRule, warmth: Warmth | None, span: Span) -> tuple[date | None, str]:
    """The day by which so many degree-days have accumulated: reached, or early in the range of the past years."""
    start, amount = span.day(rule.starts), rule.degree_days or 0.0
    if warmth is None:
        return None, "the block has no station with temperatures"
    if start <= span.on:
        model = SpeciesModel(
            id=rule.id,
            species=rule.species,
            development=warmth.years.development,
            starts=rule.starts,
            events=(LifeEvent("hang", amount, rule.source),),
            source=rule.source,
        )
        found = outlook(
            model, warmth.years, on=span.on, season_begins=span.first, season_ends=span.last, normal=warmth.normal
        ).events[0]
        if found.reached_on is not None:
            return found.reached_on, "reached"
        return found.earliest or found.expected_on, f"early in the range, {found.why}" if found.earliest else found.why
    days = _past_days(start, amount, warmth.years, span)
    if days:
        return min(days), f"the earliest of {len(days)} past years" if len(days) > 1 else "as in the one past year"
    normal = warmth.normal.reach(start, amount, span.last).on if warmth.normal is not None else None
    return normal, "by normal temperatures" if normal is not None else "no past year of the station reaches so far"


def _past_days(start: date, amount: float, years: StationYears, span: Span) -> list[date]:
    """The day in each past year, as a day of the planned season."""
    since = years.first
    found = []
    for year in range(since.year if since else start.year, start.year):
        begin = same_day(start, year)
        reached = years.reach(begin, amount, same_day(span.last, span.last.year - start.year + year)).on
        if reached is not None:
            found.append(start + (reached - begin))
    return found


SOON_DAYS = 14
"""Hanging this near is said to be due. [d]"""
Key = tuple[str, str]
"""Block and species."""
WarmthOf = Callable[[str, HangRule], Warmth | None]
"""Temperatures of a block, counted as a rule counts, or the model of its species; None where there are none."""


class PlanState(StrEnum):
    """Where hanging stands, the most urgent first."""

    OVERDUE = "overdue"
    SOON = "soon"
    LATER = "later"
    NO_DATE = "no date"
    HUNG = "hung"


class PlanRow(Frozen, kw_only=True):
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
    needed: Needed | None = None
    """How many traps tell the two numbers of its rule apart; None where it is no mean with two."""

    @property
    def late_days(self) -> int | None:
        """How long after ``hang_by`` the first trap was hung; None where it was in time, or nobody knows. [d]"""
        if self.hung_on is None or self.hang_by is None or self.hung_on <= self.hang_by:
            return None
        return (self.hung_on - self.hang_by).days


class SeasonPlan(Frozen):
    """The plan of a season, seen from a day."""

    season: int
    """Year in which it starts."""
    span: Span
    """Its days, and the day from which one looks."""
    rows: tuple[PlanRow, ...]
    """Blocks and species, by farm and block."""
    ends_on: date | None
    """Day by which traps are expected to be down: as last year; None where no year before tells."""
    visits: tuple[plan_rules.VisitRule, ...] = ()
    """How often traps are visited, where the office asks for an interval."""

    def by_urgency(self) -> tuple[PlanRow, ...]:
        """The rows, those that are overdue first, then by day."""
        rank = list(PlanState).index
        return tuple(sorted(self.rows, key=lambda row: (rank(row.state), row.hang_by or date.max)))


class Planner(Frozen):
    """What a plan is made with."""

    programme: Programme
    """All that is set up."""
    office: plan_rules.PlanOffice
    """Rules of the office."""
    span: Span
    """The season, and the day from which one looks."""
    warmth: WarmthOf
    """Temperatures of a block."""

    def plan(self, past: Mapping[Key, PastSeason]) -> SeasonPlan:
        """Plan the season.

        Args:
            past: Last season of every block and species that had traps.
        """
        span = self.span
        hung = _hung(self.programme, span)
        keys = {*past, *hung, *(key for key, number in self.office.numbers.items() if number)}
        rows = [self._row(key, past.get(key), hung.get(key, [])) for key in keys]
        rows.sort(key=lambda row: (natural_key(row.farm), natural_key(row.block), row.species))
        ends = [span.moved(one.ended_on, one.season) for one in past.values() if one.ended_on is not None]
        return SeasonPlan(span.first.year, span, tuple(rows), max(ends, default=None), self.office.visits)

    def _row(self, key: Key, past: PastSeason | None, hung: Sequence[Trap]) -> PlanRow:
        block, species = key
        known = self.programme.blocks.get(block)
        rule = plan_rules.density_of(self.office.density, species)
        advice = plan_rules.advised(rule, known.area_ha if known else None) if rule else None
        labels = tuple(sorted({row.trap for row in hung}, key=natural_key))
        traps, why = _number(self.office.numbers.get(key), past, advice, len(labels))
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
        for rule in self.office.hanging:
            if rule.species == species:
                yield by_rule(rule, past, self.span, self.warmth(block, rule))


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
    begun = min(span.on, span.last)
    rows = (row for rows in programme.hangings.values() for row in rows if (row.hung_on or begun) <= begun)
    return grouped(((row.block, row.species), row) for row in rows if _in_season(row, span))


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
