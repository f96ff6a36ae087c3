"""A look at leaf or fruit in words, for tables, letters and the screen: text from people has gone through ``plain``.

Looks at leaf and fruit: the section of a summary, the tables of their command, and its JSON.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from rich.console import RenderableType

from roundtui.domain.orchard_entries import LookKind
from roundtui.domain.programme.cautions import NOT_A_PRESCRIPTION
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.sampling.findings import GRADES, LookRow
from roundtui.domain.sampling.records import Measure, Outcome, Plan, Sought, plural
from roundtui.domain.text import plain
from roundtui.report import text as numbers
from roundtui.report.text import NAME_WIDTH, NOTE_WIDTH, Names, Section, heading, paragraph, stacked

if TYPE_CHECKING:
    from roundtui.domain.sampling.findings import LookRow
    from roundtui.domain.sampling.records import Plan
    from roundtui.report.text import Asked

VERDICTS = {
    Outcome.BELOW: "below its plan's number",
    Outcome.WITHIN: "between its plan's numbers",
    Outcome.OVER: "over its plan's number",
    Outcome.MORE: "sample not finished",
    Outcome.CANNOT_TELL: "its plan cannot tell",
    Outcome.NO_PLAN: "not a full sample",
}
"""A verdict for those who were not there."""
MARKS = {
    Outcome.BELOW: "▽",
    Outcome.WITHIN: "◆",
    Outcome.OVER: "▲",
    Outcome.MORE: "…",
    Outcome.CANNOT_TELL: "?",
    Outcome.NO_PLAN: "=",
}
"""What says a verdict without colour, beside its words."""
PREDATORS_TO_MITES = 10
"""Mites to one predator up to which a stand keeps under its number. Source: Penn State, aginfo.net/report/34343."""

_NARROW = 0.05


def sought_words(sought: Sought) -> str:
    """What is looked for.

    Args:
        sought: As it stands in the table, or a free word.
    """
    return plain(sought.name, NAME_WIDTH + 20)


def found_words(row: LookRow) -> str:
    """How many had it, as a count and as a share with its exact interval.

    Args:
        row: The look.
    """
    unit = plain(plural(row.look.looked_at, row.look.looked), NAME_WIDTH)
    what = "injured" if row.look.kind is LookKind.FRUIT else "with it"
    return f"{row.look.found} of {row.look.looked} {unit} {what}, {percent(row)} % ({interval_words(row.interval)})"


def percent(row: LookRow) -> str:
    """The share in percent, on its side of the plan's numbers.

    Args:
        row: The look.
    """
    plan = row.plan
    edges = [plan.low, plan.high] if plan is not None and plan.measure is Measure.SHARE else []
    return numbers.figure(row.share * 100, [edge * 100 for edge in edges if edge is not None])


def per_unit(row: LookRow) -> str:
    """Animals a unit, on their side of the plan's numbers.

    Args:
        row: The look; ``per_unit`` is there.
    """
    plan = row.plan
    edges = [plan.low, plan.high] if plan is not None and plan.measure is Measure.MEAN else []
    return numbers.figure(row.per_unit, [edge for edge in edges if edge is not None])


def interval_words(interval: tuple[float, float]) -> str:
    """An interval of 95 %.

    Args:
        interval: Lower and upper end. [1]
    """
    low, high = interval_ends(interval)
    return f"95 %: {low} to {high} %"


def interval_ends(interval: tuple[float, float]) -> tuple[str, str]:
    """Ends of an interval in percent, with two decimals where one would say little.

    Args:
        interval: Lower and upper end. [1]
    """
    decimals = 2 if interval[1] < _NARROW else 1
    return f"{100 * interval[0]:.{decimals}f}", f"{100 * interval[1]:.{decimals}f}"


def verdict_words(row: LookRow) -> str:
    """What the plan says, with what stands behind it.

    Args:
        row: The look.
    """
    verdict = row.verdict
    words = VERDICTS[verdict.outcome]
    if verdict.outcome is Outcome.MORE:
        words += f", {numbers.several(verdict.more, row.look.looked_at, plural(row.look.looked_at))} more"
    marks = [plain(verdict.why, NOTE_WIDTH)] if verdict.why else []
    marks += ["worked out, not printed in the plan"] if verdict.derived else []
    return f"{words} ({'; '.join(marks)})" if marks else words


def number_words(plan: Plan, unit: str) -> str:
    """The number of a plan.

    Args:
        plan: The plan.
        unit: The unit that is looked at.
    """
    if plan.measure is Measure.STOPS:
        at = numbers.listed(str(stop.looked) for stop in plan.stops)
        ends = ", ".join(
            f"{stop.low} or fewer" + (f" / {stop.high} or more" if stop.high else "") for stop in plan.stops
        )
        return f"stops at {at} {plural(unit)}: {ends}"
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
    parts = [
        f"{plain(plan.id, NAME_WIDTH)}: {number_words(plan, unit)}. Source: {plain(plan.source, NOTE_WIDTH)}{when}"
    ]
    if plan.units_source:
        parts.append(f"Number of {plural(unit)}: {plain(plan.units_source, NOTE_WIDTH)}")
    if plan.note:
        parts.append(plain(plan.note[:1].upper() + plan.note[1:], NOTE_WIDTH))
    return ". ".join(parts) + "."


def presence_words(row: LookRow) -> str:
    """Mites a leaf that the published table makes of the leaves with any; empty where it makes none.

    Args:
        row: The look.
    """
    if row.by_presence is None or not row.look.found:
        return ""
    low, high = row.by_presence
    counted = plain(row.sought.counted, NAME_WIDTH)
    if high is None:
        return f"more than {numbers.number(low)} {counted} a leaf"
    if low == high:
        return f"about {numbers.number(low)} {counted} a leaf"
    return f"between {numbers.number(low)} and {numbers.number(high)} {counted} a leaf"


def beside_words(row: LookRow) -> list[str]:
    """What else was noted: figures a unit, predators, grade, entries and stings, trees, place and note.

    Args:
        row: The look.
    """
    look, unit = row.look, plain(plural(row.look.looked_at), NAME_WIDTH)
    words = []
    if row.per_unit is not None and row.sought.counted and look.found:
        words.append(f"{per_unit(row)} {plain(row.sought.counted, NAME_WIDTH)} a {plain(look.looked_at, NAME_WIDTH)}")
    elif made := presence_words(row):
        words.append(f"{made} by the table of leaves with mites")
    if look.beneficials is not None:
        words.append(f"predators on {look.beneficials} {unit}{_kept_under(row)}")
    words += [
        f"{number} with {what}"
        for number, what in (
            (look.entries, "entries"),
            (look.stings, "stings only, apart"),
            (look.other_injury, "other"),
        )
        if number
    ]
    if look.grade is not None:
        words.append(f"grade {look.grade}, {GRADES[look.grade]}")
    if look.trees is not None:
        words.append(numbers.several(look.trees, "tree"))
    words += [plain(text, NOTE_WIDTH) for text in (look.place, look.note) if text]
    return words


def _kept_under(row: LookRow) -> str:
    mites, units = row.look.counted, row.look.beneficials
    if not row.sought.by_presence or not mites or not units or units * PREDATORS_TO_MITES < mites:
        return ""
    return ", so at least 1 to 10 mites, which keeps mites under the number (Penn State advice)"


def look_sentence(row: LookRow) -> str:
    """A look in one line: what was looked for, found, and what its plan says.

    Args:
        row: The look.
    """
    plan = f", {plain(row.plan.id, NAME_WIDTH)}" if row.plan is not None else ""
    words = [f"{sought_words(row.sought)}: {found_words(row)}", f"{verdict_words(row)}{plan}", *beside_words(row)]
    return "; ".join(words)


TITLE = "Leaf and fruit checks"
CLUSTERED = "Intervals assume units picked one by one. Leaves and fruit of one tree are alike, so few trees say less."
"""What an interval does not know."""


def look_section(asked: Asked) -> Section:
    """The looks of the last fourteen days, the newest of each kind in each block.

    Args:
        asked: What it is made from.
    """
    if not asked.beside.looks:
        return []
    # The table of plans is loaded where there is a look to hold against one.
    from roundtui.domain.sampling.findings import RECENT_DAYS, look_row, look_table

    table = look_table(asked.office)
    first = asked.summary.on - timedelta(days=RECENT_DAYS - 1)
    newest = {
        (look.block, look.kind, look.pest, look.looked_at): look
        for look in asked.beside.looks
        if first <= look.looked_on <= asked.summary.on
    }
    rows = [look_row(look, table) for look in newest.values()]
    return [heading(TITLE), *_lines(rows, asked.names)] if rows else []


def looks_tables(rows: Sequence[LookRow], programme: Programme) -> list[RenderableType]:
    """All looks of a season, block by block.

    Args:
        rows: The looks.
        programme: Names of farms and blocks.
    """
    if not rows:
        return [heading("No leaf or fruit check this season.")]
    names = Names(programme)
    return stacked(
        [
            [heading(TITLE), *_lines(rows, names)],
            [heading("Before anything is done"), paragraph(f"- {NOT_A_PRESCRIPTION}")],
        ]
    )


def _lines(rows: Sequence[LookRow], names: Names) -> Section:
    from roundtui.domain.sampling.data import BY_PRESENCE_NOTE

    ordered = sorted(rows, key=lambda row: (natural_key(row.look.block), row.look.looked_on, row.look.id))
    lines: Section = [
        paragraph(
            f"{MARKS[row.verdict.outcome]} {names.place(row.look.block)}, {row.look.looked_on.isoformat()}: "
            f"{look_sentence(row)}."
        )
        for row in ordered
    ]
    plans: dict[str, tuple[Plan, str]] = {
        row.plan.id: (row.plan, row.look.looked_at) for row in ordered if row.plan is not None
    }
    lines += [paragraph(f"Plan {plan_words(plan, plain(unit, NAME_WIDTH))}", 4) for plan, unit in plans.values()]
    if any(presence_words(row) for row in ordered):
        lines.append(paragraph(f"{BY_PRESENCE_NOTE[:1].upper()}{BY_PRESENCE_NOTE[1:]}.", 4))
    return [*lines, paragraph(CLUSTERED)]


def fruit_words(asked: Asked) -> dict[tuple[str, str], str]:
    """What the newest look at the fruit found in blocks whose low catch is weak evidence, by block and species.

    Args:
        asked: What it is made from. A block without a look in the last fourteen days is left out.
    """
    if not asked.beside.looks:
        return {}
    from roundtui.domain.sampling.findings import fruit_look, look_row, look_table

    table = look_table(asked.office)
    found = {}
    for row in asked.summary.blocks:
        look = fruit_look(asked.beside.looks, row.block, row.species, asked.summary.on) if row.weak_evidence else None
        if look is not None:
            shown = look_row(look, table)
            stings = f", stings only on {look.stings}" if look.stings else ""
            found[row.block, row.species] = (
                f"the fruit on {look.looked_on.isoformat()}: {found_words(shown)}{stings}; {verdict_words(shown)}"
            )
    return found


def looks_json(rows: Sequence[LookRow], programme: Programme) -> list[dict[str, Any]]:
    """What ``looks --json`` prints: exact inside, floats on the way out, null where a figure does not exist.

    Args:
        rows: The looks.
        programme: What is set up.
    """
    return [_json(row, programme) for row in rows]


def _json(row: LookRow, programme: Programme) -> dict[str, Any]:
    look, plan, verdict = row.look, row.plan, row.verdict
    low, high = row.by_presence or (None, None)
    return {
        "id": look.id,
        "farm": programme.farm_of(look.block),
        "block": look.block,
        "looked_on": look.looked_on.isoformat(),
        "scout": look.scout,
        "kind": look.kind.value,
        "pest": look.pest,
        "name": row.sought.name,
        "looked_at": look.looked_at,
        "looked": look.looked,
        "found": look.found,
        "share": float(row.share),
        "percent": float(row.share * 100),
        "interval_percent": [100 * end for end in row.interval],
        "score_interval_percent": [100 * end for end in row.score_interval],
        "counted": look.counted,
        "per_unit": None if row.per_unit is None else float(row.per_unit),
        "per_unit_by_presence": None
        if row.by_presence is None
        else [None if end is None else float(end) for end in (low, high)],
        "verdict": verdict.outcome.value,
        "more": verdict.more,
        "derived": verdict.derived,
        "why": verdict.why,
        "plan": look.plan or None,
        "source": None if plan is None else plan.source,
        "grade": look.grade,
        "beneficials": look.beneficials,
        "entries": look.entries,
        "stings": look.stings,
        "other_injury": look.other_injury,
        "trees": look.trees,
        "place": look.place,
        "note": look.note,
    }
