"""From visits to readings: how many moths, over how many days.

Days run from the last reading, or from hanging. They run on over a trap that was skipped or found closed; they begin
anew where it was missing, down or damaged, or where liner or body was replaced without a count. Moths left in the trap
are carried and taken off the next count; where two scouts left different counts in, nobody knows what to take off.

Figures of a block: its mean for a day, the previous figure, the season's sum, and the weeks of a running rule.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import field, fields, replace
from datetime import date, timedelta
from fractions import Fraction
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar, overload

from roundtui.domain.entries import MOST_MOTHS, Visit, maker
from roundtui.domain.programme.farm import Trap, grouped
from roundtui.domain.records import Frozen
from roundtui.errors import Problem

if TYPE_CHECKING:
    from roundtui.domain.figures.integrity import Integrity

DAYS_A_WEEK = 7
LONGEST_DAYS = 28
"""A reading over more days than this has no weekly rate: four rounds were missed. Common practice, no source. [d]"""


class Reading(Frozen):
    """A count with what stands behind it."""

    trap: str
    read_on: date
    """Day of the count."""
    start: date | None
    """Day the exposure began; None where nobody knows."""
    count: int
    """Moths in the trap as counted."""
    net: int | None
    """Moths caught in the exposure; None where the count lies below what was left in, or hangs on an open conflict."""
    entries: tuple[Visit, ...]
    """The visit behind it; two or more are a conflict not yet settled."""
    suspect: bool = False
    """Whether lure or body was wrong on any day it covers."""
    days: int | None = field(init=False)
    """Days of exposure; None where unknown. [d]"""

    def __post_init__(self) -> None:
        """Count the days once: every figure asks for them."""
        object.__setattr__(self, "days", None if self.start is None else (self.read_on - self.start).days)

    @property
    def conflict(self) -> bool:
        """Whether two scouts read the trap on this day."""
        return len(self.entries) > 1

    @property
    def known(self) -> bool:
        """Whether moths and days are both known, at least one day; such a reading stands in sums."""
        return self.net is not None and self.days is not None and self.days > 0

    @property
    def long(self) -> bool:
        """Whether it covers too many days to have a weekly rate."""
        return self.days is not None and self.days > LONGEST_DAYS

    @property
    def rated(self) -> bool:
        """Whether it has a weekly rate."""
        return self.net is not None and self.days is not None and 0 < self.days <= LONGEST_DAYS

    @property
    def pace(self) -> Fraction | None:
        """Mean catch over its days, however many they are; None where moths or days are unknown. [moths/trap/week]"""
        return Fraction(self.net * DAYS_A_WEEK, self.days) if self.net is not None and self.days else None

    @property
    def per_week(self) -> Fraction | None:
        """Catch per trap per week; None where there is no rate. [moths/trap/week]"""
        return None if self.long else self.pace


def rate(readings: Iterable[Reading]) -> Fraction | None:
    """Catch per week of readings joined: moths over days, both summed.

    Args:
        readings: Readings of one trap; those without a rate are passed over.

    Returns:
        None where no reading has a rate. [moths/trap/week]
    """
    moths = days = 0
    for reading in readings:
        if reading.rated:
            moths += reading.net or 0
            days += reading.days or 0
    return Fraction(moths * DAYS_A_WEEK, days) if days else None


T = TypeVar("T")


class Plain(NamedTuple):
    """A visit that counted, cleared and did nothing else, as nearly all do; it has the days and moths of one."""

    trap: str
    read_on: date
    count: int  # type: ignore[assignment]  # As of a visit; nobody counts in a plain one as in a tuple.

    def made(self) -> Visit:
        """The visit."""
        return _visit(*self)


class Cleared(NamedTuple):
    """A reading of a trap that was empty when its exposure began."""

    start: date
    visit: Visit | Plain

    def made(self) -> Reading:
        """The reading."""
        start, visit = self
        days, whole = (visit.read_on - start).days, visit.made() if type(visit) is Plain else visit
        return _reading(visit.trap, visit.read_on, start, days, visit.count, visit.count, (whole,))


class Lazy(Sequence[T]):
    """Visits or readings of which most are plain; those are made where somebody looks at them, which few figures do.

    Args:
        rows: The records, or plain ones.
    """

    def __init__(self, rows: list[Any]) -> None:
        self.rows = rows

    def __len__(self) -> int:
        return len(self.rows)

    @overload
    def __getitem__(self, at: int) -> T: ...
    @overload
    def __getitem__(self, at: slice) -> tuple[T, ...]: ...
    def __getitem__(self, at: int | slice) -> T | tuple[T, ...]:
        if isinstance(at, slice):
            found = self.rows[at] = [one.made() if isinstance(one, Plain | Cleared) else one for one in self.rows[at]]
            return tuple(found)
        if isinstance(self.rows[at], Plain | Cleared):
            self.rows[at] = self.rows[at].made()
        made: T = self.rows[at]
        return made


def handled(visits: Sequence[Visit]) -> Sequence[Visit]:
    """Those of some visits that may have done more than count and clear."""
    return [one for one in visits.rows if type(one) is not Plain] if isinstance(visits, Lazy) else visits


def readings(hanging: Trap, visits: Sequence[Visit]) -> list[Reading]:
    """Readings of one hanging of a trap, in order of time.

    Args:
        hanging: The hanging; visits outside its days are passed over.
        visits: Present visits of the trap, sorted by ``Visit.order``.

    Returns:
        One reading for each day with a count. A second look at a catch is not one, but what was replaced on it is.
    """
    return list(series_of(hanging, visits).readings)


def series_of(hanging: Trap, visits: Sequence[Visit]) -> Series:
    """The series of one hanging, from the same as ``readings``."""
    found, spans, nets = list[Any](), list[tuple[date, date]](), list[int]()
    sound, start = True, hanging.hung_on
    carried: int | None = 0
    for day, rows in _by_day(visits, start or date.min, hanging.down_on or date.max).items():
        one = rows[0]
        plain, count = type(one) is Plain, one.count
        clean = plain or (count is not None and one.cleared and not one.recount)
        if carried == 0 and start and clean and not rows[1:]:
            # Nearly all are so, and whatever else was done to the trap then, the next exposure begins here.
            found.append(Cleared(start, one))
            spans.append((start, day))
            nets.append(count)
            sound = sound and day != start and (plain or not one.estimated)
            start = day
            continue
        today = [row.made() if type(row) is Plain else row for row in rows]
        counted = tuple([visit for visit in today if visit.count is not None and not visit.recount])
        if counted:
            newest, two = counted[-1], len(counted) > 1
            count = newest.count or 0
            net = None if carried is None or two or count < carried else count - carried
            covered = None if start is None else (day - start).days
            found.append(_reading(hanging.trap, day, start, covered, count, net, counted))
            spans.append((start or date.min, day))
            nets.append(net or 0)
            sound = sound and _sound(found[-1:])
            start, cleared = day, newest.cleared and (not two or all(visit.cleared for visit in counted))
            # Where two counts disagree and any of them was left in, nobody knows what is.
            carried = 0 if cleared else None if two else count
        for visit in today:
            reason = visit.no_reading
            if visit.liner or visit.body is not None or (reason is not None and reason.restarts_exposure):
                start, carried = day, 0
        if start is None:
            start = day
    days = tuple([day for _, day in spans])
    return _series(hanging, Lazy(found), days, sound, tuple(spans), tuple(nets))


def _by_day(visits: Sequence[Visit], first: date, last: date) -> Mapping[date, list[Any]]:
    """Visits of some days, plain ones as they are, by their day."""
    rows = visits.rows if isinstance(visits, Lazy) else visits
    days = [row.read_on for row in rows]
    if days and not first <= days[0] <= days[-1] <= last:
        begin, end = bisect_left(days, first), bisect_right(days, last)
        days, rows = days[begin:end], rows[begin:end]
    alone = {day: [row] for day, row in zip(days, rows, strict=True)}
    return alone if len(alone) == len(days) else grouped(zip(days, rows, strict=True))


_visit: Callable[..., Visit] = maker(
    Visit,
    ", ".join(Plain._fields),
    {one.name: repr(one.default) for one in fields(Visit)} | {name: name for name in Plain._fields},
)
_reading: Callable[..., Reading] = maker(
    Reading,
    "trap, day, start, days, count, net, entries",
    {one.name: {"read_on": "day", "suspect": "False"}.get(one.name, one.name) for one in fields(Reading)},
)


SHORT_DAYS = 4
"""A reading shorter than this is no week of its own. [d]"""
LONG_DAYS = 10
"""A reading longer than this leaves open how its catch fell over the weeks. [d]"""
FEW_TRAPS = 3
"""A mean of fewer traps than this is thin."""


class Series(Frozen):
    """The readings of one hanging of a trap, in order of time."""

    hanging: Trap
    readings: tuple[Reading, ...] | Lazy[Reading]
    days: tuple[date, ...] = field(init=False, repr=False, compare=False)
    """Day of each of them, to find those of a week."""
    sound: bool = field(init=False, repr=False, compare=False)
    """Whether each is known, no estimate, of one count and not suspect."""
    spans: tuple[tuple[date, date], ...] = field(init=False, repr=False, compare=False)
    """Days of each: on which its exposure began, or the first of all days, and that of its count."""
    nets: tuple[int, ...] = field(init=False, repr=False, compare=False)
    """Moths of each; 0 where unknown."""

    def __post_init__(self) -> None:
        """Note days, soundness and moths once: every figure asks for them."""
        spans, nets = columns_of(self.readings)
        noted = {"days": tuple([day for _, day in spans]), "sound": _sound(self.readings), "spans": spans, "nets": nets}
        for name, value in noted.items():
            object.__setattr__(self, name, value)

    def within(self, first: date, last: date) -> Series:
        """The same with the readings of some days alone.

        Args:
            first: First day.
            last: Last day, included.
        """
        begin, end = bisect_left(self.days, first), bisect_right(self.days, last)
        whole = begin == 0 and end == len(self.days)
        return self if whole else Series(self.hanging, self.readings[begin:end])


class TrapFigure(Frozen):
    """A trap's catch for a day, and the readings joined in it."""

    hanging: Trap
    moths: int
    """Moths of these readings together."""
    days: int
    """Days of these readings together, at least one. [d]"""
    readings: tuple[Reading, ...]

    @property
    def per_week(self) -> Fraction:
        """Catch per week over these days. [moths/trap/week]"""
        return Fraction(self.moths * DAYS_A_WEEK, self.days)


