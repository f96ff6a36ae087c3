"""What a trap body has held, and what became of parts, in words.

The close of a season, and what bodies have held, as JSON.
The close of a season, and what bodies have held, as rich tables.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from roundtui.domain.entries import PartKind
from roundtui.domain.figures.integrity import Held
from roundtui.domain.programme.cautions import KILL_STRIP, LURES
from roundtui.domain.programme.farm import natural_key
from roundtui.domain.season.years import SeasonEnd
from roundtui.domain.text import listed, sanitize, several
from roundtui.domain.traps.assembly import KnownParts, Part, Whereabouts
from roundtui.domain.traps.season_close import Stored, ToTakeDown, not_put_away, stored, to_discard
from roundtui.report import text
from roundtui.report.text import Names, Section, as_name, json_of, paragraph, stacked, titled
from roundtui.store.traps.parts import Close

_KINDS = {PartKind.BODY: ("body", "bodies"), PartKind.FUNNEL: ("funnel", "funnels"), PartKind.LID: ("lid", "lids")}


def held_words(held: Iterable[Held]) -> Sequence[str]:
    """What a body has held, a line for each unbroken run of one species in one trap.

    Args:
        held: What it has held, in order.

    Returns:
        As "2026-04-20 to 2026-06-01 CM in A1"; a run has an end where another lure followed in the same trap, since a
        body that was taken down tells of none, and a lure put in at the bench is one day.
    """
    runs: list[list[Held]] = []
    for one in held:
        last = runs[-1][-1] if runs else None
        if last is not None and (last.species, last.trap, last.hung) == (one.species, one.trap, one.hung):
            runs[-1].append(one)
        else:
            runs.append([one])
    lines = []
    for at, run in enumerate(runs):
        first = run[0]
        start = first.on.isoformat() if first.on else "day unknown"
        species, trap = as_name(first.species), as_name(first.trap)
        if not first.hung:
            how = f"{species} put in while {trap} was assembled" if trap else f"noted as one for {species}"
            lines.append(f"{start} {how}")
            continue
        then = runs[at + 1][0] if at + 1 < len(runs) else None
        after = then.on if then is not None and then.hung and then.trap == first.trap else None
        lines.append(f"{start}{f' to {after.isoformat()}' if after else ' on'} {species} in {trap}")
    return lines


def bodies_of(known: KnownParts, label: str = "") -> list[tuple[Part, tuple[Held, ...]]]:
    """Labelled bodies with what each has held, by species and label.

    Args:
        known: What is known of parts.
        label: Only the body of this label; empty: all.
    """
    held = {past.label: past.held for past in known.bodies if past.label}
    bodies = [part for (kind, name), part in known.parts.items() if kind is PartKind.BODY and label in ("", name)]
    return [
        (part, held.get(part.label, ())) for part in sorted(bodies, key=lambda b: (b.species, natural_key(b.label)))
    ]


def kept_words(row: Stored) -> str:
    """Parts of one species in one place, in a sentence.

    Args:
        row: The parts.
    """
    what = several(len(row.labels), *_KINDS[row.part])
    place = f" in {as_name(row.place)}" if row.place else ", place unknown"
    labels = listed(as_name(one) for one in row.labels)
    return f"{as_name(row.species)}: {what}{place}: {labels}."


def scented_words(part: Part) -> str:
    """A body that smells of another species, in a sentence.

    Args:
        part: The body.
    """
    scents = listed(as_name(scent) for scent in part.foreign)
    hangs = f", and hangs in {as_name(part.trap)}" if part.state is Whereabouts.HUNG else ""
    name = f"{as_name(part.label)} ({as_name(part.species)})"
    return f"Body {name} held {scents}{hangs}: do not use it again."


def parts_lines(end: SeasonEnd) -> list[str]:
    """Parts put away, lost and discarded in a season, a sentence each.

    Args:
        end: The season.
    """
    lines = [f"Stored, {kept_words(row)}" for row in end.stored]
    return [*lines, *_gone_lines(end.parts_gone)]


def _gone_lines(parts: Iterable[Part]) -> Iterable[str]:
    for state in (Whereabouts.LOST, Whereabouts.DISCARDED):
        gone = [f"{one.part.value} {as_name(one.label)}" for one in parts if one.state is state]
        if gone:
            yield f"Noted as {state.value}: {listed(gone)}."


def taking_down_json(close: Close) -> dict[str, Any]:
    """What ``taking-down --json`` prints.

    Args:
        close: The season.
    """
    parts, lost = close.known.parts.values(), close.losses
    return {
        "on": close.on.isoformat(),
        "traps": [_trap(row) for row in close.hanging],
        "stored": [json_of(row, "species part place? labels") for row in stored(parts)],
        "not_put_away": [_part(part) for part in not_put_away(parts)],
        "to_discard": [_part(part) for part in to_discard(parts)],
        "losses": {
            "missing": [{"trap": trap, "since": since.isoformat()} for trap, since in lost.missing],
            "never_down": list(lost.never_down),
            "lost": [_part(part) for part in lost.lost],
            "discarded": [_part(part) for part in lost.discarded],
        },
    }


def bodies_json(known: KnownParts, label: str = "") -> list[dict[str, Any]]:
    """What ``bodies --json`` prints.

    Args:
        known: What is known of parts.
        label: Only the body of this label; empty: all.
    """
    return [
        _part(part) | {"held": [json_of(one, "on species trap? hung") for one in held]}
        for part, held in bodies_of(known, label)
    ]


def _trap(row: ToTakeDown) -> dict[str, Any]:
    names = (
        "route? farm block=hanging.block trap=hanging.trap species=hanging.species row=hanging.row? tree=hanging.tree?"
        " hung_on=hanging.hung_on missing_since"
    )
    return json_of(row, names) | {"parts": [_part(part) for part in row.parts]}


def _part(part: Part) -> dict[str, Any]:
    return json_of(part, "part label species state since trap? place? scents foreign")


def taking_down_tables(close: Close, width: int = 80) -> Section:
    """The list to walk, what is put away where, what was lost, what is not to be used again.

    Args:
        close: The season.
        width: Columns to fill.
    """
    names = Names(close.known.programme)
    hanging = close.hanging
    title = text.heading(f"To take down as of {close.on.isoformat()}: {several(len(hanging), 'trap')}")
    walk = _walk(hanging, names, width) if hanging else [paragraph("No trap hangs.")]
    return stacked([[title, *walk], *_parts(close), [paragraph(LURES), paragraph(KILL_STRIP)]])


def _walk(hanging: Sequence[ToTakeDown], names: Names, width: int) -> Section:
    rows = []
    for row in hanging:
        at = row.hanging
        spot = " ".join(part for part in (at.row and f"row {at.row}", at.tree) if part)
        place = f"{names.block(at.block)}{f', {spot}' if spot else ''}"
        labels = ", ".join(f"{part.part.value} {part.label}" for part in row.parts) or "no labels"
        missing = f"  ! missing since {row.missing_since.isoformat()}" if row.missing_since else ""
        parts = f"{sanitize(labels, 60)}{missing}"
        cells = (sanitize(row.route, 20) or text.NONE, sanitize(at.trap, 20), sanitize(at.species, 10))
        rows.append(("bold" if missing else "", (*cells, sanitize(place, 40), parts)))
    return text.tabled("Route 10|Trap 9|Pest 5|Place 28|Parts", width, rows)


def _parts(close: Close) -> list[Section]:
    parts, lost = close.known.parts.values(), close.losses
    about = listed(f"{part.part.value} {as_name(part.label)}" for part in not_put_away(parts))
    return [
        titled("Stored, by species", map(kept_words, stored(parts))),
        titled("Taken down, whereabouts unknown", [f"{about}."] if about else []),
        titled("! Contaminated bodies", (f"! {scented_words(part)}" for part in to_discard(parts)), "bold red"),
        _lost(lost.missing, lost.never_down, (*lost.lost, *lost.discarded)),
    ]


def _lost(missing: Sequence[tuple[str, object]], never_down: Sequence[str], gone: Sequence[Part]) -> Section:
    said = []
    if missing:
        traps = listed(f"{as_name(trap)} since {since}" for trap, since in missing)
        said.append(f"Found missing: {traps}.")
    if never_down:
        traps = listed(as_name(trap) for trap in never_down)
        said.append(f"Never taken down by the register: {traps}.")
    return titled("Lost this season", [*said, *_gone_lines(gone)])


def bodies_tables(known: KnownParts, label: str = "") -> Section:
    """What each body has held, and where it is.

    Args:
        known: What is known of parts.
        label: Only the body of this label; empty: all.
    """
    sections: list[Section] = []
    for part, held in bodies_of(known, label):
        mark = "! " if part.foreign else ""
        since = f" since {part.since.isoformat()}" if part.since else ""
        place = part.place or (part.trap if part.state.value in ("hung", "assembled") else "")
        where = f"{part.state.value}{since}{f', {as_name(place)}' if place else ''}"
        title = f"{mark}{as_name(part.label)}: {as_name(part.species)}, {where}"
        section: Section = [text.heading(title, "bold red" if part.foreign else "bold")]
        if part.foreign:
            scents = listed(as_name(scent) for scent in part.foreign)
            section.append(paragraph(f"It held {scents}, and plastic keeps the scent: discard it."))
        section += [paragraph(words) for words in held_words(held)]
        sections.append(section)
    what = PartKind.BODY.value
    return stacked(sections) or [paragraph(f"No {what} with a label is on record.")]
