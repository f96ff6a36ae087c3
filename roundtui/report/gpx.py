"""Routes as a GPX 1.1 file for a hand-held device: the traps that have coordinates, in walking order."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from roundtui import __version__
from roundtui.domain.farm import Programme, Trap
from roundtui.domain.plain import plain

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
    SubElement(parent, tag).text = plain(words, most)
