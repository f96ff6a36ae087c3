"""Records of a species model."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from roundtui.domain.degree_days import Development

FROM_BIOFIX = "biofix"
"""``SpeciesModel.starts``: degree-days are counted from the biofix, that day included."""


@dataclass(frozen=True, slots=True)
class LifeEvent:
    """Something that happens when so many degree-days have gathered."""

    name: str
    """What happens, in the words of the trade."""
    degree_days: float
    """Degree-days from the start of the model. [unit of the model]"""
    source: str
    """Who published it."""
    generation: int = 1
    """Generation it belongs to, counted from that of the biofix."""
    printed: str = ""
    """The value as printed, where it was a range of which this is one end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeciesModel:
    """How a species' season is reckoned."""

    id: str
    """Short name."""
    species: str
    """Abbreviation of the species."""
    development: Development
    """Thresholds, unit, method and cutoff."""
    starts: str
    """``biofix``, or month and day as MM-DD."""
    events: tuple[LifeEvent, ...]
    """Events, by degree-days."""
    source: str
    """Who published thresholds and method, or that they are from memory."""
    note: str = ""
    """What to bear in mind."""
    date: date | None = None
    """Day of the source, or on which the office took it up."""
    office: bool = False
    """Whether the office wrote it; the office's models come before those that ship."""
