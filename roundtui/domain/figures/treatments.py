"""Whether the catch comes back down after a treatment: figures before and after, held against untreated blocks.

Nothing here says what was applied, whether it was right, or what to do next. A catch also falls by itself: at the end
of a flight, in cold or wet weather. The numbers below that no published table gives are common practice, no source.

Treatments that growers spoke of: what cannot be, which are one, and each with its watch.

A treated block's catch held against untreated blocks of the same rounds: by how much more did it fall?
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction

from roundtui.domain.entries import NONE, TreatmentSaid, Visit
from roundtui.domain.figures import integrity
from roundtui.domain.figures import untreated as control
from roundtui.domain.figures.certainty import Catch
from roundtui.domain.figures.figures import FEW_TRAPS, SHORT_DAYS, Reading, Series, block_figure, by_block, rate, series
from roundtui.domain.figures.history import History
from roundtui.domain.programme.farm import Block, Programme, grouped, natural_key
from roundtui.domain.programme.species import SPECIES, species_code
from roundtui.domain.records import Frozen
from roundtui.domain.round.checks import nearest, species_known
from roundtui.domain.text import SHOWN, sanitize
from roundtui.errors import Problem

LEAST_READINGS = 2
"""Fewest readings of most traps before a word is said: one may be weather. Common practice, no source."""
BEFORE_DAYS = 28
"""How far back the previous figure reaches: three weekly readings, and the days between the last of them and the
treatment. Common practice, no source. [d]"""
MOST_DAYS = 28
"""A watch ends after so many days, read or not: three weekly rounds and one missed. Common practice, no source. [d]"""
NEAR_DAYS = 3
"""An untreated block's reading belongs to a round of the treated one where it was made so many days before or after."""


class WatchVerdict(StrEnum):
    """What is said of the catch after a treatment."""

    DOWN = "coming down"
    NOT_DOWN = "not coming down"
    LITTLE = "too little to say"
    EARLY = "too early to say"
    ALONE = "nothing to compare with"


_ENDED = {WatchVerdict.DOWN: "came down", WatchVerdict.NOT_DOWN: "did not come down", WatchVerdict.ALONE: "no verdict"}


class Side(Frozen):
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


class Watch(Frozen, kw_only=True):
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
    against: control.Comparison | None
    """The catch held against untreated blocks; None where it cannot be."""
    untreated: tuple[str, ...]
    """Untreated blocks of the same rounds that it could be held against."""
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
        if not self.over and self.verdict is WatchVerdict.LITTLE:
            return "not enough to say whether it came down"
        return _ENDED.get(self.verdict, "could not be told") if self.over else self.verdict.value

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


class _Pair(Frozen):
    """One hanging of a trap on both sides of a treatment, in joined readings."""

    trap: str
    last: tuple[Reading, ...]
    """The last one before: it set the treatment off and was partly luck, so that nothing is measured by it."""
    before: tuple[tuple[Reading, ...], ...]
    """Those before it."""
    after: tuple[tuple[Reading, ...], ...]


def watch(
    key: tuple[str, str],
    treated_on: date,
    group: Iterable[Series],
    visits: Mapping[str, Sequence[Visit]],
    *,
    on: date,
    treated: Sequence[date] = (),
    untreated: Mapping[str, Sequence[Series]] | None = None,
    experience: control.Experience = control.NO_EXPERIENCE,
) -> Watch:
    """Watch the catch of a block after one treatment.

    A reading that ended by the day of the treatment is before it, one that began on it or later is after it: the moths
    caught in these traps fly from dusk on. What lies across the day is on neither side. The last reading before is left
    out: a block is treated when its catch is high, and a high catch is followed by a lower one by itself.

    Args:
        key: Block and species.
        treated_on: Day of the treatment to watch.
        group: Series of the block's traps of the species.
        visits: Present visits by trap, for changes of lures.
        on: Day from which to look; nothing after it is used.
        treated: Days of all treatments of the block against the species.
        untreated: Series of the traps of the species in blocks that nobody treated, by block.
        experience: What the record says of the species.

    Returns:
        The verdict with the numbers behind it. Only untreated blocks of the same rounds make one; without them there
        are figures alone.
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
    over = on > until or following is not None or readings >= control.READINGS
    controls = _controls(both, untreated or {})
    compared = _compared(before, after, controls, experience) if both else None
    if not both:
        verdict, why = WatchVerdict.EARLY, _nothing(rows, pairs, over=over)
    elif readings < LEAST_READINGS:
        few = f"fewer than {LEAST_READINGS} readings a trap since"
        verdict, why = WatchVerdict.EARLY, f"{few}, and the check is over" if over else few
    else:
        verdict, why = _verdict(before, after, len(controls), compared)
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
        left_out=tuple(sorted({one.trap for one in pairs if one.last or one.after} - traps, key=natural_key)),
        awaited=0 if over else control.READINGS - readings,
        over=over,
        against=compared,
        untreated=tuple(sorted(controls, key=natural_key)),
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


def _judged(group: Iterable[Series]) -> list[Series]:
    """Traps of the block's mean; where all hang at its edge, these."""
    rows = list(group)
    return [one for one in rows if not one.hanging.edge] or rows


