"""The rest of a letter from the summary: traps not read, troubles, upkeep, stages, the scout's notes, next visit.

Traps moved, added, taken down or hung again this season, in a letter: every day stands in ``register --json``.
What a letter says of treatments that the grower spoke of: the catch before and since, not what was applied.
What a letter says of insects that are being named, and of counts that a name corrected.
What the scout saw on leaf and fruit, in a letter: every figure stands in ``samples --json``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from roundtui.domain.entries import NoReading, SampleKind, Specimen, for_grower
from roundtui.domain.figures.rules import rule_name
from roundtui.domain.figures.treatments import Treated, Watch, WatchVerdict
from roundtui.domain.figures.verdicts import TWO_COUNTS, BlockRow, Trouble, TroubleKind, UpkeepDue
from roundtui.domain.programme.farm import grouped
from roundtui.domain.programme.stages import stage_name
from roundtui.domain.round.agenda import round_after
from roundtui.domain.round.specimens import KINDS, block_of, is_named, is_open, label, species_of, taken_off
from roundtui.domain.sampling.findings import GRADES, SampleRow, fruit_sample
from roundtui.domain.sampling.records import Outcome, plural
from roundtui.domain.text import listed, sanitize, several, spoken_days
from roundtui.domain.traps.assembly import Happened, SeriesChange
from roundtui.report import sampling
from roundtui.report import text as numbers
from roundtui.report.letters import material as figured
from roundtui.report.letters.letter import Figure, Footnotes, Line, Place, line
from roundtui.report.text import WORDS, Names, as_name

VISIT_DAYS = 7
"""Days from one visit to the next. [d]"""
_REASONS = {NoReading(reason): words for reason, words in WORDS["reasons"]}
_ITEMS = {item: (words, why) for item, words, why in WORDS["items"]}
_LEFT = "no entry, and taken down or moved away before the next visit"
_CLEAN = "and a clean body, since plastic keeps the scent"


def not_read(material: figured.Material, names: Names, farm: str) -> Iterable[Line]:
    """Traps without a reading, and why; those of a block that share a reason together."""
    mine = [row for row in material.summary.not_read if material.programme.farm_of(row.block) == farm]
    groups = grouped(((row.block, row.reason, for_grower(row.note), row.left), row.trap) for row in mine)
    for (block, reason, note, left), traps in groups.items():
        value = reason.value if reason else None
        labels = [Figure(as_name(trap), value, ("summary", "not_read", trap, "reason")) for trap in traps]
        why = _LEFT if left else _REASONS[reason] if reason else "no entry was made"
        words = f"{why} ({sanitize(note, figured.NOTE_WIDTH)})" if note else why
        yield line(f"{names.block(block)}, ", *_listed(labels), f": {words}.")


def _listed(items: Sequence[Figure | Line]) -> Iterable[str | Figure]:
    """Items as a sentence lists them."""
    for at, item in enumerate(items):
        if at:
            yield " and " if at == len(items) - 1 else ", "
        yield from item.parts if isinstance(item, Line) else (item,)


def troubles(material: figured.Material, names: Names, farm: str) -> Iterable[Line]:
    """What bears on the figures: lures and bodies, two counts of one trap, unlikely counts, words withdrawn."""
    named: set[str] = set()
    # A letter is about one farm: of a pair that lies between two farms each letter names its own trap alone.
    by_trap = {row.trap: row for row in material.summary.integrity if row.farm == farm}
    for row in material.summary.integrity:
        if row.farm == farm and row.trap not in named:
            partner = by_trap.get(row.partner or "")
            named |= {row.trap, *([partner.trap] if partner else [])}
            said = _pair(row, partner, names) if partner else _trouble(row, names)
            yield line(*said.parts, *_override(material, [row.trap, *([partner.trap] if partner else [])]))
    for conflict in material.summary.conflicts:
        if material.programme.farm_of(conflict.block) == farm:
            on = figured.short_figure(conflict.read_on, ("summary", "conflicts", conflict.trap, "read_on"))
            where = f"Trap {as_name(conflict.trap)} in {names.block(conflict.block)}"
            yield line(f"{where}: {TWO_COUNTS} on ", on, ". Not counted until we settle it.")
    for unlikely in material.summary.unlikely:
        if material.programme.farm_of(unlikely.block) == farm:
            found = figured.count(unlikely.count, ("summary", "unlikely", unlikely.trap, "count"))
            where = f"Trap {as_name(unlikely.trap)} in {names.block(unlikely.block)}"
            yield line(
                f"{where}: ",
                found,
                " is far above what it usually catches. We are checking this count; the figure may change.",
            )
    for otherwise in material.summary.older_figure_calls:
        if material.programme.farm_of(otherwise.block) == farm:
            round_on = figured.day_figure(
                otherwise.round_on, ("record", "notified", otherwise.block, otherwise.species)
            )
            before = _status_told(otherwise.notified)
            yield line(
                f"Corrected: {names.block(otherwise.block)}, {figured.species_name(otherwise.species)}, "
                f"was told as {before} for the week to ",
                round_on,
                f"; the record now says {figured.STATUSES[otherwise.now]}.",
            )


def _override(material: figured.Material, traps: Sequence[str]) -> Iterable[str]:
    """Why a trap was assembled so although it was named then: the grower reads it beside what it did."""
    for one in material.observations.override:
        if one.trap in traps:
            which = f" for trap {as_name(one.trap)}" if len(traps) > 1 else ""
            yield (
                f" Known when it was assembled on {spoken_days(one.assembled_on.isoformat())}; the reason "
                f"given{which}: {sanitize(one.despite, figured.NOTE_WIDTH)}."
            )


def _status_told(word: str) -> str:
    return next((words for status, words in figured.STATUSES.items() if status.value == word), as_name(word))


def _pair(row: Trouble, other: Trouble, names: Names) -> Line:
    where = names.block(row.block)
    where += "" if row.block == other.block else f" and {names.block(other.block)}"
    since = _since(row) if row.since == other.since else (*_since(row), " and ", *_since(other))
    return line(
        f"Traps {as_name(row.trap)} ({figured.pest(row.species)}) and "
        f"{as_name(other.trap)} ({figured.pest(other.species)}) in {where} "
        "hold each other's lure ",
        *since,
        f". Their catch since then is not counted. We put in each one's own lure {_CLEAN}.",
    )


def _since(row: Trouble) -> tuple[str | Figure, ...]:
    if row.since is None:
        return ("for an unknown time",)
    return ("since ", figured.day_figure(row.since, ("summary", "integrity", row.trap, "since")))


def _trouble(row: Trouble, names: Names) -> Line:
    own, found = figured.pest(row.species), figured.pest(row.found) if row.found else "another species"
    where = f"Trap {as_name(row.trap)} ({own}) in {names.block(row.block)}"
    match row.kind:
        case TroubleKind.NO_LURE:
            words, remedy = "has been without a lure ", f"We put in a lure for {own}."
        case TroubleKind.SCENTED_BODY:
            words, remedy = f"hangs in a body that keeps the scent of {found} ", "We put in a clean body."
        case TroubleKind.SWAPPED_LURES:
            words = f"holds the lure of a trap for {found} that is not on this farm "
            remedy = f"We put in a lure for {own} again {_CLEAN}."
        case TroubleKind.WRONG_LURE:
            words, remedy = f"has held a lure for {found} ", f"We put in a lure for {own} {_CLEAN}."
    return line(f"{where} {words}", *_since(row), f". Its catch since then is not counted. {remedy}")


def upkeep(material: figured.Material, names: Names, farm: str) -> Iterable[Line]:
    """Lures, liners and kill strips past their time, by block; one that is merely due soon bears on no figure."""
    traps = {row.trap for row in material.traps.get(farm, ())}
    late = [row for row in material.summary.upkeep if row.trap in traps and (row.days_overdue or 0) >= 0]
    groups = grouped(((row.block, row.item), row) for row in late)
    for (block, item), rows in groups.items():
        what, because = _ITEMS.get(item, (as_name(item), ""))
        yield line(f"{names.block(block)}, {what}: ", *_listed([_due(row) for row in rows]), f". {because}".rstrip())


def _due(row: UpkeepDue) -> Line:
    place: Place = ("summary", "upkeep", row.trap, row.item, "days_overdue")
    over = several(row.days_overdue, "day") + " ago" if row.days_overdue else "now"
    parts: list[str | Figure] = [f"{as_name(row.trap)} ", Figure(over, row.days_overdue, place)]
    if row.why == "catch" and row.catch is not None:
        parts += [" (", figured.count(row.catch, ("summary", "upkeep", row.trap, row.item, "catch")), " moths on it)"]
    return line(*parts)


def stages(material: figured.Material, names: Names, farm: str) -> Iterable[Line]:
    """Fruit stage of each block, as seen last."""
    for block in dict.fromkeys(row.block for row in material.rows.get(farm, ())):
        row = next(one for one in material.rows[farm] if one.block == block)
        if row.stage is None:
            yield line(f"{names.block(block)}: not seen this season.")
            continue
        known = material.programme.blocks.get(block)
        name = stage_name(known.crop, row.stage) if known else ""
        code = Figure(row.stage, row.stage, ("summary", "blocks", block, row.species, "stage"))
        words = f", {name}" if name else ""
        seen = material.history.stages.get(block)
        when = (", seen ", figured.short_figure(seen.seen_on, ("record", "seen_on", block))) if seen else ()
        yield line(f"{names.block(block)}: BBCH ", code, words, *when, ".")


def scout_notes(material: figured.Material, names: Names, farm: str) -> Iterable[Line]:
    """What the scout wrote for the grower at the traps, other insects and estimates with it."""
    for hanging in material.traps.get(farm, ()):
        for visit in material.history.visits.get(hanging.trap, ()):
            if not material.first <= visit.read_on <= material.on or not hanging.hangs_on(visit.read_on):
                continue
            note = for_grower(visit.note)
            said = [sanitize(note, figured.NOTE_WIDTH)] if note and visit.no_reading is None else []
            if visit.estimated:
                said.append("the count is an estimate")
            parts: list[str | Figure] = ["; ".join(said)]
            if visit.others:
                others = figured.count(visit.others, ("record", "others", visit.trap, visit.read_on.isoformat()))
                parts += ["; " if said else "", others, " other insects in it"]
            if said or visit.others:
                yield line(f"Trap {as_name(visit.trap)} in {names.block(hanging.block)}: ", *parts, ".")


def next_visit(material: figured.Material, farm: str) -> Line:
    """When the next visit is due: on the day of the next round of a route that reads a trap which still hangs.

    Where no route does, it is a week after the last visit.
    """
    hanging = [row for row in material.traps.get(farm, ()) if row.hangs_on(material.on) and row.down_on != material.on]
    if not hanging:
        return line("The traps have been taken down; no further visit is due this season.")
    after = material.on + timedelta(days=1)
    labels = {row.trap for row in hanging}
    rounds = [
        max(day, after)
        for route, traps in material.programme.routes.items()
        if not labels.isdisjoint(traps)
        and (day := round_after(material.programme, material.history, route, material.on))
    ]
    rounds += [max(day, after) for trap, day in material.due.items() if trap in labels]
    if rounds:
        return line("The next visit is due on ", figured.day_figure(min(rounds), ("record", "next_visit", farm)), ".")
    seen: list[date] = [
        visit.read_on
        for row in hanging
        for visit in material.history.visits.get(row.trap, ())
        if visit.count is not None or visit.no_reading is not None
    ]
    last = max(seen, default=material.on)
    due = max(last + timedelta(days=VISIT_DAYS), after)
    return line("The next visit is due on ", figured.day_figure(due, ("record", "next_visit", farm)), ".")


def rule_used(row: BlockRow, footnotes: Footnotes) -> str:
    """Number of the footnote on a block's rule, with its source; empty where it has none."""
    if row.rule is None or row.band is None:
        return ""
    place: Place = ("summary", "blocks", row.block, row.species)
    band = Figure(numbers.band(row.band), row.band, (*place, "band"))
    date_words = (", ", figured.day_figure(row.rule.date, (*place, "rule.date"))) if row.rule.date else ()
    source = sanitize(row.rule.source, figured.NOTE_WIDTH)
    return footnotes.number(
        line("Threshold ", band, f" (rule {as_name(rule_name(row.rule.id))}): {source}", *date_words, ".")
    )


