"""A letter put together from what was read of the record. No disk, no clock: the same record gives the same letter."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date

from roundtui.domain.figures.summary import URGENCY
from roundtui.domain.figures.verdicts import TWO_COUNTS, Attention, AttentionKind, BlockRow, Status, TroubleKind
from roundtui.domain.programme.cautions import KILL_STRIP, LETTER_CAUTIONS, TRAP_INTEGRITY
from roundtui.domain.publication import LettersOffice
from roundtui.domain.text import listed, sanitize, spoken_days
from roundtui.report.figures.summary import MARKS, attention_mark
from roundtui.report.letters import lists, season_lines
from roundtui.report.letters import material as figured
from roundtui.report.letters.blocks import MOST_CURVES, letter_block
from roundtui.report.letters.letter import Footnotes, Ground, Letter, Line, Picture, figures, line
from roundtui.report.letters.lists import because, being_named, samples
from roundtui.report.letters.season_lines import other_years
from roundtui.report.maps import places, spots
from roundtui.report.text import WORDS, Names, as_name, figure

MOST_NOTE = 4_000
"""Longest covering note. [characters]"""


def compose(material: figured.Material, farm: str, *, note: str = "", replaces: str = "") -> Letter:
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
        farm=as_name(farm),
        name=names.farm(farm) + official,
        grower=as_name(known.grower) if known else "",
        email=known.email if known else "",
        sender=sender_lines(material.office),
        sender_email=material.office.email,
        first=figured.day_figure(material.first, ("record", "first")),
        on=figured.day_figure(material.on, ("summary", "on")),
        note=note_lines(note),
        replaces=figured.day(date.fromisoformat(replaces)) if replaces else "",
        because=because(material, farm, date.fromisoformat(replaces)) if replaces else "",
        headlines=(*_not_for_use(material), *_headlines(material, names, farm, rows)),
        blocks=blocks,
        maps=tuple(_maps(material, names, rows)),
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


def sender_lines(office: LettersOffice) -> tuple[str, ...]:
    """Who writes, line by line."""
    return tuple(sanitize(words, 120) for words in (office.name, office.address, office.phone, office.email) if words)


def _headlines(material: figured.Material, names: Names, farm: str, rows: Sequence[BlockRow]) -> list[Line]:
    """What needs attention on the farm, and which blocks nobody read."""
    items = (one for one in material.summary.attention if one.kind is not AttentionKind.NEWER)
    found, mine = [], [one for one in items if one.farm == farm]
    by_status = {(one.block, one.species) for one in mine if one.kind in (AttentionKind.OVER, AttentionKind.WITHIN)}
    for one in mine:
        if one.kind is AttentionKind.FEW_TRAPS and (one.block, one.species) in by_status:
            continue  # Its status says so already.
        of = f", {figured.species_name(one.species)}" if one.species and one.kind is not AttentionKind.SAMPLE else ""
        words = sanitize(spoken_days(one.words), figured.NOTE_WIDTH)
        if one.kind is AttentionKind.SUSPECT:
            words = _suspect(material, one)
        said = line(f"{attention_mark(one.kind)} {names.block(one.block)}{of}: {words}.")
        found += [said] if said not in found else []
    unread = [row for row in rows if row.status is Status.NOT_READ]
    if rows and not found and not unread:
        return [line("Nothing on your farm needs attention this week.")]
    if unread:
        listed = "; ".join(f"{names.block(row.block)}, {figured.species_name(row.species)}" for row in unread)
        found.append(line(f"{MARKS[Status.NOT_READ]} {figured.STATUSES[Status.NOT_READ].capitalize()}: {listed}."))
    return found or [line("No trap hung in these seven days.")]


_SUSPECT = {TroubleKind(kind): words for kind, words, _ in WORDS["troubles"]}


def _suspect(material: figured.Material, one: Attention) -> str:
    """The suspect traps of a block and species together; what is said under the figures has the rest."""
    rows = [row for row in material.summary.integrity if (row.block, row.species) == (one.block, one.species)]
    return "not counted: " + listed(f"{as_name(row.trap)} ({_SUSPECT[row.kind]})" for row in rows)


def _not_for_use(material: figured.Material) -> list[Line]:
    """What a letter says first where something invented went into it."""
    if not material.invented:
        return []
    named = ", ".join(material.invented)
    return [line(f"! Not for use: {named} {'are' if len(material.invented) > 1 else 'is'} invented. Do not act on it.")]


def _maps(material: figured.Material, names: Names, rows: Sequence[BlockRow]) -> Iterator[tuple[Picture | None, Line]]:
    """Each block alone: neither its traps nor their places are taken from anywhere else."""
    contradicted = {one.trap for one in material.summary.conflicts}
    for at, block in enumerate(dict.fromkeys(row.block for row in rows)):
        found = spots(material.programme, material.history, material.on, {block})
        planted = any(one.tree for one in found)
        shown = [one for one in found if (one.tree if planted else one.measured)]
        if not shown:
            continue
        where = {one.here.trap: one.tree or (0, 0) for one in shown} if planted else places(shown)
        pests: dict[str, list[str]] = {}
        for one in found:
            spot = [f"row {one.tree[0]}, tree {one.tree[1]}"] if one.tree else []
            if not planted and one.here.trap in where:
                spot = ["{:.0f} m east, {:.0f} m north".format(*where[one.here.trap])]
            two = f"{TWO_COUNTS}, not counted" if one.here.trap in contradicted else "not read"
            caught = two if one.per_week is None else figure(one.per_week)
            more = [*spot, *(["at the edge"] if one.here.edge else []), *(["not counted"] if one.suspect else [])]
            label = " ".join([sanitize(one.here.trap, 20), *([f"({', '.join(more)})"] if more else []), caught])
            pests.setdefault(figured.species_name(one.here.species), []).append(label)
        said = "; ".join(f"{name}: {', '.join(traps)}" for name, traps in pests.items())
        title, worst = names.block(block), min((row.status for row in rows if row.block == block), key=URGENCY.index)
        alt = f"{title}, {figured.STATUSES[worst]}, catch of each trap a week. {said}."
        ground = Ground(planted, tuple((one, where[one.here.trap]) for one in shown))
        picture = Picture(f"{MARKS[worst]} {title}", alt, ground)
        yield (picture if at < MOST_CURVES else None), line(f"{title}. {said}.")


def _cautions(material: figured.Material, farm: str) -> tuple[str, ...]:
    more = [TRAP_INTEGRITY] if any(row.farm == farm for row in material.summary.integrity) else []
    due = {row.trap for row in material.summary.upkeep if row.item == "kill-strip"}
    more += [KILL_STRIP] if any(row.trap in due for row in material.traps.get(farm, ())) else []
    return (*LETTER_CAUTIONS, *more)


_COMPARED = {"mean_per_week": "catch a week", "status": "status", "counted": "traps counted"}
"""Figures of a block that are held against those of an earlier letter, and what they are called."""


def said_in(letter: Letter) -> dict[str, str]:
    """What a letter says that a grower would want to hear of if it changed, each under a name of its own.

    Args:
        letter: The letter.
    """
    found = {}
    for one in figures(replace(letter, note=(), replaces="")):
        match one.place:
            case ("summary", "blocks", block, species, key) if key in _COMPARED:
                found[f"{block}, {figured.pest(species)}, {_COMPARED[key]}"] = one.text
            case ("biofix", block, species, generation, "confirmed"):
                found[f"{block}, {figured.pest(species)}, start of the {figured.flight(int(generation))}"] = one.text
            case ("outlook", block, species, generation, event, ("reached_on" | "expected_on") as key):
                words = "reached on" if key == "reached_on" else "expected on"
                words = f"{figured.event_name(event)}, {words}"
                found[f"{block}, {figured.pest(species)}, {figured.flight(int(generation))}, {words}"] = one.text
    return found | {f"{_HEADLINE}{at}": str(one) for at, one in enumerate(letter.headlines)}


_HEADLINE = "headline "
_MOST_CHANGED = 300
"""Longest line on what changed. [characters]"""


def changes_since(before: Mapping[str, str], letter: Letter) -> tuple[str, ...]:
    """What is different from an earlier letter about the same round, line by line.

    Args:
        before: What that letter said; see ``said_in``.
        letter: The letter now.
    """
    now = said_in(letter)
    heads = [[words for name, words in said.items() if name.startswith(_HEADLINE)] for said in (before, now)]
    lines = [f"New: {words}" for words in heads[1] if words not in heads[0]]
    lines += [f"No longer: {words}" for words in heads[0] if words not in heads[1]]
    for name in dict.fromkeys((*before, *now)):
        was, becomes = before.get(name), now.get(name)
        if not name.startswith(_HEADLINE) and was != becomes:
            lines.append(f"{name}: {becomes or 'not told any more'}{f', it was {was}' if was else ''}.")
    return tuple(sanitize(words, _MOST_CHANGED) for words in lines)
