"""By which day traps are hung: every rule that speaks of a block, the day it gives or why it gives none."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from roundtui.domain.model_records import LifeEvent, SpeciesModel
from roundtui.domain.outlook import outlook
from roundtui.domain.plan.past import PastSeason
from roundtui.domain.plan.rules import BEFORE_CATCH_SOURCE, ZERO_SOURCE, HangRule, Margins
from roundtui.domain.weather.station_years import StationYears, same_day

FIRST_CATCH = "first-catch"
"""Id of the rule that goes by last season's first catch."""
_NORTH = "printed for the north, where seasons start in winter"


class HangKind(StrEnum):
    """What a reason goes by."""

    STAGE = "stage"
    DATE = "date"
    DEGREE_DAYS = "degree-days"
    FIRST_CATCH = "first-catch"


@dataclass(frozen=True, slots=True)
class HangReason:
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


@dataclass(frozen=True, slots=True)
class Warmth:
    """Temperatures of a block's station, for one way of counting degree-days."""

    years: StationYears
    """Its days on record."""
    normal: StationYears | None = None
    """Its normals of the planned season."""


@dataclass(frozen=True, slots=True)
class Span:
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


def by_first_catch(past: PastSeason | None, span: Span, margins: Margins) -> HangReason:
    """So long before the first catch of last season.

    Where last season's first check was not zero, the flight began at an unknown day since hanging: the count is back
    from that day.

    Args:
        past: Last season; None: not on record.
        span: The season that is planned.
        margins: How long before.
    """
    days = margins.before_catch_days
    why = ""
    on = None
    if past is None or past.first_read is None:
        why = "nothing was read here last season"
    elif past.first_catch is None:
        why = "nothing was caught here last season"
    elif past.hung_too_late:
        since = past.flown_since or past.first_catch
        on = span.moved(since, past.season) - timedelta(days=days)
        why = (
            f"the first check of {past.first_read.isoformat()} was not zero but {past.first_moths}: {days} days before "
            f"{since.isoformat()}, from which day moths may have flown"
        )
    else:
        on = span.moved(past.first_catch, past.season) - timedelta(days=days)
        why = f"{days} days before the first catch, {past.first_catch.isoformat()}"
    source = f"{BEFORE_CATCH_SOURCE}; the first check has to read zero: {ZERO_SOURCE}"
    return HangReason(FIRST_CATCH, HangKind.FIRST_CATCH, on, why, source)


def by_stage(rule: HangRule, past: PastSeason | None, span: Span) -> HangReason:
    """The day on which the block was first seen at a stage last season.

    Args:
        rule: A rule with a stage.
        past: Last season; None: not on record.
        span: The season that is planned.
    """
    seen = past.stages if past is not None else ()
    at = next((n for n, one in enumerate(seen) if one.code >= rule.stage), None)
    if past is None or at is None:
        why = f"stage {rule.stage} was not seen last season" if seen else "no stage was seen here last season"
        return HangReason(rule.id, HangKind.STAGE, None, _noted(why, rule), rule.source)
    day = span.moved(seen[at].seen_on, past.season) + timedelta(days=rule.days_after)
    late = " or later when first looked at" if at == 0 and seen[at].code != rule.stage else ""
    why = f"stage {rule.stage}{late} on {seen[at].seen_on.isoformat()}{_after(rule)}"
    return HangReason(rule.id, HangKind.STAGE, day, _noted(why, rule), rule.source)


def by_date(rule: HangRule, span: Span) -> HangReason:
    """A day of the calendar.

    Args:
        rule: A rule with a day of the year.
        span: The season that is planned.
    """
    if span.of_the_south and not rule.office:
        return HangReason(rule.id, HangKind.DATE, None, _NORTH, rule.source, elsewhere=True)
    day = span.day(rule.month_day) + timedelta(days=rule.days_after)
    return HangReason(
        rule.id, HangKind.DATE, day, _noted(f"{rule.month_day}{_after(rule)}", rule), rule.source, not rule.office
    )


def by_degree_days(rule: HangRule, model: SpeciesModel | None, warmth: Warmth | None, span: Span) -> HangReason:
    """The day by which so many degree-days have gathered: reached, or early in the range of the station's past years.

    Args:
        rule: A rule with degree-days.
        model: The species' model, which says how they are counted where the rule does not.
        warmth: Temperatures of the block's station, counted so; None: the block has no station.
        span: The season that is planned.
    """
    words = f"{rule.degree_days:g} degree-days from {rule.starts}"
    if span.of_the_south and not rule.office:
        return HangReason(rule.id, HangKind.DEGREE_DAYS, None, _NORTH, rule.source)
    if warmth is None or rule.degree_days is None or (rule.development is None and model is None):
        why = "no way of counting is known" if warmth is not None else "the block has no station with temperatures"
        return HangReason(rule.id, HangKind.DEGREE_DAYS, None, f"{words}: {why}", rule.source)
    day, why = _gathered(rule, rule.degree_days, warmth, span)
    if day is not None:
        day += timedelta(days=rule.days_after)
    return HangReason(rule.id, HangKind.DEGREE_DAYS, day, _noted(f"{words}: {why}{_after(rule)}", rule), rule.source)


def _gathered(rule: HangRule, amount: float, warmth: Warmth, span: Span) -> tuple[date | None, str]:
    start = span.day(rule.starts)
    if start <= span.on:
        event = LifeEvent("hang", amount, rule.source)
        model = SpeciesModel(
            id=rule.id,
            species=rule.species,
            development=warmth.years.development,
            starts=rule.starts,
            events=(event,),
            source=rule.source,
        )
        found = outlook(
            model,
            warmth.years,
            on=span.on,
            season_begins=span.first,
            season_ends=span.last,
            normal=warmth.normal,
        ).events[0]
        if found.reached_on is not None:
            return found.reached_on, "reached"
        early = found.earliest or found.expected_on
        return early, f"early in the range, {found.why}" if found.earliest else found.why
    days = _past_days(start, amount, warmth.years, span)
    if days:
        return min(days), f"the earliest of {len(days)} past years" if len(days) > 1 else "as in the one past year"
    if warmth.normal is not None:
        found_on = warmth.normal.reach(start, amount, span.last).on
        if found_on is not None:
            return found_on, "by normal temperatures"
    return None, "no past year of the station reaches so far"


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


def _after(rule: HangRule) -> str:
    if not rule.days_after:
        return ""
    return f", {abs(rule.days_after)} days {'after' if rule.days_after > 0 else 'before'} that"


def _noted(words: str, rule: HangRule) -> str:
    return f"{words} ({rule.note})" if rule.note else words
