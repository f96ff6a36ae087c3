"""A letter put together from what was read of the record. No disk, no clock: the same record gives the same letter."""

from __future__ import annotations

from datetime import date

from roundtui.domain.figures.verdicts import AttentionKind, BlockRow, Status
from roundtui.domain.programme.cautions import KILL_STRIP, LETTER_CAUTIONS, TRAP_INTEGRITY
from roundtui.domain.text import sanitize
from roundtui.report.figures.summary import MARKS, attention_mark
from roundtui.report.letters import lists, season_lines
from roundtui.report.letters.blocks import MOST_CURVES, letter_block
from roundtui.report.letters.letter import Footnotes, Letter, Line, Picture, Strip, Tile, line
from roundtui.report.letters.lists import because, being_named, samples
from roundtui.report.letters.material import (
    NOTE_WIDTH,
    RANKS,
    STATUSES,
    Material,
    day_figure,
    species_name,
    spoken_days,
)
from roundtui.report.letters.season_lines import other_years
from roundtui.report.text import NAME_WIDTH, Names

MOST_NOTE = 4_000
"""Longest covering note. [characters]"""


def compose(material: Material, farm: str, *, note: str = "", replaces: str = "") -> Letter:
    """The letter to one farm.

    Args:
        material: What the letters are made from.
        farm: Code of the farm.
        note: Covering note of the coordinator; plain words, whatever stands in it.
        replaces: Day on which a letter about the same round was written that no longer holds, in ISO 8601.

    Returns:
        The letter.
    """
    names = Names(material.programme)
    known = material.programme.farms.get(farm)
    official = f" (property {sanitize(known.property_no, 40)})" if known and known.property_no else ""
    rows = material.rows.get(farm, ())
    footnotes = Footnotes()
    blocks = tuple(letter_block(material, names, row, footnotes, curve=at < MOST_CURVES) for at, row in enumerate(rows))
    return Letter(
        farm=sanitize(farm, NAME_WIDTH),
        name=names.farm(farm) + official,
        grower=sanitize(known.grower, NAME_WIDTH) if known else "",
        email=known.email if known else "",
        sender=sender_lines(material),
        sender_email=material.office.email,
        first=day_figure(material.first, ("record", "first")),
        on=day_figure(material.on, ("summary", "on")),
        note=note_lines(note),
        replaces=sanitize(replaces, NAME_WIDTH),
        because=because(material, farm, date.fromisoformat(replaces)) if replaces else "",
        headlines=(*_not_for_use(material), *_headlines(material, names, farm, rows)),
        strip=_strip(material, rows),
        blocks=blocks,
        more_curves=max(0, len(rows) - MOST_CURVES),
        years=other_years(material, names, farm),
        not_read=tuple(lists.not_read(material, names, farm)),
        troubles=(*lists.troubles(material, names, farm), *being_named(material, names, farm)),
        upkeep=tuple(lists.upkeep(material, names, farm)),
        stages=tuple(lists.stages(material, names, farm)),
        biofixes=tuple(season_lines.biofixes(material, names, farm)),
        events=tuple(season_lines.events(material, names, farm)),
        progress=season_lines.progress(material, farm),
        notes=(*samples(material, names, farm, footnotes), *lists.scout_notes(material, names, farm)),
        next_visit=lists.next_visit(material, farm),
        footnotes=footnotes.lines,
        cautions=_cautions(material, farm),
    )


def note_lines(note: str) -> tuple[str, ...]:
    """A covering note as lines that can only be shown.

    Args:
        note: As the coordinator typed it.
    """
    lines = [sanitize(words.strip()) for words in note[:MOST_NOTE].splitlines()]
    return tuple(lines) if any(lines) else ()


def sender_lines(material: Material) -> tuple[str, ...]:
    """Who writes, line by line."""
    office = material.office
    return tuple(sanitize(words, 120) for words in (office.name, office.address, office.phone, office.email) if words)


def _headlines(material: Material, names: Names, farm: str, rows: tuple[BlockRow, ...]) -> list[Line]:
    """What needs attention on the farm, and which blocks nobody read."""
    found = []
    for one in material.summary.attention:
        if one.farm == farm:
            pest = f", {species_name(one.species)}" if one.species and one.kind is not AttentionKind.SAMPLE else ""
            words = sanitize(spoken_days(one.words), NOTE_WIDTH)
            found.append(line(f"{attention_mark(one.kind)} {names.block(one.block)}{pest}: {words}."))
    unread = [row for row in rows if row.status is Status.NOT_READ]
    if rows and not found and not unread:
        return [line("Nothing on your farm needs attention this week.")]
    if unread:
        listed = "; ".join(f"{names.block(row.block)}, {species_name(row.species)}" for row in unread)
        found.append(line(f"{MARKS[Status.NOT_READ]} {STATUSES[Status.NOT_READ].capitalize()}: {listed}."))
    return found or [line("No trap hung in these seven days.")]


def _not_for_use(material: Material) -> list[Line]:
    """What a letter says first where something invented went into it."""
    if not material.invented:
        return []
    named = ", ".join(material.invented)
    return [line(f"! Not for use: {named} {'are' if len(material.invented) > 1 else 'is'} invented. Do not act on it.")]


def _strip(material: Material, rows: tuple[BlockRow, ...]) -> Picture | None:
    """Each block once, in the order of walking, by the most urgent of its species: rows come in that order."""
    if not rows:
        return None
    worst: dict[str, BlockRow] = {}
    last = len(material.walking)
    for row in rows:
        worst.setdefault(row.block, row)
    tiles = tuple(
        Tile(sanitize(row.block, 10), MARKS[row.status], STATUSES[row.status], RANKS[row.status])
        for row in sorted(worst.values(), key=lambda row: material.walking.get(row.block, last))
    )
    alt = "Blocks by status: " + "; ".join(f"{tile.label} {tile.words}" for tile in tiles) + "."
    return Picture("Blocks by status", alt, Strip(tiles))


def _cautions(material: Material, farm: str) -> tuple[str, ...]:
    more = [TRAP_INTEGRITY] if any(row.farm == farm for row in material.summary.integrity) else []
    due = {row.trap for row in material.summary.upkeep if row.item == "kill-strip"}
    more += [KILL_STRIP] if any(row.trap in due for row in material.traps.get(farm, ())) else []
    return (*LETTER_CAUTIONS, *more)
