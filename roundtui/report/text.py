"""Figures, bands and days as people read them.

Small pieces that the tables of a report share: headings, paragraphs, names of blocks and farms.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import Enum
from fractions import Fraction
from typing import Any

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from roundtui.domain.figures.history import History, Observations
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.verdicts import Summary
from roundtui.domain.programme.farm import Programme
from roundtui.domain.text import sanitize, spoken_days

NONE = "–"
"""What stands where a figure does not exist; never a zero."""
_MOST_DECIMALS = 6


def figure(value: Fraction | None, edges: Iterable[Fraction] = (), *, decimals: int = 1) -> str:
    """Write a rate so that rounding never moves it over an edge of its band.

    Args:
        value: Figure, in the unit of its column; None where it does not exist.
        edges: Edges of the band it is compared with: the text stays on the side of each on which the figure is.
        decimals: Decimals wanted; more are written where an edge needs them.

    Returns:
        The rounded figure, as ``4.96`` rather than ``5.0`` where the band ends at 5.
    """
    if value is None:
        return NONE
    sides = tuple(edges)
    for places in range(decimals, _MOST_DECIMALS + 1):
        rounded = round(value, places)
        if all((rounded < edge) == (value < edge) and (rounded > edge) == (value > edge) for edge in sides):
            return _fixed(rounded, places)
    edge = min(sides, key=lambda side: abs(side - value))
    return f"{'<' if value < edge else '>'}{number(edge)}"


def _fixed(rounded: Fraction, places: int) -> str:
    """A fraction that was rounded to so many places, written with all of them."""
    digits = str(abs(int(rounded * 10**places))).rjust(places + 1, "0")
    sign = "-" if rounded < 0 else ""
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else f"{sign}{digits}"


def number(value: Fraction) -> str:
    """Write a number of a rule: whole where it is whole, else without idle zeros.

    Args:
        value: A number as a rule states it.

    Returns:
        As ``3`` or ``4.7``.
    """
    return str(value.numerator) if value.denominator == 1 else f"{float(value):.6f}".rstrip("0").rstrip(".")


def band(limits: tuple[Fraction, Fraction] | None) -> str:
    """Write a rule's band.

    Args:
        limits: Low and high; equal where the rule is one number.

    Returns:
        As ``3–5``, one number for a band of one, or the mark for none.
    """
    if limits is None:
        return NONE
    low, high = limits
    return number(low) if low == high else f"{number(low)}–{number(high)}"


def days(exposed: tuple[int, ...]) -> str:
    """Write the days of exposure behind a figure.

    Args:
        exposed: Days of exposure, or the shortest and the longest of them. [d]

    Returns:
        As ``7`` or ``6–12``, or the mark for none.
    """
    if not exposed:
        return NONE
    least, most = min(exposed), max(exposed)
    return str(least) if least == most else f"{least}–{most}"


def day(on: date | None) -> str:
    """Write a day.

    Args:
        on: The day; None where nobody wrote it down.

    Returns:
        The ISO form, or words.
    """
    return "a day not on record" if on is None else on.isoformat()


def several(amount: int, one: str, many: str = "") -> str:
    """Write an amount with its noun.

    Args:
        amount: How many.
        one: The noun for one.
        many: The noun for several; ``one`` with an s where empty.

    Returns:
        As ``1 day`` or ``3 days``.
    """
    return f"{amount} {one if amount == 1 else many or one + 's'}"


def listed(words: Iterable[str]) -> str:
    """Join words as a sentence does.

    Args:
        words: What to list.

    Returns:
        As ``A2``, ``A2 and A3`` or ``A2, A3 and A10``.
    """
    items = list(words)
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}" if items else ""


def json_of(one: object, names: str) -> dict[str, Any]:
    """What a record says as JSON has it: days in ISO 8601, words of enumerations, fractions as numbers.

    Args:
        one: The record.
        names: Its attributes; ``name=path`` takes one under another name or from further in, and one with ``?`` behind
            it is null where it is empty.
    """
    found = {}
    for said in names.split():
        name, _, path = said.removesuffix("?").partition("=")
        value: Any = one
        for part in (path or name).split("."):
            value = None if value is None else getattr(value, part)
        found[name] = None if said.endswith("?") and not value else plain(value)
    return found


def plain(value: Any) -> Any:
    """A value as JSON has it.

    Args:
        value: A day, a word, a fraction, several of them, or what JSON knows by itself.
    """
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Fraction):
        return float(value)
    return [plain(one) for one in value] if isinstance(value, tuple | list) else value


NAME_WIDTH = 40
"""Longest name shown. [columns]"""
NOTE_WIDTH = 240
"""Longest note shown; the whole of it is on record. [columns]"""

Section = list[RenderableType]


class Names:
    """Names of farms and blocks as people say them, harmless to show.

    Args:
        programme: What is set up; a code nobody knows stands for itself.
    """

    def __init__(self, programme: Programme) -> None:
        self._programme = programme

    def farm(self, code: str) -> str:
        """Name of a farm.

        Args:
            code: Code of the farm.
        """
        known = self._programme.farms.get(code)
        return sanitize(known.name if known and known.name else code, NAME_WIDTH)

    def block(self, code: str) -> str:
        """Code and name of a block, the name left out where it says the same.

        Args:
            code: Code of the block.
        """
        known = self._programme.blocks.get(code)
        if known is None or not known.name or known.name == code:
            return sanitize(code, NAME_WIDTH)
        return f"{sanitize(code, NAME_WIDTH // 2)} {sanitize(known.name, NAME_WIDTH)}"

    def place(self, block: str) -> str:
        """A block and its farm, for a sentence.

        Args:
            block: Code of the block.
        """
        farm = self._programme.farm_of(block)
        return f"{self.block(block)}, {self.farm(farm)}" if farm else self.block(block)

    def farm_code(self, block: str) -> str:
        """Code of the farm a block belongs to.

        Args:
            block: Code of the block.
        """
        return self._programme.farm_of(block)

    def species(self, trap: str) -> str:
        """Species of a trap; empty for a trap nobody knows.

        Args:
            trap: Label of the trap.
        """
        hangings = self._programme.hangings.get(trap, ())
        return hangings[-1].species if hangings else ""

    def contact(self, farm: str) -> tuple[str, str]:
        """Whom to call about a farm.

        Args:
            farm: Code of the farm.

        Returns:
            The grower's name, and the phone number or words saying that there is none.
        """
        known = self._programme.farms.get(farm)
        if known is None:
            return "grower not on record", "no phone on record"
        return (
            sanitize(known.grower, NAME_WIDTH) if known.grower else "grower not on record",
            sanitize(known.phone, NAME_WIDTH) if known.phone else "no phone on record",
        )


def table_of(columns: str, width: int | None = None, *, fold: bool = True) -> Table:
    """An empty table without lines.

    Args:
        columns: Title and width of each, ``_`` for a space; 0 takes what is left, ``>`` stands before what goes right.
        width: Columns to fill; None: as many as it takes.
        fold: Whether what is too long goes on below; else it is cut, so that every row is a line.
    """
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, width=width, header_style="underline")
    for title, wide in (one.split("|") for one in columns.split(" ")):
        number = int(wide.lstrip(">"))
        table.add_column(
            title.replace("_", " "),
            width=number or None,
            ratio=None if number else 1,
            justify="right" if wide.startswith(">") else "left",
            no_wrap=not fold,
            overflow="fold" if fold else "ellipsis",
        )
    return table


def heading(words: str, style: str = "bold") -> Text:
    """Title of a section.

    Args:
        words: The title.
        style: How it stands out where there is colour.
    """
    return Text(spoken_days(words), style=style, no_wrap=False, overflow="fold")


def paragraph(words: str | Text, indent: int = 2) -> Padding:
    """Words below a title.

    Args:
        words: What to say; text from people has gone through ``sanitize``. Days in ISO 8601 are said as people do.
        indent: Columns left free before it.
    """
    text = Text(words, overflow="fold") if isinstance(words, str) else words
    text.plain = spoken_days(text.plain)
    return Padding(text, (0, 0, 0, indent), expand=False)


def stacked(sections: Iterable[Section]) -> Section:
    """Put sections below each other with an empty line between.

    Args:
        sections: Each a title and what stands below it; empty ones are left out.
    """
    stack: Section = []
    for section in sections:
        if section:
            stack += [Text(""), *section] if stack else section
    return stack


@dataclass(frozen=True, slots=True)
class Asked:
    """What a section is made from. ``summary`` has the blocks that are asked about, the rest may have more."""

    summary: Summary
    """The summary of the day."""
    programme: Programme
    """What is set up."""
    history: History
    """The record up to the day."""
    observations: Observations
    """What stands beside the counts of the season, of the blocks of the summary alone."""
    office: Office
    """Rules, and when the season starts."""
    width: int = 80
    """Columns to fill."""

    @property
    def names(self) -> Names:
        """Names as people say them."""
        return Names(self.programme)
