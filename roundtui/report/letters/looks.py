"""What the scout saw on leaf and fruit, in a letter: every figure stands in ``looks --json``."""

from __future__ import annotations

from collections.abc import Iterable

from roundtui.domain.looks.findings import GRADES, LookRow
from roundtui.domain.looks.plans import Outcome
from roundtui.domain.looks.records import plural
from roundtui.domain.orchard_entries import LookKind
from roundtui.domain.plain import plain
from roundtui.domain.verdicts import BlockRow
from roundtui.report.letters.letter import Figure, Line, Place, line
from roundtui.report.letters.material import Material
from roundtui.report.letters.words import NOTE_WIDTH, count, day_figure
from roundtui.report.look_words import (
    VERDICTS,
    interval_ends,
    number_words,
    per_unit,
    percent,
    presence_words,
    sought_words,
)
from roundtui.report.words import NAME_WIDTH, Names


def looks(material: Material, names: Names, farm: str) -> Iterable[Line]:
    """Looks at leaf and fruit of the week.

    Args:
        material: What the letters are made from.
        names: Names of farms and blocks.
        farm: Code of the farm.
    """
    for row in material.looks:
        if material.programme.farm_of(row.look.block) == farm and material.first <= row.look.looked_on <= material.on:
            yield line(
                f"{names.block(row.look.block)}, ",
                day_figure(row.look.looked_on, _at(row, "looked_on")),
                f", {sought_words(row.sought)}: ",
                *_found(row),
                *_counted(row),
                *_beside(row),
                ". ",
                *_verdict(row),
                ".",
            )


def fruit(material: Material, row: BlockRow) -> Line:
    """What a look at the fruit found where a low catch is weak evidence, or that one is asked for.

    Args:
        material: What the letters are made from.
        row: The block in the summary.
    """
    from roundtui.domain.looks.findings import fruit_look

    newest = fruit_look((one.look for one in material.looks), row.block, row.species, material.on)
    if newest is None:
        return line("Under mating disruption a low catch is weak evidence: look at the fruit.")
    shown = next(one for one in material.looks if one.look is newest)
    # A look of the week stands in full under what the scout saw.
    listed = newest.looked_on >= material.first
    return line(
        "Under mating disruption a low catch is weak evidence. The fruit was looked at on ",
        day_figure(newest.looked_on, _at(shown, "looked_on")),
        ": ",
        *_found(shown),
        *(() if listed else _beside(shown)),
        "; " if listed else ". ",
        *_verdict(shown, short=listed),
        ".",
    )


def _at(row: LookRow, *keys: str) -> Place:
    return ("looks", row.look.id, *keys)


def _found(row: LookRow) -> Iterable[str | Figure]:
    unit = plain(plural(row.look.looked_at, row.look.looked), NAME_WIDTH)
    yield count(row.look.found, _at(row, "found"))
    yield " of "
    yield count(row.look.looked, _at(row, "looked"))
    yield f" {unit} {'injured' if row.look.kind is LookKind.FRUIT else 'with it'}, "
    yield Figure(percent(row), row.share * 100, _at(row, "percent"))
    low, high = interval_ends(row.interval)
    yield " % (with 95 % certainty between "
    yield Figure(low, 100 * row.interval[0], _at(row, "interval_percent", "0"))
    yield " and "
    yield Figure(high, 100 * row.interval[1], _at(row, "interval_percent", "1"))
    yield " %)"


def _counted(row: LookRow) -> Iterable[str | Figure]:
    if row.per_unit is not None and row.sought.counted and row.look.found:
        yield ", "
        yield Figure(per_unit(row), row.per_unit, _at(row, "per_unit"))
        yield f" {plain(row.sought.counted, NAME_WIDTH)} a {plain(row.look.looked_at, NAME_WIDTH)}"
    elif made := presence_words(row):
        yield f", {made} by a published table of leaves with mites"


def _beside(row: LookRow) -> Iterable[str | Figure]:
    look = row.look
    for key, number, before, after in (
        ("entries", look.entries, ", ", " with entries"),
        ("stings", look.stings, ", ", " more with stings only"),
        ("beneficials", look.beneficials, ", predators on ", ""),
        ("trees", look.trees, ", on trees: ", ""),
    ):
        if number:
            yield before
            yield count(number, _at(row, key))
            yield after
    if look.grade is not None:
        yield ", grade "
        yield count(look.grade, _at(row, "grade"))
        yield f" ({GRADES[look.grade]})"
    for text in (look.place, look.note):
        if text:
            yield f"; {plain(text, NOTE_WIDTH)}"


def _verdict(row: LookRow, *, short: bool = False) -> Iterable[str | Figure]:
    outcome = row.verdict.outcome
    words = VERDICTS[outcome]
    yield Figure(words if short else words[:1].upper() + words[1:], outcome.value, _at(row, "verdict"))
    if short:
        return
    if outcome is Outcome.MORE:
        yield ": "
        yield count(row.verdict.more, _at(row, "more"))
        yield f" {plain(plural(row.look.looked_at, row.verdict.more), NAME_WIDTH)} more"
    if row.plan is not None:
        number = number_words(row.plan, plain(row.look.looked_at, NAME_WIDTH))
        yield f" ({number}; {plain(row.plan.source, NOTE_WIDTH)})"
