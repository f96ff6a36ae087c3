"""Words of a letter: statuses in plain words, days, rates, trends."""

from __future__ import annotations

import re
from datetime import date
from fractions import Fraction

from roundtui.domain.figures.verdicts import BlockRow, Status
from roundtui.domain.programme.species import SPECIES
from roundtui.domain.text import plain
from roundtui.report import text as numbers
from roundtui.report.letters.letter import Figure, Line, Place, line
from roundtui.report.text import NAME_WIDTH

_ISO_DAY = re.compile(r"\b\d{4}-\d{2}-\d{2}\b", re.ASCII)
STATUSES = {
    Status.OVER: "over threshold",
    Status.WITHIN: "within threshold",
    Status.BELOW: "below threshold",
    Status.CANNOT_TELL: "cannot be told",
    Status.NO_RULE: "no rule fits",
    Status.NOT_READ: "not read",
}
"""A status in the words of a letter."""
MEANINGS = {
    Status.OVER: "The catch has reached the number at which the rule asks for a decision. Check the fruit, and talk "
    "to your adviser.",
    Status.WITHIN: "The catch lies between the two numbers of the rule: worth a closer look before the next visit.",
    Status.BELOW: "The catch is lower than the rule asks to act on. That alone does not say that the block is clean.",
    Status.CANNOT_TELL: "The readings do not decide it.",
    Status.NO_RULE: "The catch is shown, but there is no number to compare it with.",
    Status.NOT_READ: "No trap was read in these seven days.",
}
"""What a status says, and what it does not."""
RANKS = {
    Status.OVER: 3,
    Status.WITHIN: 2,
    Status.BELOW: 1,
    Status.CANNOT_TELL: 1,
    Status.NO_RULE: 0,
    Status.NOT_READ: 0,
}
"""How strongly a status is shaded."""
NOTE_WIDTH = 300
"""Longest note of a scout in a letter; the whole of it is on record. [columns]"""


def species_name(code: str) -> str:
    """Common name of a species, with a capital; its code where nobody knows it."""
    known = SPECIES.get(code)
    name = known.name if known else plain(code, NAME_WIDTH)
    return name[:1].upper() + name[1:]


def insects(code: str) -> str:
    """What is counted in its trap, in the plural."""
    known = SPECIES.get(code)
    return known.insects if known else "insects"


def event_name(name: str) -> str:
    """An event of a life cycle; the ends of a published range are named as such."""
    shown = plain(name, NAME_WIDTH)
    for ending, words in ((", from", "earliest published"), (", to", "latest published")):
        if shown.endswith(ending):
            return f"{shown.removesuffix(ending)} ({words})"
    return shown


def day(on: date) -> str:
    """A day with its weekday and year, as Mon 14 Jul 2025."""
    return f"{short_day(on)} {on.year}"


def short_day(on: date) -> str:
    """A day of this year, as Mon 14 Jul."""
    return f"{on:%a} {on.day} {on:%b}"


def spoken_days(words: str) -> str:
    """Words of the record with their days as people write them: 2025-06-10 as Tue 10 Jun 2025.

    Args:
        words: In which a day stands in ISO 8601.
    """
    return _ISO_DAY.sub(lambda found: _spoken(found[0]), words)


def _spoken(text: str) -> str:
    try:
        return day(date.fromisoformat(text))
    except ValueError:
        return text


def day_figure(on: date, place: Place) -> Figure:
    """A day as a figure."""
    return Figure(day(on), on, place)


def short_figure(on: date, place: Place) -> Figure:
    """A day of this year as a figure."""
    return Figure(short_day(on), on, place)


def count(value: int, place: Place) -> Figure:
    """A whole number as a figure."""
    return Figure(str(value), value, place)


def rate(value: Fraction | None, place: Place, edges: tuple[Fraction, ...] = ()) -> Figure:
    """A rate as a figure, rounded so that it stays on its side of the band."""
    return Figure(numbers.figure(value, edges), value, place)


def at_block(row: BlockRow, key: str, report: str = "summary") -> Place:
    """Where a figure of a block stands."""
    return (report, "blocks", row.block, row.species, key)


def trend(now: Figure, before: Figure, when: Line) -> Line:
    """How a catch stands against an earlier one.

    Args:
        now: The catch.
        before: The earlier one.
        when: When that was.
    """
    if before.value is None:
        return line("no figure ", *when.parts)
    if not isinstance(now.value, Fraction) or not isinstance(before.value, Fraction):
        return line(before, " ", *when.parts)
    if now.text == before.text:
        word = "unchanged from" if now.value == before.value else "much as"
    else:
        word = "up from" if now.value > before.value else "down from"
    return line(f"{word} ", before, " ", *when.parts)
