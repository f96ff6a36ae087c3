"""What a programme's own rounds teach of a species: scatter, usual levels, heights of traps, timing of blocks.

A round is a calendar week, Monday to Sunday, by the day of reading. What is learned up to a week holds the weeks before
it alone, so that a figure of any day can be worked out again later to the last digit.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import field, fields, replace
from datetime import date
from fractions import Fraction
from math import inf, log, log10
from operator import add
from typing import TYPE_CHECKING, Any

from roundtui.domain.entries import maker
from roundtui.domain.figures import certainty, figures, unlikely
from roundtui.domain.figures.certainty import NO_EVIDENCE, Catch, Evidence, Sureness, Usual
from roundtui.domain.figures.figures import BlockFigure, Exposures, Reading, Series, read_in, window_start
from roundtui.domain.figures.rules import Office, Rule, RuleKind
from roundtui.domain.figures.unlikely import Others
from roundtui.domain.figures.verdicts import Status
from roundtui.domain.programme.farm import Block, Programme, Trap, grouped
from roundtui.domain.records import Frozen

if TYPE_CHECKING:
    from roundtui.domain.figures.untreated import Experience

NEWEST_ROUNDS = 2
"""Rounds before the present one that tell, with it, what is usual now."""
SEASONS_BACK = 2
"""Seasons before the present one that are learned from: k is right within a tenth from twenty blocks of one season, and
an older hanging is another. [season]"""
STEPS_OF_K = 40
"""Steps of a block's own scatter from one to ten times it: three percent are far less than what it is known to, and
blocks of one step share their tables."""
FEW_OTHERS = 4
"""Fewer traps of a round than this do not mark a count by themselves."""
PLAIN_SLIPS = unlikely.Marks(more=log(2000), fewer=inf, tail=1e-6)
"""Counts beyond these are no part of scatter and usual levels: so far out that few honest ones are lost."""
NOT_ODD = 4
"""A count of so many times its mean or less is never beyond them."""


class Read(Frozen):
    """A trap's valid catch of a round, readings of one week joined."""

    trap: str
    block: str
    moths: int
    """Net moths."""
    days: int
    """Exposure. [d]"""
    speaks: bool
    """Whether it can speak for other blocks: inside an undisrupted block, counted and not estimated."""

    @property
    def seen(self) -> unlikely.Seen:
        """The same, for what is expected of a trap where it hangs."""
        return unlikely.Seen(f"{self.trap} {self.block}", self.moths, self.days / 7)


_made: Callable[..., Read] = maker(
    Read, "trap, block, moths, days, speaks", {one.name: one.name for one in fields(Read)}
)


def week_of(on: date) -> int:
    """Number of the calendar week that a day lies in: weeks since Monday, 1 January of the year 1."""
    return (on.toordinal() - 1) // 7


Place = tuple[Any, ...]
"""Where a reading stands in the order read."""


def place_of(reading: Reading) -> Place:
    """Where it stands in the order read."""
    return (*(reading.entries[0].order if reading.entries else (reading.read_on,)), reading.trap)


def rounds_of(
    every: Iterable[Series], blocks: Mapping[str, Block], first: int, last: int, until: date = date.max
) -> dict[str, dict[int, list[Read]]]:
    """The same as ``placed_of``, in that order."""
    found = placed_of(every, blocks, first, last, until)
    return {species: {at: [read for _, read in its] for at, its in weeks.items()} for species, weeks in found.items()}