class BlockFigure(Frozen):
    """A block's catch for a day."""

    mean: Fraction | None
    """Mean over the traps. [moths/trap/week]"""
    highest: TrapFigure | None
    traps: tuple[TrapFigure, ...]

    @property
    def first_end(self) -> date | None:
        """Day on which the earliest exposure used ended."""
        return min((reading.read_on for trap in self.traps for reading in trap.readings), default=None)

    @property
    def first_start(self) -> date | None:
        """Day on which the earliest exposure used began."""
        return min((r.start for trap in self.traps for r in trap.readings if r.start is not None), default=None)


def series(hangings: Sequence[Trap], visits: Sequence[Visit], integrity: Integrity) -> list[Series]:
    """Readings of every hanging of one trap, suspect ones marked.

    Args:
        hangings: Hangings of the trap, oldest first.
        visits: Its present visits, sorted by ``Visit.order``.
        integrity: On which days the trap was in trouble.

    Returns:
        A series for each hanging. On a day on which a trap was moved, the visit belongs to the place it hung in before.
    """
    found = []
    for at, hanging in enumerate(hangings):
        first, last = hanging.hung_on or date.min, hanging.down_on or date.max
        if not visits or last < visits[0].read_on or visits[-1].read_on < first:
            found.append(_series(hanging, (), (), True, (), ()))
            continue
        moved = hanging.hung_on is not None and any(row.hangs_on(hanging.hung_on) for row in hangings[:at])
        own = [visit for visit in visits if visit.read_on != hanging.hung_on] if moved else visits
        one = series_of(hanging, own)
        if integrity.spells.get(hanging.trap):
            suspect = partial(integrity.suspect, hanging.trap)
            marked = [replace(r, suspect=True) if suspect(r.start, r.read_on) else r for r in one.readings]
            one = Series(hanging, tuple(marked))
        found.append(one)
    return found