def series_lines(material: figured.Material, names: Names, row: BlockRow) -> Iterable[Line]:
    """A sentence for each trap of a block whose series of readings began or ended in mid-season.

    A block of another farm is not named: a letter is about one farm.

    Args:
        material: What the letters are made from.
        names: Names of farms and blocks.
        row: The block in the summary.
    """
    for change in material.series_changes.get((row.block, row.species), ()):
        yield line(f"Trap {as_name(change.trap)} ", *_words(material, names, row, change))


def _words(material: figured.Material, names: Names, row: BlockRow, change: SeriesChange) -> Iterable[str | Figure]:
    def known(block: str, words: str) -> str:
        return f" {words} {names.block(block)}" if material.programme.farm_of(block) == row.farm else ""

    end = change.went_to is not None or change.what is Happened.DOWN
    hung_on = change.hanging.hung_on.isoformat() if change.hanging.hung_on else ""
    on = figured.day_figure(change.on, ("register", change.trap, hung_on, "down_on" if end else "hung_on"))
    if change.went_to is not None:
        where = known(change.went_to.block, "to") or " away"
        return (f"was moved{where} on ", on, ": its series here ends.")
    if change.what is Happened.DOWN:
        return ("was taken down on ", on, ".")
    if change.what is Happened.MOVED and change.came_from is not None:
        if change.came_from.block == row.block:
            return ("was moved within the block on ", on, ": a new series begins.")
        return (f"was moved here{known(change.came_from.block, 'from')} on ", on, ": a new series begins.")
    if change.what is Happened.AGAIN:
        return ("was hung again on ", on, ": a new series begins.")
    return ("was added on ", on, ": its series begins.")


