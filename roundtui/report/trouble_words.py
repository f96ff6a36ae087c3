"""What is wrong between traps and their lures or bodies, and which readings disagree, in plain sentences."""

from __future__ import annotations

from collections.abc import Sequence

from rich.text import Text

from roundtui.domain.plain import plain
from roundtui.domain.verdicts import Conflict, Trouble, TroubleKind
from roundtui.report.numbers import day, listed
from roundtui.report.words import NAME_WIDTH, Names, Section, heading, paragraph

_CLEAN_BODY = "and a clean body, since plastic keeps the scent"


def integrity_section(troubles: Sequence[Trouble], names: Names) -> Section:
    """Traps whose catch cannot be trusted: which, since when, what to do.

    Args:
        troubles: As the summary lists them; a swapped pair is told once.
        names: Names of farms and blocks.

    Returns:
        A title and a sentence or three for each; empty where there is none.
    """
    if not troubles:
        return []
    section: Section = [
        heading("!! Traps that cannot be trusted", "bold red"),
        paragraph("What they caught since the day named stays on record and out of the means."),
    ]
    told: set[str] = set()
    by_trap = {trouble.trap: trouble for trouble in troubles}
    for trouble in troubles:
        if trouble.trap in told:
            continue
        partner = by_trap.get(trouble.partner) if trouble.partner else None
        told |= {trouble.trap, *([partner.trap] if partner else [])}
        words = _pair(trouble, partner, names) if partner else _alone(trouble, names)
        section.append(paragraph(Text.assemble(("! ", "bold red"), words, overflow="fold")))
    return section


def _trap(trouble: Trouble) -> str:
    return f"{plain(trouble.trap, NAME_WIDTH)} ({plain(trouble.species, NAME_WIDTH)})"


def _pair(trouble: Trouble, partner: Trouble, names: Names) -> str:
    places = (
        names.place(trouble.block)
        if trouble.block == partner.block
        else f"{names.place(trouble.block)}; {names.place(partner.block)}"
    )
    since = (
        f"both since {day(trouble.since)}"
        if trouble.since == partner.since
        else f"{plain(trouble.trap, NAME_WIDTH)} since {day(trouble.since)}, "
        f"{plain(partner.trap, NAME_WIDTH)} since {day(partner.since)}"
    )
    return (
        f"{_trap(trouble)} and {_trap(partner)} hold each other's lure, {since} [{places}]. "
        f"Put each species' own lure back, new, {_CLEAN_BODY}."
    )


def _alone(trouble: Trouble, names: Names) -> str:
    trap, place, since = _trap(trouble), names.place(trouble.block), day(trouble.since)
    own = plain(trouble.species, NAME_WIDTH)
    found = plain(trouble.found, NAME_WIDTH) if trouble.found else "another species"
    match trouble.kind:
        case TroubleKind.NO_LURE:
            return f"{trap} is without a lure since {since} [{place}]. Put in a lure for {own}."
        case TroubleKind.SCENTED_BODY:
            return f"The body of {trap} keeps the scent of {found} since {since} [{place}]. Replace it by a clean body."
        case TroubleKind.SWAPPED_LURES:
            other = plain(trouble.partner or "", NAME_WIDTH)
            return (
                f"{trap} holds the lure of {other} ({found}) and the other way round, since {since} [{place}]. "
                f"Put each species' own lure back, new, {_CLEAN_BODY}."
            )
        case TroubleKind.WRONG_LURE:
            return f"{trap} holds a lure for {found} since {since} [{place}]. Put in a lure for {own} {_CLEAN_BODY}."


def conflict_section(conflicts: Sequence[Conflict], names: Names) -> Section:
    """Readings of one trap on one day that disagree.

    Args:
        conflicts: As the summary lists them.
        names: Names of farms and blocks.

    Returns:
        A title and a sentence for each; empty where there is none.
    """
    if not conflicts:
        return []
    section: Section = [
        heading("!! Two readings of one trap on one day", "bold red"),
        paragraph("The trap's figure is out until one of the two is corrected."),
    ]
    for conflict in conflicts:
        counts = listed([f"{plain(scout, NAME_WIDTH)} {count}" for scout, count in conflict.counts])
        words = f"! {plain(conflict.trap, NAME_WIDTH)} on {day(conflict.read_on)}"
        words += f": {counts}" if counts else ""
        section.append(paragraph(f"{words} [{names.place(conflict.block)}]." if conflict.block else f"{words}."))
    return section
