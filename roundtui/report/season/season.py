"""Degree-days, biofixes and the outlook for people: tables, with what stands behind them in words.

A block's season in words: the point under the cursor, the biofixes, the outlook.
Degree-days, biofixes and the outlook as JSON, with the keys that others rely on.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from itertools import groupby
from typing import TYPE_CHECKING, Any

from roundtui.domain.figures.certainty import PAST_PEAK, interval_words, short_words
from roundtui.domain.figures.rules import rule_name
from roundtui.domain.figures.verdicts import TWO_COUNTS
from roundtui.domain.programme.cautions import SUMMARY_CAUTIONS
from roundtui.domain.programme.farm import Programme
from roundtui.domain.programme.stages import find
from roundtui.domain.season.degree_days import Cutoff, Development, Method
from roundtui.domain.season.models import SpeciesModel
from roundtui.domain.season.outlook import EventOutlook
from roundtui.domain.season.season import BiofixRow, CatchPoint, Coming, OutlookRow
from roundtui.domain.season.weather import DegreeDaySum
from roundtui.domain.text import full_day, listed, sanitize, several, spoken_day, spoken_days
from roundtui.domain.units import TempUnit, convert_temp
from roundtui.report import text
from roundtui.report.text import Section, days, heading, paragraph, tabled, titled

if TYPE_CHECKING:
    from roundtui.domain.season.season import BlockSeason
    from roundtui.store.season.season import SeasonRecord

from roundtui.store.office import read_stage_reference


def sum_tables(
    total: DegreeDaySum, model: SpeciesModel, station: str, first: date, last: date, *, width: int
) -> Section:
    """A running sum of degree-days, day by day.

    Args:
        total: The sum.
        model: The model whose thresholds and method it goes by.
        station: Code of the station.
        first: First day asked for.
        last: Last day asked for.
        width: Columns to fill.
    """
    sign = total.unit.sign
    rows = []
    for row in total.rows:
        figures = (f"{n:.1f}" for n in (row.tmin, row.tmax, row.degree_days, row.total))
        rows.append(("", (row.on.isoformat(), *figures, "filled" if row.filled else "")))
    table = tabled(f"Day 10|Min {sign} >6|Max {sign} >6|Degree-days >11|Sum >7|", width, rows)
    where = text.as_name(station)
    words = f"No degree-days at {where} from {first} on"
    if total.rows:
        words = f"{total.total:.1f} {sign} degree-days at {where} from {first} to {total.rows[-1].on}"
        words += ", first and last day included"
    section: Section = [heading(words), paragraph(f"{model.development}, as {model.id} has it: {model.source}")]
    if total.filled:
        section.append(paragraph(f"Days filled on a straight line between their neighbours: {total.filled}"))
    if total.stopped_on is not None and total.stopped_on <= last:
        section.append(paragraph(f"The sum stops before {total.stopped_on}: {total.why}"))
    return text.stacked([section, table if total.rows else []])


def biofix_tables(rows: Sequence[BiofixRow], programme: Programme, on: date) -> Section:
    """Biofixes by block: what is proposed and why, what is confirmed and by whom.

    Args:
        rows: Biofixes of all blocks.
        programme: Names of blocks and farms.
        on: The day.

    Returns:
        Renderables to print below each other.
    """
    names = text.Names(programme)
    sections: list[Section] = [[heading(f"Biofix as of {on}")]]
    for block, group in groupby(rows, key=lambda row: row.block):
        section: Section = [heading(names.place(block))]
        section += [paragraph(f"{row.species}, {biofix_words(row)}") for row in group]
        sections.append(section)
    rules = {row.biofix.proposal.rule.id: row.biofix.proposal.rule for row in rows if row.biofix.proposal}
    said = sorted((text.as_name(rule_name(id_)), rule.source) for id_, rule in rules.items())
    sections.append(titled("The rules", (f"{id_}: {text.as_note(source)}" for id_, source in said)))
    if not rows:
        sections.append([paragraph("No trap hangs for a species with a biofix rule.")])
    return text.stacked(sections)


def outlook_tables(
    rows: Sequence[OutlookRow], programme: Programme, on: date, nearest: Sequence[Coming], *, width: int
) -> Section:
    """Events by block: reached, or expected with a range, and from which biofix.

    Args:
        rows: Events of all blocks.
        programme: Names of blocks and farms.
        on: The day.
        nearest: What the next days bring, to stand first.
        width: Columns to fill.

    Returns:
        Renderables to print below each other; the cautions stand last.
    """
    names = text.Names(programme)
    sections: list[Section] = [
        [heading(f"Outlook as of {on}")],
        titled("The next ten days", map(coming_words, nearest)),
    ]
    for (block, _), group in groupby(rows, key=lambda row: (row.block, row.species)):
        of_species = list(group)
        section: Section = [heading(f"{names.place(block)}: {of_species[0].species}")]
        for _, view in groupby(of_species, key=lambda row: id(row.outlook)):
            section += _view(list(view), width)
        sections.append(section)
    if not rows:
        sections.append([paragraph("No trap hangs for a species with a model.")])
    cautions = titled("Before anything is done", (f"- {words}" for words in SUMMARY_CAUTIONS))
    return text.stacked([*sections, _sources(rows), cautions])


def coming_words(one: Coming) -> str:
    """One event that is near, in a line.

    Args:
        one: The event.
    """
    blocks, row = ", ".join(text.as_name(block) for block in one.blocks), one.row
    by = "" if row.confirmed else ("; no biofix" if row.outlook.provisional else "; biofix not confirmed")
    name = text.as_name(row.event.event.name)
    return f"{_expected(row.event)} {row.species} {name}, generation {row.event.generation}: {blocks}{by}"


def _view(rows: Sequence[OutlookRow], width: int) -> Section:
    view = rows[0].outlook
    sign = view.model.development.unit.sign
    start = f"from {view.start}" if view.start else "not counting yet"
    sure = "" if rows[0].confirmed else ("; no biofix is set" if view.start is None else "; biofix not confirmed")
    counted = f", counted to {view.counted_to}" if view.counted_to else ""
    events = []
    for event in (row.event for row in rows):
        cells = (when(event), str(event.years or ""), f"{event.event.degree_days:g}", str(event.generation))
        events.append(("", (*cells, text.as_name(event.event.name))))
    table = tabled(f"When 36|Years >5|{sign} >6|Gen. >4|Event", width, events)
    sums = next((row.event.accumulated for row in rows if row.event.accumulated is not None), None)
    so_far = "" if sums is None else f": {sums:.0f} {sign} degree-days so far"
    words = [paragraph(f"Degree-days {start}{counted}{so_far}{sure}. {view.model.development} ({view.model.id}).")]
    if view.why:
        words.append(paragraph(f"{view.why}."))
    return [*words, *table]


def _sources(rows: Sequence[OutlookRow]) -> Section:
    """Who published what is told, once for each model."""
    models = {row.outlook.model.id: row.outlook.model for row in rows}
    said = []
    for id_, model in sorted(models.items()):
        sources = "; ".join(dict.fromkeys((model.source, *(event.source for event in model.events))))
        note = f" {text.as_note(model.note)}" if model.note else ""
        said.append(f"{text.as_name(id_)}: {sanitize(sources, 3 * text.NOTE_WIDTH)}.{note}")
    return titled("Where the events are from", said)


def when(event: EventOutlook) -> str:
    """When an event was, or is to be expected, in words.

    Args:
        event: The event.
    """
    if event.reached_on is not None:
        return f"reached {spoken_day(event.reached_on, event.reached_on)}"
    return f"expected {_expected(event)}" if event.expected_on is not None else event.why or "not known"


def _expected(event: EventOutlook) -> str:
    """The day expected, its range, and what else went into it."""
    on, first, last = event.expected_on or date.max, event.earliest, event.latest
    span = ""
    if first is not None:
        month = f" {first:%b}" if last is None or first.month != last.month else ""
        span = f" (from {first.day}{month} on)" if last is None else f" ({first.day}{month} to {last.day} {last:%b})"
    by = (" by forecast" if event.by_forecast else "") + (" by normal" if event.by_normal else "")
    return f"{spoken_day(on, on)}{span}{by}"


_LABEL = 12
"""Longest label of a trap or block in a sentence. [columns]"""


def event_mark(event: EventOutlook) -> str:
    """``R`` for an event that was reached, ``E`` for one that is expected, a blank for one without a day."""
    return "R" if event.reached_on is not None else "E" if event.expected_on is not None else " "


def event_words(event: EventOutlook) -> str:
    """What an event is, and when it was reached or is expected."""
    what = f"generation {event.generation}, {sanitize(event.event.name, 60)}, {event.event.degree_days:g}"
    years = f", {several(event.years, 'year')}" if event.expected_on is not None and event.years else ""
    return f"{what}: {sanitize(when(event), 90)}{years}"


def biofix_words(row: BiofixRow, on: date | None = None) -> str:
    """Which biofix a generation has, who settled it or that nobody did, by which rule, and what that finds.

    Args:
        row: The biofix.
        on: The day on which it is said; None: days are said with their year.
    """
    proposal, confirmed = row.biofix.proposal, row.biofix.confirmed
    proposed = proposal.on if proposal else None
    state = f"{proposed} proposed, not confirmed" if proposed else "none yet"
    if confirmed is not None:
        settled = row.settled[0] if row.settled else None
        state = f"{confirmed} {'set' if settled and settled.overridden else 'confirmed'}"
        state += f" by {text.as_name(settled.scout)}" if settled and settled.scout else ""
        state += f", not {proposed} as proposed" if proposed not in {None, confirmed} else ""
        state += f" ({text.as_note(settled.reason)})" if settled and settled.reason else ""
    rule, found = ", no rule", "nobody has a rule for it"
    if proposal is not None:
        rule = f", rule {text.as_name(rule_name(proposal.rule.id))}"
        found = "; ".join(filter(None, (proposal.why, proposal.span)))
    doubtful, doubts = (", doubtful", f" ! {'; '.join(row.doubts)}") if row.doubts else ("", "")
    return sanitize(spoken_days(f"Biofix {row.biofix.generation}: {state}{rule}{doubtful}: {found}.{doubts}", on), 800)


def waiting(rows: Sequence[BiofixRow]) -> list[BiofixRow]:
    """Biofixes that a coordinator has still to confirm."""
    return [row for row in rows if row.biofix.confirmed is None and row.biofix.proposal and row.biofix.proposal.on]


def event_line(event: EventOutlook) -> str:
    """The same in a short line, its day first."""
    on = event.reached_on or event.expected_on
    day = f"{on.day} {on:%b}" if on else ""
    return f"{event_mark(event)} {day:>6}  gen. {event.generation} {sanitize(event.event.name, 60)}"


def next_stage(season: BlockSeason) -> EventOutlook | None:
    """The event that fewest degree-days are left to; None where none is counted towards."""
    ahead = [one for one in season.events if one.reached_on is None and one.accumulated is not None]
    return min(ahead, key=lambda one: one.event.degree_days - (one.accumulated or 0), default=None)


def point_words(point: CatchPoint, season: BlockSeason) -> str:
    """All numbers of one round in a sentence, its day first."""
    *parts, sums = point_parts(point, season)
    words = f"{full_day(point.on)}  {'; '.join(parts)}"
    return f"{words}. {sums}" if sums else words


def point_parts(point: CatchPoint, season: BlockSeason) -> list[str]:
    """All numbers of one round: catch, moths, traps, days, the highest trap, and last the degree-days."""
    edges = season.band or ()
    parts = []
    if point.per_week is not None:
        parts.append(
            f"{text.figure(point.per_week, edges)} a trap a week: {several(point.moths, 'moth')}, "
            f"{several(point.traps, 'trap')}, {days(point.days or ())} days"
        )
        if point.highest and point.highest[1] and point.traps > 1:
            parts.append(f"highest {sanitize(point.highest[0], _LABEL)} {text.figure(point.highest[1])}")
    elif point.with_suspect is not None:
        parts.append(f"only suspect traps: {text.figure(point.with_suspect)} a trap a week, in no mean")
    else:
        parts.append("no figure")
    if point.suspect:
        parts.append(f"suspect {listed(sanitize(label, _LABEL) for label in point.suspect)}")
    if point.conflict:
        parts.append(f"{TWO_COUNTS} of {listed(sanitize(label, _LABEL) for label in point.conflict)}")
    if point.begins:
        parts.append("a new series")
    # One trap of the block is not the block.
    if season.newest and point.on >= season.newest[0] and point.per_week == season.newest[1]:
        if season.sure is not None and season.status is not None:
            parts += [f"{season.status.value} by the rule", short_words(season.sure)]
            parts.append(f"many traps {interval_words(season.sure)}")
        parts += [PAST_PEAK] if season.past_peak else []
    return [*parts, sum_words(season, point.on)]


def stage_lines(record: SeasonRecord, block: str) -> tuple[str, ...]:
    """What is published of the tree's next stages and of frost at the present one, a line each; reference only.

    Args:
        record: The season.
        block: Code of the block.
    """
    known, said = record.programme.blocks.get(block), read_stage_reference()
    crop, seen = known.crop.casefold() if known else "", record.history.stages.get(block)
    code, lines = seen.code if seen else "00", []
    frost = [(own or _code(crop, name), name, ten, ninety) for name, own, ten, ninety in said["frost"].get(crop, ())]
    now = [row for row in frost if row[0] <= code]
    if seen and now and code < _FRUIT:
        _, name, ten, ninety = now[-1]
        lines.append(f"30 min at {_both(ten)} kill 10 % of buds, {_both(ninety)} 90 %: {name}")
    ahead = [row for row in said["sums"]["rows"] if crop in said["sums"]["crops"] and _code(crop, row[0]) > code]
    lower, south = said["sums"]["lower"], 4 <= record.first.month <= 9
    for name, low, high, starts, where in () if south else ahead:
        span = f"{low}" if low == high else f"{low}-{high}"
        lines.append(f"{name.capitalize()}: {span} °F over {lower} {_from(record, block, starts, lower)} ({where})")
    return tuple(lines)


_FRUIT = "75"
"""From half-sized fruit on nothing is said of frost."""


def _code(crop: str, name: str) -> str:
    stage = find(crop, name)
    return stage.code if stage else ""


def _both(temp: float) -> str:
    return f"{temp:g} °F ({convert_temp(temp, TempUnit.F, TempUnit.C):.1f} °C)"


def _from(record: SeasonRecord, block: str, starts: str, lower: float) -> str:
    """From when it was counted, and how far the block's station has come, counted so."""
    if not starts:
        return "from a day not said"
    first = date.fromisoformat(f"{record.on.year}-{starts}")
    counted = Development(lower, None, TempUnit.F, Method.SINGLE_SINE, Cutoff.NONE)
    station = record.station_of(block)
    total = record.sum_of(station, counted, first, record.on) if station and first <= record.on else None
    now = f", {total.total:.0f} now" if total and total.rows and total.rows[-1].on == record.on else ""
    return f"from {first.day} {first:%b}{now}"


