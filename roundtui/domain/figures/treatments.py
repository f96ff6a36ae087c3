"""Whether the catch comes back down after a treatment: figures before and after, a verdict, and what stands behind it.

Nothing here says what was applied, whether it was right, or what to do next. A catch also falls by itself: at the end
of a flight, in cold or wet weather. The numbers below that no published table gives are common practice, no source.

Treatments that growers spoke of: what cannot be, which are one, and each with its watch.

A treated block's catch held against untreated blocks of the same rounds: by how much more did it fall?
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction
from math import exp, log, sqrt

from roundtui.domain.entries import NONE, TreatmentSaid, Visit
from roundtui.domain.figures import integrity
from roundtui.domain.figures.certainty import Catch
from roundtui.domain.figures.figures import FEW_TRAPS, SHORT_DAYS, Reading, Series, block_figure, by_block, rate, series
from roundtui.domain.figures.history import History
from roundtui.domain.intervals import incomplete_beta
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.programme.species import SPECIES, species_code
from roundtui.domain.round.checks import nearest, species_known
from roundtui.domain.text import sanitize
from roundtui.errors import Problem

READINGS = 3
"""Readings of each trap for which a treatment is watched. Common practice, no source."""
LEAST_READINGS = 2
"""Fewest readings of most traps before a word is said: one may be weather. Common practice, no source."""
BEFORE_DAYS = 21
"""How far back the previous figure reaches: as long as three weekly readings. Common practice, no source. [d]"""
MOST_DAYS = 28
"""A watch ends after so many days, read or not: three weekly rounds and one missed. Common practice, no source. [d]"""
FALL = Fraction(1, 2)
"""The catch has come down where it is at most this share of what it was. Common practice, no source."""
CHANCE = Fraction(1, 20)
"""A fall is told only where chance alone would bring as few moths at most so often; the usual level of a test."""


class WatchVerdict(StrEnum):
    """What is said of the catch after a treatment."""

    DOWN = "coming down"
    NOT_DOWN = "not coming down"
    EARLY = "too early to say"


_ENDED = {
    WatchVerdict.DOWN: "came down",
    WatchVerdict.NOT_DOWN: "did not come down",
    WatchVerdict.EARLY: "could not be told",
}


@dataclass(frozen=True, slots=True)
class Side:
    """The catch on one side of a treatment, in the traps that have a figure on both."""

    per_week: Fraction | None
    """Mean over the traps of their rates. [moths/trap/week]"""
    moths: int
    """Net moths in them together."""
    trap_days: int
    """Days of exposure of them together. [trap·d]"""
    readings: int
    """Readings of them together; shorter than four days they are joined, and count as one."""


NOTHING_KNOWN = Side(None, 0, 0, 0)
"""A side without a trap that can be compared."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Watch:
    """One treatment watched, as it stands on a day."""

    block: str
    """Code of the block."""
    species: str
    """Abbreviation of the species."""
    treated_on: date
    """Day of the treatment."""
    on: date
    """Day from which it is looked at."""
    until: date
    """Last day on which a reading can belong to it."""
    verdict: WatchVerdict
    """What is said."""
    why: str
    """Why, in words."""
    before: Side
    """Catch before."""
    after: Side
    """Catch after."""
    traps: tuple[str, ...]
    """Traps compared: those with a valid reading on both sides."""
    left_out: tuple[str, ...]
    """Traps with one on one side alone."""
    awaited: int
    """Readings of most traps still to come; 0 when the watch is over."""
    over: bool
    """Whether it has ended."""
    chance: Fraction | None
    """Share of cases in which an unchanged catch would bring as few moths after; None where nothing is compared."""
    fell_before: bool
    """Whether the last reading before was already below those before it."""
    straddling: int
    """Readings that began before the treatment and ended after it: on neither side."""
    set_aside: int
    """Readings of the days compared that are suspect, in conflict, or without a rate."""
    lures: tuple[tuple[str, date], ...]
    """Traps whose lure was changed on or after the day, while it was watched: a fresh lure raises a catch."""
    earlier: date | None
    """An earlier treatment whose days reach into the previous figure."""
    following: date | None
    """The treatment that began a watch of its own, and ended this one."""
    last_read: date | None = None
    """Day of the newest reading after; None where there is none."""
    back_at: tuple[date, Fraction] | None = None
    """Where it is over and the catch is higher again than it then was: day and mean now. [moths/trap/week]"""

    @property
    def said(self) -> str:
        """The verdict in words: while it lasts as it stands, once it is over as it was."""
        return _ENDED[self.verdict] if self.over else self.verdict.value

    @property
    def key(self) -> tuple[str, str, date]:
        """Block, species and day: what tells it from others."""
        return self.block, self.species, self.treated_on

    @property
    def may_end_by_itself(self) -> bool:
        """Whether the catch is lower now, and was falling before the treatment already."""
        was, now = self.before.per_week, self.after.per_week
        return self.fell_before and was is not None and now is not None and now < was

    @property
    def thin(self) -> bool:
        """Whether fewer than three traps stand behind it."""
        return len(self.traps) < FEW_TRAPS


