"""What a letter says of insects that are being named, and of counts that a name put right."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from roundtui.domain.orchard_entries import Specimen
from roundtui.domain.plain import plain
from roundtui.domain.specimen_kinds import KINDS
from roundtui.domain.specimens import block_of, is_named, is_open, label, species_of, taken_off
from roundtui.report.letters.letter import Figure, Line, Place, line
from roundtui.report.letters.material import Material
from roundtui.report.letters.words import count, insects, short_figure, species_name
from roundtui.report.numbers import listed
from roundtui.report.words import NAME_WIDTH, Names


def being_named(material: Material, names: Names, farm: str) -> Iterable[Line]:
    """Insects of the seven days that wait for a name, and counts of the seven days that one put right.

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
            yield _put_right(material, names, one, off)
        elif is_open(one):
            yield _waits(material, names, one)


def because(material: Material, farm: str, since: date) -> str:
    """Why a letter replaces one of a day: what was named since, and changes what a letter says of a count or a vial.

    A name that a further one has put right is among them, since the last letter went by it.

    Args:
        material: What the letters are made from.
        farm: Code of the farm.
        since: Day on which the earlier letter was written.

    Returns:
        The rest of a sentence; empty where nothing was named.
    """
    found = [
        f"{label(one)} from trap {plain(one.trap, NAME_WIDTH)} was named {_name(one)}"
        for one in _of(material, farm)
        if _bears(one, material) and one.recorded_at is not None and one.recorded_at.date() >= since
    ]
    return f"since {listed(found)}" if found else ""


def _bears(one: Specimen, material: Material) -> bool:
    again = bool(one.replaces) and is_named(one) and bool(one.in_count or one.vial)
    return again or taken_off(one, material.programme) != 0


def _of(material: Material, farm: str) -> Iterable[Specimen]:
    programme = material.programme
    return (one for one in material.beside.specimens if programme.farm_of(block_of(one, programme)) == farm)


def _waits(material: Material, names: Names, one: Specimen) -> Line:
    number, where, on = _parts(material, names, one)
    species = species_of(one, material.programme)
    are, it = ("is", "it") if one.number == 1 else ("are", "they")
    if one.in_count:
        return line(
            *(number, f" of the {insects(species)} counted in {where} on "),
            *(on, f" {are} being named; the figure may change."),
        )
    turn = f"{it} turn{'s' if one.number == 1 else ''} out to be {species_name(species).lower()}"
    return line(number, f" from {where} on ", on, f" {are} being named, and in no figure unless {turn}.")


def _put_right(material: Material, names: Names, one: Specimen, off: int) -> Line:
    _, where, on = _parts(material, names, one)
    species = species_of(one, material.programme)
    moved = count(abs(off), _place(one, "number"))
    when: tuple[str | Figure, ...] = ()
    if one.identified_on is not None:
        when = (" on ", short_figure(one.identified_on, _place(one, "identified_on")))
    by = plain(one.identified_by, NAME_WIDTH)
    if off > 0:
        words, end = f" of the {insects(species)} counted in {where} on ", "taken off the count."
    else:
        words, end = f" more from {where} on ", "put on the count."
    are = ("was", "is") if one.number == 1 else ("were", "are")
    return line(
        "Corrected: ", moved, words, on, f" {are[0]} {_name(one)}, named by {by}", *when, f", and {are[1]} {end}"
    )


def _name(one: Specimen) -> str:
    """What it is, in the words of a letter."""
    if one.what in KINDS:
        kind = KINDS[one.what]
        return kind.several if one.number != 1 and kind.several else kind.word
    name = species_name(one.what)
    return plain(one.what, NAME_WIDTH) if name == one.what else name[:1].lower() + name[1:]


def _parts(material: Material, names: Names, one: Specimen) -> tuple[Figure, str, Figure]:
    block = names.block(block_of(one, material.programme))
    where = f"trap {plain(one.trap, NAME_WIDTH)} in {block}"
    return count(one.number, _place(one, "number")), where, short_figure(one.read_on, _place(one, "read_on"))


def _place(one: Specimen, key: str) -> Place:
    return ("vials", one.id, key)