_NATURAL = "A catch also falls by itself, at the end of a flight and in cold or wet weather."


def treatments(material: figured.Material, block: str, species: str) -> Iterable[Line]:
    """The treatments of a block against a species, of the last weeks, the newest first.

    Args:
        material: What the letters are made from.
        block: Code of the block.
        species: Abbreviation of the species.
    """
    found = material.treated.get((block, species), ())
    for one in found:
        yield _line(one)
        yield from _further(one.watch)
    if any(one.watch.traps for one in found):
        yield line(_NATURAL)


def _place(seen: Watch, *keys: str) -> Place:
    return ("treatments", seen.block, seen.species, seen.treated_on.isoformat(), *keys)


def _line(one: Treated) -> Line:
    seen = one.watch
    head = (
        f"You told us of a treatment against {figured.pest(seen.species)} on ",
        figured.day_figure(seen.treated_on, _place(seen, "treated_on")),
        ": ",
    )
    open_end = seen.verdict in {WatchVerdict.EARLY, WatchVerdict.LITTLE}
    said = "it cannot be said whether the catch came down" if seen.over and open_end else seen.said
    verdict = Figure(said, seen.verdict.value, _place(seen, "verdict"))
    why = Figure(seen.why, seen.why, _place(seen, "why"))
    if not seen.traps:
        return line(*head, verdict, "; ", why, ".")
    begin = ("" if open_end else "the catch ") if seen.over else "it is " if open_end else "the catch is "
    told = () if seen.verdict is WatchVerdict.ALONE else (begin, verdict, ". ")
    return line(
        *head,
        *told,
        figured.rate(seen.before.per_week, _place(seen, "before", "per_week")),
        f" {figured.insects(seen.species)} per trap per week before it (",
        figured.count(seen.before.readings, _place(seen, "before", "readings")),
        " readings), ",
        figured.rate(seen.after.per_week, _place(seen, "after", "per_week")),
        *_days_after(seen),
        figured.count(seen.after.readings, _place(seen, "after", "readings")),
        " readings): ",
        why,
        ".",
        *_back_at(seen),
    )