def placed_of(
    every: Iterable[Series], blocks: Mapping[str, Block], first: int, last: int, until: date = date.max
) -> dict[str, dict[int, list[tuple[Place, Read]]]]:
    """Valid catches of all traps by species and week, each week in the order read, and where in it.

    Args:
        every: Series of the traps.
        blocks: Blocks by code, for mating disruption.
        first: First week.
        last: Last week, included.
        until: Last day.
    """
    found: dict[str, dict[int, list[tuple[Place, Read]]]] = {}
    begin, end = date.fromordinal(first * 7 + 1), min(until, date.fromordinal(last * 7 + 7))
    for one in every:
        joined: dict[int, list[Reading]] = {}
        for reading in reversed(one.readings):
            if reading.read_on < begin:
                break
            if reading.read_on <= end and _speaks(reading):
                joined.setdefault((reading.read_on.toordinal() - 1) // 7, []).append(reading)
        hanging = one.hanging
        block, weeks = blocks.get(hanging.block), found.setdefault(hanging.species, {}) if joined else {}
        inside = not hanging.edge and not (block is not None and block.disrupted)
        for week, its in joined.items():
            moths, days = sum([r.net or 0 for r in its]), sum([r.days or 0 for r in its])
            read = _made(hanging.trap, hanging.block, moths, days, inside and not any(map(_estimated, its)))
            weeks.setdefault(week, []).append((place_of(its[0]), read))
    for rows in (rows for weeks in found.values() for rows in weeks.values()):
        rows.sort(key=lambda row: row[0])
    return found


def _estimated(reading: Reading) -> bool:
    return bool(reading.entries) and reading.entries[-1].estimated


def _speaks(reading: Reading) -> bool:
    # Asked of every reading of a season, so without a call.
    valid = reading.net is not None and not reading.suspect and len(reading.entries) < 2
    return valid and reading.days is not None and 0 < reading.days <= certainty.LONGEST_DAYS


class Learned(Frozen):
    """What the rounds of a species teach, up to a week."""

    whole: Evidence = NO_EVIDENCE
    """Evidence of all rounds."""
    newest: tuple[tuple[int, Evidence], ...] = ()
    """Week and evidence of the last rounds."""
    own: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    """Per block, its own evidence of scatter."""
    past: unlikely.Past = field(default_factory=unlikely.Past)
    """What to expect of a trap."""

    @property
    def k(self) -> float:
        """Scatter of the species. [1]"""
        return certainty.scatter(self.whole.scatter)

    @property
    def assumed(self) -> bool:
        """Whether the scatter is the one to start with: nothing on record says anything of it."""
        return self.whole.groups == 0

    def k_of(self, block: str) -> float:
        """Scatter of a block, by its own rounds and those of the species, one of ``STEPS_OF_K`` steps a tenfold.

        Args:
            block: Code of the block.
        """
        own, k = self.own.get(block), self.k
        found = k if own is None else certainty.scatter(own, start=k, spread=certainty.OWN_SPREAD)
        return 10 ** (round(log10(found) * STEPS_OF_K) / STEPS_OF_K)

    def usual(self, week: int, now: Sequence[Read]) -> Usual | None:
        """Levels that are usual in a round; None where there are too few figures.

        Args:
            week: Number of its week.
            now: What is read in it so far.
        """
        recent = NO_EVIDENCE
        for before, found in self.newest:
            if week - before <= unlikely.STALE_WEEKS:
                recent += found
        earlier = replace(
            NO_EVIDENCE,
            figures=self.whole.figures - recent.figures,
            total=self.whole.total - recent.total,
            squares=self.whole.squares - recent.squares,
        )
        speaking = grouped((one.block, one) for one in now if one.speaks)
        return certainty.usual(recent + certainty.figures_alone(_group(rows) for rows in speaking.values()), earlier)


NOTHING = Learned()
"""Before a species was read."""


LearnedBy = Callable[[int], Mapping[str, Learned]]
"""From a week to what was learned by species from the rounds before it."""


def nothing_learned(_: int) -> Mapping[str, Learned]:
    """Where no record is at hand."""
    return {}


def after_week(before: Learned, week: int, read: Sequence[Read]) -> Learned:
    """What is learned with one round more; the marks on unlikely counts are as they were.

    Args:
        before: What was learned before.
        week: Number of its week.
        read: Its catches, in the order read.
    """
    seen, likely = [one.seen for one in read], []
    means = unlikely.means_in_order(before.past, week, seen)
    for one, now, each in zip(read, seen, means, strict=True):
        mean, _ = unlikely.first_of(each, now)
        if one.speaks and (one.moths <= NOT_ODD * mean or unlikely.slip(one.moths, mean, PLAIN_SLIPS) is None):
            likely.append(one)
    groups = grouped((one.block, one) for one in likely)
    own = dict(before.own)
    whole = NO_EVIDENCE
    for block, rows in groups.items():
        found = certainty.evidence([_group(rows)])
        whole += found
        if found.groups:
            had = own.get(block, NO_EVIDENCE.scatter)
            own[block] = tuple(map(add, had, found.scatter))
    newest = (*before.newest[1 - NEWEST_ROUNDS :], (week, whole))
    return Learned(before.whole + whole, newest, own, unlikely.after_round(before.past, week, seen, means))


def learn_weeks(weeks: Mapping[int, Sequence[Read]], until: int, begun: Learned = NOTHING) -> Learned:
    """What the rounds before a week teach.

    Args:
        weeks: Catches by week.
        until: First week that is left out.
        begun: What was learned from the weeks before these.
    """
    for week in sorted(weeks):
        if week < until:
            begun = after_week(begun, week, weeks[week])
    return replace(begun, past=unlikely.with_marks(begun.past))


MOCK_EVERY = 3
"""Every so many rounds of the record are taken as if a block had been treated at their end. [week]"""


def experience(
    weeks: Mapping[int, Sequence[Read]], k: float, species: str, treated: Mapping[tuple[str, str], Iterable[date]]
) -> Experience:
    """What the record says of how far untreated blocks of a species change apart.

    Args:
        weeks: Catches by week.
        k: Scatter. [1]
        species: Abbreviation of the species.
        treated: Days of all treatments, by block and species.
    """
    from roundtui.domain.figures.untreated import LEAST_BEFORE, READINGS, Experience, Sides, timing

    busy = {
        (block, week_of(day) + at)
        for (block, of), days in treated.items()
        if of == species
        for day in days
        for at in range(-READINGS - 1, READINGS + 2)
    }
    rounds = []
    for week in range(min(weeks, default=0) + 2, max(weeks, default=0) - READINGS, MOCK_EVERY):
        # Two rounds before and three after; the one that set the treatment off and the one across it are left out.
        sides = [[week - 2, week - 1], [week + 2, week + 3, week + 4]]
        speaking = (one for side in sides for at in side for one in weeks.get(at, ()) if one.speaks)
        traps = grouped(((one.trap, one.block), one) for one in speaking)
        whole = (rows for rows in traps.values() if len(rows) == 2 + READINGS and (rows[0].block, week) not in busy)
        blocks = grouped((rows[0].block, rows) for rows in whole)
        every = [
            Sides(_catch(rows[:2] for rows in group), _catch(rows[2:] for rows in group)) for group in blocks.values()
        ]
        rounds.append([one for one in every if one.before.moths >= LEAST_BEFORE])
    return Experience(k, timing(rounds, k))


def _catch(traps: Iterable[Sequence[Read]]) -> Catch:
    every = [read for rows in traps for read in rows]
    return Catch(sum(read.moths for read in every), sum(read.days for read in every) / 7)


COMPARED = {Status.BELOW, Status.WITHIN, Status.OVER}
"""Statuses of a figure that was held against two numbers."""
_LOOKS_AT = {
    RuleKind.SINGLE_TRAP: "the rule is for any one trap",
    RuleKind.RUNNING: "the rule is for weeks in a row",
    RuleKind.CUMULATIVE: "the rule is for a sum",
}


def sureness(
    caught: Sequence[tuple[int, int]], k: float, before: Usual, band: tuple[float, float], status: Status
) -> Sureness | None:
    """How sure a block's status is.

    Args:
        caught: Net moths and days of each trap of the mean. [moths], [d]
        k: Scatter of the block. [1]
        before: Levels that are usual.
        band: Low and high of its rule. [moths/trap/week]
        status: Where the rule sees it.

    Returns:
        None where the status is no comparison.
    """
    if status not in COMPARED:
        return None
    counts, days = [x for x, _ in caught], [d for _, d in caught]
    found = certainty.level(counts, days, k, before)
    low, high = found.interval
    over, below = found.chance(band[1]), 1 - found.chance(band[0])
    chance = {Status.OVER: over, Status.BELOW: below}.get(status, max(0.0, 1 - over - below))
    return Sureness(
        low=low if any(counts) else 0.0,
        high=high,
        over=over,
        below=below,
        chance=chance,
        certainty=None if status is Status.WITHIN else certainty.certainty(chance),
        k=k,
        usual=before,
        caught=tuple(caught),
    )


def again(
    sure: Sureness, rests_on: Sequence[float], band: tuple[Fraction, Fraction], status: Status
) -> Sureness | None:
    """How sure a status was, by scatter and usual levels that were kept.

    Args:
        sure: How sure it is now.
        rests_on: ``Sureness.rests_on`` as it was kept.
        band: Low and high of its rule. [moths/trap/week]
        status: Where the rule sees it.
    """
    k, middle, spread = rests_on
    return sureness(sure.caught, k, Usual(middle, spread), (float(band[0]), float(band[1])), status)


class Needed(Frozen):
    """How many traps of a block tell the two numbers of its rule apart. Weeks do not stand in for traps."""

    low: Fraction
    """The rule's lower number. [moths/trap/week]"""
    high: Fraction
    """Its higher one."""
    k: float
    """Scatter of the block's traps. [1]"""
    assumed: bool
    """Whether nothing on record says anything of it."""
    traps_80: int
    """Traps that are right four times in five."""
    traps_90: int
    """Traps that are right nine times in ten."""

    @property
    def words(self) -> str:
        """As it is said."""
        k = f"k {self.k:.2g}{', assumed' if self.assumed else ''}"
        often = f"{self.traps_80} traps four times in five, {self.traps_90} nine times in ten"
        return f"{float(self.high):g} told from {float(self.low):g} by {often} ({k})"


WEEKS_ARE_NO_TRAPS = "More weeks do not stand in for traps: what hangs well or badly goes on so."
"""Said once wherever numbers of traps needed are."""


def traps_needed_of(
    programme: Programme, learned: Mapping[str, Learned], office: Office, on: date
) -> dict[tuple[str, str], Needed]:
    """Traps needed by block and species, where the block's rule is a mean with two numbers.

    Args:
        programme: What is set up.
        learned: What the rounds taught, by species.
        office: For its rules.
        on: The day.
    """
    from roundtui.domain.figures.threshold import Site, choose

    found = {}
    keys = dict.fromkeys((row.block, row.species) for hangings in programme.hangings.values() for row in hangings[-1:])
    for code, species in keys:
        block, known = programme.blocks.get(code), learned.get(species, NOTHING)
        if block is None or block.disrupted:
            continue
        rules = [rule for rule in office.rules if rule.species == species]
        rule = choose(rules, Site(block, on, {False: (), True: ()})).rule
        if rule is None or rule.kind is not RuleKind.MEAN or rule.timing_only:
            continue
        k, ends = known.k_of(code), (float(rule.low), float(rule.high))
        four, nine = (certainty.needed_of(k, *ends, percent) for percent in (80, 90))
        if four is not None and nine is not None:
            found[code, species] = Needed(rule.low, rule.high, k, known.assumed, four, nine)
    return found


class Rounds:
    """What is known of every species on a day: what its rounds taught, and what the rounds of the window caught.

    Args:
        on: The day.
        learned: What was learned up to a week, by species, asked for the weeks of the window alone.
        every: Series of all traps of the programme.
        blocks: Blocks by code.
    """

    def __init__(self, on: date, learned: LearnedBy, every: Sequence[Series], blocks: Mapping[str, Block]) -> None:
        self.on = on
        self.week = week_of(on)
        read = {week_of(reading.read_on) for one in every for reading in read_in(one, on)}
        self._learned = {week: learned(week) for week in sorted({*read, self.week})}
        self._read = placed_of(every, blocks, week_of(window_start(on)), self.week, on)
        self._usual: dict[str, Usual | None] = {}
        self._others: dict[tuple[str, int], tuple[list[Place], list[Others]]] = {}
        self._slips: dict[tuple[str, str, date], unlikely.Slip | None] = {}

    def learned(self, species: str) -> Learned:
        """What was learned of a species up to the week of the day."""
        return self._learned[self.week].get(species, NOTHING)

    def usual(self, species: str) -> Usual | None:
        """Levels that are usual of a species on the day; None where there are too few figures."""
        if species not in self._usual:
            now = [read for _, read in self._read.get(species, {}).get(self.week, [])]
            self._usual[species] = self.learned(species).usual(self.week, now)
        return self._usual[species]

    def slip(self, hanging: Trap, reading: Reading) -> unlikely.Slip | None:
        """Why a count of the window is marked, if it is.

        Args:
            hanging: Where its trap hangs.
            reading: The reading.
        """
        key = hanging.trap, hanging.block, reading.read_on
        if key not in self._slips:
            week = week_of(reading.read_on)
            known = self._learned.get(week, {}).get(hanging.species, NOTHING)
            places, before = self._read_before(hanging.species, week, known.past)
            self._slips[key] = slip_of(known, hanging, reading, before[bisect_left(places, place_of(reading))])
        return self._slips[key]

    def _read_before(self, species: str, week: int, past: unlikely.Past) -> tuple[list[Place], list[Others]]:
        """Where each trap stands in the order read of a week, and what was read before it; at last, in all.

        As at the trap: a slip further on makes no honest count of before it look odd.
        """
        place = (species, week)
        if place not in self._others:
            placed, others = self._read.get(species, {}).get(week, []), Others()
            before = [others]
            for _, one in placed:
                before.append(others := replace(others))
                others.add(past, one.seen)
            self._others[place] = [at for at, _ in placed], before
        return self._others[place]

    def sureness(
        self, hung: BlockFigure, block: Block, species: str, rule: Rule, status: Status
    ) -> Sureness | str | None:
        """How sure a block's status is.

        Args:
            hung: The figure that was compared.
            block: The block.
            species: Abbreviation of its species.
            rule: The rule it was judged by.
            status: Where the rule sees it.

        Returns:
            Words why it cannot be said: under mating disruption, by a rule that looks at no mean, with a reading that
            is estimated, unlikely or over ten days, and with fewer than twenty figures to know what is usual. None
            where the status is no comparison.
        """
        if status not in COMPARED:
            return None
        readings = [(trap, reading) for trap in hung.traps for reading in trap.readings]
        if block.disrupted or rule.kind is not RuleKind.MEAN:
            return "under mating disruption" if block.disrupted else _LOOKS_AT[rule.kind]
        if any((one.days or 0) > certainty.LONGEST_DAYS or _estimated(one) for _, one in readings):
            long = any((one.days or 0) > certainty.LONGEST_DAYS for _, one in readings)
            return f"a reading over more than {certainty.LONGEST_DAYS} days" if long else "an estimate in the figure"
        before = self.usual(species)
        if before is None or any(self.slip(trap.hanging, one) for trap, one in readings):
            return "an unlikely count in the figure" if before else "too few figures on record"
        caught = [
            (sum(one.net or 0 for one in trap.readings), sum(one.days or 0 for one in trap.readings))
            for trap in hung.traps
        ]
        band = float(rule.low), float(rule.high)
        return sureness(caught, self.learned(species).k_of(block.block), before, band, status)

    def past_peak(
        self, hung: BlockFigure, group: Sequence[Series], block: Block, since: date, exposures: Exposures | None = None
    ) -> bool:
        """Whether the flight in a block is past its peak: by the same traps in each round, and not risen again.

        Args:
            hung: Its newest figure.
            group: Series of its traps of the species.
            block: The block.
            since: First day of the flight.
            exposures: Exposures of its traps from that day on, where they are at hand: of those in the newest figure
                alone, and without estimates.

        Returns:
            False too where it cannot be said: under mating disruption, or with a reading that is estimated, unlikely or
            over ten days.
        """
        newest, end = [(trap.hanging, one) for trap in hung.traps for one in trap.readings], hung.first_end
        if block.disrupted or end is None:
            return False
        if any((r.days or 0) > certainty.LONGEST_DAYS or _estimated(r) or self.slip(at, r) for at, r in newest):
            return False
        there, known = {id(trap.hanging) for trap in hung.traps}, self.learned(hung.traps[0].hanging.species)
        if exposures is None:
            exposures = figures.exposures_of([figures.columns_of(_counted(group, there, since))])
        weeks: dict[int, list[tuple[int, int, int]]] = {}
        for (start, last), (moths, traps) in exposures.items():
            days = (last - start).days
            if since <= start and last < end and days <= certainty.LONGEST_DAYS:
                weeks.setdefault(week_of(last), []).append((moths, days * traps, traps))
        read = _counted(group, there, since) if any(len(its) > 1 for its in weeks.values()) else []
        of_week = grouped((week_of(one.read_on), one.trap) for one in read if one.read_on < end)
        whole = []
        for week, its in sorted(weeks.items()):
            moths, days, traps = its[0] if len(its) == 1 else map(sum, zip(*its, strict=True))
            if len(its) > 1:
                traps = len(set(of_week.get(week, ())))  # A trap read twice is one.
            if traps == len(there):
                whole.append((moths, days / 7))
        if not whole:
            return False
        now = Catch(sum(one.net or 0 for _, one in newest), sum(one.days or 0 for _, one in newest) / 7)
        rates = [certainty.log_rate(*one) for one in whole]
        peak = rates.index(max(rates))
        if min(rates[peak:]) < now.log_rate:
            return False  # It was lower in between, so that another flight may have begun.
        return certainty.past_its_peak(now, Catch(*whole[peak]), known.k_of(block.block), len(there))


def _counted(group: Iterable[Series], there: Collection[int], since: date) -> list[Reading]:
    """Valid readings of some hangings whose exposure began on a day or later, without estimates."""
    every = [r for one in group if id(one.hanging) in there for r in one.readings if r.start and r.start >= since]
    return [r for r in every if _speaks(r) and not _estimated(r)]


def slip_of(known: Learned, hanging: Trap, reading: Reading, others: Others) -> unlikely.Slip | None:
    """Why a count is marked, if it is.

    Args:
        known: What was learned of the species before the week.
        hanging: Where its trap hangs.
        reading: The reading.
        others: What is read of the other traps of the species in its week.
    """
    if reading.conflict:
        return None
    carried = 0 if reading.net is None else reading.count - reading.net
    own = unlikely.Seen(f"{hanging.trap} {hanging.block}", reading.count - carried, (reading.days or 7) / 7)
    week = week_of(reading.read_on)
    mean, kind = unlikely.expected(known.past, own, others, week)
    found = unlikely.slip(reading.count, mean, known.past.marks_of(kind), carried)
    if found is None or not 0 < others.number < FEW_OTHERS:
        return found
    # Two traps of one other block say little of the round: the count has to be odd beside the last round as well.
    mean, kind = unlikely.expected(known.past, own, Others(), week)
    return found if unlikely.slip(reading.count, mean, known.past.marks_of(kind), carried) is not None else None


def _group(read: Sequence[Read]) -> tuple[list[int], list[int]]:
    return [one.moths for one in read], [one.days for one in read]
