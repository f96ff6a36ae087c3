"""Small pictures for letters, as SVG: black and white, no script, nothing from outside, words for who cannot see them.

They are drawn at the size at which they stand on paper, so that a line of text in them is as large as one beside them.
The values drawn are those of ``report.charts``, which the screens draw too.

Mail ready to be looked at and sent by hand: a text, the same as a page, and the pictures in it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import field
from datetime import datetime
from string import ascii_uppercase
from typing import TYPE_CHECKING

from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.report import charts
from roundtui.report.charts import GREY, INK, Chart, paper, stroke, write
from roundtui.report.letters.letter import Ground, Picture, Progress

if TYPE_CHECKING:
    from email.headerregistry import Address


BAR = 380
"""Width of a bar of degree-days, readable on a phone too. [px]"""


def svg(picture: Picture) -> str:
    """Draw a picture.

    Args:
        picture: What to draw.

    Returns:
        An ``svg`` element that stands in a page or alone in a file.
    """
    match picture.of:
        case Chart():
            drawn = charts.svg(picture.of, charts.SMALL)
        case Progress():
            drawn = _progress(picture, picture.of)
        case Ground():
            drawn = _ground(picture, picture.of)
    return drawn[drawn.index("<svg") :]


# --- where traps hang ------------------------------------------------------------------------------------------------

_PLAN = 96
"""Height of a map. [px]"""


def _ground(picture: Picture, ground: Ground) -> str:
    """Traps of one block: a disk whose area grows with the catch, a square at the edge, a cross where not read."""
    from drawsvg import Circle, Rectangle

    wide, left, top, bottom = charts.SMALL.width, 30, 18, 16
    about = "rows across, trees down" if ground.planted else "north is up"
    sheet = paper(picture.title, picture.alt, wide, _PLAN)
    write(sheet, sanitize(picture.title, 30), (4, 12), size=12)
    write(sheet, about, (wide - 4, 12), size=10, anchor="end", ink=GREY)
    sheet.append(
        Rectangle(left, top, wide - left - 4, _PLAN - top - bottom, fill="#ffffff", stroke=GREY, stroke_width=1)
    )
    east, north = wide - left - 100, _PLAN - top - bottom - 20
    # Between the outermost traps: rows across and trees down, or east across and north up, as wide as high.
    (low, high), (first, last) = ((min(at), max(at)) for at in zip(*(at for _, at in ground.traps), strict=True))
    broad, deep = max(high - low, 1), max(last - first, 1)
    if not ground.planted:
        broad, deep = max(broad, 3 * deep), max(deep, broad / 3)
    across = {x: (x - low) / broad * east for _, (x, _) in ground.traps}
    down = {y: (y - first) / deep * north for _, (_, y) in ground.traps}
    if ground.planted:
        for place, number in _apart(across, 14):
            write(sheet, f"{number:.0f}", (left + 14 + place, _PLAN - 4), size=10, anchor="middle")
        for place, number in _apart(down, 9):
            write(sheet, f"{number:.0f}", (left - 4, top + 13 + place), size=10, anchor="end")
    else:
        down = {y: north - place for y, place in down.items()}
    most = float(max((one.per_week or 0 for one, _ in ground.traps), default=0)) or 1.0
    several = len({one.here.species for one, _ in ground.traps}) > 1
    taken = [(left + 3 + across[x], top + 14 + down[y], 22.0) for _, (x, y) in ground.traps]
    for one, at in ground.traps:
        x, y = left + 14 + across[at[0]], top + 10 + down[at[1]]
        if one.per_week is None:
            stroke(sheet, (x - 4, y - 4, x + 4, y + 4), ink=INK)
            stroke(sheet, (x - 4, y + 4, x + 4, y - 4), ink=INK)
        else:
            size = 2.5 + 6.5 * (float(one.per_week) / most) ** 0.5
            style = {"fill": "#ffffff" if one.per_week == 0 else "#999999", "stroke": INK, "stroke_width": 1}
            box = Rectangle(x - size, y - size, 2 * size, 2 * size, **style)
            sheet.append(box if one.here.edge else Circle(x, y, size, **style))
        # Words stand at the right of their trap, or where others leave room.
        said = one.words.removeprefix("e:") if several else f"{sanitize(one.here.trap, 8)} {one.said}"
        width, rise = 6.2 * len(said), (0, -10, 10, -20, 20, -30, 30)
        tries = [(start, y + 4 + by) for by in rise for start in (x + 11, x - 11 - width) if left < start]
        free = next((a for a in tries if all(not _meet(a, width, other) for other in taken)), tries[0])
        taken.append((*free, width))
        write(sheet, said, free, size=10)
    return str(sheet.as_svg())


def _apart(places: Mapping[float, float], least: float) -> Iterator[tuple[float, float]]:
    """Places from the first on that lie so far apart that numbers beside them can be read, each with its number."""
    last = -99.0
    for number, place in sorted(places.items()):
        if place - last >= least:
            yield place, number
            last = place


def _meet(at: tuple[float, float], width: float, other: tuple[float, float, float]) -> bool:
    """Whether two words, or a word and a trap, would stand on each other."""
    x, y, wide = other
    return at[0] < x + wide and x < at[0] + width and abs(at[1] - y) < 9.5


# --- degree-days -----------------------------------------------------------------------------------------------------


def _progress(picture: Picture, bar: Progress) -> str:
    from drawsvg import Rectangle

    sheet = paper(picture.title, picture.alt, BAR, 66 + 14 * len(bar.steps))
    most = max([bar.now, *(step for step, _ in bar.steps), 1.0]) * 1.03

    def x(amount: float) -> float:
        return round(4 + amount / most * (BAR - 8), 1)

    write(sheet, f"{sanitize(picture.title, 60)}: {bar.now:.0f} {sanitize(bar.unit, 20)}", (4, 13), size=12)
    sheet.append(Rectangle(x(0), 22, BAR - 8, 14, fill="#ffffff", stroke=INK, stroke_width=1))
    sheet.append(Rectangle(x(0), 22, max(x(bar.now) - x(0), 1), 14, fill="#999999", stroke=INK, stroke_width=1))
    free = [0.0, 0.0]
    for at, (sign, (step, words)) in enumerate(zip(ascii_uppercase, bar.steps, strict=False)):
        place = x(step)
        row = 0 if free[0] <= place else 1
        free[row] = place + 12
        stroke(sheet, (place, 18, place, 40), ink=INK)
        write(sheet, sign, (place, 50 + 11 * row), size=10, anchor="middle")
        write(sheet, sanitize(f"{sign}  {step:.0f}  {words}", 62), (4, 74 + 14 * at), size=10)
    return str(sheet.as_svg())


_ADDRESS = re.compile(r"[A-Za-z0-9.!#$%&'*+/=?^_`{|}~-]{1,64}@[A-Za-z0-9-]{1,63}(?:\.[A-Za-z0-9-]{1,63})*")
"""An address that can stand in a header without quoting."""
_NAME_WIDTH = 80
_SUBJECT_WIDTH = 160


class Mail(Frozen):
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
    for header, name, address in (("From", mail.from_name, mail.from_address), ("To", mail.to_name, mail.to_address)):
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
