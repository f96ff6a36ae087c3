"""Routes as a GPX 1.1 file for a hand-held device: the traps that have coordinates, in walking order.

An agenda as an iCalendar file (RFC 5545): whole days, which a second import moves rather than doubles.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from uuid import UUID, uuid5
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from roundtui import __version__
from roundtui.domain.programme.cautions import SUMMARY_CAUTIONS
from roundtui.domain.programme.farm import Programme, Trap
from roundtui.domain.round.agenda import Item, Matter
from roundtui.domain.text import sanitize

NAMESPACE = "http://www.topografix.com/GPX/1/1"
"""Namespace of GPX 1.1."""
_XSI = "http://www.w3.org/2001/XMLSchema-instance"
_MOST_NAME = 60
_MOST_WORDS = 400


@dataclass(frozen=True, slots=True)
class RouteFile:
    """A GPX file, and what could not be put into it."""

    content: str
    """Its text."""
    placed: int
    """How many stops it holds."""
    unplaced: tuple[str, ...]
    """Labels of the traps that hang and have no coordinates."""


def route_file(programme: Programme, on: date, now: datetime, route: str | None = None) -> RouteFile:
    """Routes with the traps that hang on a day.

    Args:
        programme: What is set up.
        on: The day.
        now: Instant of writing.
        route: Only this one; None: all.
    """
    root = Element(
        "gpx",
        {
            "version": "1.1",
            "creator": f"roundtui {__version__}",
            "xmlns": NAMESPACE,
            "xmlns:xsi": _XSI,
            "xsi:schemaLocation": f"{NAMESPACE} {NAMESPACE}/gpx.xsd",
        },
    )
    about = SubElement(root, "metadata")
    _add(about, "name", "Scouting routes")
    _add(about, "desc", f"Traps that hang on {on.isoformat()} and have coordinates")
    _add(about, "time", now.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"))
    placed, unplaced = 0, []
    for number, (name, labels) in enumerate(programme.routes.items(), start=1):
        hanging = [row for label in labels if (row := programme.hanging(label, on)) is not None]
        if route not in (None, name) or not hanging:
            continue
        unplaced += [row.trap for row in hanging if row.lat is None or row.lon is None]
        stops = [row for row in hanging if row.lat is not None and row.lon is not None]
        if not stops:
            continue
        element = SubElement(root, "rte")
        _add(element, "name", name, _MOST_NAME)
        _add(element, "number", str(number))
        for row in stops:
            _stop(element, programme, row)
        placed += len(stops)
    indent(root)
    text = tostring(root, encoding="unicode")
    return RouteFile(f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n', placed, tuple(unplaced))


def _stop(route: Element, programme: Programme, row: Trap) -> None:
    point = SubElement(route, "rtept", {"lat": _degrees(row.lat), "lon": _degrees(row.lon)})
    _add(point, "name", row.trap, _MOST_NAME)
    block = programme.blocks.get(row.block)
    farm = programme.farms.get(programme.farm_of(row.block))
    words = [
        row.species,
        f"{block.block} {block.name}" if block and block.name != block.block else row.block,
        farm.name if farm else "",
        f"row {row.row}" if row.row else "",
        f"tree {row.tree}" if row.tree else "",
        f"{row.height_m:g} m up" if row.height_m is not None else "",
        "edge" if row.edge else "",
        row.note,
    ]
    _add(point, "desc", ", ".join(word for word in words if word), _MOST_WORDS)
    _add(point, "type", "trap")


def _degrees(value: float | None) -> str:
    return f"{value or 0:.7f}".rstrip("0").rstrip(".")


def _add(parent: Element, tag: str, words: str, most: int = _MOST_WORDS) -> None:
    """Add an element. What XML cannot hold at all became a visible mark before."""
    SubElement(parent, tag).text = sanitize(words, most)


MOST_OCTETS = 75
"""Longest line before it is folded, its end not counted (RFC 5545, section 3.1). [bytes]"""
_NAMESPACE = UUID("6f0e3c8a-6d4b-5a1e-9a51-2b7d1f6c9e04")
_EPOCH = datetime(2020, 1, 1, tzinfo=UTC)
_MOST_TITLE = 120
_MOST_LINE = 400
_MOST_LINES = 60


def calendar(items: Iterable[Item], now: datetime, name: str = "Scouting rounds") -> str:
    """An agenda as the text of a calendar file.

    Args:
        items: What comes; an item without a day is told as cancelled, so that a calendar that has it lets it go.
        now: Instant of writing; a later one counts as a later revision of every item.
        name: Name of the calendar.

    Returns:
        Lines that end in CR LF and are folded.
    """
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:-//roundtui//roundtui {__version__}//EN",
        "CALSCALE:GREGORIAN",
        f"NAME:{_text(name, _MOST_TITLE)}",
    ]
    for item in items:
        lines += _event(item, now)
    lines.append("END:VCALENDAR")
    return "".join(f"{folded}\r\n" for line in lines for folded in _folded(line))


def uid(item: Item) -> str:
    """Universal id of an item, the same whenever and wherever it is written.

    Args:
        item: The item.
    """
    return str(uuid5(_NAMESPACE, "\x1f".join((item.matter.value, *item.key))))


def _event(item: Item, now: datetime) -> Iterator[str]:
    stamp = now.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    day = item.on or now.date()
    words = [*item.words, *(SUMMARY_CAUTIONS if item.matter is Matter.EVENT else ())]
    yield "BEGIN:VEVENT"
    yield f"UID:{uid(item)}"
    yield f"DTSTAMP:{stamp}"
    yield f"LAST-MODIFIED:{stamp}"
    # Minutes since 2020: a later file is a later revision without anything to remember.
    yield f"SEQUENCE:{max(int((now - _EPOCH).total_seconds() // 60), 0)}"
    yield f"DTSTART;VALUE=DATE:{_day(day)}"
    yield f"DTEND;VALUE=DATE:{_day(day + timedelta(days=1))}"
    yield f"SUMMARY:{_text(item.title, _MOST_TITLE)}"
    if words:
        shown = [_text(line, _MOST_LINE) for line in words[:_MOST_LINES]]
        yield "DESCRIPTION:" + "\\n".join(shown)
    if item.place:
        yield f"LOCATION:{_text(item.place, _MOST_TITLE)}"
    yield f"CATEGORIES:{item.matter.value.upper()}"
    yield f"STATUS:{'CANCELLED' if item.on is None else 'TENTATIVE' if item.tentative else 'CONFIRMED'}"
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _day(on: date) -> str:
    return on.strftime("%Y%m%d")


def _text(words: str, most: int) -> str:
    """A text as a value: harmless, on one line, with the signs escaped that mean something there."""
    return sanitize(words, most).replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")


def _folded(line: str) -> Iterator[str]:
    """A line in pieces of at most 75 octets, never cut inside a character; each but the first begins with a blank."""
    piece, octets = "", 0
    for char in line:
        size = len(char.encode())
        if octets + size > MOST_OCTETS:
            yield piece
            piece, octets = " ", 1
        piece += char
        octets += size
    yield piece