Columns = tuple[tuple[tuple[date, date], ...], tuple[int, ...]]
"""Of readings, the first and last day of each, and the moths of each."""


def columns_of(readings: Sequence[Reading]) -> Columns:
    """First and last day of some readings, and their moths."""
    spans = tuple([(reading.start or date.min, reading.read_on) for reading in readings])
    return spans, tuple([reading.net or 0 for reading in readings])


def _sound(readings: Iterable[Reading]) -> bool:
    # Asked of every reading of a season, so without a call.
    return not [
        r for r in readings if r.net is None or not r.days or r.suspect or len(r.entries) != 1 or r.entries[0].estimated
    ]


_series: Callable[..., Series] = maker(
    Series, "hanging, readings, days, sound, spans, nets", {one.name: one.name for one in fields(Series)}
)


def window_start(on: date) -> date:
    """First of the seven days that end on a day."""
    return on - _WINDOW


_WINDOW, _WEEK = timedelta(days=DAYS_A_WEEK - 1), timedelta(days=DAYS_A_WEEK)


def read_in(trap: Series, on: date) -> tuple[Reading, ...]:
    """Readings of the seven days that end on a day, the newest first."""
    end = bisect_right(trap.days, on)
    return trap.readings[bisect_left(trap.days, on - _WINDOW, 0, end) : end][::-1]


