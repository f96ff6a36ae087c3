"""Pictures of a letter as values: a curve, a strip of blocks, a bar of degree-days. ``drawing`` draws them."""

from __future__ import annotations

from dataclasses import dataclass

from roundtui.report.charts import Chart


@dataclass(frozen=True, slots=True)
class Tile:
    """One block on a strip."""

    label: str
    """Code of the block."""
    mark: str
    """One character for its status."""
    words: str
    """Its status in a word."""
    rank: int
    """How strongly it is shaded: 0 white, 3 black."""


@dataclass(frozen=True, slots=True)
class Strip:
    """Blocks one after the other, without a map."""

    tiles: tuple[Tile, ...]


@dataclass(frozen=True, slots=True)
class Step:
    """An event on a bar of degree-days."""

    sign: str
    """One character that stands for it."""
    at: float
    """Degree-days at which it comes."""
    words: str
    """What it is."""


@dataclass(frozen=True, slots=True)
class Progress:
    """Degree-days so far, on a scale with the events of a life cycle."""

    now: float
    """Degree-days so far."""
    unit: str
    """Their unit."""
    steps: tuple[Step, ...]
    """Events, in order."""


@dataclass(frozen=True, slots=True)
class Picture:
    """Something drawn, with words for those who cannot see it."""

    title: str
    """One line."""
    alt: str
    """What there is to see, in sentences."""
    of: Chart | Strip | Progress
    """What is drawn."""
