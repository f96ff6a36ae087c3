"""A chart as a value: panels over one span of days. Its neighbours draw it as text, as SVG and as PNG."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import count
from math import floor, log10

Point = tuple[date, float]
"""A day and a value."""
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
"""Names of the months, short."""
_TICKS = {1: 5, 1.5: 3, 2: 4, 3: 3, 4: 4, 5: 5, 6: 3, 8: 4, 10: 5}
"""Upper ends of a scale, and into how many steps each falls."""


@dataclass(frozen=True, slots=True)
class Line:
    """A curve; where it breaks off a new piece begins."""

    name: str
    """What it is, for the legend; empty: not named."""
    pieces: tuple[tuple[Point, ...], ...]
    """Runs of points to be joined."""
    beside: bool = False
    """Stands thinly beside what the chart is about."""

    @property
    def last(self) -> Point | None:
        """Its last point."""
        return next((piece[-1] for piece in reversed(self.pieces) if piece), None)


@dataclass(frozen=True, slots=True)
class Spot:
    """A point with a mark of its own."""

    on: date
    """Its day."""
    value: float
    """Its value."""
    sign: str
    """One character that marks it."""


@dataclass(frozen=True, slots=True)
class Band:
    """Two levels between which values are within; one number is a band of no width."""

    low: float
    """Lower level."""
    high: float
    """Upper level."""
    words: str
    """What it is, for the legend."""


@dataclass(frozen=True, slots=True)
class Panel:
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


@dataclass(frozen=True, slots=True)
class Event:
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


@dataclass(frozen=True, slots=True)
class Chart:
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

    @property
    def days(self) -> int:
        """Days shown, both ends included. [d]"""
        return (self.last - self.first).days + 1

    def share(self, on: date) -> float:
        """Where a day lies: 0 for the first, 1 for the last."""
        return (on - self.first).days / max(self.days - 1, 1)

    def months(self) -> Iterator[date]:
        """First day of each month shown, and the first day where it is none."""
        yield self.first
        for at in count(1):
            month = self.first.month - 1 + at
            day = date(self.first.year + month // 12, month % 12 + 1, 1)
            if day > self.last:
                return
            yield day

    def legend(self) -> tuple[tuple[str, str], ...]:
        """Signs and what they mean, those of events apart."""
        named = [(line.name, line.beside) for panel in self.panels for line in panel.lines if line.name]
        beside = ", ".join(dict.fromkeys(name for name, thin in named if thin))
        found = list(self.signs)
        if beside:
            found.append(("·", beside))
        if self.breaks:
            found.append(("¦", "trap moved"))
        found += [("╌", panel.band.words) for panel in self.panels if panel.band]
        return tuple(found)


def number(value: float) -> str:
    """A value on a scale, as short as it is exact enough: 5, 0.5, 1200."""
    return f"{value:.0f}" if value >= 100 or value == int(value) else f"{value:.3g}"
