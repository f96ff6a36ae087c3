"""A round's summary, put together from the record.

What a correction changes: where two summaries of one day, before and after, differ in what people act on.

What of a round needs attention, as one list for everybody: the head of the summary, calls, letters and the desk.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction

from roundtui.domain.entries import Notified, Sample, SampleKind, Visit
from roundtui.domain.figures import integrity, upkeep, verdicts
from roundtui.domain.figures.blocks import DaysToGather, Record, block_row, block_status
from roundtui.domain.figures.figures import FEW_TRAPS, Series, block_figure, by_block, read_in, series, window_start
from roundtui.domain.figures.history import History, Observations
from roundtui.domain.figures.learned import LearnedBy, Rounds, nothing_learned
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.threshold import Treatment
from roundtui.domain.figures.verdicts import Attention, AttentionKind, BlockRow, Status, Summary, Trouble
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.text import SHOWN, sanitize

URGENCY = (Status.OVER, Status.WITHIN, Status.CANNOT_TELL, Status.BELOW, Status.NO_RULE, Status.NOT_READ)
"""Order in which a summary lists its blocks."""
ROUNDS_BACK = 42
"""Days back to which traps of other routes are read, for what is usual: two windows, and an exposure before. [d]"""
NOTIFIED_DAYS = 28
"""Days back to which what growers were told is held against the record. [d]"""


def summarise(
    programme: Programme,
    history: History,
    office: Office,
    on: date,
    *,
    route: str | None = None,
    biofix: Mapping[tuple[str, str], date] | None = None,
    treatments: Sequence[Treatment] = (),
    days_to_gather: DaysToGather | None = None,
    learned: LearnedBy = nothing_learned,
) -> Summary:
    """The summary of the seven days that end on a day.

    Args:
        programme: Farms, blocks, traps, lots and routes.
        history: The record up to that day.
        office: Rules, and when the season starts.
        on: The day.
        route: Only the blocks that this route visits, each with all its traps; None: every block.
        biofix: Confirmed biofix by block and species.
        treatments: What growers say was applied, by block and species.
        days_to_gather: For rules that hold for so many degree-days after a treatment.
        learned: What the programme's rounds taught up to a week, by species.

    Returns:
        Figures in exact fractions; lists in the order in which they are read.
    """
    found = integrity.examine(programme, history.scent, on, history.assembled, history.bodies, suspect=history.suspect)
    blocks = _blocks_of(programme, route)
    every, others, over = {}, [], window_start(on - timedelta(days=NOTIFIED_DAYS))
    for trap, hangings in programme.hangings.items():
        visits = history.visits.get(trap, ())
        if blocks is None or any(row.block in blocks for row in hangings):
            # A hanging that was over before all this adds nothing, and there is one for each trap and season.
            here = series(hangings, visits, found)
            every[trap] = [one for one in here if one.readings or (one.hanging.down_on or date.max) >= over]
        else:
            since = on - timedelta(days=ROUNDS_BACK)
            others += series(hangings, [visit for visit in visits if visit.read_on >= since], found)
    known = [one for rows in every.values() for one in rows]
    rounds = Rounds(on, learned, [*known, *others], programme.blocks)
    record = Record(programme, history, office, on, biofix or {}, treatments, days_to_gather, rounds)
    grouped = {key: rows for key, rows in by_block(every).items() if blocks is None or key[0] in blocks}
    rows = {key: row for key, group in grouped.items() if (row := block_row(record, key, group)) is not None}
    window = (window_start(on), on)
    hung = sorted(
        (one for group in grouped.values() for one in group if one.hanging.hung_a_night_in(*window)),
        key=lambda one: programme.place_key(one.hanging.block, one.hanging.trap),
    )
    unlikely = [(one, row) for one in hung for row in _unlikely(rounds, one)]
    for key, row in rows.items():
        odd = {(far.trap, far.read_on) for one, far in unlikely if (one.hanging.block, one.hanging.species) == key}
        headline = (*_without_unlikely(record, key, grouped[key], odd), *_before(record, key, grouped[key], found))
        rows[key] = replace(row, headline=headline) if headline else row
    long = [(one, reading) for one in hung for reading in reversed(read_in(one, on)) if reading.long]
    return Summary(
        on=on,
        blocks=tuple(
            sorted(
                rows.values(),
                key=lambda row: (URGENCY.index(row.status), natural_key(row.farm), natural_key(row.block), row.species),
            )
        ),
        integrity=tuple(t for t in found.troubles if blocks is None or t.block in blocks),
        upkeep=tuple(_upkeep(record, hung)),
        not_read=tuple(_not_read(record, one) for one in _unread(hung, every, on)),
        unlikely=tuple(row for _, row in unlikely),
        conflicts=tuple(_conflicts(record, (one for group in grouped.values() for one in group))),
        older_figure_calls=tuple(_older_figure_calls(record, grouped, blocks)),
        long_readings=tuple(
            verdicts.LongReading(reading.trap, reading.read_on, reading.count, reading.days or 0, one.hanging.block)
            for one, reading in long
            if not reading.conflict
        ),
        route=route,
    )


def trends(
    programme: Programme, history: History, on: date, number: int = 8
) -> dict[tuple[str, str], tuple[Fraction | None, ...]]:
    """Mean catches of the weeks that end on a day, by block and species, the oldest first.

    Args:
        programme: Farms, blocks, traps, lots and routes.
        history: The record up to that day.
        on: The last day of the newest week.
        number: Weeks.

    Returns:
        For each week a mean over valid traps, or None where no trap was read. [moths/trap/week]
    """
    found = integrity.examine(programme, history.scent, on, history.assembled, history.bodies)
    every = {trap: series(rows, history.visits.get(trap, ()), found) for trap, rows in programme.hangings.items()}
    days = [on - timedelta(weeks=back) for back in reversed(range(number))]
    return {key: tuple(block_figure(group, day).mean for day in days) for key, group in by_block(every).items()}


def _blocks_of(programme: Programme, route: str | None) -> frozenset[str] | None:
    if route is None:
        return None
    labels = programme.routes.get(route, ())
    return frozenset(row.block for label in labels for row in programme.hangings.get(label, ()))


def _upkeep(record: Record, listed: Sequence[Series]) -> list[verdicts.UpkeepDue]:
    found = []
    for one in listed:
        if record.programme.hanging(one.hanging.trap, record.on) == one.hanging:
            service = record.history.last_service.get(one.hanging.trap, {})
            found += upkeep.due(record.programme, one, service, record.on)
    return sorted(found, key=lambda row: -(row.days_overdue or 0))


def _unread(hung: Sequence[Series], every: Mapping[str, Sequence[Series]], on: date) -> list[Series]:
    """The last hanging of each trap that has no count in the window, wherever it hung when it was read."""
    window = (window_start(on), on)
    found = []
    for one in hung:
        own = [other for other in every[one.hanging.trap] if other.hanging.hung_a_night_in(*window)]
        if one is own[-1] and not any(read_in(other, on) for other in own):
            found.append(one)
    return found


def _not_read(record: Record, one: Series) -> verdicts.NotRead:
    first = window_start(record.on)
    newest: Visit | None = None
    places = record.programme.hangings[one.hanging.trap]
    for visit in record.history.visits.get(one.hanging.trap, ()):
        here = any(row.block == one.hanging.block and row.hangs_on(visit.read_on) for row in places)
        if first <= visit.read_on <= record.on and here and visit.no_reading:
            newest = visit
    return verdicts.NotRead(
        trap=one.hanging.trap,
        reason=newest.no_reading if newest else None,
        block=one.hanging.block,
        note=newest.note if newest else "",
        left=newest is None
        and all(
            row.down_on is not None and row.down_on <= record.on for row in places if row.block == one.hanging.block
        ),
    )


def _unlikely(rounds: Rounds, one: Series) -> list[verdicts.Unlikely]:
    """Counts of the window that the trap's past and the round make unlikely."""
    return [
        verdicts.Unlikely(one.hanging.trap, reading.count, one.hanging.block, reading.read_on, slip)
        for reading in reversed(read_in(one, rounds.on))
        if (slip := rounds.slip(one.hanging, reading)) is not None
    ]