def _days_after(seen: Watch) -> tuple[str | Figure, ...]:
    """Over which days the catch after is told: a check that is over has ended on a day."""
    if not seen.over or seen.last_read is None:
        return (" since (",)
    return (" after it, up to ", figured.short_figure(seen.last_read, _place(seen, "last_read")), " (")


def _back_at(seen: Watch) -> tuple[str | Figure, ...]:
    if seen.back_at is None:
        return ()
    on, mean = seen.back_at
    place = _place(seen, "back_at")
    return (
        " The catch was ",
        figured.rate(mean, (*place, "per_week")),
        " on ",
        figured.short_figure(on, (*place, "on")),
        ".",
    )


def _further(seen: Watch) -> Iterable[Line]:
    """What bears on it and is no fault of anyone's."""
    if not seen.over:
        until = figured.short_figure(seen.until, _place(seen, "until"))
        more = figured.count(seen.awaited, _place(seen, "awaited"))
        yield line("We keep checking, until ", until, " at the latest; readings still to come: ", more, ".")
    if seen.lures:
        traps = ", ".join(as_name(trap) for trap in dict.fromkeys(trap for trap, _ in seen.lures))
        yield line(f"The lure was changed since in {traps}, which raises a catch.")
    if seen.may_end_by_itself:
        yield line("The catch was falling before the treatment, so the flight may be ending by itself.")