def sum_words(season: BlockSeason, on: date) -> str:
    """Degree-days up to a day: from the season's start, and from the newest biofix before it."""
    if season.from_start is None:
        return ""
    unit = f"{season.from_start.unit.sign}-days"
    found = []
    total = _total(season.from_start, on)
    if total is not None:
        found.append(f"{total:.0f} {unit} from {season.first.day} {season.first:%b}")
    since = [(generation, _total(one, on)) for generation, one in season.from_biofix]
    known = [(generation, amount) for generation, amount in since if amount is not None]
    if known:
        generation, amount = known[-1]
        found.append(f"{amount:.0f}{'' if found else f' {unit}'} from biofix {generation}")
    if not found and season.from_start.why:
        return f"Degree-days not known: {season.from_start.why}"
    return ("by then " if found and on < season.on else "") + ", ".join(found)


def _total(total: DegreeDaySum, on: date) -> float | None:
    return next((row.total for row in total.rows if row.on == on), None)


def sum_json(total: DegreeDaySum) -> dict[str, Any]:
    """What ``degree-days FOLDER --json`` prints.

    Args:
        total: The running sum.
    """
    return {
        "unit": total.unit.value,
        "total": total.total,
        "rows": [text.json_of(row, "date=on tmin tmax degree_days total filled") for row in total.rows],
    }


def biofix_json(rows: Iterable[BiofixRow]) -> list[dict[str, Any]]:
    """What ``biofix --json`` prints.

    Args:
        rows: Biofixes of all blocks.

    Returns:
        A dict for each block, species and generation; ``rule`` is the id of the rule that proposes.
    """
    names = (
        "block species season generation=biofix.generation proposed=biofix.proposal.on confirmed=biofix.confirmed"
        " rule=biofix.proposal.rule.id"
    )
    return [text.json_of(row, names) | {"doubtful": bool(row.doubts)} for row in rows]


def outlook_json(rows: Iterable[OutlookRow]) -> list[dict[str, Any]]:
    """What ``outlook --json`` prints.

    Args:
        rows: Events of all blocks.

    Returns:
        A dict for each event; degree-days are in the unit of the species' model, ``years`` is how many past years
        stand behind the date.
    """
    names = (
        "block species generation=event.generation event=event.event.name degree_days=event.event.degree_days"
        " accumulated=event.accumulated reached_on=event.reached_on expected_on=event.expected_on"
        " earliest=event.earliest latest=event.latest years=event.years source=event.event.source"
    )
    return [text.json_of(row, names) for row in rows]