def _without_unlikely(
    record: Record, key: tuple[str, str], group: Sequence[Series], odd: Collection[tuple[str, date | None]]
) -> Iterable[str]:
    """What a status is without the unlikely counts, where it is another one."""
    if not odd:
        return
    without = [
        replace(
            one, readings=tuple(replace(r, suspect=True) if (r.trap, r.read_on) in odd else r for r in one.readings)
        )
        for one in group
    ]
    now, then = (block_status(record, key, side) for side in (group, without))
    if now is not then and then is not None:
        traps = " and ".join(sorted({trap for trap, _ in odd}, key=natural_key))
        yield f"unlikely count in {traps}, to be checked; {then.words} without it"


def _before(record: Record, key: tuple[str, str], group: Sequence[Series], found: integrity.Integrity) -> Iterable[str]:
    """What a status was before counts of the seven days were corrected or withdrawn, where it was another one."""
    block, species = key
    programme, visits = record.programme, record.history.visits
    changed = []
    for one in record.history.superseded:
        hanging = programme.hanging(one.visit.trap, one.visit.read_on)
        if hanging is not None and (hanging.block, hanging.species) == (block, species):
            changed.append(one)
    if not changed:
        return
    gone = {one.instead.id for one in changed if one.instead is not None}
    old = [one.visit for one in changed]
    was = [
        one
        for trap in dict.fromkeys(one.hanging.trap for one in group)
        for one in series(
            programme.hangings.get(trap, ()),
            sorted(
                [
                    *(visit for visit in visits.get(trap, ()) if visit.id not in gone),
                    *(visit for visit in old if visit.trap == trap),
                ],
                key=lambda visit: visit.order,
            ),
            found,
        )
        if (one.hanging.block, one.hanging.species) == key
    ]
    now, then = (block_status(record, key, side) for side in (group, was))
    if now is not then and then is not None:
        words = " and ".join(
            f"{one.visit.trap} was {'corrected' if one.instead else 'withdrawn'}"
            + (f" ({one.reason})" if one.reason else "")
            for one in changed
        )
        yield f"{then.words} before {words}"


