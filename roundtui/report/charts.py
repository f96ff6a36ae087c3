"""A chart as a value: panels over one span of days. Its neighbours draw it as text, as SVG and as PNG.

A chart as lines of text for a terminal: braille curves, letters for events, words for what colour says.

A chart as an SVG picture, and that picture as PNG: for letters, on paper, in black and white.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date
from enum import StrEnum
from fractions import Fraction
from itertools import count, cycle, groupby, pairwise, product
from math import floor, log10
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.store.files import whole_file, write_whole

if TYPE_CHECKING:
    from drawsvg import Drawing
    from plotille import Canvas

Point = tuple[date, float]
"""A day and a value."""
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
"""Names of the months, short."""
_TICKS = {1: 5, 1.5: 3, 2: 4, 3: 3, 4: 4, 5: 5, 6: 3, 8: 4, 10: 5}
"""Upper ends of a scale, and into how many steps each falls."""


class Line(Frozen):
    """A curve; where it breaks off a new piece begins."""

    name: str
    """What it is, for the legend; empty: not named."""
    pieces: tuple[tuple[Point, ...], ...]
    """Runs of points to be joined."""
    past: bool = False
    """Stands thinly beside what the chart is about."""


def runs(points: Iterable[tuple[date, Fraction | None, bool]]) -> tuple[tuple[Point, ...], ...]:
    """Points in runs that are to be joined.

    Args:
        points: Of each its day, its value (None: it is not shown) and whether the curve breaks off before it.
    """
    found: list[list[Point]] = [[]]
    for day, value, begins in points:
        if begins:
            found.append([])
        if value is not None:
            found[-1].append((day, float(value)))
    return tuple(tuple(run) for run in found if run)


class Spot(Frozen):
    """A point with a mark of its own."""

    on: date
    """Its day."""
    value: float
    """Its value."""
    sign: str
    """One character that marks it."""


class Band(Frozen):
    """Two levels between which values are within; one number is a band of no width."""

    low: float
    """Lower level."""
    high: float
    """Upper level."""
    words: str
    """What it is, for the legend."""


class Panel(Frozen):
    """One scale, with what is drawn on it."""

    name: str
    """What is measured, with its unit."""
    lines: tuple[Line, ...] = ()
    """Curves; those beside are drawn under the others."""
    spots: tuple[Spot, ...] = ()
    """Points with a mark."""
    band: Band | None = None
    """Levels to compare with."""
    share: int = 1
    """Height beside the other panels'."""
    bars: str = ""
    """Sign of the spots that the terminal draws as a column from zero up, with no curve through them."""

    @property
    def top(self) -> float:
        """Upper end of the scale: a round number, not below anything shown."""
        return self._scale[0]

    @property
    def ticks(self) -> tuple[float, ...]:
        """Round numbers along the scale, 0 and its upper end among them."""
        top, steps = self._scale
        return tuple(top * at / steps for at in range(steps + 1))

    @property
    def _scale(self) -> tuple[float, int]:
        values = [value for line in self.lines for piece in line.pieces for _, value in piece]
        values += [spot.value for spot in self.spots]
        values += [self.band.high] if self.band else []
        most = max([*values, 0.1])
        power = 10.0 ** floor(log10(most))
        step = next(step for step in (*_TICKS, 10) if step * power >= most - 1e-9)
        return step * power, _TICKS[step]


class Event(Frozen):
    """Something on a day, or expected on it, marked with a letter between the panels."""

    on: date
    """The day."""
    sign: str
    """One character that stands for it."""
    words: str
    """What it is, for the legend."""
    earliest: date | None = None
    """First day of the range in which it is expected."""
    latest: date | None = None
    """Last day of that range."""


