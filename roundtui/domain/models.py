"""Species models: thresholds of development and the events of a life cycle in degree-days, as data with sources."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from roundtui.domain.biofix_rules import SHIPPED_BIOFIX_RULES, BiofixRule
from roundtui.domain.degree_days import Development
from roundtui.domain.model_data import SHIPPED_MODELS
from roundtui.domain.model_records import FROM_BIOFIX, LifeEvent, SpeciesModel
from roundtui.domain.units import TempUnit
from roundtui.domain.weather import MOST_FILLED_DAYS

__all__ = [
    "FROM_BIOFIX",
    "SHIPPED_MODELS",
    "Development",
    "LifeEvent",
    "SeasonOffice",
    "SpeciesModel",
    "model_for",
    "start_of",
]


@dataclass(frozen=True, slots=True)
class SeasonOffice:
    """What an office has settled for the season's arithmetic."""

    models: tuple[SpeciesModel, ...] = SHIPPED_MODELS
    """The office's models, then those that ship."""
    biofix_rules: tuple[BiofixRule, ...] = SHIPPED_BIOFIX_RULES
    """The office's biofix rules, then those that ship."""
    unit: TempUnit | None = None
    """Unit of temperatures that state none; None: each has to state its own."""
    most_filled: int = MOST_FILLED_DAYS
    """Longest gap in the temperatures that is filled. [d]"""


def model_for(models: Iterable[SpeciesModel], species: str, *, from_biofix: bool | None = None) -> SpeciesModel | None:
    """The model of a species.

    Args:
        models: Models in order of rank: the office's, then those that ship.
        species: Abbreviation of the species.
        from_biofix: Only models that start at the biofix, or only those that start on a day of the year; None: either.

    Returns:
        The first that fits; None where nobody has one.
    """
    for model in models:
        if model.species == species and from_biofix in {None, model.starts == FROM_BIOFIX}:
            return model
    return None


def start_of(model: SpeciesModel, year: int, biofix: date | None = None) -> date | None:
    """Day from which a model counts in a year, that day included.

    Args:
        model: The model.
        year: Year of the season.
        biofix: Biofix of the generation, where there is one.

    Returns:
        The day; None where the model waits for a biofix.
    """
    if model.starts == FROM_BIOFIX:
        return biofix
    return date.fromisoformat(f"{year}-{model.starts}")