def _conflicts(record: Record, every: Iterable[Series]) -> list[verdicts.Conflict]:
    found = (
        verdicts.Conflict(
            trap=reading.trap,
            read_on=reading.read_on,
            entries=tuple(visit.id for visit in reading.entries),
            block=one.hanging.block,
            counts=tuple((visit.scout, visit.count or 0) for visit in reading.entries),
        )
        for one in every
        if not one.sound
        for reading in one.readings
        if reading.conflict and record.season_start <= reading.read_on <= record.on
    )
    return sorted(found, key=lambda row: (row.read_on, natural_key(row.trap)))


def _older_figure_calls(
    record: Record, grouped: Mapping[tuple[str, str], Sequence[Series]], blocks: frozenset[str] | None
) -> list[verdicts.OlderFigureCall]:
    """Growers whose last word from us is not what the record shows now for the same day; of a route its own alone."""
    last: dict[tuple[str, str, date], Notified] = {}
    for notified in sorted(record.history.notified, key=lambda notified: (notified.notified_on, notified.id)):
        if (blocks is None or notified.block in blocks) and record.on - timedelta(
            days=NOTIFIED_DAYS
        ) <= notified.round_on <= record.on:
            last[notified.block, notified.species, notified.round_on] = notified
    found = []
    for (block, species, round_on), notified in last.items():
        row = block_row(replace(record, on=round_on), (block, species), grouped.get((block, species), ()))
        now = row.status if row else Status.NOT_READ
        if now.value != notified.status:
            found.append(
                verdicts.OlderFigureCall(
                    block, species, round_on, notified.status, now, notified.notified_on, notified.by, notified.how
                )
            )
    return sorted(found, key=lambda row: (row.round_on, natural_key(row.block), row.species))


Biofixes = Mapping[tuple[str, str, int], date | None]
"""Biofix by block, species and generation; None where there is none."""

NOTHING = "nothing"
"""Stands for what is not there before, or not any more after."""


class ConsequenceKind(StrEnum):
    """What changes."""

    STATUS = "status"
    BIOFIX = "biofix"
    INTEGRITY = "integrity"
    CONFLICT = "conflict"
    NOTIFIED = "notified"
    FIGURE = "figure"
    COMPARED = "compared"


