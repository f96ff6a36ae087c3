"""Pictures of a letter as values: a curve, a map of a block, a bar of degree-days. ``drawing`` draws them.

A letter to one grower after a round, as a value: every figure in it knows where it stands in the reports.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from datetime import date
from fractions import Fraction

from roundtui.domain.records import Frozen
from roundtui.report.charts import Chart
from roundtui.report.maps import Spot


class Ground(Frozen):
    """One block with its traps, and those of no other."""

    planted: bool
    """Whether they stand by row and tree, else by metres east and north."""
    traps: tuple[tuple[Spot, tuple[float, float]], ...]
    """Each trap, and where it hangs: row and tree, or metres east and north."""


class Progress(Frozen):
    """Degree-days so far, on a scale with the events of a life cycle."""

    now: float
    """Degree-days so far."""
    unit: str
    """Their unit."""
    steps: tuple[tuple[float, str], ...]
    """Events in order: the degree-days at which each comes, and what it is."""


class Picture(Frozen):
    """Something drawn, with words for those who cannot see it."""

    title: str
    """One line."""
    alt: str
    """What there is to see, in sentences."""
    of: Chart | Progress | Ground
    """What is drawn."""


Place = tuple[str, ...]
"""Where a figure stands: the report (``summary``, ``last-year``, ``biofix``, ``outlook``, ``years``, ``record``), then
the keys that lead to it, as ``("summary", "blocks", "KILN", "CM", "mean_per_week")``."""
Value = Fraction | float | int | str | date | tuple[Fraction, Fraction] | None
"""What a figure is before it is written out."""


class Figure(Frozen):
    """One figure of a letter."""

    text: str
    """As it is written."""
    value: Value
    """As it is."""
    place: Place
    """Where it stands."""

    def __str__(self) -> str:
        return self.text


class Line(Frozen):
    """A sentence or a part of one, made of words and figures."""

    parts: tuple[str | Figure, ...]

    def __str__(self) -> str:
        return "".join(map(str, self.parts))


class Footnotes:
    """Sources that a letter names once, at its end, each under a number."""

    def __init__(self) -> None:
        self._lines: dict[str, Line] = {}

    def number(self, words: Line) -> str:
        """The number of a footnote; a further one of the same words has the same.

        Args:
            words: What it says.
        """
        self._lines.setdefault(str(words), words)
        return str([*self._lines].index(str(words)) + 1)

    @property
    def lines(self) -> tuple[Line, ...]:
        """All of them, in order."""
        return tuple(self._lines.values())


def line(*parts: str | Figure) -> Line:
    """Put a sentence together."""
    return Line(parts)


class LetterBlock(Frozen, kw_only=True):
    """What a letter says of one block and species."""

    block: str
    """Block as people call it, with its code."""
    species: str
    """Species, by its common name."""
    mark: str
    """One character for the status."""
    status: Figure
    """Where it stands against its band, in words."""
    mean: Figure
    """Catch per trap and week."""
    band: Figure
    """Threshold of its rule."""
    compared: Line | None
    """What that is for, where it is not the catch itself, and how high it is."""
    traps: Line
    """Traps counted, of those that hung."""
    read: Line
    """Days on which it was read."""
    trend: tuple[Line, ...]
    """Against the week before, and the year before."""
    details: tuple[Line, ...]
    """What stands behind the figure and beside it."""
    curve: Picture | None = None
    """Its season against the band."""
    footnote: str = ""
    """Number of the footnote on its rule; empty where it has none."""
    estimate: str = ""
    """Mark behind the catch where it rests on an estimate; the details say so in words."""


class LetterSeason(Frozen, kw_only=True):
    """One season of a block and species, up to the day to which this one is known."""

    season: Figure
    """Year in which it started."""
    first_catch: Line
    """Day of its first catch, whenever that was."""
    peak: Line
    """Its highest round by then, and the day."""
    total: Figure
    """Catch of a trap by then."""
    weeks: Line
    """Weeks over the band by then, of those that could be judged."""
    whole: Line | None
    """Highest round and catch of the whole season; None for this one."""
    why_not: str
    """Why this season cannot be compared with it; empty where it can, and for this one."""


class LetterYears(Frozen, kw_only=True):
    """This season of a block and species beside those before."""

    block: str
    """Block as people call it, with its code."""
    species: str
    """Species, by its common name."""
    on: Figure | None
    """Day of the newest round, to which every season is told; None where nothing was read yet."""
    seasons: tuple[LetterSeason, ...]
    """The seasons, this one first."""
    notes: tuple[str, ...]
    """Which seasons cannot be compared and why, and of which there is nothing."""


class Letter(Frozen, kw_only=True):
    """All that one grower is told after a round."""

    farm: str
    """Code of the farm."""
    name: str
    """Name of the farm."""
    grower: str
    """Whom it is to; empty where nobody wrote it down."""
    email: str
    """Where it goes; empty where nobody wrote it down."""
    sender: tuple[str, ...]
    """Who writes, line by line."""
    sender_email: str
    """Where answers go."""
    first: Figure
    """First of the seven days."""
    on: Figure
    """Last of the seven days."""
    note: tuple[str, ...]
    """Covering note of the coordinator, line by line."""
    replaces: str
    """Day of the letter about the same round that this one replaces; empty where there is none."""
    because: str
    """Why it does, as the rest of a sentence; empty where nothing is to be said."""
    headlines: tuple[Line, ...]
    """What matters most."""
    changed: tuple[str, ...] = ()
    """What is different from the letter that this one replaces, a sentence each."""
    blocks: tuple[LetterBlock, ...]
    """Each block and species, over the band first."""
    maps: tuple[tuple[Picture | None, Line], ...] = ()
    """Blocks of which somebody wrote down where the traps hang: each trap with its catch, and the same in words; no
    picture of those that did not find room."""
    more_curves: int
    """Blocks whose curves did not find room."""
    years: tuple[LetterYears, ...]
    """Each block and species beside its seasons before; empty where no season before is on record."""
    not_read: tuple[Line, ...]
    """Traps without a reading, and why."""
    troubles: tuple[Line, ...]
    """Lures, bodies, conflicts and counts that bear on the figures."""
    upkeep: tuple[Line, ...]
    """Lures, liners and kill strips that are due."""
    stages: tuple[Line, ...]
    """Fruit stage of each block."""
    biofixes: tuple[Line, ...]
    """Biofix of each species."""
    events: tuple[Line, ...]
    """What came, and what is to be expected."""
    progress: tuple[Picture, ...]
    """Degree-days so far, and the events on the way."""
    notes: tuple[Line, ...]
    """What the scout saw."""
    next_visit: Line
    """When the next visit is due."""
    footnotes: tuple[Line, ...]
    """Rules and sampling plans used, with their sources; numbered from 1 where a block or a sample points at them."""
    cautions: tuple[str, ...]
    """What stands in every letter."""

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """Every picture in it."""
        curves = [block.curve for block in self.blocks if block.curve]
        maps = [drawn for drawn, _ in self.maps if drawn]
        return (*curves, *maps, *self.progress)


def figures(value: object) -> Iterator[Figure]:
    """Every figure of a letter, or of a part of one.

    Args:
        value: The letter.
    """
    if isinstance(value, Figure):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from figures(one)
    elif is_dataclass(value) and not isinstance(value, (type, Picture)):
        for field in fields(value):
            yield from figures(getattr(value, field.name))


def digest(letter: Letter) -> str:
    """What a letter says of the record, as a digest: another one means that the letter is out of date.

    Covering note, template and looks do not count, nor does the wording.

    Args:
        letter: The letter.
    """
    said = [f"{'/'.join(one.place)}={one.value}" for one in figures(replace(letter, note=(), replaces=""))]
    said += [str(one) for one in (*letter.headlines, *letter.troubles, *letter.notes, *letter.not_read)]
    said += [str(words) for _, words in letter.maps]
    return hashlib.sha256("\n".join(said).encode("utf-8", "replace")).hexdigest()[:32]