def trap_figure(trap: Series, on: date, *, with_suspect: bool = False) -> TrapFigure | None:
    """A trap's figure: its newest reading in the window, joined with earlier ones that began inside its week.

    Args:
        trap: Readings of the trap.
        on: Last day of the window.
        with_suspect: Take suspect readings as well.

    Returns:
        None where no reading of the window has a rate, or where two readings of a day in it are in conflict: whatever
        follows, part of its week is unsettled.
    """
    inside = read_in(trap, on)
    if not trap.sound and any(reading.conflict for reading in inside):
        return None
    used: list[Reading] = []
    for reading in inside:
        if reading.suspect and not with_suspect:
            continue
        if used and (reading.start is None or reading.start < on - _WEEK):
            break
        if reading.rated:
            used.append(reading)
    return _joined(trap.hanging, used[::-1]) if used else None


def _joined(hanging: Trap, used: Sequence[Reading]) -> TrapFigure:
    return TrapFigure(hanging, sum([r.net or 0 for r in used]), sum([r.days or 0 for r in used]), tuple(used))


def block_figure(traps: Iterable[Series], on: date, *, with_suspect: bool = False) -> BlockFigure:
    """Mean over traps of their figures for a day.

    Args:
        traps: Series of the traps that belong in the mean.
        on: Last day of the window.
        with_suspect: Take suspect readings as well.

    Returns:
        The figure; its mean is None where no trap has one. A trap moved within the block is one trap: its newer
        hanging stands for it as soon as it has a figure.
    """
    figures = {
        trap.hanging.trap: figure for trap in traps if (figure := trap_figure(trap, on, with_suspect=with_suspect))
    }
    return _block_figure(tuple(figures.values()))