class Consequence(Frozen):
    """One thing that is different after a change of the record."""

    kind: ConsequenceKind
    """What changes."""
    on: date
    """Day of the summary in which it does."""
    what: str
    """Block and species, or trap."""
    before: str
    """As it was, in words."""
    after: str
    """As it will be, in words."""
    mean_before: Fraction | None = None
    """For a figure, the block's mean as it was; else what its rule compares. [moths/trap/week; a sum: moths/trap]"""
    mean_after: Fraction | None = None
    """The same as it will be."""
    looks: str = ""
    """What its rule compares, in words; empty where that is the mean."""
    compared: Fraction | None = None
    """For a figure, what its rule will compare, where that is not the mean."""

    @property
    def needs_a_word(self) -> bool:
        """Whether it is to be said before the change is accepted; a figure that leaves its status alone is not."""
        return self.kind not in (ConsequenceKind.FIGURE, ConsequenceKind.COMPARED)

    def __str__(self) -> str:
        if self.kind is ConsequenceKind.NOTIFIED and self.after != NOTHING:
            return f"{self.what}: the grower was called on an older figure; {self.after}"
        return f"{self.what}, {self.on}: {self.kind} {self.before} becomes {self.after}"


def consequences(
    before: Summary, after: Summary, *, biofix_before: Biofixes | None = None, biofix_after: Biofixes | None = None
) -> tuple[Consequence, ...]:
    """Where two summaries of one day differ in what people act on.

    Args:
        before: Summary of the record as it stands.
        after: Summary of the same day with the change.
        biofix_before: Biofixes as they stand, where they are to be compared.
        biofix_after: Biofixes with the change.

    Returns:
        What changes: statuses, biofixes, integrity warnings, conflicts, calls made on an older figure, figures.
    """
    found = [*_blocks(before, after), *_biofixes(after.on, biofix_before or {}, biofix_after or {})]
    for kind, said in _SAID.items():
        was, now = dict(said(before)), dict(said(after))
        for what in sorted(was.keys() | now.keys()):
            old, new = was.get(what, NOTHING), now.get(what, NOTHING)
            if old != new:
                found.append(Consequence(kind, after.on, _named(*what), old, new))
    order = list(ConsequenceKind)
    return tuple(sorted(found, key=lambda one: (order.index(one.kind), natural_key(one.what))))


def _blocks(before: Summary, after: Summary) -> list[Consequence]:
    was = {(row.block, row.species): row for row in before.blocks}
    now = {(row.block, row.species): row for row in after.blocks}
    found = []
    for key in sorted(was.keys() | now.keys()):
        old, new = was.get(key), now.get(key)
        means = (old.mean_per_week if old else None, new.mean_per_week if new else None)
        (was_looked, first), (looks, then) = _compared(old), _compared(new)
        said, looks = (after.on, _named(*key), _verdict(old), _verdict(new)), looks or was_looked
        if said[2] != said[3]:
            found.append(Consequence(ConsequenceKind.STATUS, *said, *((first, then) if looks else means), looks))
            continue
        if means[0] != means[1]:
            found.append(Consequence(ConsequenceKind.FIGURE, *said, *means, looks, then))
        if first != then:
            found.append(Consequence(ConsequenceKind.COMPARED, *said, first, then, looks))
    return found


_LOOKS = {"single-trap": "highest trap", "running": "lowest week", "cumulative": "sum"}


def _compared(row: BlockRow | None) -> tuple[str, Fraction | None]:
    """What a rule that looks at no mean compared, in words, and its value."""
    looks = _LOOKS.get(row.rule.kind, "") if row is not None and row.rule is not None else ""
    return looks, row.rule.value if looks and row is not None and row.rule is not None else None


def _verdict(row: BlockRow | None) -> str:
    if row is None:
        return NOTHING
    return f"{row.status.words}, weak evidence" if row.weak_evidence else row.status.words


def _biofixes(on: date, before: Biofixes, after: Biofixes) -> list[Consequence]:
    found = []
    for key in sorted(before.keys() | after.keys()):
        old, new = before.get(key), after.get(key)
        if old != new:
            block, species, generation = key
            what = f"{_named(block, species)} generation {generation}"
            found.append(Consequence(ConsequenceKind.BIOFIX, on, what, _day(old), _day(new)))
    return found


def _day(day: date | None) -> str:
    return day.isoformat() if day else NOTHING


def _named(*labels: str) -> str:
    return " ".join(sanitize(label, SHOWN) for label in labels)


