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
from roundtui.domain.weather.days import MOST_FILLED_DAYS

__all__ = [
    "FROM_BIOFIX",
    "SHIPPED_MODELS",
    "Development",
    "LifeEvent",
    "SeasonOffice",
    "SpeciesModel",
    "model_for",
    "stands_in",
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
    timezone: str = ""
    """IANA time zone of stations that state none."""


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


def start_of(model: SpeciesModel, season_begins: date, biofix: date | None = None) -> date | None:
    """Day from which a model counts in a season, that day included.

    Args:
        model: The model.
        season_begins: First day of the season. A model that starts on a day of the year does so on the one inside the
            season, after New Year where the season straddles it.
        biofix: Biofix of the generation, where there is one.

    Returns:
        The day; None where the model waits for a biofix.
    """
    if model.starts == FROM_BIOFIX:
        return biofix
    start = date.fromisoformat(f"{season_begins.year}-{model.starts}")
    return start if start >= season_begins else start.replace(year=start.year + 1)


def stands_in(model: SpeciesModel, season_begins: date) -> bool:
    """Whether a model from a day of the year may stand in for a biofix.

    Args:
        model: The model. Those that ship count from 1 January, which is midwinter in the north alone.
        season_begins: First day of the season; one that begins from April to September is a season of the south.
    """
    return model.office or not 4 <= season_begins.month <= 9