class Chart(Frozen):
    """Panels over one span of days, one above the other."""

    title: str
    """One line."""
    about: str
    """What there is to see, in sentences, for those who cannot see it."""
    first: date
    """First day shown."""
    last: date
    """Last day shown."""
    panels: tuple[Panel, ...]
    """From top to bottom."""
    events: tuple[Event, ...] = ()
    """Marked between the first panel and the next."""
    breaks: tuple[date, ...] = ()
    """Days on which a new series begins in the first panel."""
    signs: tuple[tuple[str, str], ...] = ()
    """What the marks of the spots mean."""
    notes: tuple[str, ...] = ()
    """Sentences to stand under it."""
    scale: tuple[tuple[date, str], ...] = ()
    """What stands under the days where it is not the months."""

    def share(self, on: date) -> float:
        """Where a day lies: 0 for the first, 1 for the last."""
        return (on - self.first).days / max((self.last - self.first).days, 1)

    def months(self) -> Iterator[date]:
        """First day of each month shown, and the first day where it is none."""
        yield self.first
        for at in count(1):
            month = self.first.month - 1 + at
            day = date(self.first.year + month // 12, month % 12 + 1, 1)
            if day > self.last:
                return
            yield day

    @property
    def dotted(self) -> dict[str, tuple[str, str]]:
        """Of the curves beside, by name: what stands for it in a legend, and its dots (``#``) and gaps across."""
        names = dict.fromkeys(line.name for panel in self.panels for line in panel.lines if line.past)
        return dict(zip(filter(None, names), cycle(_DOTTED), strict=False))

    def legend(self) -> tuple[tuple[str, str], ...]:
        """Signs and what they mean, those of events apart."""
        found = [*self.signs, *((f"{sign}{name[-1]}", name) for name, (sign, _) in self.dotted.items())]
        if self.breaks:
            found.append(("¦", "trap moved"))
        found += [("╌", panel.band.words) for panel in self.panels if panel.band]
        return tuple(found)


def number(value: float) -> str:
    """A value on a scale, as short as it is exact enough: 5, 0.5, 1200."""
    return f"{value:.0f}" if value >= 100 or value == int(value) else f"{value:.3g}"


_DOTTED = (("⠂", "#.."), ("⠒", "#####..."), ("⠢", "#####.#..."))
"""How curves beside are drawn, one after the other."""
_MARKED = 24
"""Dots across from one mark of a curve to the next."""
GUTTER = 6
"""Columns for the numbers of a scale. [columns]"""
_BLANK = "\u2800"


class Ink(StrEnum):
    """What a piece of text belongs to; the terminal may colour it, and nothing is lost where it cannot."""

    PLAIN = "plain"
    AXIS = "axis"
    BAND = "band"
    PAST = "past"
    MAIN = "main"
    SIGN = "sign"
    CURSOR = "cursor"


Cell = tuple[str, Ink]
Row = tuple[tuple[str, Ink], ...]
"""Pieces of text, each in one ink."""


class TextChart(Frozen):
    """A chart drawn for a terminal."""

    rows: tuple[Row, ...]
    """Lines from top to bottom, each as wide as was asked."""

    def __str__(self) -> str:
        """The lines without ink."""
        return "\n".join("".join(text for text, _ in row) for row in self.rows)


def draw(chart: Chart, width: int, height: int, cursor: date | None = None, *, plain: bool = False) -> TextChart:
    """Draw a chart.

    Args:
        chart: The chart.
        width: Columns; at least 30 are taken.
        height: Lines; at least 4 for each panel are taken.
        cursor: Day to mark with a line through all panels.
        plain: Each curve in one sign of its own, for a console that has no dots to tell them apart.

    Returns:
        Exactly so many lines of exactly so many columns, or the least that will do.
    """
    sheet = _Sheet(chart, max(width, 30) - GUTTER, cursor, plain=plain)
    inner = max(height, 4 * len(chart.panels)) - (1 if chart.events else 0) - 1
    shares = sum(panel.share for panel in chart.panels)
    heights = [max(2, inner * panel.share // shares) for panel in chart.panels]
    heights[0] += inner - sum(heights)
    rows: list[list[Cell]] = []
    for at, (panel, lines) in enumerate(zip(chart.panels, heights, strict=True)):
        rows += sheet.panel(panel, lines, breaks=chart.breaks if at == 0 else ())
        if at == 0 and chart.events:
            rows.append(sheet.events(chart.events))
    rows.append(sheet.months())
    return TextChart(tuple(_joined(row) for row in rows))


def _joined(cells: list[Cell]) -> Row:
    """Cells of one ink put together."""
    return tuple(("".join(text for text, _ in same), ink) for ink, same in groupby(cells, lambda cell: cell[1]))


class _Sheet:
    """The columns that all panels of a chart share."""

    def __init__(self, chart: Chart, width: int, cursor: date | None, *, plain: bool) -> None:
        self._chart = chart
        self._width = width
        self._plain = plain
        self._zero = "," if plain else "▁"
        self._cursor = None if cursor is None else self.column(cursor)

    def dot(self, on: date) -> float:
        """Place of a day, in dots; a column has two."""
        return self._chart.share(on) * (self._width * 2 - 1)

    def column(self, on: date) -> int:
        """Column of a day."""
        return min(max(int(self.dot(on) + 0.5) // 2, 0), self._width - 1)

    def panel(self, panel: Panel, height: int, breaks: tuple[date, ...]) -> list[list[Cell]]:
        """The lines of a panel."""
        top = panel.top
        per_dot = top / (height * 4 - 1)
        main, past = (self._curves(panel, height, per_dot, past=past) for past in (False, True))
        grid = [[(" ", Ink.PLAIN)] * self._width for _ in range(height)]
        levels = {0: number(top)} if height > 1 else {}
        levels[height - 1] = "0"
        for level in (panel.band.high, panel.band.low) if panel.band else ():
            at = _row(level, per_dot, height)
            levels[at] = number(level) if at not in levels or at == height - 1 else levels[at]
            grid[at] = [("╌", Ink.BAND)] * self._width
        for on in breaks:
            for row in grid:
                row[self.column(on)] = ("¦", Ink.AXIS)
        if self._cursor is not None:
            for row in grid:
                row[self._cursor] = ("│", Ink.CURSOR)
        for at, row in enumerate(grid):
            for column in range(self._width):
                over, under = main[at][column], past[at][column]
                if over != _BLANK and not panel.bars:
                    row[column] = (chr(ord(over) | ord(under)), Ink.MAIN)
                elif under != _BLANK:
                    row[column] = (under, Ink.PAST)
        for spot in panel.spots:
            self._spot(grid, spot, per_dot, panel.bars)
        self._mark(panel, grid, per_dot)
        bars = f"█▄{self._zero} " if panel.bars else ""
        short = [panel.name.partition("; ")[0], *([bars + panel.name.split()[0]] if bars else [])]
        any(_name(grid, name, len(bars) if name[:1] == "█" else 0) for name in (bars + panel.name, *short))
        return [
            [(f"{levels.get(at, ''):>{GUTTER - 1}}", Ink.AXIS), ("┤" if at in levels else "│", Ink.AXIS), *row]
            for at, row in enumerate(grid)
        ]

    def _mark(self, panel: Panel, grid: list[list[Cell]], per_dot: float) -> None:
        """The last character of its name along each curve, where several would look alike and nothing is beside it."""
        crowd = {Ink.SIGN, Ink.CURSOR, *([Ink.MAIN] if panel.bars else [])}
        named = [line for line in panel.lines if line.name and (line.past or not panel.bars)]
        for place, line in enumerate(named if any(line.past for line in named) else ()):
            ink = Ink.PAST if line.past else Ink.MAIN
            for piece in line.pieces:
                for at, value in _along([(self.dot(on), value) for on, value in piece]):
                    row, column = grid[_row(value, per_dot, len(grid))], at // 2
                    beside = {ink for _, ink in row[max(column - 1, 0) : column + 2]}
                    free = row[column][1] in (Ink.PLAIN, Ink.BAND, ink) and not beside & crowd
                    if free and at % _MARKED == place * _MARKED // len(named):
                        row[column] = (line.name[-1], ink)

    def _spot(self, grid: list[list[Cell]], spot: Spot, per_dot: float, bars: str) -> None:
        """A sign, or the column under it from zero up, which is hatched on the day that is marked."""
        at, column = _row(spot.value, per_dot, len(grid)), self.column(spot.on)
        sign, filled = spot.sign, "▒" if column == self._cursor else "█"
        if bars:
            for below in range(at + 1, len(grid)):
                grid[below][column] = (filled, Ink.MAIN)
            half = int(spot.value / per_dot + 0.5) % 4 > 1
            grid[at][column] = (self._zero if spot.value == 0 else filled if half else "▄", Ink.SIGN)
            # Another sign stands above its column; only where there is no row above, in it.
            at = max(at - 1, 0)
        if sign != bars:
            grid[at][column] = (sign, Ink.SIGN)

    def events(self, events: tuple[Event, ...]) -> list[Cell]:
        """The line between the panels: letters, and the ranges in which they are expected."""
        row: list[Cell] = [(" ", Ink.PLAIN)] * self._width
        if self._cursor is not None:
            row[self._cursor] = ("│", Ink.CURSOR)
        for event in events:
            if event.earliest is not None:
                last = event.latest or self._chart.last
                for column in range(self.column(event.earliest), self.column(last) + 1):
                    if row[column][0] in " │":
                        row[column] = ("_", Ink.AXIS)
        for event in sorted(events, key=lambda event: event.on):
            if not self._chart.first <= event.on <= self._chart.last:
                continue
            # Two letters of one column stand side by side; a column is two days or three, and the legend has the days.
            free = [
                column
                for column in range(self.column(event.on), min(self.column(event.on) + 3, self._width))
                if row[column][1] is not Ink.SIGN
            ]
            if free:
                row[free[0]] = (event.sign, Ink.SIGN)
        return [(" " * GUTTER, Ink.PLAIN), *row]

    def months(self) -> list[Cell]:
        """The line under the panels."""
        row: list[Cell] = [(" ", Ink.PLAIN)] * self._width
        free_from = 0
        scale = [(self.column(day), name) for day, name in self._chart.scale]
        # Where they have no room every second is named, or every third, so that steps are alike.
        every = (scale[::step] for step in count(1))
        named = next(one for one in every if all(b - a > len(name) for (a, name), (b, _) in pairwise(one)))
        for column, name in named or [(self.column(day), MONTHS[day.month - 1]) for day in self._chart.months()]:
            if column >= free_from and column + len(name) <= self._width:
                row[column : column + len(name)] = [(char, Ink.AXIS) for char in name]
                free_from = column + len(name) + 1
        return [(" " * GUTTER, Ink.PLAIN), *row]

    def _curves(self, panel: Panel, height: int, per_dot: float, *, past: bool) -> list[str]:
        """Braille characters of the curves, line by line; on a plain console one and the same along each curve."""
        lines = [line for line in panel.lines if line.past is past]
        if not self._plain:
            return self._dots(lines, height, per_dot)
        rows = [_BLANK * self._width] * height
        for line in lines:
            sign = self._chart.dotted.get(line.name, _DOTTED[0])[0] if past else "⣿"
            drawn = zip(rows, self._dots([line], height, per_dot), strict=True)
            rows = ["".join(old if new == _BLANK else sign for old, new in zip(*row, strict=True)) for row in drawn]
        return rows

    def _dots(self, lines: Sequence[Line], height: int, per_dot: float) -> list[str]:
        from plotille import Canvas

        # Dots are the units, so that what falls where is decided here alone.
        canvas = Canvas(self._width, height, 0, 0, self._width * 2, height * 4)
        for line in lines:
            for piece in line.pieces:
                dots = [(self.dot(on), value / per_dot) for on, value in piece]
                if line.past:
                    _dotted(canvas, dots, self._chart.dotted.get(line.name, _DOTTED[0])[1])
                else:
                    _solid(canvas, dots)
        return str(canvas.plot()).split("\n")


def _solid(canvas: Canvas, dots: list[tuple[float, float]]) -> None:
    for (x, y), (to_x, to_y) in pairwise(dots):
        canvas.line(x, y, to_x, to_y)
    if len(dots) == 1:
        canvas.point(*dots[0])


def _dotted(canvas: Canvas, dots: list[tuple[float, float]], pattern: str) -> None:
    """Some of the dots along the way across, so that it is seen to be another kind of line."""
    for at, y in _along(dots):
        if pattern[at % len(pattern)] == "#":
            canvas.point(at, y)


def _along(dots: list[tuple[float, float]]) -> Iterator[tuple[int, float]]:
    """A curve dot for dot across."""
    for (x, y), (to_x, to_y) in pairwise(dots):
        for at in range(int(x + 0.5), int(to_x + 0.5)):
            yield at, y + (to_y - y) * (at - x) / (to_x - x)


_CLEAR = 3
"""Columns kept free between bars that are drawn and those of a name. [columns]"""


def _row(value: float, per_dot: float, height: int) -> int:
    return height - 1 - min(max(int(value / per_dot + 0.5) // 4, 0), height - 1)


def _name(grid: list[list[Cell]], name: str, bars: int) -> bool:
    """Put a panel's name where no curve is, its bars off those drawn, up and to the left; whether there was room."""
    text = f" {sanitize(name, len(grid[0]) - 4)} "
    for at, start in product(range(len(grid)), range(len(grid[0]) - len(text))):
        row, near = grid[at], slice(max(0, start - _CLEAR), start + bars + _CLEAR)
        drawn = {ink for line in grid[at : at + 2] if bars for _, ink in line[near]} - {Ink.PAST}
        drawn |= {ink for _, ink in row[start : start + len(text)]}
        if not drawn & {Ink.PAST, Ink.MAIN, Ink.SIGN}:
            row[start : start + len(text)] = [(char, Ink.AXIS) for char in text]
            return True
    return False


WIDTH = 900
"""Width of the picture. [px]"""
_STRIP = 34
"""Height of the strip with the letters."""
_GAP = 20
_LINE = 17
_DASHES = ("6 3", "2 3", "9 3 2 3", "1 2", "12 4")
"""Dashes of the curves beside, one after the other."""
INK, GREY, PALE = "#000000", "#666666", "#e6e6e6"
"""Black, and what stands behind it."""
_Scale = Callable[[float], float]
"""Place of a value."""


class Layout(Frozen):
    """Sizes of a picture. [px]"""

    width: int = WIDTH
    plot: int = 330
    """Height of all panels together."""
    left: int = 64
    right: int = 24
    top: int = 48
    text: int = 13
    title: int = 17
    small: bool = False
    """Stands in a letter, whose words say what the signs mean; each point of its curve is marked."""


LARGE = Layout()
"""A picture of its own."""
SMALL = Layout(width=340, plot=66, left=34, right=12, top=30, text=10, title=12, small=True)
"""Two stand side by side in a letter, drawn at the size at which they stand on paper."""


def paper(title: str, about: str, width: float, height: float) -> Drawing:
    """White paper, with words for those who cannot see the picture.

    Args:
        title: One line.
        about: What there is to see, in sentences.
        width: Its width. [px]
        height: Its height. [px]
    """
    from xml.sax.saxutils import escape

    from drawsvg import Drawing, Raw

    face = "DejaVu Sans, Liberation Sans, Arial, sans-serif"
    sheet = Drawing(width, height, font_family=face, font_size=LARGE.text, role="img")
    # The library escapes text and no attributes, so words stand in elements only.
    sheet.append_title(sanitize(title))
    sheet.append(Raw(f"<desc>{escape(sanitize(about))}</desc>"))
    sheet.append(Raw(f'<rect width="{width}" height="{height}" fill="#ffffff"/>'))
    return sheet


def write(
    sheet: Drawing, words: str, at: tuple[float, float], *, size: int = 11, anchor: str = "start", ink: str = INK
) -> None:
    """Write words at a place of a picture."""
    from drawsvg import Text

    if words:
        sheet.append(Text(words, size, round(at[0], 1), round(at[1], 1), text_anchor=anchor, fill=ink))


def stroke(sheet: Drawing, ends: tuple[float, float, float, float], *, dash: str = "", ink: str = GREY) -> None:
    """Draw a thin straight line."""
    from drawsvg import Line as Stroke

    style = {"stroke_dasharray": dash} if dash else {}
    sheet.append(Stroke(*(round(end, 1) for end in ends), stroke=ink, stroke_width=1, **style))


def svg(chart: Chart, layout: Layout = LARGE) -> str:
    """Draw a chart as an SVG picture.

    Args:
        chart: The chart.
        layout: Its sizes.

    Returns:
        The whole file, as text.
    """
    words = [] if layout.small else _legend(chart)
    notes = [line for note in chart.notes for line in wrap(sanitize(note), 118)]
    strip = _STRIP if chart.events else 0
    plot_ends = layout.top + layout.plot + strip + _GAP * (len(chart.panels) - 1)
    height = plot_ends + (22 if layout.small else 34 + _LINE * (len(words) + len(notes) + 1))
    sheet = _SheetChartsSvg(paper(chart.title, chart.about, layout.width, height), chart, layout, plot_ends)
    start = (4.0, layout.title) if layout.small else (layout.left, 26)
    sheet.text(sanitize(chart.title, 44 if layout.small else 96), *start, size=layout.title)
    top = float(layout.top)
    shares = sum(panel.share for panel in chart.panels)
    for at, panel in enumerate(chart.panels):
        tall = layout.plot * panel.share / shares
        sheet.panel(panel, top, tall, breaks=chart.breaks if at == 0 else ())
        top += tall + _GAP
        if at == 0 and strip:
            sheet.events(top - _GAP)
            top += strip
    sheet.months()
    for at, line in enumerate([*words, "", *notes] if notes else words):
        sheet.text(line, layout.left, plot_ends + 44 + at * _LINE)
    return str(sheet.picture.as_svg())


def png(picture: str, zoom: int = 2) -> bytes:
    """An SVG picture as PNG.

    Args:
        picture: The whole file, as ``svg`` gives it.
        zoom: Pixels for each of the picture's.

    Returns:
        The content of a PNG file.

    Raises:
        ValueError: It is no picture that can be drawn.
    """
    from resvg_py import svg_to_bytes

    return bytes(svg_to_bytes(svg_string=picture, zoom=zoom, background="#ffffff"))


def _legend(chart: Chart) -> list[str]:
    """What the marks mean, in lines that fit; the curves beside bear their names themselves."""
    signs = [f"{sign}: {sanitize(words)}" for sign, words in chart.signs]
    if chart.breaks:
        signs.append("dotted upright line: a trap moved: a new series")
    found = wrap(";  ".join(signs), 118, break_long_words=False) if signs else []
    for event in chart.events:
        found += wrap(f"{event.sign}: {sanitize(event.words)}", 118)
    return found


class _SheetChartsSvg:
    """The picture being drawn."""

    def __init__(self, picture: Drawing, chart: Chart, layout: Layout, ends: float) -> None:
        self.picture = picture
        self._chart = chart
        self._layout = layout
        self._ends = ends
        self._right = layout.width - layout.right
        self._named: list[tuple[float, float]] = []
        """Where names of curves stand, so that none is written over another."""

    def x(self, on: date) -> float:
        """Place of a day."""
        return round(self._layout.left + self._chart.share(on) * (self._right - self._layout.left), 1)

    def text(self, words: str, x: float, y: float, *, size: int = 0, anchor: str = "start", ink: str = INK) -> None:
        """Words at a place."""
        write(self.picture, words, (x, y), size=size or self._layout.text, anchor=anchor, ink=ink)

    def panel(self, panel: Panel, top: float, tall: float, breaks: tuple[date, ...]) -> None:
        """One panel."""
        highest, left = panel.top, self._layout.left

        def y(value: float) -> float:
            return round(top + tall - value / highest * tall, 1)

        if panel.band:
            self._band(panel.band, y, top)
        for level in panel.ticks:
            stroke(self.picture, (left - 4, y(level), left, y(level)))
            self.text(number(level), left - 7, y(level) + 4, anchor="end")
        stroke(self.picture, (left, top, left, top + tall))
        stroke(self.picture, (left, top + tall, self._right, top + tall))
        for at, on in enumerate(day for day in breaks if self._chart.first <= day <= self._chart.last):
            x = self.x(on)
            stroke(self.picture, (x, top, x, top + tall), dash="1 4", ink=INK)
            if at == 0 and self._layout.small:
                near = x < self._right - 48
                self.text("moved", x + (3 if near else -3), top + tall - 4, anchor="start" if near else "end")
        past = [line for line in panel.lines if line.past]
        for at, line in enumerate(past):
            self._curve(line, y, dash=_DASHES[at % len(_DASHES)])
        for line in panel.lines:
            if not line.past:
                self._curve(line, y)
        for spot in panel.spots:
            self._spot(spot.sign, self.x(spot.on), y(spot.value))
        place = (4.0, top - 5) if self._layout.small else (left + 8, top - 4)
        self.text(sanitize(panel.name, 100), *place, ink=GREY if self._layout.small else INK)

    def events(self, top: float) -> None:
        """The strip between the panels: letters, and bars where they are expected."""
        from drawsvg import Rectangle

        taken = [0.0, 0.0]
        for event in sorted(self._chart.events, key=lambda event: event.on):
            x = self.x(event.on)
            if not self._layout.left <= x <= self._right:
                continue
            row = 0 if taken[0] <= x else 1
            taken[row] = x + 14
            middle = top + 12 + row * 15
            if event.earliest is not None:
                start, end = self.x(event.earliest), self.x(event.latest or self._chart.last)
                self.picture.append(
                    Rectangle(start, middle + 6, max(end - start, 2), 3, fill=PALE, stroke=GREY, stroke_width=0.5)
                )
            stroke(self.picture, (x, middle + 9, x, self._ends), dash="1 3")
            self.text(sanitize(event.sign, 1), x, middle + 4, anchor="middle")

    def months(self) -> None:
        """Names of the months under everything."""
        days = list(self._chart.months())
        for day, following in zip(days, [*days[1:], self._chart.last], strict=True):
            x, deep = self.x(day), self._layout.text
            stroke(self.picture, (x, self._ends, x, self._ends + 5))
            if self.x(following) - x > 26:
                self.text(MONTHS[day.month - 1], x + 3, self._ends + deep + 4)

    def _band(self, band: Band, y: _Scale, top: float) -> None:
        from drawsvg import Rectangle

        low, high, left = y(band.low), y(band.high), self._layout.left
        if low > high:
            self.picture.append(Rectangle(left, high, self._right - left, round(low - high, 1), fill=PALE))
        for level in sorted({low, high}):
            stroke(self.picture, (left, level, self._right, level), dash="8 4")
        # Under the upper edge where there is no room above it.
        place = high - 4 if high > top + 12 else high + 11
        self.text(sanitize(band.words, 60), self._right - 4, place, anchor="end")

    def _curve(self, line: Line, y: _Scale, dash: str = "") -> None:
        from drawsvg import Circle, Lines

        style: dict[str, object] = {"stroke": INK, "stroke_width": 2}
        if line.past:
            style = {"stroke": GREY, "stroke_width": 1.2, "stroke_dasharray": dash}
        for piece in line.pieces:
            places = [(self.x(on), y(value)) for on, value in piece]
            if len(piece) > 1:
                self.picture.append(Lines(*(one for place in places for one in place), fill="none", **style))
            for place in places if self._layout.small and not line.past else ():
                self.picture.append(Circle(*place, 2, fill=INK))
        last = next((piece[-1] for piece in reversed(line.pieces) if piece), None)
        if line.past and line.name and last:
            at = min(self.x(last[0]) + 4, self._right - 32), y(last[1]) - 3
            while any(abs(at[0] - x) < 34 and abs(at[1] - named) < 11 for x, named in self._named):
                at = at[0], at[1] - 11
            self._named.append(at)
            self.text(sanitize(line.name, 12), *at, size=min(11, self._layout.text))

    def _spot(self, sign: str, x: float, y: float) -> None:
        from drawsvg import Circle

        if sign == "o":
            self.picture.append(Circle(x, y, 3.5, fill="#ffffff", stroke=INK, stroke_width=1.5))
            return
        self.picture.append(Circle(x, y, 7, fill="#ffffff", stroke=INK, stroke_width=1))
        self.text(sanitize(sign, 1), x, y + 4, size=11, anchor="middle")


PICTURES = "pictures"
"""Folder for them inside the scouting folder; what lies in it is never read."""
_LONGEST = 80


def write_pictures(folder: Path, name: str, chart: Chart) -> tuple[Path, Path]:
    """Write a chart as SVG and as PNG. A picture of the same name is made anew.

    Args:
        folder: The scouting folder.
        name: What the files are to be called, without an ending; anything that does not belong in a name is left out.
        chart: What to draw.

    Returns:
        The SVG file and the PNG file.

    Raises:
        StoreError: They cannot be written.
    """
    stem = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-")[:_LONGEST] or "season"
    drawing, picture = folder / PICTURES / f"{stem}.svg", folder / PICTURES / f"{stem}.png"
    words = svg(chart)
    write_whole(drawing, words)
    with whole_file(picture) as file:
        file.write(png(words))
    return drawing, picture
