"""A leaf or fruit sample in words, for tables, letters and the screen: text from people has gone through ``sanitize``.

Leaf and fruit samples: the section of a summary, the tables of their command, and its JSON.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta
from fractions import Fraction
from typing import Any

from roundtui.domain.entries import SampleKind
from roundtui.domain.intervals import ALIKE
from roundtui.domain.programme.cautions import NOT_A_PRESCRIPTION
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.sampling import findings
from roundtui.domain.sampling.records import Measure, Outcome, Plan, Sought, plural
from roundtui.domain.text import sanitize, several
from roundtui.report import text as numbers
from roundtui.report.text import NAME_WIDTH, WORDS, Names, Section, as_name, as_note, heading, json_of, paragraph
from roundtui.store.figures.summary import DaySummary

VERDICTS = {Outcome(word): words for word, _, words in WORDS["samples"]}
"""A verdict for those who were not there."""
MARKS = {Outcome(word): mark for word, mark, _ in WORDS["samples"]}
"""What says a verdict without colour, beside its words."""
PREDATORS_TO_MITES = 10
"""Mites to one predator up to which a stand keeps under its number. Source: Penn State, aginfo.net/report/34343."""

_NARROW = 0.05


def sought_words(sought: Sought) -> str:
    """What is looked for.

    Args:
        sought: As it stands in the table, or a free word.
    """
    return sanitize(sought.name, NAME_WIDTH + 20)


def found_words(row: findings.SampleRow) -> str:
    """How many had it, as a count and as a share with its exact interval.

    Args:
        row: The sample.
    """
    unit = as_name(plural(row.sample.looked_at, row.sample.looked))
    what = "injured" if row.sample.kind is SampleKind.FRUIT else "with it"
    between = interval_words(row.interval, row.by_trees)
    return f"{row.sample.found} of {row.sample.looked} {unit} {what}, {percent(row)} % ({between})"


def percent(row: findings.SampleRow) -> str:
    """The share in percent, on its side of the plan's numbers.

    Args:
        row: The sample.
    """
    return numbers.figure(row.share * 100, tuple(edge * 100 for edge in _edges(row, Measure.SHARE)))


def per_unit(row: findings.SampleRow) -> str:
    """Animals a unit, on their side of the plan's numbers.

    Args:
        row: The sample; ``per_unit`` is there.
    """
    return numbers.figure(row.per_unit, _edges(row, Measure.MEAN))


def _edges(row: findings.SampleRow, measure: Measure) -> tuple[Fraction, ...]:
    """The numbers of its plan, where that compares so."""
    edges = [row.plan.low, row.plan.high] if row.plan is not None and row.plan.measure is measure else []
    return tuple(edge for edge in edges if edge is not None)


def interval_words(interval: tuple[float, float], by_trees: tuple[float, float] | None = None) -> str:
    """An interval, with what it takes the units for.

    Args:
        interval: Lower and upper end were each unit picked by itself. [1]
        by_trees: The same for what the trees are worth. [1]
    """
    low, high = interval_ends(by_trees or interval)
    return f"{low} to {high} % {'by its trees' if by_trees else 'if picked one by one'}"


def interval_ends(interval: tuple[float, float]) -> tuple[str, str]:
    """Ends of an interval in percent, with two decimals where one would say little.

    Args:
        interval: Lower and upper end. [1]
    """
    decimals = 2 if interval[1] < _NARROW else 1
    return f"{100 * interval[0]:.{decimals}f}", f"{100 * interval[1]:.{decimals}f}"


def verdict_words(row: findings.SampleRow) -> str:
    """What the plan says, with what stands behind it.

    Args:
        row: The sample.
    """
    verdict = row.verdict
    words = VERDICTS[verdict.outcome]
    if verdict.outcome is Outcome.MORE:
        words += f", {several(verdict.more, row.sample.looked_at, plural(row.sample.looked_at))} more"
    marks = [as_note(verdict.why)] if verdict.why else []
    marks += ["worked out, not printed in the plan"] if verdict.derived else []
    return f"{words} ({'; '.join(marks)})" if marks else words


def number_words(plan: Plan, unit: str) -> str:
    """The number of a plan.

    Args:
        plan: The plan.
        unit: The unit that is looked at.
    """
    if plan.measure is Measure.STOPS:
        ends = (
            f"at {stop.looked} with {stop.low} or fewer" + (f" or with {stop.high} or more" if stop.high else "")
            for stop in plan.stops
        )
        return f"stops, of {plural(unit)}, {'; '.join(ends)}"
    low, high = plan.low or Fraction(0), plan.high or Fraction(0)
    times = 100 if plan.measure is Measure.SHARE else 1
    number = numbers.band((low * times, high * times))
    sign = "more than " if plan.above else ""
    of = f"of {plan.units} {plural(unit)}" if plan.units else ""
    ending = f" % {of}" if plan.measure is Measure.SHARE else f" a {unit}, on {plan.units} {plural(unit)}"
    return f"{sign}{number}{ending}".rstrip()


def plan_words(plan: Plan, unit: str) -> str:
    """A plan with its number, its source and what is odd about it.

    Args:
        plan: The plan.
        unit: The unit that is looked at.
    """
    when = f", {plan.date.isoformat()}" if plan.date else ""
    source = as_note(plan.source)
    parts = [f"{as_name(plan.id)}: {number_words(plan, unit)}. Source: {source}{when}"]
    if plan.units_source:
        parts.append(f"Number of {plural(unit)}: {as_note(plan.units_source)}")
    if plan.note:
        parts.append(as_note(plan.note[:1].upper() + plan.note[1:]))
    return ". ".join(parts) + "."


def presence_words(row: findings.SampleRow) -> str:
    """Mites a leaf that the published table makes of the leaves with any; empty where it makes none.

    Args:
        row: The sample.
    """
    if row.by_presence is None or not row.sample.found:
        return ""
    low, high = row.by_presence
    counted = as_name(row.sought.counted)
    if high is None:
        return f"more than {numbers.number(low)} {counted} a leaf"
    if low == high:
        return f"about {numbers.number(low)} {counted} a leaf"
    return f"between {numbers.number(low)} and {numbers.number(high)} {counted} a leaf"


def further_words(row: findings.SampleRow) -> list[str]:
    """What else was noted: figures a unit, predators, grade, entries and stings, trees, place and note.

    Args:
        row: The sample.
    """
    sample, unit = row.sample, as_name(plural(row.sample.looked_at))
    words = []
    if row.per_unit is not None and row.sought.counted and sample.found:
        words.append(f"{per_unit(row)} {as_name(row.sought.counted)} a {as_name(sample.looked_at)}")
    elif made := presence_words(row):
        words.append(f"{made} by the table of leaves with mites")
    if sample.beneficials is not None:
        words.append(f"predators on {sample.beneficials} {unit}{_kept_under(row)}")
    words += [
        f"{number} with {what}"
        for number, what in (
            (sample.entries, "entries"),
            (sample.stings, "stings only, apart"),
            (sample.other_injury, "other"),
        )
        if number
    ]
    if sample.grade is not None:
        words.append(f"grade {sample.grade}, {findings.GRADES[sample.grade]}")
    if sample.trees is not None:
        words.append(several(sample.trees, "tree"))
    words += [as_note(text) for text in (sample.place, sample.note) if text]
    return words


def _kept_under(row: findings.SampleRow) -> str:
    mites, units = row.sample.counted, row.sample.beneficials
    if not row.sought.by_presence or not mites or not units or units * PREDATORS_TO_MITES < mites:
        return ""
    return ", so at least 1 to 10 mites, by which Penn State takes mites to be held"


def sample_sentence(row: findings.SampleRow) -> str:
    """A sample in one line: what was looked for, found, and what its plan says.

    Args:
        row: The sample.
    """
    plan = f", {as_name(row.plan.id)}" if row.plan is not None else ""
    words = [f"{sought_words(row.sought)}: {found_words(row)}", f"{verdict_words(row)}{plan}", *further_words(row)]
    return "; ".join(words)


TITLE = "Leaf and fruit checks"
CLUSTERED = (
    f"By its trees: holds in 95 of 100 samples while units of one tree are alike by {ALIKE} at most, which nobody "
    "measured here. If picked one by one: the same if no two were of one tree; a sample of few trees says less."
)
"""What an interval does not know."""
DAYS_SOURCE = (
    "Leaf-infested days: per cent of leaves × days, limits of a season 1,500 (Williams pear), about 2,000 (Packham), "
    "over 2,500 (most apples), Tree Fruit 2019, treefruit.com.au. Mite-days: about 500 in apple, New York; scorch of 5 "
    "to 10 % in Bartlett pear at 100 to 150, or 1,500 to 2,500 leaf-infested days, Australia 1990-92, abstract. New "
    "York samples again after 7 or 14 days; its table was not to be read."
)
"""Limits that were published for what mites add up to. The tool compares with none of them."""


def _mite_days(rows: Iterable[findings.SampleRow], names: Names) -> Section:
    found = [
        f"{names.place(block)}, {as_name(name)}, {first} to {last}: {numbers.figure(days.leaves)} "
        + "leaf-infested days"
        + ("" if days.animals is None else f", {numbers.figure(days.animals)} mite-days")
        for (block, name), (first, last, days) in findings.infested_days(rows).items()
    ]
    return [*(paragraph(f"{words}.") for words in found), paragraph(DAYS_SOURCE, 4)] if found else []


def sample_section(asked: DaySummary) -> Section:
    """The samples of the last fourteen days, the newest of each kind in each block.

    Args:
        asked: What it is made from.
    """
    if not asked.observations.samples:
        return []
    # The table of plans is loaded where there is a sample to hold against one.

    table = findings.sample_table(asked.office)
    first = asked.summary.on - timedelta(days=findings.RECENT_DAYS - 1)
    newest = {
        (sample.block, sample.kind, sample.pest, sample.looked_at): sample
        for sample in asked.observations.samples
        if first <= sample.sampled_on <= asked.summary.on
    }
    rows = [findings.sample_row(sample, table) for sample in newest.values()]
    return [heading(TITLE), *_lines(rows, Names(asked.programme))] if rows else []


def samples_tables(rows: Sequence[findings.SampleRow], programme: Programme) -> Section:
    """All samples of a season, block by block.

    Args:
        rows: The samples.
        programme: Names of farms and blocks.
    """
    if not rows:
        return [heading("No leaf or fruit check this season.")]
    names = Names(programme)
    return numbers.stacked(
        [[heading(TITLE), *_lines(rows, names)], numbers.titled("Before anything is done", [f"- {NOT_A_PRESCRIPTION}"])]
    )


def _lines(rows: Sequence[findings.SampleRow], names: Names) -> Section:
    from roundtui.domain.sampling.data import BY_PRESENCE_NOTE

    ordered = sorted(rows, key=lambda row: (natural_key(row.sample.block), row.sample.sampled_on, row.sample.id))
    lines: Section = [
        paragraph(
            f"{MARKS[row.verdict.outcome]} {names.place(row.sample.block)}, {row.sample.sampled_on.isoformat()}: "
            f"{sample_sentence(row)}."
        )
        for row in ordered
    ]
    plans: dict[str, tuple[Plan, str]] = {
        row.plan.id: (row.plan, row.sample.looked_at) for row in ordered if row.plan is not None
    }
    lines += [paragraph(f"Plan {plan_words(plan, as_name(unit))}", 4) for plan, unit in plans.values()]
    if any(presence_words(row) for row in ordered):
        lines.append(paragraph(f"{BY_PRESENCE_NOTE[:1].upper()}{BY_PRESENCE_NOTE[1:]}.", 4))
    return [*lines, *_mite_days(ordered, names), paragraph(CLUSTERED)]


def fruit_words(asked: DaySummary) -> dict[tuple[str, str], str]:
    """What the newest fruit sample found in blocks whose low catch is weak evidence, by block and species.

    Args:
        asked: What it is made from. A block without a sample in the last fourteen days is left out.
    """
    if not asked.observations.samples:
        return {}

    table = findings.sample_table(asked.office)
    found = {}
    for row in asked.summary.blocks:
        about = asked.observations.samples, row.block, row.species, asked.summary.on
        if row.weak_evidence and (sample := findings.fruit_sample(*about)) is not None:
            shown = findings.sample_row(sample, table)
            stings = f", stings only on {sample.stings}" if sample.stings else ""
            found[row.block, row.species] = (
                f"the fruit on {sample.sampled_on.isoformat()}: {found_words(shown)}{stings}; {verdict_words(shown)}"
            )
    return found


def samples_json(rows: Sequence[findings.SampleRow], programme: Programme) -> list[dict[str, Any]]:
    """What ``samples --json`` prints: exact inside, floats on the way out, null where a figure does not exist.

    Args:
        rows: The samples.
        programme: What is set up.
    """
    return [
        {
            "id": row.sample.id,
            "farm": programme.farm_of(row.sample.block),
            **json_of(row.sample, "block sampled_on scout kind pest"),
            "name": row.sought.name,
            **json_of(row.sample, "looked_at looked found"),
            "share": float(row.share),
            "percent": float(row.share * 100),
            "interval_percent": [100 * end for end in row.interval],
            "by_trees_percent": [100 * end for end in row.by_trees] if row.by_trees else None,
            "score_interval_percent": [100 * end for end in row.score_interval],
            "clean_percent": row.clean_percent,
            "counted": row.sample.counted,
            **json_of(row, "per_unit per_unit_by_presence=by_presence"),
            **json_of(row.verdict, "verdict=outcome more derived why"),
            **json_of(row.sample, "plan?"),
            **json_of(row, "source=plan.source"),
            **json_of(row.sample, "grade beneficials entries stings other_injury trees place note"),
        }
        for row in rows
    ]