def being_named(material: figured.Material, names: Names, farm: str) -> Iterable[Line]:
    """Insects of the seven days that wait for a name, and counts of the seven days that one corrected.

    Args:
        material: What the letters are made from.
        names: Names of farms and blocks.
        farm: Code of the farm.
    """
    for one in _of(material, farm):
        if not material.first <= one.read_on <= material.on:
            continue
        off = taken_off(one, material.programme)
        if off:
            yield _correct(material, names, one, off)
        elif is_open(one):
            yield _waits(material, names, one)


def because(material: figured.Material, farm: str, since: date) -> str:
    """Why a letter replaces one of a day: what was named since, and changes what a letter says of a count or a vial.

    A name that a further one has corrected is among them, since the last letter went by it.

    Args:
        material: What the letters are made from.
        farm: Code of the farm.
        since: Day on which the earlier letter was written.

    Returns:
        The rest of a sentence; empty where nothing was named.
    """
    found = [
        f"{label(one)} from trap {as_name(one.trap)} was identified as {_name(one)}"
        for one in _of(material, farm)
        if _bears(one, material) and one.recorded_at is not None and one.recorded_at.date() >= since
    ]
    return f"since {listed(found)}" if found else ""


def _bears(one: Specimen, material: figured.Material) -> bool:
    again = bool(one.replaces) and is_named(one) and bool(one.in_count or one.vial)
    return again or taken_off(one, material.programme) != 0


def _of(material: figured.Material, farm: str) -> Iterable[Specimen]:
    programme = material.programme
    return (one for one in material.observations.specimens if programme.farm_of(block_of(one, programme)) == farm)


