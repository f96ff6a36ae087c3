"""Making a trap up: which parts and which lure go together, and what is named before they do.

Nothing is refused: what speaks against a trap is named, each thing by itself, and wants a reason to go on. That two
species never meet in one trap, that a body is used for one species alone: Michigan State University Extension, How to
optimize placement of pheromone traps in your orchard. That a lure stays sealed until it is needed: Ontario, Proper use
of pheromone traps. Labels with the place and the day of setting: FAO, trap handling (X5417E).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from roundtui.domain.programme.farm import Programme, Trap, natural_key
from roundtui.domain.programme.species import trap_style
from roundtui.domain.round.checks import nearest, species_known
from roundtui.domain.round.choices import own_lots
from roundtui.domain.text import plain
from roundtui.domain.traps.entries import Assembled, PartKind, PartNoted
from roundtui.domain.traps.parts import LABEL_OF, KnownParts, Part, Whereabouts
from roundtui.errors import Problem

_SHOWN = 40
LAST_SEASON_DAYS = 400
"""A trap that hung within so many days is offered to be made up again. [d]"""


class Against(StrEnum):
    """What can speak against a trap as it is made up."""

    TRAP_SPECIES = "trap-species"
    TRAP_HANGS = "trap-hangs"
    PART_SPECIES = "part-species"
    SCENTED_BODY = "scented-body"
    PART_GONE = "part-gone"
    PART_ELSEWHERE = "part-elsewhere"
    NO_LABEL = "no-label"
    LOT_SPECIES = "lot-species"
    LOT_EXPIRED = "lot-expired"


@dataclass(frozen=True, slots=True)
class Objection:
    """One thing that speaks against a trap as it is made up."""

    against: Against
    """Which."""
    field: str
    """Field of ``Assembled`` that it is about."""
    words: str
    """In a sentence, with labels as they are written; not yet harmless to show."""


@dataclass(frozen=True, slots=True)
class ToMakeUp:
    """A trap that waits to be made up."""

    trap: str
    """Its label."""
    species: str
    """Its species."""
    block: str
    """Block it is to hang in, or hung in last."""
    style: str
    """Its style."""
    hang_on: date | None
    """Day for which it is planned; None where it is one of last season that does not hang yet."""


def objections(one: Assembled, known: KnownParts) -> tuple[Objection, ...]:
    """What speaks against a trap as it is made up.

    Args:
        one: The trap, with its parts and its lot.
        known: What is known of parts, traps and lots on the day.

    Returns:
        Each thing once, in the order of the fields; empty where nothing does.
    """
    found = [*_of_trap(one, known)]
    for part in PartKind:
        found += _of_part(one, part, known)
    return (*found, *_of_lot(one, known.programme))


def _of_trap(one: Assembled, known: KnownParts) -> Iterable[Objection]:
    rows = known.programme.hangings.get(one.trap, ())
    if rows and rows[-1].species != one.species:
        words = f"{one.trap} is a trap for {rows[-1].species}, for life: hang {one.species} in a trap of its own"
        yield Objection(Against.TRAP_SPECIES, "trap", words)
    now = known.programme.hanging(one.trap, one.assembled_on)
    # On one day a trap is made up before it is hung.
    before = now is not None and (now.hung_on is None or now.hung_on < one.assembled_on)
    if now is not None and before and (now.down_on is None or now.down_on > one.assembled_on):
        yield Objection(Against.TRAP_HANGS, "trap", f"{one.trap} hangs in block {now.block} now")


def _of_part(one: Assembled, kind: PartKind, known: KnownParts) -> Iterable[Objection]:
    name = LABEL_OF[kind]
    label = getattr(one, name)
    if not label:
        if kind is PartKind.BODY or wants_label(one.trap, kind, known):
            yield Objection(Against.NO_LABEL, name, f"the {kind.value} bears no label: its history is unknown")
        return
    part = known.parts.get((kind, label))
    if part is None:
        return
    what = f"{kind.value} {label}"
    if part.species and part.species != one.species:
        yield Objection(Against.PART_SPECIES, name, f"{what} is for {part.species}, not for {one.species}")
    other = [scent for scent in part.scents if scent != one.species]
    if kind is PartKind.BODY and other:
        yield Objection(Against.SCENTED_BODY, name, f"{what} held a lure for {other[-1]}, and plastic keeps the scent")
    if part.state in (Whereabouts.LOST, Whereabouts.DISCARDED):
        yield Objection(Against.PART_GONE, name, f"{what} was {part.state.value}{_on(part)}")
    elif part.state in (Whereabouts.HUNG, Whereabouts.MADE_UP) and part.trap != one.trap:
        does = "hangs in" if part.state is Whereabouts.HUNG else "is assembled in"
        yield Objection(Against.PART_ELSEWHERE, name, f"{what} {does} {part.trap}{_on(part, ' since')}")


def _on(part: Part, word: str = " on") -> str:
    return f"{word} {part.since.isoformat()}" if part.since else ""


def wants_label(trap: str, kind: PartKind, known: KnownParts) -> bool:
    """Whether a trap has such a part at all: a bucket has funnel and lid, others where one was ever named.

    Args:
        trap: Label of the trap.
        kind: Which part.
        known: What is known of traps and parts.
    """
    rows = known.programme.hangings.get(trap, ())
    bucket = bool(rows) and trap_style(rows[-1].style).style == "bucket"
    return kind is PartKind.BODY or bucket or any(getattr(row, LABEL_OF[kind]) for row in rows)


def _of_lot(one: Assembled, programme: Programme) -> Iterable[Objection]:
    lot = programme.lots.get(one.lot)
    if lot is None:
        return
    if lot.species != one.species:
        words = f"lot {lot.lot} attracts {lot.species}: the body is contaminated even if it is taken out again"
        yield Objection(Against.LOT_SPECIES, "lot", words)
    if lot.expires_on is not None and lot.expires_on < one.assembled_on:
        yield Objection(Against.LOT_EXPIRED, "lot", f"lot {lot.lot} was to be put out by {lot.expires_on.isoformat()}")


def check_part(part: PartNoted, programme: Programme) -> tuple[Problem, ...]:
    """What makes a note on a part impossible.

    Args:
        part: The note.
        programme: What is set up, for its species.
    """
    found = _species(part.species, programme)
    if not part.label.strip():
        found += (Problem("label", f"the {part.part.value} has no label", "write the label that is on it"),)
    if part.label == "yes":
        found += (Problem("label", "yes is not a label of a part", "write the label that is on it"),)
    return found


def check_assembly(one: Assembled, programme: Programme) -> tuple[Problem, ...]:
    """What makes a trap made up impossible; what only speaks against it is for ``objections``.

    Args:
        one: The trap made up.
        programme: What is set up, for its species and lots.
    """
    found = _species(one.species, programme)
    if not one.trap.strip():
        found += (Problem("trap", "the trap has no label", "write the label it will have"),)
    if one.lot and one.lot not in programme.lots:
        hint = nearest(one.lot, programme.lots) or "the lots are in lures.csv"
        found += (Problem("lot", f"there is no lot {plain(one.lot, _SHOWN)}", hint),)
    if one.body_label == "yes":
        found += (Problem("body_label", "yes is not a label of a body", "write the label that is on it, or none"),)
    return found


def _species(species: str, programme: Programme) -> tuple[Problem, ...]:
    known = species_known(programme)
    if species in known:
        return ()
    hint = nearest(species, known) or f"one of {', '.join(sorted(known))}"
    return (Problem("species", f"{plain(species, _SHOWN) or 'a blank'} is no species that is known", hint),)


def proposed(trap: str, species: str, known: KnownParts, last_lot: str = "") -> Assembled:
    """A trap as it would be made up without further thought: its own parts of last time, and a lot that keeps.

    Args:
        trap: Label of the trap.
        species: Its species.
        known: What is known of parts and lots.
        last_lot: Lot that was put into the trap before it, which then comes first.

    Returns:
        Labels of those of its own parts that are in store and clean, blank for the others.
    """
    own = {kind: part for kind in PartKind if (part := known.of_trap(trap, kind)) is not None}
    ready = {kind: part.label for kind, part in own.items() if part.species == species and part.in_store}
    row = Trap(trap, "", species)
    lots = own_lots(known.programme, row, known.on, last_lot)
    return Assembled(
        trap=trap,
        species=species,
        assembled_on=known.on,
        body_label=ready.get(PartKind.BODY, ""),
        funnel_label=ready.get(PartKind.FUNNEL, ""),
        lid_label=ready.get(PartKind.LID, ""),
        lot=lots[0].lot if lots else "",
    )


def to_make_up(known: KnownParts) -> tuple[ToMakeUp, ...]:
    """Traps that wait to be made up: those planned to hang, then those of last season that do not hang yet.

    Args:
        known: What is known of traps on the day.

    Returns:
        By the day they are planned for, farm, block and label; a trap made up is not among them.
    """
    on = known.on
    found = []
    for trap, rows in known.programme.hangings.items():
        last = rows[-1]
        if trap in known.waiting or last.hung_on is None:
            continue
        planned = last.hung_on > on
        down = last.down_on is not None and last.down_on <= on
        if planned or (down and last.down_on is not None and last.down_on >= on - timedelta(days=LAST_SEASON_DAYS)):
            found.append(ToMakeUp(trap, last.species, last.block, last.style, last.hung_on if planned else None))
    return tuple(sorted(found, key=lambda one: (one.hang_on or date.max, *_place(known.programme, one))))


def _place(programme: Programme, one: ToMakeUp) -> tuple[object, ...]:
    return natural_key(programme.farm_of(one.block)), natural_key(one.block), natural_key(one.trap)


def hanging_row(one: Assembled, block: str, hung_on: date, **place: str) -> dict[str, str]:
    """A trap made up as a row of ``traps.csv``: hung in a block on a day.

    Args:
        one: The trap made up.
        block: Code of the block.
        hung_on: Day of hanging.
        place: Text of further columns, as row, tree, style or edge.

    Returns:
        Text by column; blank columns are left out.
    """
    said = {
        "trap": one.trap,
        "block": block,
        "species": one.species,
        "hung_on": hung_on.isoformat(),
        "lot": one.lot,
        **{name: getattr(one, name) for name in LABEL_OF.values()},
        **place,
    }
    return {column: text for column, text in said.items() if text}