def _block_figure(figures: tuple[TrapFigure, ...]) -> BlockFigure:
    if not figures:
        return BlockFigure(None, None, ())
    # Whole numbers on one denominator: sums and comparisons of fractions take ten times as long.
    whole = math.lcm(*{figure.days for figure in figures})
    parts = [figure.moths * (whole // figure.days) for figure in figures]
    mean = Fraction(sum(parts) * DAYS_A_WEEK, whole * len(parts))
    return BlockFigure(mean, figures[parts.index(max(parts))], figures)


def day_before(traps: Iterable[Series], used: BlockFigure, on: date) -> date | None:
    """Newest day with a count before the earliest exposure used now ended.

    Args:
        traps: All series of the block and species.
        used: The figure now; where it used nothing, the window's first day stands in.
        on: Last day of the window.

    Returns:
        None where nothing was read before.
    """
    before = used.first_end or window_start(on)
    return max((trap.days[at - 1] for trap in traps if (at := bisect_left(trap.days, before))), default=None)


def cumulative(
    traps: Iterable[Series], first: date, last: date, *, held: Iterable[tuple[date, date]] = ()
) -> Fraction | None:
    """Moths per trap over days: each day's mean daily catch, summed.

    A valid reading is spread evenly over its days; a day's mean is taken over the traps whose valid reading covers it.

    Args:
        traps: Series of the traps that belong in the mean.
        first: First day, included.
        last: Last day, included.
        held: Spans of days, both ends included, that are left out.

    Returns:
        None where no valid reading covers any of the days. [moths/trap]
    """
    return spread_over(exposures_in(traps, first, last), first, last, held=held)


Exposures = Mapping[tuple[date, date], Sequence[int]]
"""First and last day of exposures, with the moths of all readings over them, and how many readings those are."""


def exposures_in(traps: Iterable[Series], first: date, last: date) -> Exposures:
    """The exposures that ``cumulative`` sums up.

    Args:
        traps: Series of the traps that belong in the mean.
        first: First day, included.
        last: Last day, included.
    """
    found = []
    for trap in traps:
        at = bisect_left(trap.days, first)
        whole = trap.sound and not (trap.days and trap.days[-1] > last)
        found.append((trap.spans[at:], trap.nets[at:]) if whole else columns_of(summed(trap, first, last)))
    return exposures_of(found)


def exposures_of(columns: Iterable[Columns]) -> Exposures:
    """Valid readings by the days that they cover, from columns of traps or of all of them together."""
    # Most traps of a round are read on the same days; these are added up column by column.
    alike = grouped(columns)
    found: dict[tuple[date, date], tuple[int, int]] = {}
    for spans, nets in alike.items():
        for span, moths in zip(spans, zip(*nets, strict=True), strict=True):
            before, number = found.get(span, (0, 0))
            found[span] = before + sum(moths), number + len(moths)
    return found


def spread_over(
    caught: Exposures, first: date, last: date, *, held: Iterable[tuple[date, date]] = (), until: date = date.max
) -> Fraction | None:
    """The sum of ``cumulative`` from exposures.

    Args:
        caught: The exposures.
        first: First day, included.
        last: Last day, included.
        held: Spans of days, both ends included, that are left out.
        until: Exposures that ended after this day are left out.
    """
    # Whole numbers throughout: a day's moths over the lengths of all exposures, put on one denominator at the end.
    found = {days: of for days, of in caught.items() if days[0] < last and first <= days[1] <= until}
    if not found:
        return None
    by_traps: dict[int, int] = {}
    ends = [day for span in sorted(found) for day in span]
    if ends == sorted(ends) and not held and first <= ends[0] and ends[-1] <= last:
        # One after the other, as most rounds are: each day has the traps of its exposure.
        for moths, number in found.values():
            by_traps[number] = by_traps.get(number, 0) + moths
        whole = math.lcm(*by_traps)
        return Fraction(sum([moths * (whole // number) for number, moths in by_traps.items()]), whole)
    changes: dict[int, list[tuple[int, int]]] = {}
    low, high = first.toordinal(), last.toordinal()
    whole = math.lcm(*{(end - start).days for start, end in found})
    for (start, end), (moths, number) in found.items():
        a_day = moths * (whole // (end - start).days)
        changes.setdefault(max(start.toordinal() + 1, low), []).append((a_day, number))
        changes.setdefault(min(end.toordinal(), high) + 1, []).append((-a_day, -number))
    out = {day for start, end in held for day in range(start.toordinal(), end.toordinal() + 1)}
    daily = covering = 0
    for day, then in pairwise(sorted(changes)):
        for moths, number in changes[day]:
            daily += moths
            covering += number
        counting = sum(1 for one in range(day, then) if one not in out) if out else then - day
        if covering and counting:
            by_traps[covering] = by_traps.get(covering, 0) + daily * counting
    return sum((Fraction(moths, whole * number) for number, moths in by_traps.items()), Fraction())


def summed(trap: Series, first: date, last: date) -> list[Reading]:
    """Readings of a trap that ``cumulative`` sums up: the valid ones of which a day lies in the span."""
    known = [r for r in trap.readings[bisect_left(trap.days, first) :] if r.net is not None and not r.suspect]
    return [r for r in known if r.start and r.start < min(last, r.read_on)]


class Week(Frozen):
    """A block's week as a running rule counts it."""

    least: Fraction
    """Lowest mean it may have had. [moths/trap/week]"""
    most: Fraction | None
    """Highest mean it may have had; None where nothing limits it."""

    @property
    def known(self) -> bool:
        """Whether its mean is one number."""
        return self.least == self.most


OPEN_WEEK = Week(Fraction(), None)
"""A week that nobody read."""


def weeks(traps: Sequence[Series], everyone: Sequence[Series], on: date, number: int) -> list[Week]:
    """The last weeks of a block, counted in readings, the newest first.

    Args:
        traps: Series of the traps that belong in the mean.
        everyone: All series of the block and species, for the days on which anything was read.
        on: Last day of the newest window.
        number: How many weeks.

    Returns:
        ``number`` weeks. Readings shorter than four days are joined with the one before; one longer than ten leaves its
        week open between nothing and its whole catch, and one without a weekly rate is left out; where no valid reading
        fills four days or more, or none was made before, the week is open altogether.
    """
    found: list[Week] = []
    end: date | None = on
    while len(found) < number and end is not None:
        figure = _block_figure(tuple(_full_week(trap, f) for trap, f in _figures(traps, end)))
        if figure.traps:
            found.append(_week(figure))
        end = day_before(everyone, figure, end)
        start = figure.first_start
        if end is None or start is None or (start - end).days >= SHORT_DAYS:
            found.append(OPEN_WEEK)
    return (found + [OPEN_WEEK] * number)[:number]


def _figures(traps: Sequence[Series], on: date) -> list[tuple[Series, TrapFigure]]:
    return [(trap, figure) for trap in traps if (figure := trap_figure(trap, on))]


def _full_week(trap: Series, figure: TrapFigure) -> TrapFigure:
    """Join a figure shorter than a week's least days with the readings right before it."""
    used = list(figure.readings)
    for reading in reversed(trap.readings):
        days = sum(r.days or 0 for r in used)
        if days >= SHORT_DAYS:
            break
        if reading.read_on == used[0].start and reading.rated and not (reading.suspect or reading.conflict):
            used.insert(0, reading)
    return _joined(figure.hanging, used)


def _week(figure: BlockFigure) -> Week:
    least = most = Fraction()
    for trap in figure.traps:
        if any((reading.days or 0) > LONG_DAYS for reading in trap.readings):
            most += sum(reading.net or 0 for reading in trap.readings)
        else:
            least += trap.per_week
            most += trap.per_week
    return Week(least / len(figure.traps), most / len(figure.traps))


def by_block(series_of: Mapping[str, Sequence[Series]]) -> dict[tuple[str, str], list[Series]]:
    """Group series by block and species."""
    return grouped(((row.hanging.block, row.hanging.species), row) for rows in series_of.values() for row in rows)


MARK = "~"
"""Stands behind a figure that rests on an estimate; a word says it too."""


def from_grid(counted: int, squares: int, moths: int) -> int:
    """A count from some of the squares of a liner: moths in them, times all squares over those counted.

    Args:
        counted: Squares whose moths were counted; at least 1.
        squares: Squares on the whole liner; not fewer than those counted.
        moths: Moths in the squares counted.

    Returns:
        The estimate, rounded half up. [moths]

    Raises:
        ValueError: More squares were counted than there are, or none.

    Source: counts of that kind are published, as 1,377 leafminers estimated from a grid: leafminers in Asturias cider
    orchards, 2011, www.acemap.info/paper/53129647. The rule itself is a ratio estimate, common practice, no source.
    """
    if not 1 <= counted <= squares:
        raise ValueError(f"{counted} squares of {squares}")
    return math.floor(Fraction(moths * squares, counted) + Fraction(1, 2))


def grid_problem(counted: int | None, squares: int | None, moths: int | None) -> Problem | None:
    """What is wrong with what was typed about a grid; None where nothing is.

    Args:
        counted: Squares whose moths were counted.
        squares: Squares on the whole liner.
        moths: Moths in the squares counted.
    """
    if counted is None or squares is None or moths is None:
        return Problem("grid", "three whole numbers are needed", "squares counted, squares in all, moths in those")
    if not 1 <= counted <= squares:
        return Problem("grid", f"{counted} of {squares} squares cannot be", "count at least one, and no more than all")
    if from_grid(counted, squares, moths) > MOST_MOTHS:
        return Problem("grid", f"that is more than {MOST_MOTHS}", "check the numbers")
    return None


def grid_note(counted: int, squares: int, moths: int) -> str:
    """What stands in the note of an estimate, so that anybody can follow it."""
    return f"grid: {moths} in {counted} of {squares} squares"


def estimates_in(readings: Iterable[Reading]) -> int:
    """How many of some readings are estimates; with two counts in conflict, whether either is.

    Args:
        readings: The readings.
    """
    # Asked of every reading of a season; of those in conflict, which are few, the rest is looked at.
    odd = [reading.entries for reading in readings if reading.entries[0].estimated or len(reading.entries) > 1]
    return sum(any(visit.estimated for visit in entries) for entries in odd)