def _waits(material: figured.Material, names: Names, one: Specimen) -> Line:
    number, where, on = _parts(material, names, one)
    species = species_of(one, material.programme)
    are, it = ("is", "it") if one.number == 1 else ("are", "they")
    if one.in_count:
        return line(
            *(number, f" of the {figured.insects(species)} counted in {where} on "),
            *(on, f" {are} being identified; the figure may change."),
        )
    turn = f"{it} turn{'s' if one.number == 1 else ''} out to be {figured.pest(species)}"
    return line(number, f" from {where} on ", on, f" {are} being identified, and in no figure unless {turn}.")


def _correct(material: figured.Material, names: Names, one: Specimen, off: int) -> Line:
    _, where, on = _parts(material, names, one)
    species = species_of(one, material.programme)
    moved = figured.count(abs(off), _place_specimens(one, "number"))
    when: tuple[str | Figure, ...] = ()
    if one.identified_on is not None:
        when = (" on ", figured.short_figure(one.identified_on, _place_specimens(one, "identified_on")))
    by = as_name(one.identified_by)
    if off > 0:
        words, end = f" of the {figured.insects(species)} counted in {where} on ", "taken off the count."
    else:
        words, end = f" more from {where} on ", "put on the count."
    are = ("was", "is") if one.number == 1 else ("were", "are")
    return line(
        "Corrected: ", moved, words, on, f" {are[0]} {_name(one)}, identified by {by}", *when, f", and {are[1]} {end}"
    )


def _name(one: Specimen) -> str:
    """What it is, in the words of a letter."""
    if one.what in KINDS:
        kind = KINDS[one.what]
        return kind.several if one.number != 1 and kind.several else kind.word
    return figured.pest(one.what)


def _parts(material: figured.Material, names: Names, one: Specimen) -> tuple[Figure, str, Figure]:
    block = names.block(block_of(one, material.programme))
    where = f"trap {as_name(one.trap)} in {block}"
    return (
        figured.count(one.number, _place_specimens(one, "number")),
        where,
        figured.short_figure(one.read_on, _place_specimens(one, "read_on")),
    )


def _place_specimens(one: Specimen, key: str) -> Place:
    return ("vials", one.id, key)


def samples(material: figured.Material, names: Names, farm: str, footnotes: Footnotes) -> Iterable[Line]:
    """Leaf and fruit samples of the week.

    Args:
        material: What the letters are made from.
        names: Names of farms and blocks.
        farm: Code of the farm.
        footnotes: Takes the sampling plans.
    """
    for row in material.samples:
        if (
            material.programme.farm_of(row.sample.block) == farm
            and material.first <= row.sample.sampled_on <= material.on
        ):
            yield line(
                f"{names.block(row.sample.block)}, ",
                figured.day_figure(row.sample.sampled_on, _at(row, "sampled_on")),
                f", {sampling.sought_words(row.sought)}: ",
                *_found(row),
                *_counted(row),
                *_sampled(row),
                ". ",
                *_verdict(row, footnotes),
                ".",
                *_clean(row),
            )


def fruit(material: figured.Material, row: BlockRow, footnotes: Footnotes) -> Line:
    """What a fruit sample found where a low catch is weak evidence, or that one is asked for.

    Args:
        material: What the letters are made from.
        row: The block in the summary.
        footnotes: Takes the sampling plan.
    """
    newest = fruit_sample((one.sample for one in material.samples), row.block, row.species, material.on)
    if newest is None:
        return line("Under mating disruption a low catch is weak evidence: check the fruit.")
    shown = next(one for one in material.samples if one.sample is newest)
    # A sample of the week stands in full under what the scout saw.
    listed = newest.sampled_on >= material.first
    return line(
        "Under mating disruption a low catch is weak evidence. The fruit was checked on ",
        figured.day_figure(newest.sampled_on, _at(shown, "sampled_on")),
        ": ",
        *_found(shown),
        *(() if listed else _sampled(shown)),
        "; " if listed else ". ",
        *_verdict(shown, None if listed else footnotes),
        ".",
        *(() if listed else _clean(shown)),
    )