@dataclass(frozen=True, slots=True)
class _Pair:
    """One hanging of a trap on both sides of a treatment, in joined readings."""

    trap: str
    before: tuple[tuple[Reading, ...], ...]
    after: tuple[tuple[Reading, ...], ...]


def watch(
    key: tuple[str, str],
    treated_on: date,
    group: Iterable[Series],
    visits: Mapping[str, Sequence[Visit]],
    *,
    on: date,
    treated: Sequence[date] = (),
) -> Watch:
    """Watch the catch of a block after one treatment.

    A reading that ended by the day of the treatment is before it, one that began on it or later is after it: the moths
    caught in these traps fly from dusk on. What lies across the day is on neither side.

    Args:
        key: Block and species.
        treated_on: Day of the treatment to watch.
        group: Series of the block's traps of the species.
        visits: Present visits by trap, for changes of lures.
        on: Day from which to look; nothing after it is used.
        treated: Days of all treatments of the block against the species.

    Returns:
        The verdict with the numbers behind it. It is ``coming down`` where the mean rate of the same traps fell to half
        or less and by more than chance; ``not coming down`` where it did not fall, or, once the watch is over, by less
        than half; ``too early to say`` in every other case.
    """
    rows = _judged(group)
    following = min((day for day in treated if treated_on < day <= on), default=None)
    until = min(treated_on + timedelta(days=MOST_DAYS), following or date.max)
    first = treated_on - timedelta(days=BEFORE_DAYS)
    pairs = [_pair(one, first, treated_on, min(until, on)) for one in rows]
    both = [one for one in pairs if one.before and one.after]
    before = _side([one.before for one in both])
    after = _side([one.after for one in both])
    readings = _most_have([len(one.after) for one in both])
    over = on > until or following is not None or readings >= READINGS
    chance = chance_of(before, after) if both else None
    verdict, why = _verdict(before, after, readings, chance, over=over)
    if not both:
        why = _nothing(rows, pairs, over=over)
    spanned = [r for one in rows for r in one.readings if r.read_on <= min(until, on) and r.read_on > first]
    traps = {one.trap for one in both}
    return Watch(
        block=key[0],
        species=key[1],
        treated_on=treated_on,
        on=on,
        until=until,
        verdict=verdict,
        why=why,
        before=before,
        after=after,
        traps=tuple(sorted(traps, key=natural_key)),
        left_out=tuple(sorted({one.trap for one in pairs if one.before or one.after} - traps, key=natural_key)),
        awaited=0 if over else READINGS - readings,
        over=over,
        chance=chance,
        fell_before=_fell_before(both),
        straddling=sum(1 for r in spanned if r.start is not None and r.start < treated_on < r.read_on),
        set_aside=sum(1 for r in spanned if not _valid(r)),
        lures=_lures(both, visits, treated_on),
        earlier=max((day for day in treated if first < day < treated_on), default=None),
        following=following,
        last_read=max((r.read_on for one in both for joined in one.after for r in joined), default=None),
        back_at=_back_at(rows, both, after, on) if over else None,
    )


