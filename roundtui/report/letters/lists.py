"""The rest of a letter from the summary: traps not read, troubles, upkeep, stages, the scout's notes, next visit."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from roundtui.domain.plain import plain
from roundtui.domain.stages import stage_name
from roundtui.domain.verdicts import Trouble, TroubleKind, UpkeepDue
from roundtui.domain.visits import NoReading
from roundtui.report import numbers
from roundtui.report.letters.letter import Figure, Line, Place, line
from roundtui.report.letters.material import Material
from roundtui.report.letters.words import (
    NOTE_WIDTH,
    STATUSES,
    count,
    day_figure,
    short_figure,
    species_name,
    spoken_days,
)
from roundtui.report.words import NAME_WIDTH, Names

VISIT_DAYS = 7
"""Days from one visit to the next. [d]"""
_REASONS = {
    NoReading.SKIPPED: "passed over on this round",
    NoReading.CLOSED: "could not be reached, the block was closed",
    NoReading.MISSING: "the trap was missing",
    NoReading.DOWN: "the trap was down",
    NoReading.DAMAGED: "the trap was damaged",
    NoReading.OTHER: "for another reason",
}
_ITEMS = {
    "lure": ("lure", "A spent lure calls fewer than there are."),
    "liner": ("liner", "A full or old liner holds fewer than fly in."),
    "kill-strip": ("kill strip", "Without one the catch can escape, or be eaten."),
}
_LEFT = "no entry, and taken down or moved away before the next visit"
_CLEAN = "and a clean body, since plastic keeps the scent"


def _label(trap: str) -> str:
    return plain(trap, NAME_WIDTH)


def not_read(material: Material, names: Names, farm: str) -> Iterable[Line]:
    """Traps without a reading, and why; those of a block that share a reason together."""
    groups: dict[tuple[str, NoReading | None, str, bool], list[str]] = {}
    for row in material.summary.not_read:
        if material.programme.farm_of(row.block) == farm:
            groups.setdefault((row.block, row.reason, row.note, row.left), []).append(row.trap)
    for (block, reason, note, left), traps in groups.items():
        value = reason.value if reason else None
        labels = [Figure(_label(trap), value, ("summary", "not_read", trap, "reason")) for trap in traps]
        why = _LEFT if left else _REASONS[reason] if reason else "no entry, so nobody can say why"
        words = f"{why} ({plain(note, NOTE_WIDTH)})" if note else why
        yield line(f"{names.block(block)}, ", *_listed(labels), f": {words}.")


def _listed(items: Sequence[Figure | Line]) -> Iterable[str | Figure]:
    """Items as a sentence lists them."""
    for at, item in enumerate(items):
        if at:
            yield " and " if at == len(items) - 1 else ", "
        yield from item.parts if isinstance(item, Line) else (item,)


def troubles(material: Material, names: Names, farm: str) -> Iterable[Line]:
    """What bears on the figures: lures and bodies, readings that disagree, unlikely counts, words taken back."""
    told: set[str] = set()
    by_trap = {row.trap: row for row in material.summary.integrity}
    for row in material.summary.integrity:
        if row.farm == farm and row.trap not in told:
            partner = by_trap.get(row.partner or "")
            told |= {row.trap, *([partner.trap] if partner else [])}
            said = _pair(row, partner, names) if partner else _trouble(row, names)
            yield line(*said.parts, *_in_spite(material, [row.trap, *([partner.trap] if partner else [])]))
    for conflict in material.summary.conflicts:
        if material.programme.farm_of(conflict.block) == farm:
            on = short_figure(conflict.read_on, ("summary", "conflicts", conflict.trap, "read_on"))
            where = f"Trap {_label(conflict.trap)} in {names.block(conflict.block)}"
            yield line(f"{where}: two readings of ", on, " disagree; its figure is out until one is corrected.")
    for unlikely in material.summary.unlikely:
        if material.programme.farm_of(unlikely.block) == farm:
            found = count(unlikely.count, ("summary", "unlikely", unlikely.trap, "count"))
            where = f"Trap {_label(unlikely.trap)} in {names.block(unlikely.block)}"
            yield line(
                f"{where}: ",
                found,
                " is far above what it usually catches; it stands as written and is looked at again.",
            )
    for otherwise in material.summary.told_otherwise:
        if material.programme.farm_of(otherwise.block) == farm:
            round_on = day_figure(otherwise.round_on, ("record", "told", otherwise.block, otherwise.species))
            before = _told(otherwise.told)
            yield line(
                f"Corrected: {names.block(otherwise.block)}, {species_name(otherwise.species)}, was told as {before} "
                "for the week to ",
                round_on,
                f"; the record now says {STATUSES[otherwise.now]}.",
            )


def _in_spite(material: Material, traps: Sequence[str]) -> Iterable[str]:
    """Why a trap was made up so although it was named then: the grower reads it beside what it did."""
    for one in material.beside.in_spite:
        if one.trap in traps:
            which = f" for trap {_label(one.trap)}" if len(traps) > 1 else ""
            yield (
                f" Known when it was made up on {spoken_days(one.assembled_on.isoformat())}; "
                f"the reason given{which}: {plain(one.despite, NOTE_WIDTH)}."
            )


def _told(word: str) -> str:
    return next((words for status, words in STATUSES.items() if status.value == word), plain(word, NAME_WIDTH))


def _pair(row: Trouble, other: Trouble, names: Names) -> Line:
    where = names.block(row.block)
    where += "" if row.block == other.block else f" and {names.block(other.block)}"
    since = _since(row) if row.since == other.since else (*_since(row), " and ", *_since(other))
    return line(
        f"Traps {_label(row.trap)} ({plain(row.species, NAME_WIDTH)}) and {_label(other.trap)} "
        f"({plain(other.species, NAME_WIDTH)}) in {where} hold each other's lure ",
        *since,
        f". What they caught since is in no figure. Each needs its own lure again {_CLEAN}.",
    )


def _since(row: Trouble) -> tuple[str | Figure, ...]:
    if row.since is None:
        return ("for a time nobody wrote down",)
    return ("since ", day_figure(row.since, ("summary", "integrity", row.trap, "since")))


def _trouble(row: Trouble, names: Names) -> Line:
    where = f"Trap {_label(row.trap)} ({plain(row.species, NAME_WIDTH)}) in {names.block(row.block)}"
    found = plain(row.found, NAME_WIDTH) if row.found else "another species"
    own = plain(row.species, NAME_WIDTH)
    match row.kind:
        case TroubleKind.NO_LURE:
            words, remedy = "has been without a lure ", f"It needs a lure for {own}."
        case TroubleKind.SCENTED_BODY:
            words, remedy = f"hangs in a body that keeps the scent of {found} ", "It needs a clean body."
        case TroubleKind.SWAPPED_LURES:
            words = f"and trap {_label(row.partner or '')} have held each other's lure ({found} in this one) "
            remedy = f"Each needs its own lure again {_CLEAN}."
        case TroubleKind.WRONG_LURE:
            words, remedy = f"has held a lure for {found} ", f"It needs a lure for {own} {_CLEAN}."
    return line(f"{where} {words}", *_since(row), f". What it caught since is in no figure. {remedy}")


def upkeep(material: Material, names: Names, farm: str) -> Iterable[Line]:
    """Lures, liners and kill strips past their time, by block; one that is merely due soon bears on no figure."""
    traps = {row.trap for row in material.traps.get(farm, ())}
    groups: dict[tuple[str, str], list[UpkeepDue]] = {}
    for row in material.summary.upkeep:
        if row.trap in traps and (row.days_overdue is None or row.days_overdue >= 0):
            groups.setdefault((row.block, row.item), []).append(row)
    for (block, item), rows in groups.items():
        what, because = _ITEMS.get(item, (plain(item, NAME_WIDTH), ""))
        yield line(f"{names.block(block)}, {what}: ", *_listed([_due(row) for row in rows]), f". {because}".rstrip())


def _due(row: UpkeepDue) -> Line:
    place: Place = ("summary", "upkeep", row.trap, row.item, "days_overdue")
    over = numbers.several(row.days_overdue, "day") + " over" if row.days_overdue else "due now"
    parts: list[str | Figure] = [f"{_label(row.trap)} ", Figure(over, row.days_overdue, place)]
    if row.why == "catch" and row.catch is not None:
        parts += [" with ", count(row.catch, ("summary", "upkeep", row.trap, row.item, "catch")), " on it"]
    return line(*parts)


def stages(material: Material, names: Names, farm: str) -> Iterable[Line]:
    """Fruit stage of each block, as seen last."""
    for block in dict.fromkeys(row.block for row in material.rows.get(farm, ())):
        row = next(one for one in material.rows[farm] if one.block == block)
        if row.stage is None:
            yield line(f"{names.block(block)}: not looked at this season.")
            continue
        known = material.programme.blocks.get(block)
        name = stage_name(known.crop, row.stage) if known else ""
        code = Figure(row.stage, row.stage, ("summary", "blocks", block, row.species, "stage"))
        words = f", {name}" if name else ""
        seen = material.history.stages.get(block)
        when = (", seen ", short_figure(seen.seen_on, ("record", "seen_on", block))) if seen else ()
        yield line(f"{names.block(block)}: BBCH ", code, words, *when, ".")


def scout_notes(material: Material, names: Names, farm: str) -> Iterable[Line]:
    """What the scout wrote at the traps, other insects and estimates with it."""
    for hanging in material.traps.get(farm, ()):
        for visit in material.history.visits.get(hanging.trap, ()):
            if not material.first <= visit.read_on <= material.on or not hanging.hangs_on(visit.read_on):
                continue
            said = [plain(visit.note, NOTE_WIDTH)] if visit.note and visit.no_reading is None else []
            if visit.estimated:
                said.append("the count is an estimate")
            parts: list[str | Figure] = ["; ".join(said)]
            if visit.others:
                others = count(visit.others, ("record", "others", visit.trap, visit.read_on.isoformat()))
                parts += ["; " if said else "", others, " other insects in it"]
            if said or visit.others:
                yield line(f"Trap {_label(visit.trap)} in {names.block(hanging.block)}: ", *parts, ".")


def next_visit(material: Material, farm: str) -> Line:
    """When the next visit is due: a week after the last one to a trap that still hangs."""
    hanging = [row for row in material.traps.get(farm, ()) if row.hangs_on(material.on) and row.down_on != material.on]
    if not hanging:
        return line("The traps have been taken down; no further visit is due this season.")
    seen: list[date] = [
        visit.read_on
        for row in hanging
        for visit in material.history.visits.get(row.trap, ())
        if visit.count is not None or visit.no_reading is not None
    ]
    last = max(seen, default=material.on)
    due = max(last + timedelta(days=VISIT_DAYS), material.on + timedelta(days=1))
    return line("The next visit is due on ", day_figure(due, ("record", "next_visit", farm)), ".")


def rules(material: Material, farm: str) -> Iterable[Line]:
    """Rules used, with their sources."""
    told: set[str] = set()
    for row in material.rows.get(farm, ()):
        if row.rule is None or row.rule.id in told or row.band is None:
            continue
        told.add(row.rule.id)
        place: Place = ("summary", "blocks", row.block, row.species)
        band = Figure(numbers.band(row.band), row.band, (*place, "band"))
        date_words = (", ", day_figure(row.rule.date, (*place, "rule.date"))) if row.rule.date else ()
        yield line(
            f"{plain(row.rule.id, NAME_WIDTH)}: ",
            band,
            f". Source: {plain(row.rule.source, NOTE_WIDTH)}",
            *date_words,
            ".",
        )
