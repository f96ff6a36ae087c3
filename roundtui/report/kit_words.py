"""What a trap body has held, and what became of parts, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from roundtui.domain.farm import natural_key
from roundtui.domain.integrity import Held
from roundtui.domain.kit.entries import PartKind
from roundtui.domain.kit.parts import KnownParts, Part, Whereabouts
from roundtui.domain.kit.season_close import Stored
from roundtui.domain.plain import plain
from roundtui.domain.season_end import SeasonEnd
from roundtui.report.numbers import listed, several
from roundtui.report.words import NAME_WIDTH

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
        species, trap = plain(first.species, NAME_WIDTH), plain(first.trap, NAME_WIDTH)
        if not first.hung:
            lines.append(
                f"{start} {species} put in while {trap} was made up" if trap else f"{start} noted as one for {species}"
            )
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
    place = f" in {plain(row.place, NAME_WIDTH)}" if row.place else ", nobody said where"
    return f"{plain(row.species, NAME_WIDTH)}: {what}{place}: {listed(plain(one, NAME_WIDTH) for one in row.labels)}."


def scented_words(part: Part) -> str:
    """A body that smells of another species, in a sentence.

    Args:
        part: The body.
    """
    scents = listed(plain(scent, NAME_WIDTH) for scent in part.foreign)
    hangs = f", and hangs in {plain(part.trap, NAME_WIDTH)}" if part.state is Whereabouts.HUNG else ""
    name = f"{plain(part.label, NAME_WIDTH)} ({plain(part.species, NAME_WIDTH)})"
    return f"Body {name} held {scents}{hangs}: not to be used again."


def parts_lines(end: SeasonEnd) -> list[str]:
    """Parts put away, lost and discarded in a season, a sentence each.

    Args:
        end: The season.
    """
    lines = [f"Put away, {kept_words(row)}" for row in end.stored]
    for state in (Whereabouts.LOST, Whereabouts.DISCARDED):
        gone = [f"{one.part.value} {plain(one.label, NAME_WIDTH)}" for one in end.parts_gone if one.state is state]
        if gone:
            lines.append(f"Noted as {state.value}: {listed(gone)}.")
    return lines
