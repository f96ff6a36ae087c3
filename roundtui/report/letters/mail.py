"""Small pictures for letters, as SVG: black and white, no script, nothing from outside, words for who cannot see them.

They are drawn at the size at which they stand on paper, so that a line of text in them is as large as one beside them.
The values drawn are those of ``report.charts``, which the screens draw too.

Mail ready to be looked at and sent by hand: a text, the same as a page, and the pictures in it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from roundtui.domain.text import sanitize
from roundtui.report.charts import Chart, Panel, number
from roundtui.report.letters.letter import Picture, Progress, Strip

if TYPE_CHECKING:
    from email.headerregistry import Address

    from drawsvg import Drawing

    from roundtui.report.letters.letter import Picture

WIDTH = 340
"""Width of a curve; two stand side by side. [px]"""
WIDE = 690
"""Width of a strip of blocks. [px]"""
BAR = 380
"""Width of a bar of degree-days, readable on a phone too. [px]"""
_HEIGHT, _LEFT, _RIGHT, _TOP, _BOTTOM = 150, 34, 12, 30, 22
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_SHADES = ("#ffffff", "#ffffff", "#cccccc", "#000000")
_INK, _GREY, _PALE = "#000000", "#555555", "#e4e4e4"
_FONT = "DejaVu Sans, Liberation Sans, Arial, sans-serif"


def svg(picture: Picture) -> str:
    """Draw a picture.

    Args:
        picture: What to draw.

    Returns:
        An ``svg`` element that stands in a page or alone in a file.
    """
    match picture.of:
        case Chart():
            return _element(_curve(picture, picture.of))
        case Strip():
            return _element(_strip(picture, picture.of))
        case Progress():
            return _element(_progress(picture, picture.of))


def _element(drawing: Drawing) -> str:
    text = str(drawing.as_svg())
    return text[text.index("<svg") :]


def _drawing(picture: Picture, width: int, height: int) -> Drawing:
    from drawsvg import Drawing, Raw

    sheet = Drawing(width, height, font_family=_FONT, font_size=11, role="img")
    # The library escapes text and no attributes, so words stand in elements only.
    sheet.append_title(sanitize(picture.title))
    sheet.append(Raw(f"<desc>{escape(sanitize(picture.alt))}</desc>"))
    sheet.append(Raw(f'<rect width="{width}" height="{height}" fill="#ffffff"/>'))
    return sheet


def _text(
    sheet: Drawing, words: str, x: float, y: float, *, size: int = 11, anchor: str = "start", ink: str = _INK
) -> None:
    from drawsvg import Text

    if words:
        sheet.append(Text(words, size, round(x, 1), round(y, 1), text_anchor=anchor, fill=ink))


def _line(sheet: Drawing, ends: tuple[float, float, float, float], *, dash: str = "", ink: str = _GREY) -> None:
    from drawsvg import Line

    style = {"stroke_dasharray": dash} if dash else {}
    sheet.append(Line(*(round(end, 1) for end in ends), stroke=ink, stroke_width=1, **style))


# --- curves ----------------------------------------------------------------------------------------------------------


class _Scale:
    """Where days and values lie on a curve."""

    def __init__(self, chart: Chart, panel: Panel) -> None:
        self._chart = chart
        self._top = panel.top

    def x(self, on: date) -> float:
        return round(_LEFT + self._chart.share(on) * (WIDTH - _LEFT - _RIGHT), 1)

    def y(self, value: float) -> float:
        return round(_HEIGHT - _BOTTOM - value / self._top * (_HEIGHT - _BOTTOM - _TOP), 1)


def _curve(picture: Picture, chart: Chart) -> Drawing:
    from drawsvg import Circle, Lines

    panel = chart.panels[0]
    sheet, scale = _drawing(picture, WIDTH, _HEIGHT), _Scale(chart, panel)
    _text(sheet, sanitize(picture.title, 44), 4, 12, size=12)
    _text(sheet, sanitize(panel.name, 60), 4, 25, size=10, ink=_GREY)
    _band(sheet, panel, scale)
    for level in panel.ticks:
        _line(sheet, (_LEFT - 3, scale.y(level), _LEFT, scale.y(level)))
        _text(sheet, number(level), _LEFT - 5, scale.y(level) + 4, size=10, anchor="end")
    bottom = _HEIGHT - _BOTTOM
    _line(sheet, (_LEFT, _TOP, _LEFT, bottom))
    _line(sheet, (_LEFT, bottom, WIDTH - _RIGHT, bottom))
    _months(sheet, chart, scale)
    _moves(sheet, chart, scale)
    for curve in panel.lines:
        for piece in curve.pieces:
            places = [place for on, value in piece for place in (scale.x(on), scale.y(value))]
            if len(piece) > 1:
                sample = {"stroke": _GREY, "stroke_width": 1, "stroke_dasharray": "3 2"} if curve.observations else {}
                sheet.append(Lines(*places, **({"fill": "none", "stroke": _INK, "stroke_width": 2} | sample)))
            if not curve.observations:
                for on, value in piece:
                    sheet.append(Circle(scale.x(on), scale.y(value), 2, fill=_INK))
    observations = next((curve.name for curve in panel.lines if curve.observations), "")
    if observations:
        _line(sheet, (WIDTH - 66, 21, WIDTH - 46, 21), dash="3 2")
        _text(sheet, sanitize(observations, 8), WIDTH - 42, 25, size=10)
    return sheet


def _moves(sheet: Drawing, chart: Chart, scale: _Scale) -> None:
    """Days on which a trap was moved: a dotted upright line, the first with a word."""
    for at, on in enumerate(day for day in chart.breaks if chart.first <= day <= chart.last):
        x = scale.x(on)
        _line(sheet, (x, _TOP, x, _HEIGHT - _BOTTOM), dash="1 3", ink=_INK)
        if at == 0:
            anchor = "start" if x < WIDTH - 60 else "end"
            _text(sheet, "moved", x + (3 if anchor == "start" else -3), _HEIGHT - _BOTTOM - 4, size=10, anchor=anchor)


def _band(sheet: Drawing, panel: Panel, scale: _Scale) -> None:
    from drawsvg import Rectangle

    if panel.band is None:
        return
    low, high = scale.y(panel.band.low), scale.y(panel.band.high)
    if low > high:
        sheet.append(Rectangle(_LEFT, high, WIDTH - _LEFT - _RIGHT, round(low - high, 1), fill=_PALE))
    for level in {low, high}:
        _line(sheet, (_LEFT, level, WIDTH - _RIGHT, level), dash="6 3")
    # Under the upper edge where there is no room above it, beside the name of the year.
    level = high - 3 if high > _TOP + 12 else high + 11
    _text(sheet, sanitize(panel.band.words, 40), WIDTH - _RIGHT - 2, level, size=10, anchor="end")


def _months(sheet: Drawing, chart: Chart, scale: _Scale) -> None:
    bottom = _HEIGHT - _BOTTOM
    days = list(chart.months())
    for day, following in zip(days, [*days[1:], chart.last], strict=True):
        _line(sheet, (scale.x(day), bottom, scale.x(day), bottom + 4))
        if scale.x(following) - scale.x(day) > 26:
            _text(sheet, _MONTHS[day.month - 1], scale.x(day) + 2, bottom + 14, size=10)


# --- the strip of blocks ---------------------------------------------------------------------------------------------

_TILE, _TALL, _GAP = 92, 38, 6
_ACROSS = WIDE // (_TILE + _GAP)


def _strip(picture: Picture, strip: Strip) -> Drawing:
    from drawsvg import Rectangle

    rows = -(-len(strip.tiles) // _ACROSS)
    sheet = _drawing(picture, WIDE, rows * (_TALL + _GAP) + 2)
    for at, tile in enumerate(strip.tiles):
        x, y = 1 + at % _ACROSS * (_TILE + _GAP), 1 + at // _ACROSS * (_TALL + _GAP)
        dark = tile.rank >= 3
        sheet.append(Rectangle(x, y, _TILE, _TALL, fill=_SHADES[tile.rank], stroke=_INK, stroke_width=1))
        ink = "#ffffff" if dark else _INK
        _text(sheet, f"{tile.mark} {tile.label}", x + 6, y + 16, size=13, ink=ink)
        _text(sheet, tile.words, x + 6, y + 31, size=10, ink=ink)
    return sheet


# --- degree-days -----------------------------------------------------------------------------------------------------


def _progress(picture: Picture, bar: Progress) -> Drawing:
    from drawsvg import Rectangle

    sheet = _drawing(picture, BAR, 66 + 14 * len(bar.steps))
    most = max([bar.now, *(step.at for step in bar.steps), 1.0]) * 1.03

    def x(amount: float) -> float:
        return round(4 + amount / most * (BAR - 8), 1)

    _text(sheet, f"{sanitize(picture.title, 60)}: {bar.now:.0f} {sanitize(bar.unit, 20)}", 4, 13, size=12)
    sheet.append(Rectangle(x(0), 22, BAR - 8, 14, fill="#ffffff", stroke=_INK, stroke_width=1))
    sheet.append(Rectangle(x(0), 22, max(x(bar.now) - x(0), 1), 14, fill="#999999", stroke=_INK, stroke_width=1))
    free = [0.0, 0.0]
    for at, step in enumerate(bar.steps):
        place = x(step.at)
        row = 0 if free[0] <= place else 1
        free[row] = place + 12
        _line(sheet, (place, 18, place, 40), ink=_INK)
        _text(sheet, step.sign, place, 50 + 11 * row, size=10, anchor="middle")
        _text(sheet, sanitize(f"{step.sign}  {step.at:.0f}  {step.words}", 62), 4, 74 + 14 * at, size=10)
    return sheet


_ADDRESS = re.compile(r"[A-Za-z0-9.!#$%&'*+/=?^_`{|}~-]{1,64}@[A-Za-z0-9-]{1,63}(?:\.[A-Za-z0-9-]{1,63})*")
"""An address that can stand in a header without quoting."""
_NAME_WIDTH = 80
_SUBJECT_WIDTH = 160


@dataclass(frozen=True, slots=True)
class Mail:
    """A mail before it is put in the form of a file."""

    to_name: str
    """Whom it is to."""
    to_address: str
    """Their address as written in the set-up; whatever is no address is left out."""
    from_name: str
    """Who writes."""
    from_address: str
    """Their address."""
    subject: str
    """What it is about."""
    text: str
    """The whole as text."""
    html: str
    """The whole as a page."""
    images: Mapping[str, bytes] = field(default_factory=dict)
    """PNG pictures by the name under which the page asks for them."""


def is_address(text: str) -> bool:
    """Whether a text is a mail address and nothing else."""
    return len(text) <= 254 and _ADDRESS.fullmatch(text) is not None


def png_of(picture: Picture, zoom: int = 2) -> bytes:
    """A picture as PNG, since mail programs show no SVG.

    Args:
        picture: The picture.
        zoom: Pixels for each of the picture's.
    """
    from roundtui.report.charts import png

    return png(svg(picture), zoom)


def eml(mail: Mail, now: datetime) -> bytes:
    """A mail as a file that a mail program opens as a draft.

    Args:
        mail: The mail.
        now: Instant of writing, with its time zone.

    Returns:
        The file, its lines ended as mail asks. Without an address there is no such header, and the sender fills it in.
    """
    # Loaded on first use: the package is large, and only letters need it.
    from email.message import EmailMessage, MIMEPart
    from email.policy import SMTP
    from email.utils import format_datetime

    message = EmailMessage(policy=SMTP)
    message["Subject"] = sanitize(mail.subject, _SUBJECT_WIDTH)
    for header, name, address in (
        ("From", mail.from_name, mail.from_address),
        ("To", mail.to_name, mail.to_address),
    ):
        if (known := _address(name, address)) is not None:
            message[header] = known
    message["Date"] = format_datetime(now)
    # A convention of several mail programs: opened, not shown as received.
    message["X-Unsent"] = "1"
    message.set_content(mail.text)
    message.add_alternative(mail.html, subtype="html")
    page = message.get_payload()[1]  # type: ignore[index]
    if isinstance(page, MIMEPart):
        for name, content in mail.images.items():
            page.add_related(
                content, "image", "png", cid=f"<{name}@letter>", disposition="inline", filename=f"{name}.png"
            )
    return message.as_bytes()


def _address(name: str, address: str) -> Address | None:
    from email.headerregistry import Address

    if not is_address(address):
        return None
    try:
        return Address(sanitize(name, _NAME_WIDTH), addr_spec=address)
    except Exception:  # the library's parser raises several kinds; the sender then writes the address by hand
        return None
