"""Leaf and fruit samples: what is looked for in a block, what is impossible of an entry, and what an entry shows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise

from roundtui.domain.entries import Sample, SampleKind, Visit
from roundtui.domain.figures.rules import Office
from roundtui.domain.intervals import ALIKE, clean_chance, clopper_pearson, clustered, wilson
from roundtui.domain.programme.farm import Programme, grouped, natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.round.walk import last_readings
from roundtui.domain.sampling import records
from roundtui.domain.sampling.data import SHIPPED_SAMPLES
from roundtui.domain.text import SHOWN, sanitize
from roundtui.errors import Problem

RECENT_DAYS = 14
"""Days for which a fruit sample stands beside a low catch under mating disruption. [d]"""
INTO_FRUIT = ("CM", "OFM", "AM", "OBLR", "RBLR", "TABM")
"""Species whose larvae are looked for in fruit, the commonest first."""
GRADES = ("absent", "trace", "slight, below threshold", "moderate, above", "heavy", "severe")
"""Severity from 0 to 5. Source: NIAB best practice, pest and disease assessment."""
MOST = 99_999
"""Most units or animals of one sample."""


class SampleRow(Frozen):
    """A sample with what it shows."""

    sample: Sample
    """The entry."""
    sought: records.Sought
    """What was looked for."""
    plan: records.Plan | None
    """Plan it was walked by; None where it was walked by none, or by one that nobody knows here."""
    verdict: records.SampleVerdict
    """What the plan says."""
    share: Fraction
    """Units with it, of those looked at. [1]"""
    interval: tuple[float, float]
    """Exact interval of the share, 95 % where units are picked one by one. [1]"""
    by_trees: tuple[float, float] | None
    """The same for what its trees are worth; None where they are too few, or nobody wrote them down. [1]"""
    score_interval: tuple[float, float]
    """Score interval of the share, 95 %. [1]"""
    per_unit: Fraction | None
    """Animals or marks a unit; None where they were not counted."""
    by_presence: tuple[Fraction, Fraction | None] | None
    """Animals a unit between two rows of a published table, where only presence was noted."""

    @property
    def clean_percent(self) -> dict[str, list[float]]:
        """How often blocks with so much injured fruit, in percent, pass as clean as well, in percent.

        Fruit of one tree unlike each other, and alike by ``ALIKE``; without trees the first alone. Empty where
        something was found.

        Source of the shares: 0.2 %, INTA Alto Valle; 0.5 %, New Zealand stone fruit, and Washington State University.
        """
        one = self.sample
        if self.plan is None or one.kind is not SampleKind.FRUIT or one.found:
            return {}
        likes, trees = ((0, ALIKE), min(one.trees, one.looked)) if one.trees else ((0,), 1)
        return {
            f"{share}": [100 * clean_chance(one.looked, trees, share / 100, alike) for alike in likes]
            for share in (0.2, 0.5)
        }


class HighestCatch(Frozen):
    """The trap of a block with the highest catch."""

    trap: str
    """Its label."""
    species: str
    """Its species."""
    row: str
    """Orchard row; empty where nobody wrote it down."""
    tree: str
    """Tree in the row; likewise."""
    per_week: Fraction
    """Its newest catch. [moths/trap/week]"""
    read_on: date
    """Day of that reading."""


def sample_table(office: Office) -> tuple[records.Sought, ...]:
    """What is looked for, the office's own before what ships.

    Args:
        office: What the office settled for itself.
    """
    own = {sought.key: sought for sought in office.samples}
    return (*office.samples, *(sought for sought in SHIPPED_SAMPLES if sought.key not in own))


def day_of_year(on: date, *, south: bool = False) -> records.MonthDay:
    """Month and day as plans have them, half a year on in the south: derived, since all plans are from the north.

    Args:
        on: The day.
        south: Whether the block lies south of the equator.
    """
    return ((on.month + 5) % 12 + 1 if south else on.month), on.day


def in_the_south(programme: Programme, block: str) -> bool:
    """Whether the station of a block lies south of the equator.

    Args:
        programme: What is set up.
        block: Code of the block.
    """
    known = programme.blocks.get(block)
    station = programme.stations.get(known.station) if known else None
    return station is not None and station.lat is not None and station.lat < 0


def to_look_for(
    table: Sequence[records.Sought], crop: str, day: records.MonthDay, chosen: Sequence[str] = ()
) -> tuple[tuple[records.Sought, bool], ...]:
    """What can be looked for on a crop: what was chosen last, then what is in season, then the rest.

    Args:
        table: What is looked for.
        crop: Crop of the block.
        day: Month and day, as ``day_of_year`` gives them.
        chosen: Names of what was chosen before, the last one first; see ``name_of``.

    Returns:
        Each with whether this is its time of the year.
    """
    fits = [sought for sought in table if not sought.crops or crop.casefold() in sought.crops]
    found = [(sought, not sought.months or day[0] in sought.months) for sought in fits]

    def place(row: tuple[records.Sought, bool]) -> tuple[int, bool]:
        name = name_of(row[0])
        return (chosen.index(name) if name in chosen else len(chosen)), not row[1]

    return tuple(sorted(found, key=place))


def name_of(sought: records.Sought) -> str:
    """One word for something looked for, to be kept.

    Args:
        sought: What is looked for.
    """
    return "/".join((sought.kind.value, sought.code, sought.looked_at))


def plans_on(sought: records.Sought, day: records.MonthDay) -> tuple[records.Plan, ...]:
    """Plans that hold on a day, the first to be used first.

    Args:
        sought: What is looked for.
        day: Month and day, as ``day_of_year`` gives them.
    """
    return tuple(plan for plan in sought.plans if plan.holds_on(day))


def sought_of(table: Iterable[records.Sought], kind: SampleKind, pest: str, looked_at: str) -> records.Sought:
    """What an entry is about; a free word is looked for without a plan.

    Args:
        table: What is looked for.
        kind: Leaf or fruit.
        pest: Code, or a free word.
        looked_at: The unit.
    """
    same = [one for one in table if one.kind is kind and one.code.casefold() == pest.casefold()]
    of_unit = next((one for one in same if one.looked_at == looked_at), None)
    if of_unit is not None:
        return of_unit
    name = same[0].name if same else pest or "fruit, any injury"
    plans = tuple(plan for one in same for plan in one.plans)
    counted = same[0].counted if same else ""
    return records.Sought(code=pest, name=name, kind=kind, looked_at=looked_at, plans=plans, counted=counted)


def sample_row(sample: Sample, table: Sequence[records.Sought]) -> SampleRow:
    """A sample with what it shows.

    Args:
        sample: The entry.
        table: What is looked for.
    """
    sought = sought_of(table, sample.kind, sample.pest, sample.looked_at)
    plan = next((one for one in sought.plans if one.id == sample.plan), None)
    counted = 0 if sample.found == 0 and sought.counted else sample.counted
    seen = records.Seen(sample.looked, sample.found, counted)
    verdict = records.judge(plan, seen, sought.by_presence)
    if sample.plan and plan is None:
        verdict = records.SampleVerdict(
            records.NO_PLAN.outcome, why=f"the plan {sanitize(sample.plan, SHOWN)} is not known here"
        )
    return SampleRow(
        sample=sample,
        sought=sought,
        plan=plan,
        verdict=verdict,
        share=Fraction(sample.found, sample.looked),
        interval=clopper_pearson(sample.found, sample.looked),
        by_trees=clustered(sample.found, sample.looked, sample.trees),
        score_interval=wilson(sample.found, sample.looked),
        per_unit=None if counted is None else Fraction(counted, sample.looked),
        by_presence=records.presence(sought.by_presence, sample.looked, sample.found) if counted is None else None,
    )


class InfestedDays(Frozen):
    """What mites on leaves add up to over the days between samples."""

    leaves: Fraction
    """Per cent of leaves infested, times days. [%·d]"""
    animals: Fraction | None
    """Mites a leaf times days; None where a sample did not count them. [mites/leaf·d]"""


def infested_days(rows: Iterable[SampleRow]) -> dict[tuple[str, str], tuple[date, date, InfestedDays]]:
    """What mites add up to: of each two samples that follow each other the mean, times the days between.

    Args:
        rows: Samples of one season.

    Returns:
        By block and name of the mite: first and last day, and the sums. One sample alone adds up to nothing.

    Source: leaf-infested days: (number of days between) × (% infested first + % infested then)/2, summed: Tree Fruit
    2019, Mite management in orchards, part 4, treefruit.com.au; mite-days likewise.
    """
    ordered = sorted(rows, key=lambda one: (one.sample.sampled_on, one.sample.id))
    known = grouped(((row.sample.block, row.sought.name), row) for row in ordered if row.sought.by_presence)
    found = {}
    for key, group in known.items():
        steps = [(two.sample.sampled_on - one.sample.sampled_on).days for one, two in pairwise(group)]
        shares = [100 * row.share for row in group]
        mites = [row.per_unit for row in group]
        leaves = sum((n * (a + b) / 2 for n, (a, b) in zip(steps, pairwise(shares), strict=True)), Fraction(0))
        counted = [one for one in mites if one is not None]
        animals = sum((n * (a + b) / 2 for n, (a, b) in zip(steps, pairwise(counted), strict=False)), Fraction(0))
        if len(group) > 1:
            days = InfestedDays(leaves, animals if len(counted) == len(mites) else None)
            found[key] = (group[0].sample.sampled_on, group[-1].sample.sampled_on, days)
    return found


def judged_row(sample: Sample, table: Sequence[records.Sought], programme: Programme) -> SampleRow:
    """A sample with what it shows; one walked by no plan is held against the first plan that holds on its day.

    Fruit looked at for one pest that has no plan of its own is held against that for any injury.

    Args:
        sample: The entry.
        table: What is looked for.
        programme: For the half of the earth that the block lies on.
    """
    row = sample_row(sample, table)
    if sample.plan:
        return row
    day = day_of_year(sample.sampled_on, south=in_the_south(programme, sample.block))
    for pest in dict.fromkeys((sample.pest, "") if sample.kind is SampleKind.FRUIT else (sample.pest,)):
        plans = plans_on(sought_of(table, sample.kind, pest, sample.looked_at), day)
        if plans:
            return sample_row(replace(sample, pest=pest, plan=plans[0].id), table)
    return row


def fruit_sample(samples: Iterable[Sample], block: str, species: str, on: date) -> Sample | None:
    """The newest fruit sample of a block in the last fourteen days that says something of a species.

    Args:
        samples: Present looks.
        block: Code of the block.
        species: Abbreviation of the species; a look for any injury counts too.
        on: The day.
    """
    first = on - timedelta(days=RECENT_DAYS - 1)
    found = [
        sample
        for sample in samples
        if sample.kind is SampleKind.FRUIT
        and sample.block == block
        and sample.pest in {"", species}
        and first <= sample.sampled_on <= on
    ]
    return max(found, key=lambda sample: (sample.sampled_on, sample.id), default=None)


def highest_catch(
    programme: Programme,
    visits: Callable[[str], Sequence[Visit]],
    block: str,
    on: date,
    pest: str = "",
    *,
    trusted: Callable[[Visit], bool] = lambda _: True,
) -> HighestCatch | None:
    """The trap from which a fruit sample starts: that with the highest newest catch of its species in the block.

    Args:
        programme: What is set up.
        visits: Gives the present visits of a trap in order.
        block: Code of the block.
        on: The day; readings older than fourteen days are passed over.
        pest: Species the sample is about; empty: the first of ``INTO_FRUIT`` that hangs there.
        trusted: Whether a count is believed; a trap whose newest one is not is passed over.

    Returns:
        None where no trap of such a species caught anything.
    """
    found = []
    for hangings in programme.hangings.values():
        for hanging in hangings:
            if hanging.block != block or not hanging.hangs_on(on):
                continue
            for visit, reading in last_readings(hanging, visits(hanging.trap), on):
                rate = reading.per_week if reading is not None and not reading.conflict else None
                if rate is not None:
                    if (on - visit.read_on).days < RECENT_DAYS and trusted(visit):
                        one = HighestCatch(
                            hanging.trap, hanging.species, hanging.row, hanging.tree, rate, visit.read_on
                        )
                        found.append(one)
                    break
    wanted = (pest,) if pest else INTO_FRUIT
    for species in wanted:
        own = [one for one in found if one.species == species and one.per_week > 0]
        if own:
            return max(sorted(own, key=lambda one: natural_key(one.trap)), key=lambda one: one.per_week)
    return None


def check_sample(sample: Sample, programme: Programme) -> tuple[Problem, ...]:
    """What makes a sample impossible. Only the impossible is refused.

    Args:
        sample: The entry.
        programme: What is set up.

    Returns:
        The problems, none for a sample that can be recorded.
    """
    where = f"{sanitize(sample.block, SHOWN)} on {sample.sampled_on}"
    wrong = [*_numbers(sample), *(_of_fruit(sample) if sample.kind is SampleKind.FRUIT else _of_leaf(sample))]
    if sample.block not in programme.blocks:
        wrong.append((f"there is no block {sanitize(sample.block, SHOWN)}", "check the label, or set it up first"))
    if not sample.looked_at.strip():
        wrong.append(("nobody knows what was looked at", "write leaf, shoot, cluster, tree, truss, tap or fruit"))
    return tuple(Problem(where, message, hint) for message, hint in wrong)


def _numbers(sample: Sample) -> Iterable[tuple[str, str]]:
    unit = sanitize(records.plural(sample.looked_at), SHOWN)
    if not 1 <= sample.looked <= MOST:
        yield f"{sample.looked} {unit} cannot have been looked at", f"write 1 to {MOST}"
    if not 0 <= sample.found <= sample.looked:
        yield f"{sample.found} of {sample.looked} {unit} cannot have it", "write at most as many as were looked at"
    if sample.counted is not None and (sample.counted < sample.found or (sample.counted and not sample.found)):
        yield (
            f"{sample.counted} counted on {sample.found} {unit} cannot be",
            "each of the units found has at least one, and the others have none",
        )
    if sample.beneficials is not None and not 0 <= sample.beneficials <= sample.looked:
        yield (
            f"predators on {sample.beneficials} of {sample.looked} {unit} cannot be",
            "write at most as many as looked at",
        )
    if sample.trees is not None and not 1 <= sample.trees <= MOST:
        yield f"{sample.trees} trees cannot have been walked to", f"write 1 to {MOST}, or leave it out"
    if sample.grade is not None and not 0 <= sample.grade < len(GRADES):
        yield f"there is no grade {sample.grade}", "write 0 for absent to 5 for severe"
    elif sample.grade == 0 and sample.found:
        yield f"grade 0 is absent, and {sample.found} {unit} had it", "write 1 to 5, or leave the grade out"


def _of_leaf(sample: Sample) -> Iterable[tuple[str, str]]:
    if not sample.pest.strip():
        yield "nobody knows what was looked for", "write the pest or disease"
    if not (sample.entries is sample.stings is sample.other_injury is None):
        yield "entries, stings and other injury are of fruit", "leave them out, or make it a fruit sample"


def _of_fruit(sample: Sample) -> Iterable[tuple[str, str]]:
    for words, number in (("entries", sample.entries), ("other injury", sample.other_injury)):
        if number is not None and not 0 <= number <= sample.found:
            yield f"{number} fruit with {words} cannot be among {sample.found} injured", "write at most as many"
    if sample.stings is not None and not 0 <= sample.stings <= sample.looked - sample.found:
        yield (
            f"{sample.found} injured and {sample.stings} with stings are more than {sample.looked} fruit",
            "stings stand apart from the injured: a fruit is one or the other",
        )
