"""What a letter says of treatments that the grower spoke of: the catch before and since, not what was applied."""

from __future__ import annotations

from collections.abc import Iterable

from roundtui.domain.plain import plain
from roundtui.domain.treatments import Treated
from roundtui.domain.watch import Watch, WatchVerdict
from roundtui.report.letters.letter import Figure, Line, Place, line
from roundtui.report.letters.material import Material
from roundtui.report.letters.words import count, day_figure, insects, rate, short_figure, species_name
from roundtui.report.words import NAME_WIDTH

_NATURAL = "A catch also falls by itself, at the end of a flight and in cold or wet weather."


def treatments(material: Material, block: str, species: str) -> Iterable[Line]:
    """The treatments of a block against a species, of the last weeks, the newest first.

    Args:
        material: What the letters are made from.
        block: Code of the block.
        species: Abbreviation of the species.
    """
    found = material.treated.get((block, species), ())
    for one in found:
        yield _line(one)
        yield from _beside(one.watch)
    if any(one.watch.traps for one in found):
        yield line(_NATURAL)


def _place(seen: Watch, *keys: str) -> Place:
    return ("treatments", seen.block, seen.species, seen.treated_on.isoformat(), *keys)


def _line(one: Treated) -> Line:
    seen = one.watch
    head = (
        f"Treatment against {species_name(seen.species)} on ",
        day_figure(seen.treated_on, _place(seen, "treated_on")),
        ", as you told us: ",
    )
    verdict = Figure(seen.verdict.value, seen.verdict.value, _place(seen, "verdict"))
    why = Figure(seen.why, seen.why, _place(seen, "why"))
    if not seen.traps:
        return line(*head, verdict, "; ", why, ".")
    return line(
        *head,
        "it is " if seen.verdict is WatchVerdict.EARLY else "the catch is ",
        verdict,
        ". ",
        rate(seen.before.per_week, _place(seen, "before", "per_week")),
        f" {insects(seen.species)} a trap and week before (",
        count(seen.before.readings, _place(seen, "before", "readings")),
        " readings), ",
        rate(seen.after.per_week, _place(seen, "after", "per_week")),
        " since (",
        count(seen.after.readings, _place(seen, "after", "readings")),
        " readings): ",
        why,
        ".",
    )


def _beside(seen: Watch) -> Iterable[Line]:
    """What bears on it and is no fault of anyone's."""
    if not seen.over:
        until = short_figure(seen.until, _place(seen, "until"))
        more = count(seen.awaited, _place(seen, "awaited"))
        yield line("The traps are watched on; readings still to come: ", more, ", at the latest until ", until, ".")
    if seen.lures:
        traps = ", ".join(plain(trap, NAME_WIDTH) for trap in dict.fromkeys(trap for trap, _ in seen.lures))
        yield line(f"The lure was changed since in {traps}, which raises a catch.")
    if seen.may_end_by_itself:
        yield line("The catch was falling before the treatment already, so that the flight may be ending by itself.")