def _troubles(summary: Summary) -> Iterable[tuple[tuple[str, ...], str]]:
    for one in summary.integrity:
        found = f" ({sanitize(one.found, SHOWN)})" if one.found else ""
        partner = f" with {sanitize(one.partner, SHOWN)}" if one.partner else ""
        since = f" since {one.since}" if one.since else ""
        yield (one.trap,), f"{one.kind.value}{found}{partner}{since}"


def _two_counts(summary: Summary) -> Iterable[tuple[tuple[str, ...], str]]:
    for one in summary.conflicts:
        yield (one.trap, one.read_on.isoformat()), sanitize(one.words)


def _calls(summary: Summary) -> Iterable[tuple[tuple[str, ...], str]]:
    for one in summary.older_figure_calls:
        words = f"told {sanitize(one.notified, SHOWN)}, shows {one.now.value}"
        yield (one.block, one.species, one.round_on.isoformat()), words


_SAID = {ConsequenceKind.INTEGRITY: _troubles, ConsequenceKind.CONFLICT: _two_counts, ConsequenceKind.NOTIFIED: _calls}


SAMPLE_DAYS = 14
"""A sample over its plan is named for so many days, as it stands beside a low catch. Common practice, no source. [d]"""


def attention(
    summary: Summary, programme: Programme, history: History, observations: Observations, office: Office
) -> tuple[Attention, ...]:
    """What needs attention, the most urgent kind first, then by farm and block.

    Args:
        summary: Figures and troubles of the seven days; its blocks are those looked at.
        programme: What is set up.
        history: The record up to the day.
        observations: Samples and treatments of the season.
        office: Its own sampling plans.

    Returns:
        One item for each thing that somebody has to act on or to know before acting; a block over its threshold on the
        mean of one trap is named for both.
    """
    blocks = frozenset(row.block for row in summary.blocks)
    farms = {trouble.trap: trouble.farm for trouble in summary.integrity}
    found = [
        *(one for row in summary.blocks for one in _block(row)),
        *_samples(programme, observations, office, blocks, summary.on),
        *(_trap(trouble, farms) for trouble in summary.integrity),
        *_treatments(programme, history, observations, blocks, summary.on),
        *_newer(programme, observations, blocks, summary.on),
    ]
    order = list(AttentionKind)
    return tuple(
        sorted(
            found, key=lambda one: (order.index(one.kind), natural_key(one.farm), natural_key(one.block), one.species)
        )
    )


def few_words(row: BlockRow) -> str:
    """On how many traps a mean rests."""
    return f"{row.counted} of {row.hung} traps counted"


_FOR = {"single-trap": " for any one trap", "running": " for weeks in a row", "cumulative": " for the sum"}


def _block(row: BlockRow) -> Iterable[Attention]:
    kinds = {Status.OVER: AttentionKind.OVER, Status.WITHIN: AttentionKind.WITHIN}
    # A mean of fewer than three traps although three or more hang.
    few = 0 < row.counted < FEW_TRAPS <= row.hung
    if row.status in kinds:
        words = "over its threshold"
        if row.status is Status.WITHIN and row.band is not None and row.rule is not None:
            low, high = (f"{float(one):g}" for one in row.band)
            words = f"between its two numbers ({low} and {high}{_FOR.get(row.rule.kind, '')})"
        notes = [*([few_words(row)] if few else []), *row.headline]
        yield _of(row, kinds[row.status], "; ".join([words, *notes]))
    elif row.status is Status.CANNOT_TELL:
        yield _of(row, AttentionKind.CANNOT_TELL, "; ".join(words for words in (row.why, *row.headline) if words))
    elif row.headline:
        yield _of(row, AttentionKind.CHANGED, "; ".join([row.status.words, *row.headline]))
    if few:
        yield _of(row, AttentionKind.FEW_TRAPS, few_words(row))


def _of(row: BlockRow, kind: AttentionKind, words: str) -> Attention:
    return Attention(kind, row.farm, row.block, row.species, None, words)


def _trap(trouble: Trouble, farms: Mapping[str, str]) -> Attention:
    """A suspect trap. The words go into its grower's letter, so a trap of another farm is not named in them."""
    what = trouble.kind.words
    held = f" ({trouble.found})" if trouble.found else ""
    at_home = trouble.partner is not None and farms.get(trouble.partner) == trouble.farm
    partner = f" with {trouble.partner}" if at_home else ""
    since = f" since {trouble.since.isoformat()}" if trouble.since else ""
    words = f"{trouble.trap}: {what}{held}{partner}{since}"
    return Attention(AttentionKind.SUSPECT, trouble.farm, trouble.block, trouble.species, trouble.trap, words)