def _valid(reading: Reading) -> bool:
    return reading.known and not (reading.suspect or reading.conflict)


def _pair(one: Series, first: date, treated_on: date, last: date) -> _Pair:
    valid = [r for r in one.readings if _valid(r) and r.start is not None and r.read_on <= last]
    before = _joined_back([r for r in valid if r.start and first <= r.start and r.read_on <= treated_on])[
        -control.READINGS :
    ]
    return _Pair(
        one.hanging.trap,
        before[-1] if before else (),
        before[:-1],
        tuple(_joined(r for r in valid if r.start and r.start >= treated_on))[: control.READINGS],
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


def _compared(
    before: Side, after: Side, controls: Mapping[str, control.Sides], experience: control.Experience
) -> control.Comparison | None:
    block = control.Sides(Catch(before.moths, before.trap_days / 7), Catch(after.moths, after.trap_days / 7))
    return control.compare(block, [controls[name] for name in sorted(controls)], experience.k, experience.own)


def _controls(both: Sequence[_Pair], untreated: Mapping[str, Sequence[Series]]) -> dict[str, control.Sides]:
    """Untreated blocks whose traps were read in every round that is compared, with enough moths before."""
    rounds = [_rounds([one.before[::-1] for one in both]), _rounds([one.after for one in both])]
    found = {}
    for block, group in untreated.items():
        every = [[_caught(one, days) for days in rounds] for one in _judged(group)]
        traps = [(before, after) for before, after in every if before is not None and after is not None]
        sides = control.Sides(*(_together(side) for side in zip(*traps, strict=True))) if traps else None
        if sides is not None and sides.before.moths >= control.LEAST_BEFORE:
            found[block] = sides
    return found


def _together(catches: Iterable[tuple[int, int]]) -> Catch:
    moths, days = (sum(column) for column in zip(*catches, strict=True))
    return Catch(moths, days / 7)


def _rounds(traps: Sequence[Sequence[Sequence[Reading]]]) -> list[date]:
    """The day of each round of some traps, given as joined readings."""
    number = max(map(len, traps), default=0)
    return [_usual_day([trap[at][-1].read_on for trap in traps if at < len(trap)]) for at in range(number)]


def _usual_day(days: Sequence[date]) -> date:
    """The day on which most traps were read in a round; of several the first."""
    return min(sorted(set(days)), key=lambda day: -days.count(day))


def _caught(one: Series, days: Sequence[date]) -> tuple[int, int] | None:
    """Moths and days of a trap's readings near some days; None where one of the days has none."""
    valid = [r for r in one.readings if _valid(r)]
    near = [min(valid, key=lambda r: abs((r.read_on - day).days), default=None) for day in days]
    found = {r.read_on: r for r, day in zip(near, days, strict=True) if r and abs((r.read_on - day).days) <= NEAR_DAYS}
    if len(found) < len(days):
        return None
    return sum(r.net or 0 for r in found.values()), sum(r.days or 0 for r in found.values())


def _verdict(before: Side, after: Side, controls: int, against: control.Comparison | None) -> tuple[WatchVerdict, str]:
    was, now = before.per_week or Fraction(), after.per_week or Fraction()
    if against is None:
        moved = "lower than before" if now < was else "as high as before" if now == was else "higher than before"
        falls = ", and a flight falls by itself" if now < was else ""
        few = "nothing to compare with" if not controls else f"only {controls} untreated to compare with"
        return WatchVerdict.ALONE, f"{moved}; {few}{falls}"
    others = "the untreated block leads" if against.controls == 1 else f"the {against.controls} untreated blocks lead"
    if against.expected < control.LEAST_EXPECTED:
        return WatchVerdict.LITTLE, f"{others} one to expect {against.expected:.0f} moths, too few to tell by"
    low, high = against.interval
    down = "down to " if against.share <= control.FALL else ""
    share, between = control.of_what_words(against.share), control.between_words(low, high)
    why = f"{down}{share} {others} one to expect (probably {between})"
    if against.is_down is None:
        return WatchVerdict.LITTLE, why
    return (WatchVerdict.DOWN if against.is_down else WatchVerdict.NOT_DOWN), why


def _nothing(rows: Sequence[Series], pairs: Sequence[_Pair], *, over: bool) -> str:
    """Why no trap can be compared."""
    if not rows:
        return "no trap of the species hangs in the block"
    if not any(one.after for one in pairs):
        return "no valid reading since" + (", and the check is over" if over else "")
    if not any(one.last for one in pairs):
        return f"no valid reading in the {BEFORE_DAYS} days before, so there is nothing to compare with"
    if not any(one.before for one in pairs):
        return "one reading alone before, and that led to the treatment"
    return "no trap has a valid reading both before and since"


def _fell_before(both: Sequence[_Pair]) -> bool:
    """Whether the mean of the last readings before lies below that of those before them."""
    last = sum((rate(one.last) or Fraction() for one in both), Fraction())
    earlier = sum((rate(r for joined in one.before for r in joined) or Fraction() for one in both), Fraction())
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


class GroupAgain(Frozen):
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


class Treated(Frozen):
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
        found.append(Problem("block", f"there is no block {sanitize(entry.block, SHOWN)}", hint))
    if entry.species not in species_known(programme):
        meant = species_code(entry.species)
        hint = f"write {meant}" if meant else f"one of {', '.join(SPECIES)}"
        found.append(Problem("species", f"{sanitize(entry.species, SHOWN)!r} is no species known here", hint))
    return tuple(found)


def treated(
    said: Sequence[TreatmentSaid],
    groups: Mapping[tuple[str, str], Sequence[Series]],
    history: History,
    on: date,
    *,
    blocks: Mapping[str, Block],
    against: control.Against,
) -> tuple[Treated, ...]:
    """Treatments with their watches.

    Args:
        said: Present entries up to the day.
        groups: Series of traps by block and species.
        history: The record up to the day.
        on: Day from which to look.
        blocks: Blocks by code, for mating disruption.
        against: What they are held against.

    Returns:
        Each block, species and day once, by block and species, the newest first.
    """
    entries = grouped(((one.block, one.species, one.treated_on), one) for one in said if one.treated_on <= on)
    days = grouped(((block, species), day) for block, species, day in entries)
    found = [
        Treated(
            tuple(same),
            watch(
                key[:2],
                key[2],
                groups.get(key[:2], ()),
                history.visits,
                on=on,
                treated=days[key[:2]],
                untreated=_untreated(key, groups, blocks, against, on),
                experience=against.of(key[1]),
            ),
        )
        for key, same in entries.items()
    ]
    return tuple(sorted(found, key=_place))


def _untreated(
    key: tuple[str, str, date],
    groups: Mapping[tuple[str, str], Sequence[Series]],
    blocks: Mapping[str, Block],
    against: control.Against,
    on: date,
) -> dict[str, Sequence[Series]]:
    """Blocks of the species that were not treated from four weeks before to the end, disrupted as the block is."""
    code, species, day = key
    first, last = day - timedelta(days=BEFORE_DAYS), min(on, day + timedelta(days=MOST_DAYS))
    disrupted = code in blocks and blocks[code].disrupted
    return {
        block: group
        for (block, of), group in groups.items()
        if of == species
        and block != code
        and (block in blocks and blocks[block].disrupted) == disrupted
        and not any(first <= one <= last for one in against.treated.get((block, of), ()))
    }


def treated_in(
    programme: Programme,
    history: History,
    said: Iterable[TreatmentSaid],
    on: date,
    *,
    against: control.Against,
    days: int | None = None,
) -> tuple[Treated, ...]:
    """The same from the record, of the traps alone that hang where something was treated.

    Args:
        programme: What is set up.
        history: The record up to the day.
        said: Present entries.
        on: Day from which to look.
        against: What they are held against.
        days: Only treatments of so many days back; None: all. The others still end and colour their neighbours. [d]
    """
    entries = [one for one in said if one.treated_on <= on]
    keys = {(one.block, one.species) for one in entries if days is None or within(one.treated_on, on, days)}
    if not keys:
        return ()
    found = integrity.examine(programme, history.scent, on, history.assembled, history.bodies)
    species = {one for _, one in keys}
    every = {
        trap: series(hangings, history.visits.get(trap, ()), found)
        for trap, hangings in programme.hangings.items()
        if any(row.species in species for row in hangings)
    }
    here = [one for one in entries if (one.block, one.species) in keys]
    made = treated(here, by_block(every), history, on, blocks=programme.blocks, against=against)
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