def _at(row: SampleRow, *keys: str) -> Place:
    return ("samples", row.sample.id, *keys)


def _found(row: SampleRow) -> Iterable[str | Figure]:
    unit = as_name(plural(row.sample.looked_at, row.sample.looked))
    yield figured.count(row.sample.found, _at(row, "found"))
    yield " of "
    yield figured.count(row.sample.looked, _at(row, "looked"))
    yield f" {unit} {'injured' if row.sample.kind is SampleKind.FRUIT else 'with it'}, "
    yield Figure(sampling.percent(row), row.share * 100, _at(row, "percent"))
    shown, key = (row.by_trees, "by_trees_percent") if row.by_trees else (row.interval, "interval_percent")
    low, high = sampling.interval_ends(shown)
    yield " % (between "
    yield Figure(low, 100 * shown[0], _at(row, key, "0"))
    yield " and "
    yield Figure(high, 100 * shown[1], _at(row, key, "1"))
    yield " %, as far as its trees can tell)" if row.by_trees else " %, were each picked by itself)"


def _clean(row: SampleRow) -> Iterable[str | Figure]:
    """How little a clean sample says of a block that is not."""
    for number, (share, chances) in enumerate(row.clean_percent.items()):
        yield " and from " if number else " So clean a sample comes from "
        for end, chance in enumerate(chances):
            yield " to " if end else ""
            text = f"{chance:.0f}" if chance >= 1 else "under 1"
            yield Figure(text, chance, _at(row, "clean_percent", share, str(end)))
        yield f" of 100 blocks with {share} % of fruit injured"
    if row.clean_percent:
        yield ", as fruit of one tree are less or more alike" if row.sample.trees else ", were each picked by itself"
        yield "; from more where it left out the edge."


def _counted(row: SampleRow) -> Iterable[str | Figure]:
    if row.per_unit is not None and row.sought.counted and row.sample.found:
        yield ", "
        yield Figure(sampling.per_unit(row), row.per_unit, _at(row, "per_unit"))
        yield f" {as_name(row.sought.counted)} a {as_name(row.sample.looked_at)}"
    elif made := sampling.presence_words(row):
        yield f", {made} by a published table of leaves with mites"


def _sampled(row: SampleRow) -> Iterable[str | Figure]:
    sample = row.sample
    for key, number, before, after in (
        ("entries", sample.entries, ", ", " with entries"),
        ("stings", sample.stings, ", ", " more with stings alone"),
        ("beneficials", sample.beneficials, ", predators on ", ""),
        ("trees", sample.trees, ", from ", " trees"),
    ):
        if number:
            yield before
            yield figured.count(number, _at(row, key))
            yield after
    if sample.grade is not None:
        yield ", grade "
        yield figured.count(sample.grade, _at(row, "grade"))
        yield f" ({GRADES[sample.grade]})"
    for text in (sample.place, for_grower(sample.note)):
        if text:
            yield f"; {sanitize(text, figured.NOTE_WIDTH)}"


def _verdict(row: SampleRow, footnotes: Footnotes | None = None) -> Iterable[str | Figure]:
    outcome = row.verdict.outcome
    words = sampling.VERDICTS[outcome]
    yield Figure(words if footnotes is None else words[:1].upper() + words[1:], outcome.value, _at(row, "verdict"))
    if footnotes is None:
        return
    if outcome is Outcome.MORE:
        yield ": the scout has "
        yield figured.count(row.verdict.more, _at(row, "more"))
        yield f" {as_name(plural(row.sample.looked_at, row.verdict.more))} more to look at"
    if row.plan is not None:
        number = sampling.number_words(row.plan, as_name(row.sample.looked_at))
        source = sanitize(row.plan.source, figured.NOTE_WIDTH)
        yield f" [{footnotes.number(line(f'{as_name(row.plan.id)}: {number}. Source: {source}.'))}]"
