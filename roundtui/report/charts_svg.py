"""A chart as an SVG picture, and that picture as PNG: for letters, on paper, in black and white.

No script, no style sheet, no reference to anything outside; title and description stand in it for those who cannot see
it. Curves differ by dashes and width, events by letter, and a legend says all of it in words.

Pictures written into the scouting folder, for letters.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from roundtui.domain.text import plain
from roundtui.report.charts import MONTHS, Band, Chart, Line, Panel, number
from roundtui.store.files import whole_file, write_whole

if TYPE_CHECKING:
    from drawsvg import Drawing

    from roundtui.report.charts import Chart

WIDTH = 900
"""Width of the picture. [px]"""
_LEFT, _RIGHT, _TOP = 64, 24, 48
_PLOT = 330
"""Height of all panels together."""
_STRIP = 34
"""Height of the strip with the letters."""
_GAP = 20
_LINE = 17
_TEXT = 13
_DASHES = ("6 3", "2 3", "9 3 2 3", "1 2", "12 4")
"""Dashes of the curves beside, one after the other."""
_INK, _GREY, _PALE = "#000000", "#666666", "#e6e6e6"
_Scale = Callable[[float], float]
"""Place of a value."""


def svg(chart: Chart) -> str:
    """Draw a chart as an SVG picture.

    Args:
        chart: The chart.

    Returns:
        The whole file, as text.
    """
    from drawsvg import Drawing, Raw

    words = _legend(chart)
    notes = [line for note in chart.notes for line in wrap(plain(note), 118)]
    strip = _STRIP if chart.events else 0
    plot_ends = _TOP + _PLOT + strip + _GAP * (len(chart.panels) - 1)
    height = plot_ends + 34 + _LINE * (len(words) + len(notes) + 1)
    picture = Drawing(
        WIDTH, height, font_family="DejaVu Sans, Liberation Sans, Arial, sans-serif", font_size=_TEXT, role="img"
    )
    picture.append_title(plain(chart.title))
    picture.append(Raw(f"<desc>{escape(plain(chart.about))}</desc>"))
    sheet = _Sheet(picture, chart, plot_ends)
    sheet.ground(height)
    top = float(_TOP)
    shares = sum(panel.share for panel in chart.panels)
    for at, panel in enumerate(chart.panels):
        tall = _PLOT * panel.share / shares
        sheet.panel(panel, top, tall, breaks=chart.breaks if at == 0 else ())
        top += tall + _GAP
        if at == 0 and strip:
            sheet.events(top - _GAP)
            top += strip
    sheet.months()
    for at, line in enumerate([*words, "", *notes] if notes else words):
        sheet.text(line, _LEFT, plot_ends + 44 + at * _LINE)
    return str(picture.as_svg())


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
    signs = [f"{sign}: {plain(words)}" for sign, words in chart.legend() if sign in {known for known, _ in chart.signs}]
    if chart.breaks:
        signs.append("dotted upright line: a trap moved: a new series")
    found = wrap(";  ".join(signs), 118, break_long_words=False) if signs else []
    for event in chart.events:
        found += wrap(f"{event.sign}: {plain(event.words)}", 118)
    return found


class _Sheet:
    """The picture being drawn."""

    def __init__(self, picture: Drawing, chart: Chart, ends: float) -> None:
        self._picture = picture
        self._chart = chart
        self._ends = ends
        self._named: list[tuple[float, float]] = []
        """Where names of curves stand, so that none is written over another."""

    def x(self, on: date) -> float:
        """Place of a day."""
        return round(_LEFT + self._chart.share(on) * (WIDTH - _LEFT - _RIGHT), 1)

    def ground(self, height: float) -> None:
        """White paper, and the title."""
        from drawsvg import Rectangle

        self._picture.append(Rectangle(0, 0, WIDTH, height, fill="#ffffff"))
        self.text(plain(self._chart.title, 96), _LEFT, 26, size=17)

    def text(self, words: str, x: float, y: float, *, size: int = _TEXT, anchor: str = "start") -> None:
        """Words at a place."""
        from drawsvg import Text

        if words:
            self._picture.append(Text(words, size, x, round(y, 1), text_anchor=anchor, fill=_INK))

    def line(self, x: float, y: float, to_x: float, to_y: float, *, dash: str = "", color: str = _GREY) -> None:
        """A thin straight line."""
        from drawsvg import Line as Stroke

        style = {"stroke_dasharray": dash} if dash else {}
        ends = (x, round(y, 1), to_x, round(to_y, 1))
        self._picture.append(Stroke(*ends, stroke=color, stroke_width=1, **style))

    def panel(self, panel: Panel, top: float, tall: float, breaks: tuple[date, ...]) -> None:
        """One panel."""
        highest = panel.top

        def y(value: float) -> float:
            return round(top + tall - value / highest * tall, 1)

        if panel.band:
            self._band(panel.band, y)
        for level in panel.ticks:
            self.line(_LEFT - 4, y(level), _LEFT, y(level))
            self.text(number(level), _LEFT - 8, y(level) + 4, anchor="end")
        self.line(_LEFT, top, _LEFT, top + tall)
        self.line(_LEFT, top + tall, WIDTH - _RIGHT, top + tall)
        for on in breaks:
            self.line(self.x(on), top, self.x(on), top + tall, dash="1 4", color=_INK)
        beside = [line for line in panel.lines if line.beside]
        for at, line in enumerate(beside):
            self._curve(line, y, dash=_DASHES[at % len(_DASHES)])
        for line in panel.lines:
            if not line.beside:
                self._curve(line, y)
        for spot in panel.spots:
            self._spot(spot.sign, self.x(spot.on), y(spot.value))
        self.text(plain(panel.name, 100), _LEFT + 8, top - 4)

    def events(self, top: float) -> None:
        """The strip between the panels: letters, and bars where they are expected."""
        from drawsvg import Rectangle

        taken = [0.0, 0.0]
        for event in sorted(self._chart.events, key=lambda event: event.on):
            x = self.x(event.on)
            if not _LEFT <= x <= WIDTH - _RIGHT:
                continue
            row = 0 if taken[0] <= x else 1
            taken[row] = x + 14
            middle = top + 12 + row * 15
            if event.earliest is not None:
                start, end = self.x(event.earliest), self.x(event.latest or self._chart.last)
                self._picture.append(
                    Rectangle(start, middle + 6, max(end - start, 2), 3, fill=_PALE, stroke=_GREY, stroke_width=0.5)
                )
            self.line(x, middle + 9, x, self._ends, dash="1 3")
            self.text(plain(event.sign, 1), x, middle + 4, anchor="middle")

    def months(self) -> None:
        """Names of the months under everything."""
        days = list(self._chart.months())
        for day, following in zip(days, [*days[1:], self._chart.last], strict=True):
            self.line(self.x(day), self._ends, self.x(day), self._ends + 5)
            if (following - day).days > 14:
                self.text(MONTHS[day.month - 1], self.x(day) + 3, self._ends + 18)

    def _band(self, band: Band, y: _Scale) -> None:
        from drawsvg import Rectangle

        low, high = y(band.low), y(band.high)
        if low > high:
            self._picture.append(Rectangle(_LEFT, high, WIDTH - _LEFT - _RIGHT, low - high, fill=_PALE))
        for level in (low, high):
            self.line(_LEFT, level, WIDTH - _RIGHT, level, dash="8 4")
        self.text(plain(band.words, 60), WIDTH - _RIGHT - 4, high - 4, anchor="end")

    def _curve(self, line: Line, y: _Scale, dash: str = "") -> None:
        from drawsvg import Lines

        style: dict[str, object] = {"stroke": _INK, "stroke_width": 2}
        if line.beside:
            style = {"stroke": _GREY, "stroke_width": 1.2, "stroke_dasharray": dash}
        for piece in line.pieces:
            if len(piece) > 1:
                places = [place for on, value in piece for place in (self.x(on), y(value))]
                self._picture.append(Lines(*places, fill="none", **style))
        last = line.last
        if line.beside and line.name and last:
            place = min(self.x(last[0]) + 4, WIDTH - _RIGHT - 32), y(last[1]) - 3
            while any(abs(place[0] - x) < 34 and abs(place[1] - at) < 11 for x, at in self._named):
                place = place[0], place[1] - 11
            self._named.append(place)
            self.text(plain(line.name, 12), *place, size=11)

    def _spot(self, sign: str, x: float, y: float) -> None:
        from drawsvg import Circle

        if sign == "o":
            self._picture.append(Circle(x, y, 3.5, fill="#ffffff", stroke=_INK, stroke_width=1.5))
            return
        self._picture.append(Circle(x, y, 7, fill="#ffffff", stroke=_INK, stroke_width=1))
        self.text(plain(sign, 1), x, y + 4, size=11, anchor="middle")


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