def _back_at(rows: Sequence[Series], both: Sequence[_Pair], after: Side, on: date) -> tuple[date, Fraction] | None:
    """The newest figure of the traps, where it was read after the last reading compared and is higher."""
    last = max((r.read_on for one in both for joined in one.after for r in joined), default=None)
    if last is None or after.per_week is None:
        return None
    newest = max((r.read_on for one in rows for r in one.readings if last < r.read_on <= on), default=None)
    mean = block_figure(rows, newest).mean if newest else None
    return (newest, mean) if newest is not None and mean is not None and mean > after.per_week else None


def chance_of(before: Side, after: Side) -> Fraction:
    """How often chance alone would bring as few moths after as were caught.

    Given all moths together, each falls into the days after with their share of the trap-days if nothing changed: the
    exact conditional comparison of two counts. Moths come in clouds, so that chance does more than this says, and the
    fall that is asked for is a large one.

    Args:
        before: Catch before.
        after: Catch after.

    Returns:
        The lower tail, 1 where there is no moth at all.

    Source: Przyborowski and Wilenski 1940, Homogeneity of results in testing samples from Poisson series, Biometrika
    31 (from memory); the tests hold it against ``scipy.stats.binomtest``.
    """
    moths = before.moths + after.moths
    term = before.trap_days**moths
    tail = term
    for number in range(after.moths):
        term = term * (moths - number) * after.trap_days // ((number + 1) * before.trap_days)
        tail += term
    return Fraction(tail, (before.trap_days + after.trap_days) ** moths)


def _judged(group: Iterable[Series]) -> list[Series]:
    """Traps of the block's mean; where all hang at its edge, these."""
    rows = list(group)
    return [one for one in rows if not one.hanging.edge] or rows


def _valid(reading: Reading) -> bool:
    return reading.known and not (reading.suspect or reading.conflict)


def _pair(one: Series, first: date, treated_on: date, last: date) -> _Pair:
    valid = [r for r in one.readings if _valid(r) and r.start is not None and r.read_on <= last]
    return _Pair(
        one.hanging.trap,
        _joined_back([r for r in valid if r.start and first <= r.start and r.read_on <= treated_on]),
        tuple(_joined(r for r in valid if r.start and r.start >= treated_on))[:READINGS],
    )


def _joined(readings: Iterable[Reading]) -> Iterable[tuple[Reading, ...]]:
    """Readings in order, those shorter than four days joined with the ones that follow; a short rest is left out."""
    used: list[Reading] = []
    for reading in readings:
        used.append(reading)
        if sum(r.days or 0 for r in used) >= SHORT_DAYS:
            yield tuple(used)
            used = []


def _joined_back(readings: Sequence[Reading]) -> tuple[tuple[Reading, ...], ...]:
    """The same from the newest back, so that the last days before are not the ones left out."""
    return tuple(tuple(reversed(used)) for used in reversed([*_joined(reversed(readings))]))


