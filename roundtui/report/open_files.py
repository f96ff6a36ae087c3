"""Routes as a GPX 1.1 file for a hand-held device: the traps that have coordinates, in walking order.

Traps and routes as GeoJSON (RFC 7946) for a map: each trap with its catch of the week and the status of its block.
An agenda as an iCalendar file (RFC 5545): whole days, which a second import moves rather than doubles.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from math import copysign
from typing import Any
from uuid import UUID, uuid5
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from roundtui import __version__
from roundtui.domain.programme.cautions import SUMMARY_CAUTIONS
from roundtui.domain.programme.farm import Programme, Trap
from roundtui.domain.records import Frozen
from roundtui.domain.round.agenda import Item, Matter
from roundtui.domain.text import sanitize
from roundtui.report.maps import spots
from roundtui.report.text import json_of
from roundtui.store.figures.summary import DaySummary

NAMESPACE = "http://www.topografix.com/GPX/1/1"
"""Namespace of GPX 1.1."""
_XSI = "http://www.w3.org/2001/XMLSchema-instance"
_MOST_NAME = 60
_MOST_WORDS = 400


class RouteFile(Frozen):
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


DECIMALS = 6
"""Decimals of a position; the sixth is about 10 cm, finer than a receiver measures (RFC 7946, section 11.2)."""
_TRAP = (
    "trap=here.trap block=here.block species=here.species row=here.row tree=here.tree edge=here.edge"
    " catch_per_week=per_week read_on"
)
_BLOCK = "block_mean_per_week=mean_per_week block_status=status band rule=rule.id"


def geojson(made: DaySummary, route: str | None = None, farm: str | None = None) -> RouteFile:
    """Traps with the catch of the week, and the routes between them, as a GeoJSON feature collection (RFC 7946).

    Args:
        made: Summary of a day, with what it was made from.
        route: Only this one; None: all.
        farm: Only the traps of this one, and no route, since routes lead past other farms.
    """
    programme, on = made.programme, made.summary.on
    rows = {(row.block, row.species): row for row in made.summary.blocks}
    kinds = {one.trap: one.kind.value for one in made.summary.integrity}
    unread = {one.trap: one for one in made.summary.not_read}
    ways = {name: labels for name, labels in programme.routes.items() if route in (None, name)}
    asked = set(programme.hangings) if route is None else {label for labels in ways.values() for label in labels}
    blocks = {code for code, block in programme.blocks.items() if farm in (None, block.farm)}
    found = [one for one in spots(programme, made.history, on, blocks) if one.here.trap in asked]
    features, at = [], {}
    for one in found:
        here = one.here
        if here.lon is None or here.lat is None:
            continue
        at[here.trap] = [round(here.lon, DECIMALS), round(here.lat, DECIMALS)]
        row, reason = rows.get((here.block, here.species)), unread.get(here.trap)
        more = json_of(one, _TRAP) | json_of(row, _BLOCK if row is not None else "")
        more |= {"on": on.isoformat(), "farm": programme.farm_of(here.block), "days": sum(one.days)}
        more["not_read"] = reason.reason.value if reason is not None and reason.reason is not None else None
        more["suspect"] = kinds.get(here.trap, "earlier") if one.suspect else None
        features.append(_feature(here.trap, {"type": "Point", "coordinates": at[here.trap]}, more))
    for name, labels in ways.items() if farm is None else ():
        stops = [at[label] for label in labels if label in at]
        if len(stops) > 1:
            named = {"on": on.isoformat(), "route": name, "stops": len(stops)}
            features.append(_feature(f"route {name}", _line(stops), named))
    lines = ",\n".join(json.dumps(one, ensure_ascii=False) for one in features)
    text = f'{{"type": "FeatureCollection", "features": [\n{lines}\n]}}\n'
    return RouteFile(text, len(at), tuple(one.here.trap for one in found if not one.measured))


def _feature(name: str, geometry: dict[str, object], properties: dict[str, Any]) -> dict[str, object]:
    plain = {key: sanitize(value) if isinstance(value, str) else value for key, value in properties.items()}
    return {"type": "Feature", "id": sanitize(name), "geometry": geometry, "properties": plain}


def _line(stops: Sequence[Sequence[float]]) -> dict[str, object]:
    """A line through positions, cut in two where it crosses the 180th meridian (RFC 7946, section 3.1.9)."""
    pieces: list[list[Sequence[float]]] = [[stops[0]]]
    for (lon, lat), (to_lon, to_lat) in pairwise(stops):
        if abs(to_lon - lon) > 180:
            side = copysign(180.0, lon)
            share = (side - lon) / (to_lon + 2 * side - lon)
            middle = round(lat + (to_lat - lat) * share, DECIMALS)
            pieces[-1].append((side, middle))
            pieces.append([(-side, middle)])
        pieces[-1].append((to_lon, to_lat))
    if len(pieces) == 1:
        return {"type": "LineString", "coordinates": pieces[0]}
    return {"type": "MultiLineString", "coordinates": pieces}


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


def _event(item: Item, now: datetime) -> Iterator[str]:
    stamp = now.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    day = item.on or now.date()
    words = [*item.words, *(SUMMARY_CAUTIONS if item.matter is Matter.EVENT else ())]
    yield "BEGIN:VEVENT"
    # The same whenever and wherever it is written.
    name = "\x1f".join((item.matter.value, *item.key))
    yield f"UID:{uuid5(_NAMESPACE, name)}"
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