def _samples(
    programme: Programme, observations: Observations, office: Office, blocks: Collection[str], on: date
) -> Iterable[Attention]:
    """The newest sample of each kind that is over its plan; one without a plan is held against the first that fits."""
    recent = [
        sample
        for sample in observations.samples
        if sample.block in blocks and 0 <= (on - sample.sampled_on).days < SAMPLE_DAYS
    ]
    if not recent:
        return
    # Holds the published plans, which nothing else needs on the way to the first screen.
    from roundtui.domain.sampling.findings import judged_row, sample_table
    from roundtui.domain.sampling.records import Outcome

    table = sample_table(office)
    newest = {
        (sample.block, sample.kind, sample.pest, sample.looked_at): sample for sample in sorted(recent, key=_in_order)
    }
    for sample in newest.values():
        row = judged_row(sample, table, programme)
        if row.verdict.outcome is Outcome.OVER:
            farm, words = programme.farm_of(sample.block), _sample_words(sample)
            yield Attention(AttentionKind.SAMPLE, farm, sample.block, sample.pest, None, words)


def _in_order(sample: Sample) -> tuple[object, ...]:
    return (sample.sampled_on, str(sample.recorded_at or ""), sample.id)


def _sample_words(sample: Sample) -> str:
    found = "injured" if sample.kind is SampleKind.FRUIT else "with it"
    pest = f" ({sample.pest})" if sample.pest else ""
    units = sample.looked_at if sample.kind is SampleKind.FRUIT else f"{sample.looked_at} units"
    return (
        f"{sample.kind.value} sample over its plan: {sample.found} of {sample.looked} {units} {found}{pest},"
        f" {sample.sampled_on.isoformat()}"
    )


def _treatments(
    programme: Programme, history: History, observations: Observations, blocks: Collection[str], on: date
) -> Iterable[Attention]:
    """The newest treatment of each block against a species after which the catch does not come down."""
    said = [one for one in observations.treatments if one.block in blocks]
    if not said:
        return
    from roundtui.domain.figures.treatments import NOTIFIED_DAYS, Watch, WatchVerdict, treated_in

    newest: dict[tuple[str, str], Watch] = {}
    for one in treated_in(programme, history, said, on, against=observations.untreated, days=NOTIFIED_DAYS):
        key = one.watch.block, one.watch.species
        if key not in newest or newest[key].treated_on < one.watch.treated_on:
            newest[key] = one.watch
    for seen in newest.values():
        if seen.verdict is WatchVerdict.NOT_DOWN:
            farm = programme.farm_of(seen.block)
            words = f"{seen.said} after the treatment of {seen.treated_on.isoformat()}"
            yield Attention(AttentionKind.NOT_DOWN, farm, seen.block, seen.species, None, words)


def _newer(programme: Programme, observations: Observations, blocks: Collection[str], on: date) -> Iterable[Attention]:
    """Entries that only a newer program understands, those about no block here too."""
    for one in observations.newer:
        hanging = programme.hanging(one.trap, on) if one.trap else None
        block = one.block or (hanging.block if hanging else "")
        if not block or block in blocks:
            many = f"{one.number} {'entry' if one.number == 1 else 'entries'} ({sanitize(one.kind, SHOWN)})"
            words = f"{many} of a newer roundtui; the figure stands without"
            yield Attention(AttentionKind.NEWER, programme.farm_of(block), block, "", one.trap or None, words)


def to_call(items: Sequence[Attention]) -> tuple[Attention, ...]:
    """What a grower is called about: everything on the list about farms with something to act on.

    Args:
        items: The list.

    Returns:
        The items of those farms alone, in their order: a farm that has suspect traps or few traps only is not called.
    """
    farms = {one.farm for one in items if one.kind in _TO_ACT_ON}
    return tuple(one for one in items if one.farm in farms)


_TO_ACT_ON = (AttentionKind.OVER, AttentionKind.WITHIN, AttentionKind.SAMPLE, AttentionKind.NOT_DOWN)