def _most_have(numbers: Sequence[int]) -> int:
    """The highest number that more than half of the traps reach; one that is missing delays nothing."""
    return sorted(numbers)[(len(numbers) - 1) // 2] if numbers else 0


def _side(traps: Sequence[Sequence[Sequence[Reading]]]) -> Side:
    """The catch of some traps, each given as its joined readings."""
    if not traps:
        return NOTHING_KNOWN
    flat = [[reading for joined in trap for reading in joined] for trap in traps]
    rates = [rate(trap) or Fraction() for trap in flat]
    return Side(
        sum(rates, Fraction()) / len(rates),
        sum(reading.net or 0 for trap in flat for reading in trap),
        sum(reading.days or 0 for trap in flat for reading in trap),
        sum(len(trap) for trap in traps),
    )


def _verdict(
    before: Side, after: Side, readings: int, chance: Fraction | None, *, over: bool
) -> tuple[WatchVerdict, str]:
    was, now = before.per_week, after.per_week
    if was is None or now is None or chance is None:
        return WatchVerdict.EARLY, ""
    if readings < LEAST_READINGS:
        few = f"fewer than {LEAST_READINGS} readings a trap since"
        return WatchVerdict.EARLY, f"{few}, and the check is over" if over else few
    if was == now == 0:
        return WatchVerdict.EARLY, "nothing was caught before, so nothing could come down"
    if now >= was:
        return WatchVerdict.NOT_DOWN, _not_lower(was, now)
    return _lower(was, now, chance, over=over)


def _not_lower(was: Fraction, now: Fraction) -> str:
    if was == 0:
        return "nothing was caught before, and something since"
    return "as high as before" if now == was else "higher than before"


def _lower(was: Fraction, now: Fraction, chance: Fraction, *, over: bool) -> tuple[WatchVerdict, str]:
    if now > FALL * was:
        if over:
            return WatchVerdict.NOT_DOWN, "lower, but by less than half when the check was over"
        return WatchVerdict.EARLY, "lower, but by less than half so far"
    if chance <= CHANCE:
        return WatchVerdict.DOWN, "half of what it was or less, and by more than chance"
    ended = ", and the check is over" if over else ""
    return WatchVerdict.EARLY, f"lower by half or more, but so few moths that it may be chance{ended}"


def _nothing(rows: Sequence[Series], pairs: Sequence[_Pair], *, over: bool) -> str:
    """Why no trap can be compared."""
    if not rows:
        return "no trap of the species hangs in the block"
    if not any(one.after for one in pairs):
        return "no valid reading since" + (", and the check is over" if over else "")
    if not any(one.before for one in pairs):
        return f"no valid reading in the {BEFORE_DAYS} days before, so there is nothing to compare with"
    return "no trap has a valid reading both before and since"


def _fell_before(both: Sequence[_Pair]) -> bool:
    """Whether the mean of the last readings before lies below that of those before them."""
    several = [one.before for one in both if len(one.before) > 1]
    last = sum((rate(trap[-1]) or Fraction() for trap in several), Fraction())
    earlier = sum((rate(r for joined in trap[:-1] for r in joined) or Fraction() for trap in several), Fraction())
    return last < earlier


def _lures(
    both: Sequence[_Pair], visits: Mapping[str, Sequence[Visit]], treated_on: date
) -> tuple[tuple[str, date], ...]:
    """Changes of lures that bear on a reading after: what is done on a visit acts after its count."""
    found = set()
    for one in both:
        last = one.after[-1][-1].read_on
        found |= {
            (one.trap, visit.read_on)
            for visit in visits.get(one.trap, ())
            if visit.lure not in (None, NONE) and treated_on <= visit.read_on < last
        }
    return tuple(sorted(found, key=lambda pair: (pair[1], natural_key(pair[0]))))


NOTIFIED_DAYS = MOST_DAYS + 14
"""How long a treatment stands in summaries and letters: its watch, and two rounds more. Common practice. [d]"""
_SHOWN = 40


_GROUP = re.compile(r"\b(?:irac|moa|group)(?:\s+group)?\s*:?\s*(\d{1,2}[a-z]?|un[befmp]?)\b", re.IGNORECASE)
GROUP_SOURCE = 'IRAC, irac-online.org/modes-of-action: "successive generations" are not to get "the same MoA group"'
"""The published statement behind ``groups_again``; Washington State University asks for one generation a year."""


def group_of(words: str) -> str:
    """Number of the mode-of-action group in a grower's words, as ``group 5`` or ``IRAC 4A``; empty where there is none.

    Args:
        words: What the grower called the treatment.
    """
    found = _GROUP.search(words)
    return found[1].upper() if found else ""


@dataclass(frozen=True, slots=True)
class GroupAgain:
    """One group noted against two generations running; a fact, and no advice."""

    block: str
    species: str
    group: str
    """Number of the group, as the grower gave it."""
    earlier: date
    """Treatment against the earlier generation."""
    later: date
    """Treatment against the next one."""


def groups_again(
    said: Iterable[TreatmentSaid], starts: Mapping[tuple[str, str], Sequence[date]]
) -> tuple[GroupAgain, ...]:
    """Groups noted against two generations running of one species in one block.

    Args:
        said: Treatments of a season.
        starts: Confirmed biofix of each generation in order, by block and species.
    """
    found: dict[tuple[str, str, str, int], date] = {}
    again = []
    for one in sorted(said, key=lambda one: one.treated_on):
        group = group_of(one.words)
        generation = sum(day <= one.treated_on for day in starts.get((one.block, one.species), ()))
        if not group or not generation:
            continue
        before = found.get((one.block, one.species, group, generation - 1))
        new = found.setdefault((one.block, one.species, group, generation), one.treated_on) == one.treated_on
        if before is not None and new:
            again.append(GroupAgain(one.block, one.species, group, before, one.treated_on))
    return tuple(again)


@dataclass(frozen=True, slots=True)
class Treated:
    """A treatment, said once or by several, with its watch."""

    said: tuple[TreatmentSaid, ...]
    """Entries that say so, in the order of recording."""
    watch: Watch
    """The catch before and after."""

    @property
    def words(self) -> str:
        """What it was called, each word once."""
        return "; ".join(dict.fromkeys(one.words for one in self.said if one.words))

    @property
    def said_by(self) -> str:
        """Who said so."""
        return ", ".join(dict.fromkeys(one.said_by for one in self.said if one.said_by))


def check_treatment(entry: TreatmentSaid, programme: Programme) -> tuple[Problem, ...]:
    """What makes a treatment impossible.

    Args:
        entry: What a grower said.
        programme: What is set up.

    Returns:
        The problems; none for one that can be recorded. A block without a trap of the species can be treated too.
    """
    found = []
    if entry.block not in programme.blocks:
        hint = nearest(entry.block, programme.blocks) or "the codes are in blocks.csv"
        found.append(Problem("block", f"there is no block {sanitize(entry.block, _SHOWN)}", hint))
    if entry.species not in species_known(programme):
        meant = species_code(entry.species)
        hint = f"write {meant}" if meant else f"one of {', '.join(SPECIES)}"
        found.append(Problem("species", f"{sanitize(entry.species, _SHOWN)!r} is no species known here", hint))
    return tuple(found)


def treated(
    said: Sequence[TreatmentSaid],
    grouped: Mapping[tuple[str, str], Sequence[Series]],
    history: History,
    on: date,
) -> tuple[Treated, ...]:
    """Treatments with their watches.

    Args:
        said: Present entries up to the day.
        grouped: Series of traps by block and species.
        history: The record up to the day.
        on: Day from which to look.

    Returns:
        Each block, species and day once, by block and species, the newest first.
    """
    entries: dict[tuple[str, str, date], list[TreatmentSaid]] = {}
    for one in said:
        if one.treated_on <= on:
            entries.setdefault((one.block, one.species, one.treated_on), []).append(one)
    days: dict[tuple[str, str], list[date]] = {}
    for block, species, day in entries:
        days.setdefault((block, species), []).append(day)
    found = [
        Treated(
            tuple(same),
            watch(key[:2], key[2], grouped.get(key[:2], ()), history.visits, on=on, treated=days[key[:2]]),
        )
        for key, same in entries.items()
    ]
    return tuple(sorted(found, key=_place))


def treated_in(
    programme: Programme, history: History, said: Iterable[TreatmentSaid], on: date, *, days: int | None = None
) -> tuple[Treated, ...]:
    """The same from the record, of the traps alone that hang where something was treated.

    Args:
        programme: What is set up.
        history: The record up to the day.
        said: Present entries.
        on: Day from which to look.
        days: Only treatments of so many days back; None: all. The others still end and colour their neighbours. [d]
    """
    entries = [one for one in said if one.treated_on <= on]
    keys = {(one.block, one.species) for one in entries if days is None or within(one.treated_on, on, days)}
    if not keys:
        return ()
    found = integrity.examine(programme, history.scent, on, history.assembled, history.bodies)
    every = {
        trap: series(hangings, history.visits.get(trap, ()), found)
        for trap, hangings in programme.hangings.items()
        if any((row.block, row.species) in keys for row in hangings)
    }
    made = treated([one for one in entries if (one.block, one.species) in keys], by_block(every), history, on)
    return tuple(one for one in made if days is None or within(one.watch.treated_on, on, days))


def within(treated_on: date, on: date, days: int = NOTIFIED_DAYS) -> bool:
    """Whether a treatment is still told of.

    Args:
        treated_on: Its day.
        on: Day from which to look.
        days: For how long. [d]
    """
    return on - timedelta(days=days) <= treated_on <= on


def _place(one: Treated) -> tuple[object, ...]:
    seen = one.watch
    return natural_key(seen.block), seen.species, -seen.treated_on.toordinal()


FALL_UNTREATED = 0.5
"""A catch has come down where it is at most this share of what the untreated blocks lead one to expect. Common
practice, no source."""
DOWN_AT_MOST = 0.05
"""It is said to come down where an unaffected block would show such a fall at most so often. [1]"""
NOT_DOWN_AT_MOST = 0.10
"""It is said not to where one that came down to half would show so small a fall at most so often. [1]"""
LEAST_EXPECTED = 5
"""Moths to expect after the treatment, below which nothing is said."""
LEAST_BEFORE = 5
"""Moths that an untreated block has to have had before, to be held against. Common practice, no source."""
FEWEST_ASSUMED = 3
"""Untreated blocks wanted where the blocks' own timing is assumed. No source."""
MOST_DEGREES = 20
"""Degrees of freedom that the record's timing is worth at most: it is of other weeks. No source."""
_CLOSE = 1e-12


@dataclass(frozen=True, slots=True)
class Sides:
    """One block's catch before and after a day, in the same traps."""

    before: Catch
    after: Catch

    @property
    def change(self) -> float:
        """Logarithm of the rate after over the rate before. [1]"""
        return self.after.log_rate - self.before.log_rate

    def variance(self, k: float) -> float:
        """Variance of the change that moths and scatter of traps alone bring.

        Args:
            k: Scatter. [1]
        """
        return (
            1 / (self.after.moths + 0.5)
            + 1 / (self.before.moths + 0.5)
            + (1 / self.before.weeks + 1 / self.after.weeks) / k
        )


@dataclass(frozen=True, slots=True)
class Timing:
    """How far untreated blocks change apart beyond what moths and traps do: each one's flight has a time of its own."""

    variance: float
    """[1]"""
    degrees: float
    """What it rests on, in degrees of freedom."""
    assumed: bool = False
    """Whether there is no record to draw it from."""


ASSUMED = Timing(0.2, 5, assumed=True)
"""Before a programme has rounds of its own to draw it from: an assumption without source."""
_BLOCKS_A_DEGREE = 5


def timing(rounds: Sequence[Sequence[Sides]], k: float) -> Timing:
    """The blocks' own timing from rounds of the past, each untreated block taken in turn as if it had been treated.

    Args:
        rounds: For each day of the past that is looked at, the untreated blocks before and after it.
        k: Scatter. [1]

    Returns:
        ``ASSUMED`` where there are too few.

    Source: Paule and Mandel 1982, J. Res. Natl. Bur. Stand. 87:377; as described in Veroniki et al. 2016, Res. Synth.
    Methods 7:55.
    """
    mocks = []
    for blocks in rounds:
        for at, one in enumerate(blocks):
            others = [*blocks[:at], *blocks[at + 1 :]]
            if others:
                weights = [1 / other.variance(k) for other in others]
                mean = sum(w * other.change for w, other in zip(weights, others, strict=True)) / sum(weights)
                mocks.append((one.change - mean, one.variance(k) + 1 / sum(weights)))
    if len(mocks) < _BLOCKS_A_DEGREE * ASSUMED.degrees:
        return ASSUMED
    return Timing(_between(mocks), min(MOST_DEGREES, len(mocks) / _BLOCKS_A_DEGREE))


def _between(mocks: Sequence[tuple[float, float]]) -> float:
    """Variance beyond that of the single ones, halved until nothing is left between; 0 where there is none."""

    def over(variance: float) -> bool:
        return sum(d * d / (s + variance) for d, s in mocks) > len(mocks)

    low, high = 0.0, 1.0
    if not over(low):
        return 0.0
    while over(high):
        low, high = high, 2 * high
    while (middle := (low + high) / 2) not in (low, high):
        low, high = (middle, high) if over(middle) else (low, middle)
    return middle


@dataclass(frozen=True, slots=True)
class Comparison:
    """A treated block beside untreated ones."""

    controls: int
    """How many untreated ones."""
    fall: float
    """Logarithm of the catch after, over what they lead one to expect. [1]"""
    error: float
    """Its standard error. [1]"""
    degrees: float
    """Degrees of freedom of Student's distribution."""
    timing: float
    """Variance of the blocks' own timing used. [1]"""
    others: float
    """Share of their own catch before that the untreated ones have after. [1]"""
    expected: float
    """Moths to expect after in the treated one."""

    @property
    def share(self) -> float:
        """Catch after, over what was to be expected. [1]"""
        return exp(self.fall)

    @property
    def interval(self) -> tuple[float, float]:
        """Limits between which that share lies four times in five. [1]"""
        reach = self.error * student_limit(0.9, self.degrees)
        return exp(self.fall - reach), exp(self.fall + reach)

    @property
    def by_luck(self) -> float:
        """How often an unaffected block would show such a fall. [1]"""
        return student(self.fall / self.error, self.degrees)

    @property
    def half_by_luck(self) -> float:
        """How often a block that came down to half would show so small a fall. [1]"""
        return student(-(self.fall - log(FALL_UNTREATED)) / self.error, self.degrees)

    @property
    def is_down(self) -> bool | None:
        """Whether it came down; None where too little can be told."""
        if self.expected < LEAST_EXPECTED:
            return None
        if self.share <= FALL_UNTREATED and self.by_luck <= DOWN_AT_MOST:
            return True
        return False if self.half_by_luck <= NOT_DOWN_AT_MOST else None


def compare(treated: Sides, controls: Sequence[Sides], k: float, own: Timing) -> Comparison | None:
    """Hold a treated block against untreated ones.

    Args:
        treated: Its catch before and after.
        controls: Theirs, over the same rounds.
        k: Scatter. [1]
        own: The blocks' own timing, of the record.

    Returns:
        None without an untreated block, and with fewer than ``FEWEST_ASSUMED`` where the timing is assumed.

    Source: derived; controls after the design before-after-control-impact, Smith 2002, Encyclopedia of Environmetrics
    1:141. Ratios to one untreated plot are biased: Fleming and Retnakaran 1985, J. Econ. Entomol. 78:1179.
    """
    if not controls or (own.assumed and len(controls) < FEWEST_ASSUMED):
        return None
    changes = [one.change for one in controls]
    variances = [one.variance(k) for one in controls]
    mean_variance = sum(variances) / len(variances)
    degrees = own.degrees + len(controls) - 1
    now = own.variance
    for _ in range(500):
        weights, mean = _pooled(changes, variances, now)
        scatter = sum(w * (change - mean) ** 2 for w, change in zip(weights, changes, strict=True))
        record = own.degrees * (own.variance + mean_variance) / (now + mean_variance)
        new = max(0.0, (now + mean_variance) * (record + scatter) / degrees - mean_variance)
        settled, now = abs(new - now) < _CLOSE, new
        if settled:
            break
    weights, mean = _pooled(changes, variances, now)
    return Comparison(
        controls=len(controls),
        fall=treated.change - mean,
        error=sqrt(treated.variance(k) + now + 1 / sum(weights)),
        degrees=degrees,
        timing=now,
        others=exp(mean),
        expected=treated.before.moths / treated.before.weeks * treated.after.weeks * exp(mean),
    )


def _pooled(changes: Sequence[float], variances: Sequence[float], timing: float) -> tuple[list[float], float]:
    weights = [1 / (variance + timing) for variance in variances]
    return weights, sum(w * change for w, change in zip(weights, changes, strict=True)) / sum(weights)


def student(value: float, degrees: float) -> float:
    """Chance of Student's t at or below a value.

    Args:
        value: The value.
        degrees: Degrees of freedom, above 0.

    Source: NIST Digital Library of Mathematical Functions, 8.17; the tests hold it against ``scipy.stats.t``.
    """
    tail = incomplete_beta(degrees / 2, 0.5, degrees / (degrees + value * value)) / 2
    return tail if value < 0 else 1 - tail


def student_limit(chance: float, degrees: float) -> float:
    """Value at or below which Student's t lies with a chance.

    Args:
        chance: The chance, from a half to under 1.
        degrees: Degrees of freedom, above 0.
    """
    low, high = 0.0, 1.0
    while student(high, degrees) < chance:
        low, high = high, 2 * high
    while (middle := (low + high) / 2) not in (low, high):
        low, high = (middle, high) if student(middle, degrees) < chance else (low, middle)
    return middle
