"""Figures, bands and days as people read them.

Small pieces that the tables of a report share: headings, paragraphs, names of blocks and farms.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from functools import lru_cache
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from roundtui.domain.programme.farm import Programme
from roundtui.domain.text import cells, ruled, sanitize, spoken_days
from roundtui.published import read

if TYPE_CHECKING:
    from rich.console import Console, ConsoleOptions
    from rich.segment import Segment

WORDS = {about: list(ruled(rows)) for about, rows in read("words", Path(__file__).parent).items()}
"""What reports and letters say, row by row, by what it is about: ``words.txt``."""
NONE = "–"
"""What stands where a figure does not exist; never a zero."""
_MOST_DECIMALS = 6


@lru_cache(maxsize=4096)
def figure(value: Fraction | None, edges: tuple[Fraction, ...] = (), *, decimals: int = 1) -> str:
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
    # In whole numbers: sums and comparisons of fractions take ten times as long.
    top, bottom = value.as_integer_ratio()
    for places in range(decimals, _MOST_DECIMALS + 1):
        power = 10**places
        rounded, rest = divmod(top * power, bottom)
        rounded += 2 * rest > bottom or (2 * rest == bottom and rounded % 2)
        if all(_side(rounded, power, edge) == _side(top, bottom, edge) for edge in edges):
            digits = str(abs(rounded)).rjust(places + 1, "0")
            return f"{'-' if rounded < 0 else ''}{digits[: -places or None]}{f'.{digits[-places:]}' if places else ''}"
    edge = min(edges, key=lambda side: abs(side - value))
    return f"{'<' if value < edge else '>'}{number(edge)}"


def _side(top: int, bottom: int, edge: Fraction) -> int:
    """On which side of an edge a fraction lies."""
    here, there = top * edge.denominator, edge.numerator * bottom
    return (here > there) - (here < there)


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


def json_of(one: object, names: str) -> dict[str, Any]:
    """What a record says as JSON has it: days in ISO 8601, words of enumerations, fractions as numbers.

    Args:
        one: The record.
        names: Its attributes; ``name=path`` takes one under another name or from further in, and one with ``?`` behind
            it is null where it is empty.
    """
    found = {}
    for name, path, blank in _asked(names):
        value: Any = one
        for part in path:
            value = None if value is None else getattr(value, part)
        found[name] = None if blank and not value else value if type(value) in _SIMPLE else plain(value)
    return found


@lru_cache
def _asked(names: str) -> list[tuple[str, list[str], bool]]:
    parts = [(said.removesuffix("?").partition("="), said.endswith("?")) for said in names.split()]
    return [(name, (path or name).split("."), blank) for (name, _, path), blank in parts]


_SIMPLE = {str, int, bool, float, type(None)}


def plain(value: Any) -> Any:
    """A value as JSON has it.

    Args:
        value: A day, a word, a fraction, several of them, or what JSON knows by itself.
    """
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Fraction | Decimal):
        return float(value)
    return [plain(one) for one in value] if isinstance(value, tuple | list) else value


NAME_WIDTH = 40
"""Longest name shown. [columns]"""
NOTE_WIDTH = 240
"""Longest note shown; the whole of it is on record. [columns]"""

Section: TypeAlias = "list[Line]"


def as_name(text: str) -> str:
    """A name or label as a person wrote it, harmless and no longer than names are shown."""
    return sanitize(text, NAME_WIDTH)


def as_note(text: str) -> str:
    """A sentence as a person wrote it, harmless and no longer than notes are shown."""
    return sanitize(text, NOTE_WIDTH)


class Names:
    """Names of farms and blocks as people say them, harmless to show.

    Args:
        programme: What is set up; a code nobody knows stands for itself.
    """

    def __init__(self, programme: Programme) -> None:
        self.programme = programme

    def farm(self, code: str) -> str:
        """Name of a farm.

        Args:
            code: Code of the farm.
        """
        known = self.programme.farms.get(code)
        return sanitize(known.name if known and known.name else code, NAME_WIDTH)

    def block(self, code: str) -> str:
        """Code and name of a block, the name left out where it says the same.

        Args:
            code: Code of the block.
        """
        known = self.programme.blocks.get(code)
        if known is None or not known.name or known.name == code:
            return sanitize(code, NAME_WIDTH)
        return f"{sanitize(code, NAME_WIDTH // 2)} {sanitize(known.name, NAME_WIDTH)}"

    def place(self, block: str) -> str:
        """A block and its farm, for a sentence.

        Args:
            block: Code of the block.
        """
        farm = self.programme.farm_of(block)
        return f"{self.block(block)}, {self.farm(farm)}" if farm else self.block(block)

    def species(self, trap: str) -> str:
        """Species of a trap; empty for a trap nobody knows.

        Args:
            trap: Label of the trap.
        """
        hangings = self.programme.hangings.get(trap, ())
        return hangings[-1].species if hangings else ""

    def contact(self, farm: str) -> tuple[str, str]:
        """Whom to call about a farm.

        Args:
            farm: Code of the farm.

        Returns:
            The grower's name, and the phone number or words saying that there is none.
        """
        known = self.programme.farms.get(farm)
        if known is None:
            return "grower not on record", "no phone on record"
        return (
            sanitize(known.grower, NAME_WIDTH) if known.grower else "grower not on record",
            sanitize(known.phone, NAME_WIDTH) if known.phone else "no phone on record",
        )


Part = tuple[str, str]
"""Words and their style."""


class Line:
    """Words that are folded where they are shown: what a text of rich draws, at a tenth of its cost.

    Args:
        parts: The words, each with its style.
        indent: Columns left free before them.
    """

    def __init__(self, parts: Sequence[Part], indent: int = 0) -> None:
        self.parts, self.indent = parts, indent

    def _folded(self, width: int) -> tuple[str, list[str]]:
        text = "".join(words for words, _ in self.parts)
        return text, folds(text, max(1, width - self.indent))

    def plain(self, width: int) -> str:
        """Its lines without their styles.

        Args:
            width: Most cells of a line.
        """
        blank = " " * self.indent
        return "".join([f"{blank}{line}\n" for line in self._folded(width)[1]])

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterator[Segment]:
        """Its lines."""
        from rich.segment import Segment

        if len(self.parts) == 1:
            style = self.parts[0][1]
            yield Segment(self.plain(options.max_width), console.get_style(style) if style else None)
            return
        (text, lines), at = self._folded(options.max_width), 0
        for line in lines:
            yield Segment(" " * self.indent)
            first = text.index(line, at)
            at, there = first + len(line), 0
            for words, style in self.parts:
                said = words[max(0, first - there) : max(0, at - there)]
                yield Segment(said, console.get_style(style) if style else None)
                there += len(words)
            yield Segment.line()


def folds(text: str, width: int) -> list[str]:
    """Lines of a text, broken at its blanks, and anywhere in a word that is too long.

    Args:
        text: The text; it may be of several lines already.
        width: Most cells of a line.
    """
    if "\n" in text:
        return [line for part in text.split("\n") for line in folds(part, width)]
    lines, narrow = [], cells(text) == len(text)
    while len(text) > width or (not narrow and cells(text) > width):
        most = width
        while not narrow and most > 1 and cells(text[:most]) > width:
            most -= 1
        blank = text.rfind(" ", 1, most + 1)
        lines.append(text[: most if blank < 0 else blank].rstrip())
        text = text[most if blank < 0 else blank :].lstrip()
    return [*lines, text]


def heading(words: str, style: str = "bold") -> Line:
    """Title of a section.

    Args:
        words: The title.
        style: How it stands out where there is colour.
    """
    return Line([(spoken_days(words), style)])


def paragraph(words: str | Sequence[Part], indent: int = 2) -> Line:
    """Words below a title.

    Args:
        words: What to say, or parts of it with their styles; text from people has gone through ``sanitize``. Days in
            ISO 8601 are said as people do.
        indent: Columns left free before it.
    """
    said = [(words, "")] if isinstance(words, str) else words
    return Line([(spoken_days(part), style) for part, style in said], indent)


def titled(title: str, lines: Iterable[str | Line], style: str = "bold", *, sign: str = "") -> Section:
    """A title with lines below it; nothing where there are none.

    Args:
        title: The title.
        lines: What to say, a paragraph each.
        style: How the title stands out where there is colour.
        sign: Style of an exclamation mark before each line; empty: none.
    """
    said = (paragraph([("! ", sign), (one, "")] if sign else one) if isinstance(one, str) else one for one in lines)
    below = list(said)
    return [heading(title, style), *below] if below else []


def tabled(titles: str, width: int, rows: Iterable[tuple[str, Sequence[str]]]) -> Section:
    """Rows below their titles.

    Args:
        titles: Titles and widths of the columns, as ``Trap 10|Item 10|Because``; the last one takes what is left, or
            a line of its own where that is too little; one with ``>`` before its width has its words at the right.
        width: Columns to fill.
        rows: Style and cells of each; a line of its own may be several.
    """
    named = [title.rpartition(" ") for title in titles.split("|")[:-1]]
    columns = [(title, int(wide.lstrip(">")), wide[0] == ">") for title, _, wide in named]
    room = width - sum(wide + 1 for _, wide, _ in columns)
    below = room < 10  # Too little for words
    columns += [] if below else [(titles.rpartition("|")[2], room, False)]
    made: Section = []
    for style, texts in [("underline", [title for title, _, _ in columns]), *rows]:
        columned = zip(texts, columns, strict=False)
        folded = [[text] if cells(text) <= wide else folds(text, wide) for text, (_, wide, _) in columned]
        for line in zip_longest(*folded, fillvalue=""):
            placed = [aligned(text, wide, right=right) for text, (_, wide, right) in zip(line, columns, strict=True)]
            made.append(Line([(" ".join(placed), style)]))
        if below and len(texts) > len(columns) and texts[-1]:
            made.append(paragraph(texts[-1], 4))
    return made


def aligned(text: str, width: int, *, right: bool) -> str:
    """A text filled up to a width on the left, or on the right."""
    blank = " " * (width - cells(text))
    return blank + text if right else text + blank


def stacked(sections: Iterable[Section]) -> Section:
    """Put sections below each other with an empty line between.

    Args:
        sections: Each a title and what stands below it; empty ones are left out.
    """
    stack: Section = []
    for section in sections:
        if section:
            stack += [heading(""), *section] if stack else section
    return stack
